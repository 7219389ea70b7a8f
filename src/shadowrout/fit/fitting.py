"""The steps of a fit: corners, first pieces, vertices moved or left out, kinks eased, bulges, repairs, rounding off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import PromiseError
from shadowrout.fit.bulges import smoothly_curved
from shadowrout.fit.corners import barriers, corners_of
from shadowrout.fit.easing import eased
from shadowrout.fit.first_pieces import line_pieces, ring_pieces
from shadowrout.fit.repair import repaired
from shadowrout.fit.smooth import rounded
from shadowrout.fit.track import Pieces, Track
from shadowrout.fit.vertices import evened, merged, settled
from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.arrays import Flags
from shadowrout.geometry.region import Region

SEARCH_SHARE = 0.99
"""Share of the tolerance that pieces are sought with: the rest is for what arcs do between the points looked at."""

ROUNDING_SHARE = 0.25
"""Share of the tolerance that is kept for rounding kinks off."""


@dataclass(frozen=True, eq=False)
class Fitted:
    """Paths that stand for rings or lines, in the order and direction of these.

    ``deviation`` is the largest distance found between the paths and what they stand for, both ways and to the
    true arcs, in the unit of the input.
    """

    paths: tuple[ArcPath, ...]
    deviation: float


def fit_region(region: Region, *, tolerance: float, smooth: bool = False) -> Fitted:
    """Return one closed path for each of ``region.rings()``, in that order and direction.

    Vertices lie on the rings or near them, at corners on them. Every point of a path lies within ``tolerance`` of its
    ring and the other way round. No path crosses itself or another, and each lies in the nest as its ring does; where
    the wanted tolerance would break that, pieces are fitted more tightly. The empty region gives no paths and the
    deviation 0.

    ``smooth`` asks for pieces that are tangent to each other, but for corners and where outlines nearly touch. It takes
    a bit more than twice as many.

    Raises ValueError for a tolerance that isn't a positive number, PromiseError where no sound fit exists.
    """
    _check(tolerance)
    return _smoothed(region, tolerance) if smooth else _fit_region(region, tolerance)[0]


def _smoothed(region: Region, tolerance: float) -> Fitted:
    kinked, sharp = _fit_region(region, (1 - ROUNDING_SHARE) * tolerance)
    paths, moved = rounded(kinked.paths, sharp, room=ROUNDING_SHARE * tolerance)
    return Fitted(paths, kinked.deviation + moved)


def _fit_region(region: Region, tolerance: float) -> tuple[Fitted, list[Flags]]:
    """Return the fitted rings, and for each which of its vertices are corners of the drawing."""
    rings = region.rings()
    if not rings:
        return Fitted((), 0.0), []
    if min(map(len, rings)) < 3:
        raise PromiseError("an outline of two points encloses nothing and can't be fitted soundly")
    track = Track.of_rings(rings)
    corners = corners_of(track, tolerance)
    barrier = barriers(track, corners)
    pieces = settled(track, ring_pieces(track, barrier, corners, SEARCH_SHARE * tolerance), corners)
    pieces = evened(track, merged(track, pieces, corners), corners)
    pieces = smoothly_curved(track, eased(track, pieces, corners, tolerance))
    pieces, deviation = repaired(track, pieces, barrier, tolerance, sound=True)
    return _fitted(track, pieces, deviation), _by_path(pieces, np.isin(pieces.first, corners))


def fit_open(lines: Sequence[Points], *, tolerance: float) -> Fitted:
    """Return one open path for each of ``lines``, shape (n, 2), n >= 2, in that order and direction.

    Vertices are points of the lines, the end points among them. Every point of a path lies within ``tolerance`` of
    its line and the other way round. Lines may cross, so nothing is done about paths that do. No lines give no
    paths and the deviation 0.

    Raises ValueError for a wrong shape, a line that is a single point, or a tolerance that isn't positive.
    """
    _check(tolerance)
    if not len(lines):
        return Fitted((), 0.0)
    track = Track.of_lines(lines)
    corners = corners_of(track, tolerance)
    barrier = barriers(track, corners)
    pieces = settled(track, line_pieces(track, barrier, SEARCH_SHARE * tolerance), corners)
    pieces = smoothly_curved(track, merged(track, pieces, corners))
    return _fitted(track, *repaired(track, pieces, barrier, tolerance, sound=False))


def _check(tolerance: float) -> None:
    if not (tolerance > 0 and np.isfinite(tolerance)):
        raise ValueError(f"tolerance: expected a positive length, got {tolerance}")


def _by_path(pieces: Pieces, values: NDArray[Any]) -> list[NDArray[Any]]:
    """Return the values, one or one row a piece, path by path."""
    return np.split(values, np.flatnonzero(pieces.ring[1:] != pieces.ring[:-1]) + 1)


def _fitted(track: Track, pieces: Pieces, deviation: float) -> Fitted:
    normal = np.column_stack([track.normal_x[pieces.first], track.normal_y[pieces.first]])
    vertices = track.given[pieces.first] + pieces.first_shift[:, None] * normal
    starts, bulges = _by_path(pieces, vertices), _by_path(pieces, pieces.bulge)
    if track.closed:
        paths = [ArcPath(v, b) for v, b in zip(starts, bulges, strict=True)]
    else:
        ends = track.given[track.begin + track.count - 1]
        paths = [ArcPath(np.vstack([v, end]), b, closed=False) for v, b, end in zip(starts, bulges, ends, strict=True)]
    return Fitted(tuple(paths), deviation)
