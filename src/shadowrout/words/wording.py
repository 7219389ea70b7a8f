"""Figures as people read them on the sheet."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from shadowrout.words.units import MM_PER_INCH, rounded_down

CUBIC_MM_PER_BOARD_FOOT = 144 * MM_PER_INCH**3
"""A board foot is 144 cubic inches (NIST Handbook 130)."""

LITRES_PER_FLUID_OUNCE = 0.0295735295625
"""A US fluid ounce, 1/128 of a gallon of 231 cubic inches (NIST Handbook 44, appendix C)."""

_RULE = 64
_SAME_MM = 0.02
_NEAR_SHARE = 0.1
"""How far off, as a share of it, a depth's nearest 64th may be and still be of use."""

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
        """Return a board's or a tool's length; in inches as a fraction only where it is one.

        >>> Words("mm").length(215.9), Words("in").length(215.9), Words("in").length(3)
        ('215.9 mm', '215.9 mm (8 1/2 in)', '3 mm (0.118 in)')
        """
        return f"{number(length_mm)} mm" + (f" ({_exact_inches(length_mm)} in)" if self.inches else "")

    def depth(self, depth_mm: float) -> str:
        """Return a depth or width with hundredths; in inches as a decimal, and to the 64th where one is near enough.

        >>> Words("mm").depth(3), Words("in").depth(3), Words("in").depth(0.2)
        ('3.00 mm', '3.00 mm (0.118 in, nearest 1/8 in)', '0.20 mm (0.008 in)')
        """
        told = f"{depth_mm:.2f} mm"
        if not self.inches:
            return told
        off_mm = abs(round(depth_mm / MM_PER_INCH * _RULE) / _RULE * MM_PER_INCH - depth_mm)
        near = f", nearest {nearest_64th(depth_mm)}" if off_mm <= _NEAR_SHARE * abs(depth_mm) else ""
        return f"{told} ({depth_mm / MM_PER_INCH:.3f} in{near})"

    def most(self, depth_mm: float) -> str:
        """Return a depth that mustn't be exceeded, rounded down.

        >>> Words("mm").most(1.139), Words("in").most(1.139)
        ('1.13 mm', '1.13 mm (0.044 in)')
        """
        told = Words("mm").short_most(depth_mm)
        return f"{told} ({self.short_most(depth_mm)})" if self.inches else told

    def short_most(self, depth_mm: float) -> str:
        """Return a depth that mustn't be exceeded in the shop's unit alone, rounded down.

        >>> Words("mm").short_most(1.139), Words("in").short_most(1.03)
        ('1.13 mm', '0.040 in')
        """
        if self.inches:
            return f"{rounded_down(depth_mm / MM_PER_INCH, 3):.3f} in"
        return f"{rounded_down(depth_mm, 2):.2f} mm"

    def short(self, length_mm: float, *, decimals: int = 2) -> str:
        """Return a length in the shop's unit alone, for a table's cell, with so many decimals of a millimetre.

        An inch gets one decimal more.

        >>> Words("mm").short(3), Words("in").short(3), Words("in").short(254, decimals=0)
        ('3.00 mm', '0.118 in', '10.0 in')
        """
        if self.inches:
            return f"{length_mm / MM_PER_INCH:.{decimals + 1}f} in"
        return f"{length_mm:.{decimals}f} mm"

    def short_size(self, size_mm: tuple[float, float]) -> str:
        """Return a width x height in the shop's unit alone.

        >>> Words("mm").short_size((215.9, 254)), Words("in").short_size((215.9, 254))
        ('215.9 x 254 mm', '8.5 x 10 in')
        """
        told = (self.short(side).split()[0].rstrip("0").rstrip(".") for side in size_mm)
        return f"{' x '.join(told)} {self.unit}"

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

        >>> Words("in").size((203.2, 254.0)), Words("in").size((209.2, 260.0))
        ('203.2 x 254 mm (8 x 10 in)', '209.2 x 260 mm (8.236 x 10.236 in)')
        """
        told = " x ".join(map(number, size_mm)) + " mm"
        return told + (f" ({' x '.join(map(_exact_inches, size_mm))} in)" if self.inches else "")

    def run(self, length_mm: float) -> str:
        """Return a length along many lines, in metres; what is there is never told as nothing.

        >>> Words("mm").run(12_345), Words("in").run(12_345), Words("in").run(24.4), Words("in").run(0.4)
        ('12.3 m', '12.3 m (40.5 ft)', '24 mm (1.0 in)', '1 mm (0.1 in)')
        """
        told = f"{length_mm / 1000:.1f} m" if length_mm >= 1000 else f"{math.ceil(length_mm - 0.5) or 1:.0f} mm"
        if not self.inches:
            return told
        inches = length_mm / MM_PER_INCH
        return f"{told} ({inches / 12:.1f} ft)" if inches >= 12 else f"{told} ({max(inches, 0.1):.1f} in)"

    def short_run(self, length_mm: float) -> str:
        """Return a length along many lines in the shop's unit alone.

        >>> Words("mm").short_run(12_345), Words("in").short_run(12_345), Words("in").short_run(0.4)
        ('12.3 m', '40.5 ft', '0.1 in')
        """
        told = self.run(length_mm)
        return told.partition("(")[2].rstrip(")") if self.inches else told

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


def nearest_64th(length_mm: float) -> str:
    """Return a length in inches to the nearest 64th, as a rule shows it; lengths are not negative.

    >>> nearest_64th(9.525), nearest_64th(215.9), nearest_64th(0.1), nearest_64th(254)
    ('3/8 in', '8 1/2 in', '0 in', '10 in')
    """
    whole, rest = divmod(round(length_mm / MM_PER_INCH * _RULE), _RULE)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(str(Fraction(rest, _RULE)))
    return " ".join(parts) + " in"


def _exact_inches(length_mm: float) -> str:
    """Return a length in inches: as a fraction where a 64th meets it, else with three decimals."""
    nearest_mm = round(length_mm / MM_PER_INCH * _RULE) / _RULE * MM_PER_INCH
    if abs(nearest_mm - length_mm) <= _SAME_MM:
        return nearest_64th(length_mm).removesuffix(" in")
    return f"{length_mm / MM_PER_INCH:.3f}"


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


def number(value: float) -> str:
    """Return a number with two decimals at the most.

    >>> number(200.0), number(215.9), number(3.175)
    ('200', '215.9', '3.18')
    """
    return f"{round(value * 100 + 1e-6) / 100:.2f}".rstrip("0").rstrip(".")


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
