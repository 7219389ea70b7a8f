"""Fragile light: narrow ridges that stand between two recesses, ranked by how easily they may break.

A ranking, not a strength: it is calibrated against no wood. What counts is how high a ridge stands against its
width half-way down, where the slanting walls of V grooves have widened it, how long it is, which way the grain
runs along it, and whether one end of it is free.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.cuts import Recesses
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.smoothing import smoothed
from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.medial import Axis
from shadowrout.geometry.strokes import Stroke, pruned, strokes_of

Grain = Literal["along-width", "along-height"]

NARROW_MM = 1.5
"""Light is looked at where it is narrower than this half-way down (common practice, no source)."""

LISTED = 8
"""How many ridges are told of one by one, the riskiest first."""

LEAST_LENGTH_MM = 1.5
"""Shorter ridges are held well enough at their ends (common practice, no source)."""

LEAST_WIDTH_MM = 0.4
"""A ridge thinner than this counts as this thin, so that the point of a sharp tip doesn't outweigh all the rest."""

ALONG_SHARE = 0.15
"""Risk of a ridge along the grain against one across it (an estimate, no source)."""

FREE_END_FACTOR = 2.0
"""How much more a ridge is at risk that is held at one end alone (an estimate, no source)."""

_AXIS_MM = NARROW_MM + 1.0
"""Width on the face up to which the axis is followed, so that a ridge's end is told from a spur."""

_LEAST_STROKE_MM = LEAST_LENGTH_MM / 2
"""Shorter pieces of axis are left out before they are smoothed, which changes lengths a little."""

_TO_TIP_MM = NARROW_MM / 2
"""A ridge that stops so near to where the light ends goes on to its end: about a tip two walls can't be told apart."""


@dataclass(frozen=True, eq=False)
class LightRidge:
    """One narrow ridge of light. ``points`` (n, 2) float64 mm, n >= 2, along its middle.

    ``width_mm`` (n,) is the light that shows on the sanded face, ``base_mm`` (n,) the ridge's width at half the depth,
    ``depth_mm`` (n,) that of the shallower recess beside it, from the unsanded face. ``across`` is the share of
    sin^2 of its angle to the grain, 0 along and 1 across it; ``risk`` ranks ridges of one plaque.
    """

    points: Points
    width_mm: NDArray[np.float64]
    base_mm: NDArray[np.float64]
    depth_mm: NDArray[np.float64]
    free_end: bool
    across: float
    risk: float

    @property
    def length(self) -> float:
        """Length along the ridge, in millimetres."""
        return float(_along(self.points)[-1])

    @property
    def middle(self) -> tuple[float, float]:
        """The point half-way along the ridge."""
        along = _along(self.points)
        x, y = (float(np.interp(along[-1] / 2, along, axis)) for axis in self.points.T)
        return x, y


def grain_on(size_mm: tuple[float, float], asked: Grain | None) -> Grain:
    """Return which way the grain runs on a plaque: as asked, else along its longer side, the width of a square.

    >>> grain_on((200, 140), None), grain_on((140, 200), None), grain_on((140, 200), "along-width")
    ('along-width', 'along-height', 'along-width')
    """
    width, height = size_mm
    return asked or ("along-width" if width >= height else "along-height")


def find_fragile_light(
    light: Axis,
    pockets: Sequence[Pocket],
    v_lines: Sequence[VLine],
    *,
    grain: Grain,
    angle_deg: float,
    sanding_loss_mm: float,
) -> tuple[LightRidge, ...]:
    """Return the ridges of light under 1.5 mm wide at half the depth and at least as long, the riskiest first.

    ``light`` is the medial axis of all that isn't shadow. The risk is the sum over the ridge of
    length (depth / width)^2 (0.15 + 0.85 sin^2 of the angle to the grain), twice that where an end is free. None
    where nothing is cut.
    """
    axis = _near_shadow(light)
    strokes = [stroke for stroke in strokes_of(axis, pruned(axis)) if _along(stroke.points)[-1] >= _LEAST_STROKE_MM]
    if not strokes or not (pockets or v_lines):
        return ()
    # Ends are told by the whole light: where its axis was cut short, none is free.
    tips = {tuple(point) for point in light.points[np.flatnonzero(np.bincount(light.edges.ravel()) == 1)].tolist()}
    free = [tuple(not s.closed and tuple(s.points[end]) in tips for end in (0, -1)) for s in strokes]
    strokes = smoothed(strokes)
    recesses = Recesses(pockets, v_lines, angle_deg=angle_deg, sanding_loss_mm=sanding_loss_mm)
    ridges = [
        _ridge(run, grain)
        for stroke, flanked, ends in zip(strokes, _flanked(strokes, recesses), free, strict=True)
        for run in _runs(flanked, ends, closed=stroke.closed)
    ]
    return tuple(sorted(ridges, key=lambda ridge: -ridge.risk))


