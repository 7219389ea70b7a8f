"""The narrow light between recesses: how much there is, and the worst of it."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.carving.fragile_light import LISTED, Grain, LightRidge
from shadowrout.carving.plan import Plan
from shadowrout.report.figures.precision import hundredth, place, tenth, thousandth


@dataclass(frozen=True)
class RidgeFigures:
    """One ridge of light."""

    place_mm: tuple[float, float]
    """Half way along it."""
    width_mm: float
    """The mean, half-way down."""
    length_mm: float
    depth_mm: float
    """The mean of how high it stands over what is cut beside it."""
    across_grain: float
    """Mean sin^2 of its angle to the grain: 0 along, 1 across."""
    free_end: bool
    rank_by: float
    """What the ranking goes by; not a strength, and in no unit."""


@dataclass(frozen=True)
class FragileFigures:
    """Which way the grain runs, how much fragile light there is, and the worst of it, worst first."""

    grain: Grain
    count: int
    length_mm: float
    worst: tuple[RidgeFigures, ...]


def fragile_figures(plan: Plan) -> FragileFigures:
    """Return the figures of a plan's fragile light."""
    return FragileFigures(
        grain=plan.grain,
        count=len(plan.fragile_light),
        length_mm=tenth(sum(ridge.length for ridge in plan.fragile_light)),
        worst=tuple(_ridge(ridge) for ridge in plan.fragile_light[:LISTED]),
    )


def _ridge(ridge: LightRidge) -> RidgeFigures:
    return RidgeFigures(
        place_mm=place(ridge.middle),
        width_mm=thousandth(float(ridge.width_mm.mean())),
        length_mm=tenth(ridge.length),
        depth_mm=thousandth(float(ridge.depth_mm.mean())),
        across_grain=thousandth(ridge.across),
        free_end=ridge.free_end,
        rank_by=hundredth(ridge.risk),
    )
