"""Lines cut by regions: the outlines of others, and straight ones."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Point, Region


@dataclass(frozen=True, eq=False)
class Line:
    """A run of straight pieces through ``points``, shape (n, 2), n >= 2.

    A closed line doesn't repeat its first point at the end.
    """

    points: Points
    closed: bool


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


def chords_through(region: Region, point: Point, angle_rad: float) -> list[tuple[Point, Point]]:
    """Return the first stretch of the region on each side of ``point`` along a line at that angle.

    ``point`` lies outside the region; an empty list where the line meets none of it.
    """
    x0, y0, x1, y1 = region.bounds
    far = math.hypot(x1 - x0, y1 - y0)
    found = []
    for way in (1, -1):
        end = (point[0] + way * far * math.cos(angle_rad), point[1] + way * far * math.sin(angle_rad))
        cut = shapely.intersection(shapely.LineString([point, end]), region.shape)
        pieces = [p for p in shapely.get_parts(cut) if p.length > 0]
        if pieces:
            first = min(pieces, key=lambda p: p.distance(shapely.Point(point)))
            (ax, ay), *_, (bx, by) = first.coords
            found.append(((ax, ay), (bx, by)))
    return found


def _line(points: Points) -> Line:
    closed = len(points) > 3 and bool(np.all(points[0] == points[-1]))
    return Line(points[:-1] if closed else points, closed)