def _near_shadow(light: Axis) -> Axis:
    """Return the part of an axis where shadow is near on both sides, and its nodes alone."""
    near = (2 * light.radii < _AXIS_MM)[light.edges].all(axis=1)
    nodes, edges = np.unique(light.edges[near], return_inverse=True)
    return Axis(light.points[nodes], light.radii[nodes], edges.reshape(-1, 2))


@dataclass(frozen=True, eq=False)
class _Flanked:
    """The middle of some light and what stands beside it, at each point: rows of ``LightRidge``'s arrays."""

    points: Points
    width_mm: NDArray[np.float64]
    base_mm: NDArray[np.float64]
    depth_mm: NDArray[np.float64]

    def taken(self, indices: NDArray[np.intp]) -> _Flanked:
        """Return the rows of some points alone, as an open line."""
        return _Flanked(self.points[indices], self.width_mm[indices], self.base_mm[indices], self.depth_mm[indices])


def _flanked(strokes: Sequence[Stroke], recesses: Recesses) -> Iterator[_Flanked]:
    """Yield each stroke with the recesses to its left and right; its base is infinite where one is missing."""
    points = np.vstack([stroke.points for stroke in strokes])
    radii = np.concatenate([stroke.half_widths for stroke in strokes])
    out = np.vstack([_normals(stroke) for stroke in strokes]) * radii[:, None]
    base, shallower = np.full(len(points), np.inf), np.zeros(len(points))
    maybe = np.flatnonzero(2 * radii < NARROW_MM + recesses.lost_mm)
    depth, slope = recesses.beside(np.vstack([(points + out)[maybe], (points - out)[maybe]]))
    shallower[maybe] = depth.reshape(2, -1).min(axis=0)
    base[maybe] = np.where(shallower[maybe] > 0, 2 * radii[maybe] + slope.reshape(2, -1).sum(axis=0), np.inf)
    ends = np.cumsum([len(stroke.points) for stroke in strokes])[:-1]
    rows = (np.split(values, ends) for values in (points, 2 * radii, base, shallower))
    for row in zip(*rows, strict=True):
        yield _Flanked(*row)


def _normals(stroke: Stroke) -> Points:
    """Return the unit direction to the left of a stroke at each point, shape (n, 2)."""
    if stroke.closed:
        along = np.roll(stroke.points, -1, axis=0) - np.roll(stroke.points, 1, axis=0)
    else:
        along = np.gradient(stroke.points, axis=0)
    left: Points = np.column_stack([-along[:, 1], along[:, 0]]) / np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    return left


def _runs(light: _Flanked, free: Sequence[bool], *, closed: bool) -> Iterator[tuple[_Flanked, bool]]:
    """Yield the narrow stretches that are long enough, and whether an end of theirs is a free end of the light."""
    narrow = light.base_mm < NARROW_MM
    along = _along(light.points)
    order = np.arange(len(narrow))
    if closed:
        # From a wide point on; where there is none, once round to where it began.
        order = np.roll(order, -int(narrow.argmin())) if not narrow.all() else np.append(order, 0)
    changes = np.flatnonzero(np.diff(narrow[order])) + 1
    for run in np.split(order, changes):
        stretch = light.taken(run)
        if narrow[run[0]] and _along(stretch.points)[-1] >= LEAST_LENGTH_MM:
            to_ends = (along[run[0]], along[-1] - along[run[-1]])
            yield stretch, any(f and away <= _TO_TIP_MM for f, away in zip(free, to_ends, strict=True))


def _ridge(run: tuple[_Flanked, bool], grain: Grain) -> LightRidge:
    light, free_end = run
    pieces = np.diff(light.points, axis=0)
    lengths = np.hypot(*pieces.T)
    across_grain = pieces[:, 1] if grain == "along-width" else pieces[:, 0]
    across = (across_grain / np.maximum(lengths, 1e-12)) ** 2
    slender = (light.depth_mm / np.maximum(light.base_mm, LEAST_WIDTH_MM)) ** 2
    each = (slender[1:] + slender[:-1]) / 2 * (ALONG_SHARE + (1 - ALONG_SHARE) * across)
    return LightRidge(
        light.points,
        light.width_mm,
        light.base_mm,
        light.depth_mm,
        free_end=free_end,
        across=float((across * lengths).sum() / lengths.sum()),
        risk=float((each * lengths).sum()) * (FREE_END_FACTOR if free_end else 1.0),
    )


def _along(points: Points) -> NDArray[np.float64]:
    """Return the length along a line from its first point to each, shape (n,)."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
