"""Where two regions touch, and how far one stands out from the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from shadowrout.geometry.region import Region


def contacts(piece: Region, body: Region, *, within: float) -> int:
    """Return in how many separate places ``piece`` comes as near as ``within`` to ``body``; 0 for empty ones.

    Two places are one where the stretch of the body's edge between them stays that near.
    """
    if piece.is_empty or body.is_empty:
        return 0
    near = shapely.buffer(piece.shape, within, quad_segs=4)
    around = shapely.clip_by_rect(body.shape.boundary, *near.buffer(1.0).bounds)
    lines = [part for part in shapely.get_parts(shapely.intersection(around, near)) if part.length > 0]
    return len(shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))) if lines else 0


def standing_out(rest: Region, body: Region, *, by: float) -> Iterator[tuple[Region, Region]]:
    """Yield each part of ``rest`` that has a point further than ``by`` from ``body``, and the body around it.

    The second region is the body cut to the part's box grown by twice that length.
    """
    shapely.prepare(body.shape)
    for part in rest.parts():
        x0, y0, x1, y1 = part.bounds
        if math.hypot(x1 - x0, y1 - y0) <= by:
            continue
        points = shapely.points(shapely.get_coordinates(part.shape.segmentize(by / 8)))
        if np.all(shapely.dwithin(body.shape, points, by)):
            continue
        near = Region.of_shape(shapely.clip_by_rect(body.shape, x0 - 2 * by, y0 - 2 * by, x1 + 2 * by, y1 + 2 * by))
        yield part, near


def clearance(one: Region, other: Region) -> float:
    """Return the least distance between two regions; infinite where either is empty."""
    if one.is_empty or other.is_empty:
        return math.inf
    return float(shapely.distance(one.shape, other.shape))
