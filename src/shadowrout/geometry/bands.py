"""Straight bands across a region, where a bridge could stand."""

from __future__ import annotations

import math

import shapely

from shadowrout.geometry.region import Region

Point = tuple[float, float]

_OVERLAP = 0.05


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


def band_between(start: Point, end: Point, *, width: float) -> Region:
    """Return the upright-ended band of ``width`` about the line from start to end, reaching a width past both."""
    (ax, ay), (bx, by) = start, end
    length = math.hypot(bx - ax, by - ay)
    over = width * (1 + _OVERLAP) / length
    dx, dy = (bx - ax) * over, (by - ay) * over
    line = shapely.LineString([(ax - dx, ay - dy), (bx + dx, by + dy)])
    return Region.of_shape(line.buffer(width / 2, cap_style="flat"))
