"""Places of a region that are narrower than a width but at tapered ends, found by openings, and made wide.

An opening is what discs of a width reach inside a region (Serra 1982). What it leaves out is a taper where it touches
the opening once and from there only gets narrower; all else is a neck.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region, union_all
from shadowrout.geometry.sweeps import swept_evenly

ROUNDS = 4
"""A place that is made wide may come to touch a neighbour, and that makes another neck; this often at most."""

NARROWER = (0.9, 0.7, 0.5)
"""Shares of the width by which it is judged whether a taper only gets narrower."""

_ERROR_MM = 0.005
"""Error of outlines that are grown or shrunk: a twentieth of the tolerance that a job has by default."""

_HAIR_MM = 0.01
"""Length by which openings are grown more than they were shrunk: the errors of both together."""

_LEAST_MM2 = 0.005
"""Smaller bits are no places: rounding leaves thousands of such along an outline."""

_COARSE_MM = 0.05
"""Error of outlines that only bound where is looked, farther out than any place reaches."""


@dataclass(frozen=True, eq=False)
class Neck:
    """A narrow place: ``points`` (n, 2), n >= 2, along its middle, and its mean width, mm."""

    points: Points
    width_mm: float


def opened(region: Region, width_mm: float) -> Region:
    """Return what discs of a width reach from inside, and a hair more."""
    radius = width_mm / 2
    return region.offset(-radius, error=_ERROR_MM).offset(radius + _HAIR_MM, error=_ERROR_MM)


def closed_near(region: Region, lines: Sequence[Points], *, width_mm: float, reach_mm: float) -> Region:
    """Return the part of the region no further than ``reach_mm`` from the lines, its gaps under ``width_mm`` filled."""
    around = swept_evenly(lines, reach_mm)
    there = region.intersection(around.offset(2 * width_mm, error=_COARSE_MM))
    radius = width_mm / 2
    return there.offset(radius, error=_ERROR_MM).offset(-radius, error=_ERROR_MM).intersection(around)


def neck_fillings(
    region: Region, *, narrow_mm: float, width_mm: float, least_gap_mm: float
) -> tuple[Region, list[Neck]]:
    """Return what makes the places of a region that are narrower than ``narrow_mm`` ``width_mm`` wide, and the places.

    Tapers stay as they are. Gaps narrower than ``least_gap_mm`` are filled beside these places. Time goes by the
    outline's points: leave out what a few thousandths of a millimetre don't need.
    """
    added: list[Region] = []
    found: list[Neck] = []
    necks = list(_necks(region, narrow_mm, tapers=True))
    for _ in range(ROUNDS):
        if not necks:
            break
        found += necks
        lines = [neck.points for neck in necks]
        near, nearer = (swept_evenly(lines, reach * width_mm) for reach in (8, 6))
        wide = swept_evenly(lines, width_mm / 2)
        there = region.intersection(near).union(wide)
        added += [wide, closed_near(there, lines, width_mm=least_gap_mm, reach_mm=width_mm)]
        region = region.union(union_all(added[-2:]))
        if not (holes := region.holes(below_area=least_gap_mm**2)).is_empty:
            added.append(holes)
            region = region.union(holes)
        around = _necks(region.intersection(near), narrow_mm, tapers=False)
        necks = [neck for neck in around if nearer.within(neck.points).all()]
    return union_all(added), found


def _necks(region: Region, width_mm: float, *, tapers: bool) -> Iterator[Neck]:
    """Yield the necks of a region between two wide parts, and then, if ``tapers``, tapers that widen again."""
    core = region.offset(-width_mm / 2, error=_ERROR_MM)
    wide = core.offset(width_mm / 2 + _HAIR_MM, error=_ERROR_MM)
    rest = region.difference(wide).keeping(_LEAST_MM2)
    pieces = _parts(rest)
    seams = rest.offset(2 * _HAIR_MM, error=_ERROR_MM)
    ends = _parts(wide.intersection(seams))
    ends = ends[shapely.area(ends) > _HAIR_MM**2]
    piece, end = shapely.STRtree(ends).query(pieces, predicate="dwithin", distance=_HAIR_MM / 2)
    spots = [shapely.get_coordinates(shapely.centroid(ends[end[piece == number]])) for number in range(len(pieces))]
    for shape, touches in zip(pieces, spots, strict=True):
        if len(touches) > 1:
            yield _neck(shape, [spot for touch in touches[1:] for spot in (touches[0], touch)])
    ending = [number for number, touches in enumerate(spots) if tapers and len(touches) < 2]
    for number, bulge in _bulges(region, core, pieces[ending], width_mm):
        shape, touches = pieces[ending[number]], spots[ending[number]]
        (spot, _) = Region.of_shape(bulge).widest_spot(precision=_ERROR_MM)
        yield _neck(shape, [*touches, spot] if len(touches) else [spot, (spot[0] + _HAIR_MM, spot[1])])


def _neck(shape: BaseGeometry, spots: Iterable[Sequence[float]]) -> Neck:
    points = np.array([tuple(spot) for spot in spots])
    length = np.hypot(*np.diff(points, axis=0).T).sum()
    return Neck(points, float(min(shape.area / length, np.sqrt(shape.area))))


def _bulges(
    region: Region, core: Region, tapers: NDArray[np.object_], width_mm: float
) -> Iterator[tuple[int, BaseGeometry]]:
    """Yield each taper that widens again, by number, with the part of it past the narrow place.

    ``core`` is where the centres of discs of the width can be. No disc further out is seen in a taper that is too
    slight to hold the smallest.
    """
    least_mm = NARROWER[-1] * width_mm / 2 - 4 * _HAIR_MM
    stout = np.flatnonzero(shapely.area(tapers) > np.pi * least_mm**2)
    if not len(stout):
        return
    tree, done = shapely.STRtree(tapers[stout]), set[int]()
    near = Region(shapely.MultiPolygon(list(tapers[stout]))).offset(width_mm, error=_COARSE_MM)
    there = region.intersection(near)
    shapely.prepare(core.shape)
    reach_mm = width_mm / 2 - _HAIR_MM
    for share in NARROWER:
        parts = _parts(opened(there, share * width_mm))
        parts = parts[~shapely.dwithin(core.shape, parts, reach_mm)]
        parts = parts[shapely.area(parts) > _LEAST_MM2]
        for part, number in zip(*tree.query(parts, predicate="intersects"), strict=True):
            if number not in done:
                done.add(int(number))
                yield int(stout[number]), parts[part]


def _parts(region: Region) -> NDArray[np.object_]:
    return np.array(region.shape.geoms, dtype=object)
