"""Outlines cut by regions, regions picked by others, and the union of many."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region


@dataclass(frozen=True, eq=False)
class Line:
    """A run of straight pieces through ``points``, shape (n, 2), n >= 2.

    A closed line doesn't repeat its first point at the end.
    """

    points: Points
    closed: bool


def union_all(regions: Iterable[Region]) -> Region:
    """Return what lies in any of the regions; the empty region for none."""
    return Region.of_shape(shapely.disjoint_subset_union_all([region.shape for region in regions]))


def parts_meeting(region: Region, other: Region) -> tuple[Region, Region]:
    """Return those parts of the region that share a point with ``other``, and those that share none."""
    parts = shapely.get_parts(region.shape)
    _, met = shapely.STRtree(parts).query(shapely.get_parts(other.shape), predicate="intersects")
    meets = np.zeros(len(parts), dtype=bool)
    meets[met] = True
    return Region(shapely.MultiPolygon(list(parts[meets]))), Region(shapely.MultiPolygon(list(parts[~meets])))


def outlines_inside(region: Region, area: Region) -> list[Line]:
    """Return the parts of the region's outline that lie in ``area``, each as one run as long as possible.

    A ring wholly inside comes out closed. Empty when either region is empty.
    """
    if region.is_empty or area.is_empty:
        return []
    cut = shapely.intersection(region.shape.boundary, area.shape)
    pieces = [p for p in shapely.get_parts(cut) if p.geom_type == "LineString" and not p.is_empty]
    merged = shapely.line_merge(shapely.MultiLineString(pieces))
    return [_line(shapely.get_coordinates(piece)) for piece in shapely.get_parts(merged)]


def _line(points: Points) -> Line:
    closed = len(points) > 3 and bool(np.all(points[0] == points[-1]))
    return Line(points[:-1] if closed else points, closed)
