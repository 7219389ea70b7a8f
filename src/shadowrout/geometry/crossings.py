"""Pairs of curves that come closer to each other than they may, found with a spatial index."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points

Pairs = tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]]
"""Numbers of the first and of the second member of each pair, and their distance; shape (pairs,) each."""


class CurveIndex:
    """Curves given as points with straight lines between them, ready to be asked which are close to another."""

    def __init__(self, points: Points, counts: NDArray[np.intp]) -> None:
        """Hold curves of ``counts`` points each, shape (curves,), all in ``points``, shape (counts.sum(), 2).

        Every curve has two points at least.
        """
        owner = np.repeat(np.arange(len(counts)), counts)
        self._lines = shapely.linestrings(points, indices=owner) if len(counts) else np.empty(0, dtype=object)
        self._tree = shapely.STRtree(self._lines)

    def near(self, asked: NDArray[np.intp], distance: float) -> Pairs:
        """Return the pairs (one of ``asked``, any curve) that are within ``distance`` of each other.

        Curves that meet have the distance 0. A curve isn't paired with itself; two curves that were both asked
        about come twice, once in each order.
        """
        found = self._tree.query(self._lines[asked], predicate="dwithin", distance=distance)
        one, other = asked[found[0]], found[1]
        apart = one != other
        one, other = one[apart], other[apart]
        return one, other, shapely.distance(self._lines[one], self._lines[other])


def ring_containment(points: Points, rings: list[Points]) -> NDArray[np.intp]:
    """Return the pairs (ring, point) where the point lies strictly inside the ring, shape (pairs, 2), sorted.

    ``rings`` have shape (n, 2) each, n >= 3. A point isn't paired with the ring of its own number.
    """
    tree = shapely.STRtree(shapely.points(points))
    found = tree.query(np.array([shapely.Polygon(ring) for ring in rings], dtype=object), predicate="contains")
    pairs = found.T[found[0] != found[1]]
    order = np.lexsort([pairs[:, 1], pairs[:, 0]])
    sorted_pairs: NDArray[np.intp] = pairs[order]
    return sorted_pairs
