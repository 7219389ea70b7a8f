"""How a length is written: to a job file, in a message, on a drawing, on a sheet and in its tables.

| where | what it is for | the rule | who writes it |
| --- | --- | --- | --- |
| job file | to be read again as the same number | as many decimals as it has, to a millionth of a mm | ``written_mm`` |
| message | to say what works and what doesn't | the reader's unit alone; what is a bound stays one | ``in_message`` |
| drawing | to be measured with a rule | the drawing's unit alone, inches as a fraction too | ``shown``, ``brief`` |
| sheet | to be read beside a machine set in mm | mm always, inches behind on request | ``Lengths`` |
| table | to fit in a cell | the shop's unit alone | ``Lengths.short`` and its like |
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from shadowrout.words.units import MM_PER_INCH, Sides, Unit, size_mm

Bound = Literal["most", "least"]
"""A length that mustn't be exceeded, or not gone below."""

_RULE = 64
"""A shop's rule has marks at every 64th of an inch (common practice, no source)."""

_SAME_ON_DRAWING_MM = 0.0005
"""A length this near to a 64th is called that 64th on a drawing: half of the 0.001 mm to which files are true."""

_SAME_ON_SHEET_MM = 0.02
"""A length this near to a 64th is called that 64th on a sheet: under a thousandth of an inch, which no rule shows."""

_NEAR_SHARE = 0.1
"""How far off, as a share of it, a depth's nearest 64th may be and still be of use."""

_LEAST_DECIMALS, _MOST_DECIMALS = 3, 6
"""Decimals of an inch in a message: a thousandth is as fine as wood is set out (common practice, no source), and a
millionth is far below the 0.001 mm to which files are true."""

_HAIR = 1e-6
"""What a bound may lie beyond a rounded figure and still count as that, for what division leaves."""


def written_mm(length: float) -> str:
    """Return a length in millimetres for a job file, so that ``units.length_mm`` reads the same number back.

    >>> written_mm(200.0), written_mm(215.9), written_mm(0.1)
    ('200mm', '215.9mm', '0.1mm')
    """
    return f"{_shortest(length)}mm"


def written_size(size: tuple[float, float]) -> str:
    """Return a size for a job file, so that ``units.size_mm`` reads the same back: in inches where it was so written.

    >>> written_size((215.9, 279.4)), written_size(size_mm('8 1/2 x 11"'))
    ('215.9x279.4mm', '8.5x11in')
    """
    width, height = size
    if isinstance(size, Sides) and size.inches:
        written = f"{_shortest(width / MM_PER_INCH)}x{_shortest(height / MM_PER_INCH)}in"
        if size_mm(written) == size:
            return written
    return f"{_shortest(width)}x{_shortest(height)}mm"


def in_message(value: float, unit: Unit, *, digits: str = "g", bound: Bound | None = None, power: int = 1) -> str:
    """Return the bare number of a length in a message, or of an area where ``power`` is 2, given in mm or mm2.

    In millimetres it is written as ``digits`` says. In inches it is that same number, so that both tell one length,
    with two decimals more, three at the least; a bound is rounded so that it stays one.

    >>> in_message(12.34, Unit.MM, digits=".1f"), in_message(12.34, Unit.INCH, digits=".1f")
    ('12.3', '0.484')
    >>> in_message(2, Unit.INCH, bound="most"), in_message(2, Unit.INCH, bound="least")
    ('0.0787', '0.0788')
    """
    told = f"{value:{digits}}"
    if unit is Unit.MM:
        return told
    length = float(told) / unit.mm**power
    to_three_figures = 2 - math.floor(math.log10(abs(length))) if length else 0
    decimals = max(_LEAST_DECIMALS, len(told.partition(".")[2]) + 2, to_three_figures)
    scale = 10 ** min(decimals, _MOST_DECIMALS)
    return _shortest(_rounded(length * scale, bound) / scale)


def _rounded(value: float, bound: Bound | None) -> int:
    if bound == "most":
        return math.floor(value + _HAIR)
    return math.ceil(value - _HAIR) if bound == "least" else round(value)


def rounded_down(value: float, decimals: int) -> float:
    """Return a figure that mustn't be exceeded, with so many decimals; what is a hair below one counts as that.

    >>> rounded_down(1.139, 2), rounded_down(12.7 - 1e-12, 3)
    (1.13, 12.7)
    """
    scale = 10.0**decimals
    return _rounded(value * scale, "most") / scale


