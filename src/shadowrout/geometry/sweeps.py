"""What a disc or a bar covers on its way along lines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Floats
from shadowrout.geometry.region import Point, Region, buffered

QUAD_SEGS = 8
"""Straight pieces a quarter of each disc: the disc is too small by 0.5 % of its radius at most."""

_STRAIGHT_SHARE = 0.01
"""Bends of a line that are no more than this share of the radius don't count: twice what the disc itself is off by."""

_OVERLAP = 0.05
"""Share of its width by which a band reaches farther than a width past its ends, so that rounding leaves no gap."""


def swept(lines: Sequence[Points], radii: Sequence[Floats]) -> Region:
    """Return all that discs cover along ``lines``, shape (n, 2) each, n >= 2, their ``radii`` (n,) changing evenly.

    Between two places lies the hull of the two discs there. The empty region for no lines; radii aren't negative.
    """
    pieces: list[shapely.Geometry] = []
    even = [float(r[0]) if np.ptp(r) == 0 else None for r in radii]
    for radius in sorted({r for r in even if r is not None}):
        alike = [line for line, r in zip(lines, even, strict=True) if r == radius]
        pieces += shapely.buffer([shapely.LineString(line) for line in alike], radius, quad_segs=QUAD_SEGS).tolist()
    for line, r, same in zip(lines, radii, even, strict=True):
        if same is None:
            pieces += _hulls(line, r)
    return Region.of_shape(shapely.disjoint_subset_union_all(pieces))


def swept_evenly(lines: Sequence[Points], radius: float) -> Region:
    """Return all that a disc of one radius covers along ``lines``, shape (n, 2) each, n >= 2; empty for no lines.

    Points of the lines that lie within a hundredth of the radius of a straight piece don't count.
    """
    simple = shapely.MultiLineString([*lines]).simplify(_STRAIGHT_SHARE * radius, preserve_topology=False)
    return Region.of_shape(buffered(shapely.get_parts(simple), radius, quad_segs=QUAD_SEGS))


def band_between(start: Point, end: Point, *, width: float) -> Region:
    """Return the upright-ended band of ``width`` about the line from start to end, reaching a width past both."""
    (ax, ay), (bx, by) = start, end
    length = math.hypot(bx - ax, by - ay)
    over = width * (1 + _OVERLAP) / length
    dx, dy = (bx - ax) * over, (by - ay) * over
    line = shapely.LineString([(ax - dx, ay - dy), (bx + dx, by + dy)])
    return Region.of_shape(line.buffer(width / 2, cap_style="flat"))


def _hulls(line: Points, radii: Floats) -> Iterator[shapely.Geometry]:
    """Yield the hull of the discs at both ends of each piece of a line."""
    turns = np.arange(4 * QUAD_SEGS) * (np.pi / 2 / QUAD_SEGS)
    rim = np.column_stack([np.cos(turns), np.sin(turns)])
    discs = line[:, None, :] + radii[:, None, None] * rim
    both = np.concatenate([discs[:-1], discs[1:]], axis=1)
    hulls = np.asarray(shapely.convex_hull(shapely.multipoints(both)))
    yield from hulls[shapely.get_type_id(hulls) == shapely.GeometryType.POLYGON]
