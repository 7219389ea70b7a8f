"""Lengths read from a sheet's text, in mm, each with how far its last decimal leaves it open."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

MM_PER = {"mm": 1.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
"""An inch is 25.4 mm exactly (NIST SP 811)."""

_NUMBER = r"-?(?:\d{1,6} \d{1,3}/\d{1,3}|\d{1,3}/\d{1,3}|\d[\d,]{0,11}(?:\.\d{1,6})?)"
_LENGTHS = re.compile(
    rf"(?P<near>nearest )?(?P<numbers>(?<![\d.,/]){_NUMBER}(?: (?:x|to) {_NUMBER})*)"
    r" (?P<unit>mm|m|in|ft)\b(?![²³/])(?! all\b)"
)
_WHOLE_MM = {"mm": 0.011, "m": 1000.0, "in": 0.021, "ft": 304.8}
"""What a number without decimals leaves open: a length drops the zeros of its hundredths, and a fraction of an inch is
told for what lies within 0.02 mm of it."""
_RULE_MM = 25.4 / 64
"""The steps of a rule in inches."""
_SLACK = 1.01
_MOST_LETTERS = 2000
"""A step of the work, the longest text with a length in it, has 600."""


@dataclass(frozen=True)
class WrittenLength:
    """A length in mm, how far it may be off, and in which unit it stands; ``near`` where it is only near another."""

    mm: float
    slack_mm: float
    unit: str
    near: bool

    def fits(self, length_mm: float, slack_mm: float = 0.0) -> bool:
        """Return whether this is the length, to its own last decimal and ``slack_mm``."""
        return abs(self.mm - length_mm) <= self.slack_mm + slack_mm


def lengths_in(text: str) -> list[WrittenLength]:
    """Return the lengths in a text; numbers before one unit, as of a size or a span, are a length each.

    >>> [f"{found.mm:g}" for found in lengths_in("8 1/2 x 11 in, 1.50 to 2.00 mm, 30 cm² in all")]
    ['215.9', '279.4', '1.5', '2']
    """
    return list(_found(text))


def agree(text: str, expected_mm: Iterable[float], *, slack_mm: float = 0.0) -> bool:
    """Return whether a text tells just these lengths, in this order: in mm, in inches, or in both.

    >>> agree("3.00 mm (0.118 in, nearest 1/8 in)", [3.0]), agree("3.00 mm (0.218 in)", [3.0]), agree("3.5 mm", [3.0])
    (True, False, False)
    """
    expected = list(expected_mm)
    found = lengths_in(text[:_MOST_LETTERS])
    metric = [length for length in found if length.unit in ("mm", "m")]
    inches = [length for length in found if length.unit in ("in", "ft") and not length.near]
    near = [length for length in found if length.near]
    rows = [row for row in (metric, inches) if row]
    if not rows:
        return not expected
    return all(_fit(row, expected, slack_mm) for row in rows) and all(
        any(length.fits(wanted) for wanted in expected) for length in near
    )


def _fit(row: Sequence[WrittenLength], expected: Sequence[float], slack_mm: float) -> bool:
    return len(row) == len(expected) and all(
        length.fits(wanted, slack_mm) for length, wanted in zip(row, expected, strict=True)
    )


def _found(text: str) -> Iterator[WrittenLength]:
    for found in _LENGTHS.finditer(text.replace("\u00a0", " ")):
        unit = found["unit"]
        for number in re.findall(_NUMBER, found["numbers"]):
            yield WrittenLength(_value(number) * MM_PER[unit], _open_mm(number, unit), unit, bool(found["near"]))


def _value(number: str) -> float:
    try:
        return float(sum(map(Fraction, number.replace(",", "").split())))
    except ZeroDivisionError:
        return float("inf")


def _open_mm(number: str, unit: str) -> float:
    """Return how far off a number as written may be: a unit of its last decimal, or half a step of a rule."""
    decimals = len(number.partition(".")[2])
    if "/" in number:
        return _RULE_MM / 2 * _SLACK
    return MM_PER[unit] * 10.0**-decimals * _SLACK if decimals else _WHOLE_MM[unit]
