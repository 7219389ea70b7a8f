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
from shadowrout.geometry.region import Region
from shadowrout.geometry.sweeps import swept

ROUNDS = 4
"""A place that is made wide may come to touch a neighbour, and that makes another neck; this often at most."""

NARROWER = (0.9, 0.7, 0.5)
"""Shares of the width by which it is judged whether a taper only gets narrower."""

_ERROR_MM = 0.005
_HAIR_MM = 0.01
_LEAST_MM2 = 0.005
_COARSE_MM = 0.05


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
    around = swept(lines, [np.full(len(line), reach_mm) for line in lines])
    there = region.intersection(around.offset(2 * width_mm, error=_COARSE_MM))
    radius = width_mm / 2
    return there.offset(radius, error=_ERROR_MM).offset(-radius, error=_ERROR_MM).intersection(around)


def without_necks(
    region: Region, *, narrow_mm: float, width_mm: float, least_gap_mm: float
) -> tuple[Region, list[Neck]]:
    """Return the region with what is narrower than ``narrow_mm`` made ``width_mm`` wide, and the places.

    Tapers stay as they are. Gaps narrower than ``least_gap_mm`` are filled beside these places.
    """
    found: list[Neck] = []
    necks = list(_necks(region, narrow_mm, tapers=True))
    for _ in range(ROUNDS):
        if not necks:
            break
        found += necks
        lines = [neck.points for neck in necks]
        region = region.union(swept(lines, [np.full(len(line), width_mm / 2) for line in lines]))
        filled = closed_near(region, lines, width_mm=least_gap_mm, reach_mm=width_mm)
        region = region.union(filled).holes_filled(least_gap_mm**2)
        near, nearer = (swept(lines, [np.full(len(line), reach * width_mm) for line in lines]) for reach in (8, 6))
        around = _necks(region.intersection(near), narrow_mm, tapers=False)
        necks = [neck for neck in around if nearer.within(neck.points).all()]
    return region, found


def _necks(region: Region, width_mm: float, *, tapers: bool) -> Iterator[Neck]:
    """Yield the necks of a region between two wide parts, and then, if ``tapers``, tapers that widen again."""
    wide = opened(region.simplified(_ERROR_MM), width_mm)
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
    for number, bulge in _bulges(region, wide.difference(seams), pieces[ending], width_mm):
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
    """Yield each taper that widens again, by number, with the part of it past the narrow place."""
    if not len(tapers):
        return
    tree, done = shapely.STRtree(tapers), set[int]()
    near = Region(shapely.MultiPolygon(list(tapers))).offset(width_mm, error=_COARSE_MM)
    there = region.intersection(near).simplified(_ERROR_MM)
    shapely.prepare(core.shape)
    for share in NARROWER:
        parts = _parts(opened(there, share * width_mm))
        parts = parts[~shapely.intersects(core.shape, parts)]
        parts = parts[shapely.area(parts) > _LEAST_MM2]
        for part, number in zip(*tree.query(parts, predicate="intersects"), strict=True):
            if number not in done:
                done.add(int(number))
                yield int(number), parts[part]


def _parts(region: Region) -> NDArray[np.object_]:
    return np.array(region.shape.geoms, dtype=object)
