"""Figures as people read them on the sheet."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from shadowrout.units import MM_PER_INCH

CUBIC_MM_PER_BOARD_FOOT = 144 * MM_PER_INCH**3
"""A board foot is 144 cubic inches (NIST Handbook 130)."""

_RULE = 64
_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:[cdm]?m[²³]?|in|ft|h|min|ml|l|kg|lb|s)\b|%)(?!in all)")


@dataclass(frozen=True)
class Words:
    """Writes lengths for a shop that works in ``unit``: millimetres always, with inches beside them on request."""

    unit: str

    @property
    def inches(self) -> bool:
        """Whether inches stand beside the millimetres."""
        return self.unit == "in"

    def length(self, length_mm: float) -> str:
        """Return a board's or a tool's length.

        >>> Words("mm").length(215.9), Words("in").length(215.9)
        ('215.9 mm', '215.9 mm (8 1/2 in)')
        """
        return f"{number(length_mm)} mm" + (f" ({nearest_64th(length_mm)})" if self.inches else "")

    def depth(self, depth_mm: float) -> str:
        """Return a depth or width with hundredths; in inches also as a decimal and to the nearest 64th.

        >>> Words("mm").depth(3), Words("in").depth(3)
        ('3.00 mm', '3.00 mm (0.118 in, nearest 1/8 in)')
        """
        told = f"{depth_mm:.2f} mm"
        if self.inches:
            told += f" ({depth_mm / MM_PER_INCH:.3f} in, nearest {nearest_64th(depth_mm)})"
        return told

    def short(self, length_mm: float) -> str:
        """Return a length in the shop's unit alone, for a table's cell.

        >>> Words("mm").short(3), Words("in").short(3)
        ('3.00 mm', '0.118 in')
        """
        return f"{length_mm / MM_PER_INCH:.3f} in" if self.inches else f"{length_mm:.2f} mm"

    def short_area(self, area_mm2: float) -> str:
        """Return a pocket's area in the shop's unit alone.

        >>> Words("mm").short_area(645.16), Words("in").short_area(645.16)
        ('645 mm²', '1.00 sq in')
        """
        return f"{area_mm2 / MM_PER_INCH**2:.2f} sq in" if self.inches else f"{area_mm2:.0f} mm²"

    def span(self, least_mm: float, greatest_mm: float) -> str:
        """Return a range of lengths in the shop's unit.

        >>> Words("mm").span(1, 2.5), Words("in").span(25.4, 25.4)
        ('1.00 to 2.50 mm', '1.000 in')
        """
        least, greatest = self.short(least_mm), self.short(greatest_mm)
        return greatest if least == greatest else f"{least.split()[0]} to {greatest}"

    def size(self, size_mm: tuple[float, float]) -> str:
        """Return a width x height.

        >>> Words("in").size((203.2, 254.0))
        '203.2 x 254 mm (8 in x 10 in)'
        """
        told = " x ".join(map(number, size_mm)) + " mm"
        return told + (f" ({' x '.join(map(nearest_64th, size_mm))})" if self.inches else "")

    def run(self, length_mm: float) -> str:
        """Return a length along many lines, in metres.

        >>> Words("mm").run(12_345), Words("in").run(12_345), Words("mm").run(24.4)
        ('12.3 m', '12.3 m (40.5 ft)', '24 mm')
        """
        told = f"{length_mm / 1000:.1f} m" if length_mm >= 1000 else f"{length_mm:.0f} mm"
        return told + (f" ({length_mm / MM_PER_INCH / 12:.1f} ft)" if self.inches else "")

    def area(self, area_mm2: float) -> str:
        """Return an area.

        >>> Words("mm").area(60_000), Words("in").area(60_000)
        ('600 cm²', '600 cm² (93 sq in)')
        """
        told = f"{area_mm2 / 100:,.0f} cm²" if area_mm2 >= 1000 else f"{area_mm2:.0f} mm²"
        if self.inches:
            square_inches = area_mm2 / MM_PER_INCH**2
            told += f" ({square_inches:,.0f} sq in)" if square_inches >= 10 else f" ({square_inches:.2f} sq in)"
        return told

    def volume(self, volume_mm3: float) -> str:
        """Return a board's volume, in board feet too.

        >>> Words("mm").volume(1_080_000), Words("in").volume(2_359_737.216)
        ('1.08 dm³', '2.36 dm³ (1.00 board feet)')
        """
        told = f"{volume_mm3 / 1e6:.2f} dm³"
        return told + (f" ({volume_mm3 / CUBIC_MM_PER_BOARD_FOOT:.2f} board feet)" if self.inches else "")

    def weight(self, weight_kg: float) -> str:
        """Return a weight.

        >>> Words("mm").weight(0.44712), Words("in").weight(0.44712)
        ('0.45 kg', '0.45 kg (1.0 lb)')
        """
        told = f"{weight_kg:.2f} kg"
        return told + (f" ({weight_kg / 0.45359237:.1f} lb)" if self.inches else "")


def nearest_64th(length_mm: float) -> str:
    """Return a length in inches to the nearest 64th, as a rule shows it.

    >>> nearest_64th(9.525), nearest_64th(215.9), nearest_64th(0.1), nearest_64th(254)
    ('3/8 in', '8 1/2 in', '0 in', '10 in')
    """
    whole, rest = divmod(round(length_mm / MM_PER_INCH * _RULE), _RULE)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(str(Fraction(rest, _RULE)))
    return " ".join(parts) + " in"


def number(value: float) -> str:
    """Return a number with two decimals at the most.

    >>> number(200.0), number(215.9), number(12.345)
    ('200', '215.9', '12.35')
    """
    return f"{value:.2f}".rstrip("0").rstrip(".")


def minutes(value: float) -> str:
    """Return a time as an estimate deserves: rounded up to 5 minutes, from an hour on in hours and minutes.

    >>> minutes(0.4), minutes(12), minutes(60), minutes(131)
    ('5 min', '15 min', '1 h', '2 h 15 min')
    """
    hours, rest = divmod(5 * math.ceil(value / 5 - 1e-9), 60)
    parts = [f"{hours} h"] if hours else []
    if rest or not hours:
        parts.append(f"{rest} min")
    return " ".join(parts)


def litres(value: float) -> str:
    """Return an amount of paint in millilitres, rounded up to 5.

    >>> litres(0.0131), litres(1.2)
    ('15 ml', '1.20 l')
    """
    return f"{5 * math.ceil(value * 200 - 1e-9)} ml" if value < 1 else f"{value:.2f} l"


def share(value: float) -> str:
    """Return a share as a percentage that never rounds something to nothing.

    >>> share(0.0), share(0.001), share(0.234)
    ('0 %', 'under 1 %', '23 %')
    """
    return "under 1 %" if 0 < value < 0.005 else f"{value:.0%}".replace("%", " %")


def tied(text: str) -> str:
    """Return text in which no line breaks between a number and its unit.

    >>> tied("3 mm, 5 % of it, 2 h 15 min in all").replace(chr(160), "~")
    '3~mm, 5~% of it, 2~h 15~min in all'
    """
    return _NUMBER_AND_UNIT.sub("\u00a0", text)


_ENDINGS: tuple[tuple[str, str], ...] = (("_mm2", "area"), ("_mm", "depth"))


def labelled(key: str) -> str:
    """Return a figure's key as words, without its unit.

    >>> labelled("least_web_mm"), labelled("dark_lost_share"), labelled("bridges")
    ('Least web', 'Dark lost share', 'Bridges')
    """
    for ending, _ in _ENDINGS:
        key = key.removesuffix(ending)
    words = key.replace("_", " ").strip()
    return words[:1].upper() + words[1:]


def told(key: str, value: Any, words: Words) -> str:
    """Return a figure of any part as text, by the unit that its key ends on.

    >>> mm = Words("mm")
    >>> told("web_mm", 2.0, mm), told("sheet_mm", [200.0, 150.0], mm), told("dark_lost_share", 0.02, mm)
    ('2.00 mm', '200 x 150 mm', '2 %')
    """
    if isinstance(value, bool) or value is None:
        return "yes" if value else "none" if value is None else "no"
    if isinstance(value, (list, tuple)):
        if key.endswith("_mm") and len(value) == 2 and all(isinstance(v, (int, float)) for v in value):
            return words.size((value[0], value[1]))
        return ", ".join(told(key, entry, words) for entry in value) or "none"
    if isinstance(value, float) or (isinstance(value, int) and key.endswith(("_mm", "_mm2", "_share"))):
        return _measured(key, float(value), words)
    return str(value)


def _measured(key: str, value: float, words: Words) -> str:
    if key.endswith("_share"):
        return share(value)
    for ending, way in _ENDINGS:
        if key.endswith(ending):
            measured: str = getattr(words, way)(value)
            return measured
    return number(value)