def shown(length_mm: float, unit: Unit, *, decimals: int | None = None) -> str:
    """Return a length on a drawing: one decimal for mm; three and the nearest 1/64 for inches.

    >>> shown(3.0, Unit.MM), shown(3.175, Unit.INCH)
    ('3.0 mm', '0.125 in (1/8)')
    """
    if unit is Unit.MM:
        return f"{length_mm:.{1 if decimals is None else decimals}f} mm"
    return f"{length_mm / unit.mm:.{3 if decimals is None else decimals}f} in ({nearest_64th(length_mm)})"


def inside_edge(overhang_mm: tuple[float, float], unit: Unit) -> str:
    """Return where the board's edge lies under a sheet that stands over it so far left and right, above and below.

    >>> inside_edge((6.0, 6.0), Unit.MM), inside_edge((0.0, 0.0), Unit.MM)
    ('6.0 mm inside this edge', 'flush with this edge')
    """
    across, up = (round(over, 6) for over in overhang_mm)
    if across == up == 0:
        return "flush with this edge"
    if across == up:
        return f"{shown(across, unit)} inside this edge"
    return f"{shown(across, unit)} inside left and right, {shown(up, unit)} above and below"


def brief(length_mm: float, unit: Unit) -> str:
    """Return a length beside a line, in few letters: two decimals at the most; in inches a 64th, else three decimals.

    >>> brief(3.0, Unit.MM), brief(2.5375, Unit.MM), brief(3.175, Unit.INCH), brief(3.0, Unit.INCH)
    ('3 mm', '2.54 mm', '1/8 in', '0.118 in')
    """
    if unit is Unit.MM:
        return f"{_trimmed(f'{length_mm:.2f}')} mm"
    return f"{_inches(length_mm, same_mm=_SAME_ON_DRAWING_MM)} in"


def number(value: float) -> str:
    """Return a number with two decimals at the most.

    >>> number(200.0), number(215.9), number(3.175)
    ('200', '215.9', '3.18')
    """
    return f"{round(value * 100 + 1e-6) / 100:.2f}".rstrip("0").rstrip(".")


def nearest_64th(length_mm: float) -> str:
    """Return a length in inches as a rule shows it: a whole number and the nearest 64th in lowest terms.

    >>> nearest_64th(3.0), nearest_64th(200.0), nearest_64th(25.4), nearest_64th(0.1)
    ('1/8', '7 7/8', '1', '0')
    """
    whole, rest = divmod(round(length_mm / MM_PER_INCH * _RULE), _RULE)
    parts = [str(whole)] if whole or not rest else []
    return " ".join(parts + ([str(Fraction(rest, _RULE))] if rest else []))


