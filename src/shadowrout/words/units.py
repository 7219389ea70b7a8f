"""Lengths and sizes as people write them, read to millimetres.

One inch is 25.4 mm exactly (NIST SP 811). Lengths are rounded to a millionth of a millimetre when read, so that
a length written back as decimals is the same length.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from fractions import Fraction

MM_PER_INCH = 25.4
"""Exactly (NIST SP 811)."""

_MM_PER_UNIT = {
    "": 1.0,
    "mm": 1.0,
    "millimetre": 1.0,
    "millimeter": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inche": MM_PER_INCH,
    '"': MM_PER_INCH,
}
_ONE_CHARACTER_FRACTIONS = {c: f" {Fraction(n, d)}" for c, n, d in [
    ("½", 1, 2), ("¼", 1, 4), ("¾", 3, 4), ("⅛", 1, 8), ("⅜", 3, 8), ("⅝", 5, 8), ("⅞", 7, 8),
]}  # fmt: skip
_MOST_LETTERS = 1000
"""Letters of a length or a size: reading takes time that grows with the square of the spaces in it (a judgement)."""
_INCH_MARKS = str.maketrans({"″": '"', "”": '"', "“": '"', "×": "x", "⁄": "/", "−": "-"})
_LENGTH = re.compile(
    r"""(?P<sign>-?)\s*
        (?: (?:(?P<whole>\d+)[ -]\s*)? (?P<over>\d+)\s*/\s*(?P<under>\d+)
          | (?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+) )
        \s*(?P<unit>[a-z]*|"|'')\.?""",
    re.VERBOSE,
)


class Unit(StrEnum):
    """Unit of length that a file is written in; the value is its symbol."""

    MM = "mm"
    INCH = "in"

    @property
    def mm(self) -> float:
        """Length of one unit in millimetres."""
        return MM_PER_INCH if self is Unit.INCH else 1.0


class Sides(tuple[float, float]):
    """Width and height in millimetres, and whether a person wrote both in inches; equal to a plain pair."""

    inches = False


class Bare(float):
    """A length in millimetres that a person wrote without a unit; else a plain number."""


def length_mm(text: str) -> float:
    """Return a written length in millimetres; a number without a unit is millimetres.

    Reads whole numbers, decimals with point or comma, and with a unit also fractions and whole numbers with
    fractions: nobody writes millimetres as fractions. Raises ValueError for anything else.

    >>> length_mm("200mm"), length_mm("3/8in"), length_mm('8 1/2"'), length_mm("2,5 cm"), length_mm("1½ in")
    (200.0, 9.525, 215.9, 25.0, 38.1)
    """
    value, unit = _value_and_unit(text)
    _check_fraction(text, unit)
    return _rounded(value * _MM_PER_UNIT[unit])


def size_mm(text: str) -> Sides:
    """Return a written width x height in millimetres; a unit given once counts for both.

    >>> size_mm("200x250mm"), size_mm('8 1/2 x 11"'), size_mm("8in x 10 in"), size_mm("20 cm by 300 mm")
    ((200.0, 250.0), (215.9, 279.4), (203.2, 254.0), (200.0, 300.0))
    """
    written = re.split(r"\s*(?:x|\*|\bby\b)\s*", _plain(text))
    if len(written) != 2:
        raise ValueError("a size is a width and a height, as in 200x250mm")
    (width, width_unit), (height, height_unit) = (_value_and_unit(side) for side in written)
    width_unit, height_unit = width_unit or height_unit, height_unit or width_unit
    _check_fraction(text, width_unit)
    sides = Sides((_rounded(width * _MM_PER_UNIT[width_unit]), _rounded(height * _MM_PER_UNIT[height_unit])))
    sides.inches = _MM_PER_UNIT[width_unit] == _MM_PER_UNIT[height_unit] == MM_PER_INCH
    return sides


def has_unit(text: str) -> bool:
    """Return whether a written length or size names a unit.

    >>> has_unit("8x10"), has_unit('8x10"'), has_unit("3 by 4"), has_unit("3/8in")
    (False, True, False, True)
    """
    return bool(re.search(r"[a-z\"']", re.sub(r"x|\bby\b", "", _plain(text))))


def in_inches(text: str) -> bool:
    """Return whether a written length ends in a unit of inches.

    >>> in_inches("3/8in"), in_inches('8 1/2"'), in_inches("5 inches"), in_inches("8"), in_inches("3mm")
    (True, True, True, False, False)
    """
    return bool(re.search(r"[\d.]\s*(in|inch|inches|\"|'')\.?$", _plain(text)))


def _plain(text: str) -> str:
    if len(text) > _MOST_LETTERS:
        raise ValueError("too long for a length")
    plain = text.strip().lower().translate(_INCH_MARKS)
    for character, fraction in _ONE_CHARACTER_FRACTIONS.items():
        plain = plain.replace(character, fraction)
    return plain.strip()


def _check_fraction(text: str, unit: str) -> None:
    if not unit and "/" in _plain(text):
        raise ValueError(f"a fraction needs its unit: write {text.strip()}in, or the length in millimetres")


def _value_and_unit(text: str) -> tuple[float, str]:
    found = _LENGTH.fullmatch(_plain(text))
    if not found:
        raise ValueError("not a length")
    unit = found["unit"].replace("''", '"').removesuffix("s")
    if unit not in _MM_PER_UNIT:
        raise ValueError(f"the unit {found['unit']!r} is not known here; use mm, cm or in")
    if found["decimal"]:
        value = float(found["decimal"].replace(",", "."))
    elif int(found["under"]) == 0:
        raise ValueError("a fraction over 0")
    else:
        value = float(int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"])))
    if not math.isfinite(value):
        raise ValueError("not a length")
    return (-value if found["sign"] else value), unit


def _rounded(length: float) -> float:
    return round(length, 6)
