"""Amounts as people read them on a sheet: areas, volumes, weights, paint, feeds; counts, times and shares."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from shadowrout.words.lengths import Lengths, number
from shadowrout.words.units import MM_PER_INCH

CUBIC_MM_PER_BOARD_FOOT = 144 * MM_PER_INCH**3
"""A board foot is 144 cubic inches (NIST Handbook 130)."""

LITRES_PER_FLUID_OUNCE = 0.0295735295625
"""A US fluid ounce, 1/128 of a gallon of 231 cubic inches (NIST Handbook 44, appendix C)."""

KG_PER_POUND = 0.45359237
"""A pound, exactly (NIST Handbook 44, appendix C)."""

_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:[cdm]?m[²³]?|in|ft|h|min|ml|l|kg|lb|s)\b|%)(?!in all)")


@dataclass(frozen=True)
class Words(Lengths):
    """Writes lengths and amounts on a sheet for a shop that works in ``unit``."""

    def short_area(self, area_mm2: float) -> str:
        """Return a pocket's area in the shop's unit alone.

        >>> Words("mm").short_area(645.16), Words("in").short_area(645.16)
        ('645 mm²', '1.00 sq in')
        """
        return f"{area_mm2 / MM_PER_INCH**2:.2f} sq in" if self.inches else f"{area_mm2:.0f} mm²"

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
        return told + (f" ({weight_kg / KG_PER_POUND:.1f} lb)" if self.inches else "")

    def chips(self, volume_mm3: float) -> str:
        """Return a volume of wood that was cut away.

        >>> Words("mm").chips(24_000), Words("in").chips(24_000)
        ('24 cm³', '24 cm³ (1.5 cu in)')
        """
        told = f"{volume_mm3 / 1000:.0f} cm³"
        return told + (f" ({volume_mm3 / MM_PER_INCH**3:.1f} cu in)" if self.inches else "")

    def clearing(self, cm3_per_minute: float) -> str:
        """Return how fast wood is taken out by hand.

        >>> Words("mm").clearing(1), Words("in").clearing(1.5)
        ('1 cm³ a minute', '1.5 cm³ (0.09 cu in) a minute')
        """
        told = f"{number(cm3_per_minute)} cm³"
        if self.inches:
            told += f" ({1000 * cm3_per_minute / MM_PER_INCH**3:.2f} cu in)"
        return f"{told} a minute"

    def paint(self, litres: float) -> str:
        """Return an amount of paint in millilitres, rounded up to 5; in inches also in US fluid ounces.

        >>> Words("mm").paint(0.0131), Words("mm").paint(1.2), Words("in").paint(0.0131)
        ('15 ml', '1.20 l', '15 ml (0.5 fl oz)')
        """
        told = f"{5 * math.ceil(litres * 200 - 1e-9)} ml" if litres < 1 else f"{litres:.2f} l"
        return told + (f" ({math.ceil(litres / LITRES_PER_FLUID_OUNCE * 10) / 10:.1f} fl oz)" if self.inches else "")

    def coverage(self, m2_per_litre: float) -> str:
        """Return how far paint goes.

        >>> Words("mm").coverage(10), Words("in").coverage(10)
        ('a litre for 10 m²', 'a litre for 10 m² (a US gallon for 407 sq ft)')
        """
        told = f"a litre for {number(m2_per_litre)} m²"
        square_feet = m2_per_litre * 128 * LITRES_PER_FLUID_OUNCE * 1e6 / (12 * MM_PER_INCH) ** 2
        return told + (f" (a US gallon for {square_feet:.0f} sq ft)" if self.inches else "")

    def feed(self, mm_per_minute: float) -> str:
        """Return a feed.

        >>> Words("mm").feed(1000), Words("in").feed(1000)
        ('1000 mm/min', '1000 mm/min (39.4 in/min)')
        """
        told = f"{number(mm_per_minute)} mm/min"
        return told + (f" ({mm_per_minute / MM_PER_INCH:.1f} in/min)" if self.inches else "")

    @property
    def square_10_cm(self) -> str:
        """The area that rates are for."""
        return "10 x 10 cm (about 4 x 4 in)" if self.inches else "10 x 10 cm"


def counted(count: int, thing: str) -> str:
    """Return how many there are of a thing.

    >>> counted(1, "sheet"), counted(2, "sheet")
    ('1 sheet', '2 sheets')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def coats_of(*coats: float) -> str:
    """Return how many coats of paint, for plaques that may differ.

    >>> coats_of(2.0), coats_of(1.0), coats_of(3, 2, 2)
    ('2 coats', '1 coat', '2 or 3 coats')
    """
    told = " or ".join(map(number, sorted(set(coats))))
    return f"{told} coat" if told == "1" else f"{told} coats"


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
