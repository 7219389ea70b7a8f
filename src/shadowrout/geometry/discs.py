"""Discs: where one of them holds all of a region, and what joins one to a body."""

from __future__ import annotations

import numpy as np
import shapely

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Point, Region

QUAD_SEGS = 32
"""Straight pieces a quarter of each disc: it is too small by 0.03 % of its radius at most."""

_CORNER_SHARE = 0.005
"""Corners of a hull that stand out by no more than this share of the radius don't count; the radius makes up for it."""

_PLACES = 40
"""Places looked at round the edge of all that will do: beside one another they differ little in what they cost."""


def disc(centre: Point, radius: float) -> Region:
    """Return a disc as a polygon inscribed in it."""
    return Region.of_shape(shapely.Point(centre).buffer(radius, quad_segs=QUAD_SEGS))


def places_within(region: Region, radius: float) -> Points:
    """Return places, shape (n, 2), from each of which no point of the region is further than ``radius``.

    They lie round the edge of all such places, and one in the middle. None, (0, 2), where the region is too large;
    raises ValueError for the empty region.
    """
    if region.is_empty:
        raise ValueError("the empty region is within reach of any place")
    corners = shapely.get_coordinates(region.shape.convex_hull.simplify(_CORNER_SHARE * radius))
    discs = shapely.buffer(shapely.points(corners), (1 - 2 * _CORNER_SHARE) * radius, quad_segs=QUAD_SEGS)
    common = shapely.intersection_all(discs)
    if common.area == 0:
        return np.empty((0, 2))
    edge, shares = shapely.get_exterior_ring(common), np.arange(_PLACES) / _PLACES
    return shapely.get_coordinates([*shapely.line_interpolate_point(edge, shares, normalized=True), common.centroid])


def halves(region: Region) -> list[Region]:
    """Return what lies on both sides of the middle of the region's longer side, as its parts."""
    (ax, ay), (bx, by), (cx, cy) = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region.shape))[:3]
    along = max(np.array([bx - ax, by - ay]), np.array([cx - bx, cy - by]), key=np.linalg.norm)
    across = np.array([-along[1], along[0]])
    middle = np.array([(ax + cx) / 2, (ay + cy) / 2])
    corners = [middle - across, middle + across, middle + across + along, middle - across + along]
    one = Region.of_shape(shapely.Polygon(corners))
    return [*region.intersection(one).parts(), *region.difference(one).parts()]


def joined(tip: Region, place: Point, body: Region, *, breadth: float) -> Region:
    """Return the hull of a region about a place and of that part of the body which is nearest to the place.

    Of the body counts what is no more than ``breadth`` further from the place than its nearest point, and hangs
    together with that. ``tip`` alone where there is no body or the place lies in it.
    """
    at = shapely.Point(place)
    away = body.shape.distance(at)
    if body.is_empty or away == 0:
        return tip
    near = Region.of_shape(body.shape.intersection(at.buffer(away + breadth, quad_segs=QUAD_SEGS)))
    nearest = min(near.parts(), key=lambda part: part.shape.distance(at), default=tip)
    return Region.of_shape(shapely.union(tip.shape, nearest.shape).convex_hull)
