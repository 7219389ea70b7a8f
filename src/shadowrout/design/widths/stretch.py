"""Stretches of the shadow's strokes, and what became of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.necks import Neck
from shadowrout.geometry.region import Region
from shadowrout.geometry.strokes import Stroke

ERROR_MM = 0.005
"""How far outlines may be off in what judges widths."""

_STEPS_A_WIDTH = 4
"""Points of a boundary to a line's width: its middle line then lies within a few hundredths of the width."""
_LONGEST_STEP_MM = 0.3
"""The same where lines are wide, so that short stretches are still seen."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """Part of a stroke's centre line: ``points`` (n, 2) and ``half_widths`` (n,) in mm, and which ends are free."""

    points: Points
    half_widths: NDArray[np.float64]
    free_start: bool
    free_end: bool

    @classmethod
    def of_neck(cls, neck: Neck) -> Stretch:
        """Return a narrow place as a stretch, its width the same all along."""
        return cls(neck.points, np.full(len(neck.points), neck.width_mm / 2), False, False)

    @property
    def length_mm(self) -> float:
        """Length along the line."""
        return float(self.along_mm[-1])

    @property
    def width_mm(self) -> float:
        """Mean width, as it was before anything was widened."""
        return float(2 * self.half_widths.mean())

    @property
    def place(self) -> tuple[float, float]:
        """A point about half way along."""
        x, y = self.points[len(self.points) // 2]
        return float(x), float(y)

    @property
    def along_mm(self) -> NDArray[np.float64]:
        """Length from the start to each point, shape (n,)."""
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.points, axis=0).T))])

    def part(self, first: int, last: int, *, cut_is_free: bool = False) -> Stretch:
        """Return the points from ``first`` up to, not including, ``last``, and one more where that is but one.

        Where the part is cut off the rest it has a free end if ``cut_is_free``.
        """
        count = len(self.points)
        first, last = (first, last) if last - first > 1 else (max(0, last - 2), max(2, last))
        return Stretch(
            self.points[first:last],
            self.half_widths[first:last],
            cut_is_free if first else self.free_start,
            cut_is_free if last < count else self.free_end,
        )


@dataclass(frozen=True, eq=False)
class WidthReport:
    """What became of every stroke: ``kept`` was wide enough or tapers, ``widened`` and ``dropped`` were too thin."""

    finest_mm: float
    kept: tuple[Stretch, ...]
    widened: tuple[Stretch, ...]
    dropped: tuple[Stretch, ...]


def dot(part: Region) -> Stretch:
    """Return a stretch of hardly any length in the widest spot of a part."""
    place, radius = part.widest_spot(precision=ERROR_MM)
    return Stretch(np.array([place, place]) + [[0.0, 0.0], [1e-6, 0.0]], np.full(2, radius), True, True)


def closed_up(stroke: Stroke, free_start: bool = False, free_end: bool = False) -> Stretch:
    """Return a stroke as a stretch; a closed one ends on its first point and has no free end."""
    points, half_widths = stroke.points, stroke.half_widths
    if stroke.closed:
        return Stretch(np.vstack([points, points[:1]]), np.append(half_widths, half_widths[0]), False, False)
    return Stretch(points, half_widths, free_start, free_end)


def thinned(stretch: Stretch, spacing_mm: float) -> Stretch:
    """Return the stretch with fewer points, about ``spacing_mm`` apart, both ends kept."""
    along = stretch.along_mm
    step = np.floor(along / spacing_mm)
    keep = np.concatenate([[True], np.diff(step) > 0])
    keep[-1] = True
    return Stretch(stretch.points[keep], stretch.half_widths[keep], stretch.free_start, stretch.free_end)


def runs(flags: NDArray[np.bool_]) -> Iterator[tuple[int, int, bool]]:
    """Yield (first, last + 1, flag) of each run of equal flags."""
    cuts = [0, *(np.flatnonzero(np.diff(flags)) + 1).tolist(), len(flags)]
    for first, last in pairwise(cuts):
        yield first, last, bool(flags[first])


def level(radii: NDArray[np.float64]) -> Iterator[tuple[int, int]]:
    """Yield (first, last + 1) of runs of points, ends shared, over which the radii either stay or change."""
    stays = np.diff(radii) == 0
    for first, last, _ in runs(stays):
        yield first, last + 1


def step_mm(width_mm: float) -> float:
    """Return how far apart points along outlines are for judging a width."""
    return min(_LONGEST_STEP_MM, width_mm / _STEPS_A_WIDTH)