@dataclass(frozen=True)
class Lengths:
    """Writes lengths on a sheet for a shop that works in ``unit``: millimetres always, inches beside them on request.

    What is called short is for a table's cell, in the shop's unit alone.
    """

    unit: str

    @property
    def inches(self) -> bool:
        """Whether inches stand beside the millimetres."""
        return self.unit == "in"

    def length(self, length_mm: float) -> str:
        """Return a board's or a tool's length; in inches as a fraction only where it is one.

        >>> Lengths("mm").length(215.9), Lengths("in").length(215.9), Lengths("in").length(3)
        ('215.9 mm', '215.9 mm (8 1/2 in)', '3 mm (0.118 in)')
        """
        return f"{number(length_mm)} mm" + (f" ({_on_sheet(length_mm)} in)" if self.inches else "")

    def depth(self, depth_mm: float) -> str:
        """Return a depth or width with hundredths; in inches as a decimal, and to the 64th where one is near enough.

        >>> Lengths("mm").depth(3), Lengths("in").depth(3), Lengths("in").depth(0.2)
        ('3.00 mm', '3.00 mm (0.118 in, nearest 1/8 in)', '0.20 mm (0.008 in)')
        """
        told = f"{depth_mm:.2f} mm"
        if not self.inches:
            return told
        near = f", nearest {nearest_64th(depth_mm)} in" if _off_64th(depth_mm) <= _NEAR_SHARE * abs(depth_mm) else ""
        return f"{told} ({depth_mm / MM_PER_INCH:.3f} in{near})"

    def most(self, depth_mm: float) -> str:
        """Return a depth that mustn't be exceeded, rounded down.

        >>> Lengths("mm").most(1.139), Lengths("in").most(1.139)
        ('1.13 mm', '1.13 mm (0.044 in)')
        """
        told = Lengths("mm").short_most(depth_mm)
        return f"{told} ({self.short_most(depth_mm)})" if self.inches else told

    def short_most(self, depth_mm: float) -> str:
        """Return a depth that mustn't be exceeded in the shop's unit alone, rounded down.

        >>> Lengths("mm").short_most(1.139), Lengths("in").short_most(1.03)
        ('1.13 mm', '0.040 in')
        """
        if self.inches:
            return f"{rounded_down(depth_mm / MM_PER_INCH, 3):.3f} in"
        return f"{rounded_down(depth_mm, 2):.2f} mm"

    def short(self, length_mm: float, *, decimals: int = 2) -> str:
        """Return a length in the shop's unit alone, with so many decimals of a millimetre and one more of an inch.

        >>> Lengths("mm").short(3), Lengths("in").short(3), Lengths("in").short(254, decimals=0)
        ('3.00 mm', '0.118 in', '10.0 in')
        """
        if self.inches:
            return f"{length_mm / MM_PER_INCH:.{decimals + 1}f} in"
        return f"{length_mm:.{decimals}f} mm"

    def size(self, size_mm: tuple[float, float]) -> str:
        """Return a width x height.

        >>> Lengths("in").size((203.2, 254.0)), Lengths("in").size((209.2, 260.0))
        ('203.2 x 254 mm (8 x 10 in)', '209.2 x 260 mm (8.236 x 10.236 in)')
        """
        told = " x ".join(map(number, size_mm)) + " mm"
        return told + (f" ({' x '.join(map(_on_sheet, size_mm))} in)" if self.inches else "")

    def short_size(self, size_mm: tuple[float, float]) -> str:
        """Return a width x height in the shop's unit alone.

        >>> Lengths("mm").short_size((215.9, 254)), Lengths("in").short_size((215.9, 254))
        ('215.9 x 254 mm', '8.5 x 10 in')
        """
        return f"{' x '.join(_trimmed(self.short(side).split()[0]) for side in size_mm)} {self.unit}"

    def span(self, least_mm: float, greatest_mm: float) -> str:
        """Return a range of lengths in the shop's unit alone.

        >>> Lengths("mm").span(1, 2.5), Lengths("in").span(25.4, 25.4)
        ('1.00 to 2.50 mm', '1.000 in')
        """
        least, greatest = self.short(least_mm), self.short(greatest_mm)
        return greatest if least == greatest else f"{least.split()[0]} to {greatest}"

    def run(self, length_mm: float) -> str:
        """Return a length along many lines, in metres; what is there is never told as nothing.

        >>> Lengths("mm").run(12_345), Lengths("in").run(12_345), Lengths("in").run(24.4), Lengths("in").run(0.4)
        ('12.3 m', '12.3 m (40.5 ft)', '24 mm (1.0 in)', '1 mm (0.1 in)')
        """
        told = f"{length_mm / 1000:.1f} m" if length_mm >= 1000 else f"{math.ceil(length_mm - 0.5) or 1:.0f} mm"
        return f"{told} ({self.short_run(length_mm)})" if self.inches else told

    def short_run(self, length_mm: float) -> str:
        """Return a length along many lines in the shop's unit alone.

        >>> Lengths("mm").short_run(12_345), Lengths("in").short_run(12_345), Lengths("in").short_run(0.4)
        ('12.3 m', '40.5 ft', '0.1 in')
        """
        if not self.inches:
            return self.run(length_mm)
        inches = length_mm / MM_PER_INCH
        return f"{inches / 12:.1f} ft" if inches >= 12 else f"{max(inches, 0.1):.1f} in"


def _on_sheet(length_mm: float) -> str:
    return _inches(length_mm, same_mm=_SAME_ON_SHEET_MM)


def _inches(length_mm: float, *, same_mm: float) -> str:
    """Return a length in inches: as a fraction where a 64th is that near, else with three decimals."""
    return nearest_64th(length_mm) if _off_64th(length_mm) <= same_mm else f"{length_mm / MM_PER_INCH:.3f}"


def _off_64th(length_mm: float) -> float:
    """Return how far a length is from the nearest 64th of an inch, in mm."""
    return abs(round(length_mm / MM_PER_INCH * _RULE) / _RULE * MM_PER_INCH - length_mm)


def _shortest(length: float) -> str:
    return _trimmed(f"{length:.6f}")


def _trimmed(decimals: str) -> str:
    return decimals.rstrip("0").rstrip(".")
