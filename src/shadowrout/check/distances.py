"""Distances from points to sampled curves, and which points the curves enclose."""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples

_KD_TREE: dict[str, bool | int | float | str] = {"algorithm": 4, "leaf_max_size": 10}
"""OpenCV's one k-d tree with an exact search; it loads and answers in half the time of SciPy's."""

_FEW, _MANY = 2, 16
"""Neighbours looked at first, and where the answer is in doubt."""

_PROBES = 200
"""So many of the furthest points are measured exactly at once: the largest of them tells which others matter."""
_CLEAR_MM = 0.5
"""Beyond what is doubtful and this no sample is far enough off its neighbours to matter: they are 0.1 mm apart."""
_LEAST_RING = 3
"""Fewer corners enclose nothing."""


class Neighbours:
    """Finds the nearest of given points, in any number of dimensions.

    The search is in single precision, taken from the first point on: which of two points is named is open where
    they are within some ten-millionths of the drawing's size equally near.
    """

    def __init__(self, points: NDArray[np.float64]) -> None:
        self.origin = points[0]
        self.count = len(points)
        self.known = self._single(points)
        self.tree = cv2.flann.Index(self.known, _KD_TREE)

    def indices(self, wanted: NDArray[np.float64], *, count: int = 1) -> NDArray[np.intp]:
        """Return the nearest ``count`` points of each of ``wanted``, as far as there are so many, shape (n, count)."""
        count = min(count, self.count)
        if not len(wanted):
            return np.empty((0, count), np.intp)
        found, _ = self.tree.knnSearch(self._single(wanted), count, params={"checks": -1})
        return np.asarray(found, dtype=np.intp)

    def _single(self, points: NDArray[np.float64]) -> NDArray[np.float32]:
        return np.ascontiguousarray(points - self.origin, dtype=np.float32)


class Nearest:
    """Finds the nearest place on sampled curves: nearest sample points first, then the segments beside them."""

    def __init__(self, samples: Samples) -> None:
        self.points = samples.points
        self.after = np.where(samples.after >= 0, samples.after, np.arange(len(samples.points)))
        self.before = np.arange(len(samples.points))
        joined = np.flatnonzero(samples.after >= 0)
        self.before[samples.after[joined]] = joined
        self.neighbours = Neighbours(self.points)

    def places(self, points: Points, *, doubtful_mm: float = np.inf) -> Points:
        """Return the nearest place on the curves for each of ``points``.

        Where it lies further than ``doubtful_mm``, more neighbours are looked at: a strand that passes near
        with its samples further off is then not missed. Half a millimetre beyond that no sample is so far off
        its neighbours as to matter.
        """
        places = self._places(points, _FEW)
        distances = np.hypot(*(places - points).T)
        far = np.flatnonzero((distances > doubtful_mm) & (distances < doubtful_mm + _CLEAR_MM))
        if len(far):
            places[far] = self._places(points[far], _MANY)
        return places

    def distances(self, points: Points, *, exact_above_mm: float = 0.0) -> NDArray[np.float64]:
        """Return the distance of each point to the curves, shape (n,).

        The largest is exact, and so is every one above ``exact_above_mm``; the others may be measured to the
        nearest sample point and so be given too large. That distance is never too small, so what it bounds
        below the largest exact one needs no better.
        """
        nearest = self.points[self.neighbours.indices(points)[:, 0]]
        distances: NDArray[np.float64] = np.hypot(*(points - nearest).T)
        if len(distances) > _PROBES:
            furthest = np.argpartition(distances, -_PROBES)[-_PROBES:]
            distances[furthest] = self._exact(points[furthest], 0.0)
            exact_above_mm = min(exact_above_mm, float(distances[furthest].max()))
        far = np.flatnonzero(distances > exact_above_mm)
        if len(far):
            distances[far] = self._exact(points[far], exact_above_mm)
        return distances

    def at_least(self, points: Points, step_mm: float) -> NDArray[np.float64]:
        """Return a distance that each point has to the curves at least, near the true one, shape (n,).

        The samples are ``step_mm`` apart at the most, so the nearest place has one within half of that along a chord.
        """
        nearest = self.points[self.neighbours.indices(points)[:, 0]]
        square = ((points - nearest) ** 2).sum(axis=1)
        least: NDArray[np.float64] = np.sqrt(np.maximum(square - (step_mm / 2) ** 2, 0.0))
        return least

    def _exact(self, points: Points, doubtful_mm: float) -> NDArray[np.float64]:
        distances: NDArray[np.float64] = np.hypot(*(self.places(points, doubtful_mm=doubtful_mm) - points).T)
        return distances

    def _places(self, points: Points, neighbours: int) -> Points:
        nearest = self.neighbours.indices(points, count=neighbours)
        best = self.points[nearest[:, 0]].copy()
        least = np.hypot(*(best - points).T)
        for column in nearest.T:
            for a, b in ((column, self.after[column]), (self.before[column], column)):
                foot = _foot(points, self.points[a], self.points[b])
                distance = np.hypot(*(foot - points).T)
                closer = distance < least
                best[closer], least[closer] = foot[closer], distance[closer]
        return best


class Enclosed:
    """Tells by the even-odd rule which points closed curves enclose."""

    def __init__(self, samples: Samples) -> None:
        rings = [ring for ring in samples.split() if len(ring) >= _LEAST_RING]
        self.polygons = [shapely.Polygon(ring) for ring in rings]
        for polygon in self.polygons:
            shapely.prepare(polygon)

    def holds(self, points: Points) -> NDArray[np.bool_]:
        """Return for each point whether an odd number of the rings is around it."""
        odd = np.zeros(len(points), dtype=bool)
        x, y = points.T
        for polygon in self.polygons:
            x0, y0, x1, y1 = polygon.bounds
            near = np.flatnonzero((x >= x0) & (x <= x1) & (y >= y0) & (y <= y1))
            if len(near):
                odd[near] ^= shapely.contains_xy(polygon, x[near], y[near])
        return odd


def worst_places(points: Points, values: NDArray[np.float64], *, apart_mm: float, most: int) -> list[int]:
    """Return the indices of the largest values above 0, none within ``apart_mm`` of a larger one, ``most`` at most."""
    left = np.flatnonzero(values > 0)
    left = left[np.argsort(-values[left], kind="stable")]
    chosen: list[int] = []
    while len(left) and len(chosen) < most:
        chosen.append(int(left[0]))
        left = left[np.hypot(*(points[left] - points[left[0]]).T) > apart_mm]
    return chosen


def _foot(points: Points, starts: Points, ends: Points) -> Points:
    """Return the place nearest to each point on its segment."""
    along = ends - starts
    square = (along**2).sum(axis=1)
    share = ((points - starts) * along).sum(axis=1) / np.where(square > 0, square, 1.0)
    feet: Points = starts + np.clip(share, 0.0, 1.0)[:, None] * along
    return feet
