"""Pairs of curves that come closer to each other than they may, found with a spatial index."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats, Indices

Shapes = NDArray[np.object_]


def nearby_boxes(low: Points, high: Points, asked: Indices, distance: float) -> tuple[Indices, Indices]:
    """Return the pairs of upright boxes that come within ``distance`` of each other.

    ``low`` and ``high`` are the corners of all boxes, shape (boxes, 2) each. Only pairs with one of ``asked`` among
    them are sought; the first of a pair is one of these. Each pair comes once.
    """
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    wide = shapely.box(*(low[asked] - distance).T, *(high[asked] + distance).T)
    row, other = shapely.STRtree(boxes).query(wide)
    one = asked[row]
    twice = np.zeros(len(low), dtype=bool)
    twice[asked] = True
    once = (one < other) | ((one > other) & ~twice[other])
    return one[once], other[once]


def within_distance(points: Points, counts: Indices, one: Indices, other: Indices, distance: Floats) -> Flags:
    """Return for each pair of curves whether they come within ``distance`` of each other, shape (pairs,).

    The curves are polylines of ``counts`` points each, 2 at least, all of them in ``points``, shape (counts.sum(), 2).
    Curves that meet are within any distance, 0 included.
    """
    ones, others = _paired_lines(points, counts, one, other)
    close: Flags = shapely.dwithin(ones, others, distance)  # type: ignore[call-overload]
    return close


def crossing(points: Points, counts: Indices, one: Indices, other: Indices) -> Flags:
    """Return for each pair of curves whether one passes through the other, shape (pairs,); touching isn't enough.

    The curves are given as in ``within_distance``.
    """
    ones, others = _paired_lines(points, counts, one, other)
    crosses: Flags = shapely.crosses(ones, others)
    return crosses


def _paired_lines(points: Points, counts: Indices, one: Indices, other: Indices) -> tuple[Shapes, Shapes]:
    lines = polylines(points, counts)
    return lines[one], lines[other]


def polylines(points: Points, counts: Indices) -> Shapes:
    """Return the polylines of ``counts`` points each, as in ``within_distance``, shape (lines,)."""
    return np.asarray(shapely.linestrings(points, indices=np.repeat(np.arange(len(counts)), counts)))


def hulls(points: Floats) -> Shapes:
    """Return the convex hulls of groups of points, shape (groups, points, 2); no groups give none."""
    number = np.repeat(np.arange(len(points)), points.shape[1])
    return np.asarray(shapely.convex_hull(shapely.multipoints(points.reshape(-1, 2), indices=number)))


def pairs_within(shapes: Shapes, others: Shapes, distance: Floats) -> tuple[Indices, Indices]:
    """Return the pairs (shape, other) that come within the shape's ``distance``, shape (shapes,), of each other."""
    shape, other = shapely.STRtree(others).query(shapes, predicate="dwithin", distance=distance)
    return shape, other


def ring_containment(points: Points, ring_points: Points, counts: Indices) -> Indices:
    """Return the pairs (ring, point) where the point lies strictly inside the ring, shape (pairs, 2).

    The rings have ``counts`` points each, 3 at least, all of them in ``ring_points``, shape (counts.sum(), 2). Point k
    belongs to ring k modulo the number of rings and isn't paired with that one.
    """
    rings = shapely.linearrings(ring_points, indices=np.repeat(np.arange(len(counts)), counts))
    tree = shapely.STRtree(np.asarray(shapely.points(points)))
    ring, point = tree.query(shapely.polygons(rings), predicate="contains")
    other = ring != point % len(counts)
    return np.column_stack([ring[other], point[other]])
