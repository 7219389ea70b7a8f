"""Lengths as they stand on paper, in the unit of the one who reads them."""

from __future__ import annotations

from fractions import Fraction

from shadowrout.words.units import Unit

_SAME_MM = 0.0005
"""A length this near to a fraction of an inch is that fraction."""


def shown(length_mm: float, unit: Unit, *, decimals: int | None = None) -> str:
    """Return a length with its unit: one decimal for mm; three and the nearest 1/64 for inches.

    >>> shown(3.0, Unit.MM), shown(3.175, Unit.INCH)
    ('3.0 mm', '0.125 in (1/8)')
    """
    if unit is Unit.MM:
        return f"{length_mm:.{1 if decimals is None else decimals}f} mm"
    return f"{length_mm / unit.mm:.{3 if decimals is None else decimals}f} in ({nearest_64th(length_mm)})"


def inside_edge(overhang_mm: tuple[float, float], unit: Unit) -> str:
    """Return where the board's edge lies under a sheet that stands over it so far left and right, above and below."""
    across, up = (round(over, 6) for over in overhang_mm)
    if across == up == 0:
        return "flush with this edge"
    if across == up:
        return f"{shown(across, unit)} inside this edge"
    return f"{shown(across, unit)} inside left and right, {shown(up, unit)} above and below"


def brief(length_mm: float, unit: Unit) -> str:
    """Return a length with two decimals at the most; in inches as a fraction where it is a 64th, else with three.

    >>> brief(3.0, Unit.MM), brief(2.5375, Unit.MM), brief(3.175, Unit.INCH), brief(3.0, Unit.INCH)
    ('3 mm', '2.54 mm', '1/8 in', '0.118 in')
    """
    if unit is Unit.MM:
        return f"{length_mm:.2f}".rstrip("0").rstrip(".") + " mm"
    sixty_fourths = length_mm / unit.mm * 64
    exact = abs(sixty_fourths - round(sixty_fourths)) * unit.mm / 64 < _SAME_MM
    return f"{nearest_64th(length_mm) if exact else f'{length_mm / unit.mm:.3f}'} in"


def nearest_64th(length_mm: float) -> str:
    """Return a length in inches as a whole number and the nearest 64th in lowest terms.

    >>> nearest_64th(3.0), nearest_64th(200.0), nearest_64th(25.4), nearest_64th(0.1)
    ('1/8', '7 7/8', '1', '0')
    """
    sixty_fourths = round(length_mm / Unit.INCH.mm * 64)
    whole, rest = divmod(sixty_fourths, 64)
    parts = [str(whole)] if whole or not rest else []
    return " ".join(parts + ([str(Fraction(rest, 64))] if rest else []))
