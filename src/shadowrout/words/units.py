"""Lengths and sizes as people write them, in millimetres inside.

One inch is 25.4 mm exactly (NIST SP 811). Lengths are rounded to a millionth of a millimetre when read, so that
a length written back as decimals is the same length.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection
from enum import StrEnum
from fractions import Fraction

MM_PER_INCH = 25.4

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
_NUMBER = r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_BETWEEN = r"(?: ?x ?|, y |, | to )"
_IN_MM = rf"(?<![\w.,/-])(?P<numbers>{_NUMBER}(?:{_BETWEEN}{_NUMBER})*) ?(?P<unit>mm2|mm)\b(?!/)"
"""Lengths or areas in millimetres as messages tell them, one or several with one unit: ``7x9 mm``, ``x 1.5, y 2mm``."""

_ROUNDED_UP_AFTER = ("at least ", "least that works is ", "thinnest board that works is ", "from a height of ")
_ROUNDED_UP_BEFORE = (" or more", " or a little more")
_ROUNDED_DOWN_AFTER = ("at most ", "most that works is ", "less than ")
_ROUNDED_DOWN_BEFORE = (" or less",)

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


def written_mm(length: float) -> str:
    """Return a length in millimetres so that ``length_mm`` reads the same number back.

    >>> written_mm(200.0), written_mm(215.9), written_mm(0.1)
    ('200mm', '215.9mm', '0.1mm')
    """
    return f"{_shortest(length)}mm"


def written_size(size: tuple[float, float]) -> str:
    """Return a size so that ``size_mm`` reads the same numbers back: in inches where a person wrote it so.

    >>> written_size((215.9, 279.4)), written_size(size_mm('8 1/2 x 11"'))
    ('215.9x279.4mm', '8.5x11in')
    """
    width, height = size
    if isinstance(size, Sides) and size.inches:
        written = f"{_shortest(width / MM_PER_INCH)}x{_shortest(height / MM_PER_INCH)}in"
        if size_mm(written) == size:
            return written
    return f"{_shortest(width)}x{_shortest(height)}mm"


def rounded_down(value: float, decimals: int) -> float:
    """Return a figure that mustn't be exceeded, with so many decimals; what is a hair below one counts as that.

    >>> rounded_down(1.139, 2), rounded_down(12.7 - 1e-12, 3)
    (1.13, 12.7)
    """
    scale = 10.0**decimals
    return math.floor(value * scale + 1e-6) / scale


def spoken(message: str, unit: str, *, names: Collection[str] = ()) -> str:
    """Return a message that tells lengths and areas in mm with those in ``unit``, the reader's own, "mm" or "in".

    Rooms work in millimetres and say what they find in them; this is for the edge, where a person reads it. An inch
    gets two decimals more than the millimetre had, three at the least, so that little is lost. What is a bound stays
    one: before "or less" it is rounded down, before "or more" up. ``names`` that look like sizes are left alone.

    >>> spoken("40mm leaves nothing of 50.8x60mm; give 12.3mm or less", "in")
    '1.575in leaves nothing of 2x2.362in; give 0.484in or less'
    >>> spoken("a web at x 25.40, y 3.00 mm, 1 mm2 large", "in"), spoken("3 mm", "mm")
    ('a web at x 1, y 0.1181 in, 0.00155 sq in large', '3 mm')
    """
    if unit == "mm":
        return message
    kept = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True) if name)

    def told(found: re.Match[str]) -> str:
        if found["numbers"] is None:
            return found[0]
        rounded = _rounding(message[: found.start()], message[found.end() :])
        area = found["unit"] == "mm2"
        per_unit = MM_PER_INCH**2 if area else MM_PER_INCH
        numbers = re.sub(_NUMBER, lambda n: _in_unit(n[0], per_unit, rounded), found["numbers"])
        space = found[0][len(found["numbers"]) : -len(found["unit"])]
        return f"{numbers}{' sq in' if area else f'{space}in'}"

    return re.sub(f"{kept}|{_IN_MM}" if kept else _IN_MM, told, message)


def _rounding(before: str, after: str) -> Callable[[float], int]:
    if before.endswith(_ROUNDED_UP_AFTER) or after.startswith(_ROUNDED_UP_BEFORE):
        return lambda value: math.ceil(value - 1e-6)
    if before.endswith(_ROUNDED_DOWN_AFTER) or after.startswith(_ROUNDED_DOWN_BEFORE):
        return lambda value: math.floor(value + 1e-6)
    return round


def _in_unit(number: str, mm_per_unit: float, rounded: Callable[[float], int]) -> str:
    """Return a number of millimetres in another unit, with two decimals more, three to six."""
    value = float(number) / mm_per_unit
    given = len(number.partition(".")[2])
    figures = 2 - math.floor(math.log10(abs(value))) if value else 0  # three of them
    decimals = min(max(3, given + 2, figures), 6)
    return _shortest(rounded(value * 10**decimals) / 10**decimals)


def _plain(text: str) -> str:
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


def _shortest(length: float) -> str:
    return f"{length:.6f}".rstrip("0").rstrip(".")
