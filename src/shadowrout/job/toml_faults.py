"""Faults in a job file that leave it no TOML, told in plain words: the line, what is wrong with it, what to write.

The parser (Python's ``tomllib``, for TOML 1.0.0) says where it stopped; the line itself usually shows why.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from shadowrout.job.schema import JobTable

_CURLY = str.maketrans({"“": '"', "”": '"', "„": '"', "‘": "'", "’": "'"})
_OPENING = re.compile(r"[^\"'#=]*=\s*(\[(?!.*\])|\"\"\"|'''|'(?!.*'))")
"""A line that begins a list or a text and doesn't close it."""

_MOST_SHOWN = 60
"""Letters of the faulty line that the message repeats, so that it stays readable."""

_MOST_READ = 300
"""Letters of a line that advice is given on; a longer one is a long list, or no line that a person wrote."""

_SWITCHES = {"yes": "true", "no": "false", "on": "true", "off": "false", "true": "true", "false": "false"}
"""What people write for on and off, whatever its capitals."""
_QUOTING = "\"'["
"""What a value begins with that a mended line leaves as it is: a quote, a list."""
_BACKSLASHES = "a backslash doesn't stand for itself in double quotes"


def told_of_fault(text: str, problem: str, tables: Sequence[JobTable]) -> str:
    """Return a sentence on why the text of a file of such tables is no TOML; ``problem`` is what the parser said."""
    lines = text.split("\n")  # as the parser counts them
    number = _line_number(lines, problem)
    line = lines[number - 1].strip()
    told = line if len(line) <= _MOST_SHOWN else line[: _MOST_SHOWN - 3] + "..."
    return f"line {number} ({told}): {_advice(line, problem, [table.heading for table in tables if table.many])}"


def _line_number(lines: list[str], problem: str) -> int:
    """Return the number of the line to mend, from 1: where a list or a long text begins that nobody closed."""
    found = re.search(r"at line (\d+)", problem)
    stopped = min(int(found[1]), len(lines)) if found else len(lines)
    if found and "nclosed" not in problem and "Invalid value" not in problem:
        return stopped
    return next((n for n in range(stopped, 0, -1) if _OPENING.match(lines[n - 1])), stopped)


def _advice(line: str, problem: str, many: list[str]) -> str:
    if len(line) > _MOST_READ:
        return (
            "the line is too long to say what is wrong with it; write it on several lines, a part of the list on each"
        )
    if line != line.translate(_CURLY):
        return f"curly quotes can't be read; write straight ones: {line.translate(_CURLY)}"
    if line.startswith("["):
        return _of_heading(line, problem, many)
    key, equals, value = (part.strip() for part in line.partition("="))
    if not equals or not key:
        return _of_no_setting(line)
    if "overwrite" in problem or "twice" in problem:
        return f"{key} has a value already, higher up under the same heading; leave one of the two out"
    return _of_value(key, value)


def _of_heading(line: str, problem: str, many: list[str]) -> str:
    """Return what is wrong with a heading; those in ``many`` stand in double brackets."""
    name, _, rest = line.lstrip("[ ").partition("]")
    heading = f"[[{name}]]" if name in many else f"[{name}]"
    if rest := rest.strip("] "):
        return f"a heading stands alone on its line; put {rest} on the next one"
    if "twice" in problem or "overwrite" in problem or "mutate" in problem:
        mend = f"write {heading} over each" if name in many else f"put the keys of both under one {heading}"
        return f"the heading {name} stood higher up already; {mend}"
    return f"a heading is a name in brackets, as {heading if name else '[picture]'}"


def _of_no_setting(line: str) -> str:
    words = re.match(r"([\w-]+)\s*:?\s+(.+)", line)
    if words and re.search(r"[:\d\"']", line):
        key, value = words[1], words[2]
        return f"an equals sign is missing; write {key} = {value if value[0] in _QUOTING else _right(value)}"
    return 'a line is a heading, as [picture], a key with its value, as file = "cat.jpg", or a remark after a #'


def _of_value(key: str, value: str) -> str:
    """Return what to write in the place of a value that the parser can't read."""
    if not value or value.startswith("#"):
        return f"the value is missing; write one after {key} =, or a # before the line to leave the key out"
    quote = value[0]
    if quote == '"' and "\\" in value:
        plain = value.strip('"')
        slashed = plain.replace("\\", "/")
        return f"{_BACKSLASHES}; write {key} = '{plain}', or {slashed} with forward slashes"
    if value.startswith(('"""', "'''")):
        inside = value.strip(quote)
        return f"the text that begins here is not closed; write it on one line: {key} = {quote}{inside}{quote}"
    if quote in ('"', "'"):
        return _of_quotes(key, value, quote)
    if quote == "[":
        return _of_list(key, value)
    return f"write {key} = {_right(value.split('#')[0].strip())}"


def _of_quotes(key: str, value: str, quote: str) -> str:
    if value.count(quote) == 1:
        return f"the closing quote is missing; write {key} = {value}{quote}"
    if quote == '"' and re.search(r'\d\s*"\s*(x|×|by\b|")', value):
        inches = re.sub(r'\s*"', "in", value[1:].removesuffix('"'))
        return f'an inch mark ends the text; write in for inches: {key} = "{inches}"'
    return "a key stands alone on its line, with one value; put what follows on a line of its own, or after a #"


def _of_list(key: str, value: str) -> str:
    if value == "[":
        return "the list that begins here is not closed by a ], or lacks a comma or a quote between its values"
    missing = value.count("[") - value.count("]")
    if missing > 0:
        return f"a list's closing bracket is missing; write {key} = {value.split('#')[0].strip()}{']' * missing}"
    if words := re.fullmatch(r"\[([^\[\]\"']+)\]", value):
        quoted = ", ".join(f'"{word.strip()}"' for word in words[1].split(","))
        return f"the words of a list stand in quotes; write {key} = [{quoted}]"
    return 'a list has commas between its values, as ["carve", "pattern"]'


def _number(word: str) -> str:
    return word if re.fullmatch(r"-?\d+(\.\d+)?", word) else ""


def _share(word: str) -> str:
    return f"{float(word[:-1]) / 100:g}" if re.fullmatch(r"\d+(\.\d+)?\s*%", word) else ""


def _decimal(word: str) -> str:
    """Return a number with a comma, or without a figure before or after its point, as TOML has it."""
    if not re.fullmatch(r"-?(\d+[.,]\d*|[.,]\d+)", word):
        return ""
    whole, _, part = word.replace(",", ".").partition(".")
    return f"{whole if whole not in ('', '-') else whole + '0'}.{part or '0'}"


def _yes_or_no(word: str) -> str:
    return _SWITCHES.get(word.lower(), "")


def _fraction(word: str) -> str:
    return f'"{word}in" for inches' if re.fullmatch(r"(\d+[ -])?\d+/\d+", word) else ""


def _text(word: str) -> str:
    if "\\" in word:
        return f"'{word}', in single quotes"
    inches = re.sub(r"\s*(\"|'')", "in", word)
    return f'"{inches}", in quotes'


def _right(word: str) -> str:
    """Return how a value outside quotes is written, and a word on it."""
    return next(right for right in (rule(word) for rule in _BARE_WORDS) if right)


_BARE_WORDS: tuple[Callable[[str], str], ...] = (_number, _share, _decimal, _yes_or_no, _fraction, _text)
"""What a value outside quotes was meant to be."""
