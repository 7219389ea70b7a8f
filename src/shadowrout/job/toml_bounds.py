"""How large a job file may be, judged on its text before the parser sees it.

Python's ``tomllib`` takes time that grows with the square of a dotted key's parts (90 s for one of 200 kB), and room on
the stack for every list in a list. A file given by mistake, damaged or made to do harm is refused in plain words.
"""

from __future__ import annotations

import re

from shadowrout.errors import SettingError

LARGEST_BYTES = 250_000
"""A file with every comment has 12 kB; one with as many plaques, bridges and boxes as are allowed has 200 kB."""

_MOST_DEEP = 8
"""Brackets within brackets: a list of rows in an inline table in a list takes four (a judgement: twice that)."""

_MOST_PARTS = 8
"""Parts of a dotted key: ``plaque.size`` has two, and nothing in a job has more (a judgement)."""

_MOST_KEYS = 20_000
"""Keys in all: 200 plaques with every key have 2,000 (a judgement)."""

_MOST_DIGITS = 1000
"""Digits in a row: far more than any number has that a setting can take (a judgement)."""

_TOKENS = re.compile(
    r'"""(?:\\.|[^\\])*?(?:"""|\Z)'  # TOML 1.0.0: a text over several lines, in either quotes
    r"|'''.*?(?:'''|\Z)"
    r'|"(?:\\.|[^"\\\n])*"?'  # a text on one line
    r"|'[^'\n]*'?"
    r"|#[^\n]*"  # a remark
    r"|[\[\]{}.=,\n]"
    r"|\d+"
    r"|[^\"'#\[\]{}.=,\n\d]+",
    re.DOTALL,
)


def check_bounds(text: str, *, name: str) -> None:
    """Raise SettingError under ``name`` for the text of a job file that is larger or deeper than any job needs."""
    if len(text) > LARGEST_BYTES:
        raise SettingError(name, f"is far too large for a job file; one may have {LARGEST_BYTES // 1000} kB")
    deep = parts = keys = 0
    for found in _TOKENS.finditer(text):
        token = found[0]
        if token in "[{":
            deep += 1
        elif token in "]}":
            deep = max(0, deep - 1)
        elif token == "=":
            keys += 1
        parts = parts + 1 if token == "." else 0 if token in "[]{}=,\n" else parts
        if deep > _MOST_DEEP:
            raise _too_much(name, text, found.start(), f"brackets stand within brackets more than {_MOST_DEEP} deep")
        if parts >= _MOST_PARTS:
            raise _too_much(name, text, found.start(), f"a key has more than {_MOST_PARTS} parts with dots between")
        if keys > _MOST_KEYS:
            raise _too_much(name, text, found.start(), f"there are more than {_MOST_KEYS:,} keys down to here")
        if len(token) > _MOST_DIGITS and token.isdecimal():
            raise _too_much(name, text, found.start(), f"a number has more than {_MOST_DIGITS:,} digits")


def _too_much(name: str, text: str, place: int, what: str) -> SettingError:
    """Return the error for what stands at a place in the text."""
    return SettingError(name, f"line {1 + text.count(chr(10), 0, place)}: {what}; no job needs that, take it out")
