"""The medial axis of a region: the centres of all discs inside it that touch its outline at two places or more.

Found as the part of the Voronoi diagram of points along the outline that lies inside (Brandt and Algazi 1992). The
diagram is taken from the points' Delaunay triangles, whose circles have its corners for centres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Delaunay, cKDTree

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats, Indices, following, preceding, spread
from shadowrout.geometry.region import Region

_BEND = 1.06
"""Two outline points see each other across the region if the way along the outline is this much longer."""

_LEAST_STEPS = 1.2
"""Outline points closer than this many steps along the outline are neighbours, not opposite sides."""

_JITTER_MM = 1e-6
"""Random shift of the points: qhull slows down badly where many lie on one circle."""


@dataclass(frozen=True, eq=False)
class Boundary:
    """Points at even steps along every ring of a region, corners included.

    ``points`` has shape (n, 2); ``part``, ``ring``, ``following`` and ``preceding`` (n,) are each point's part
    of the region, its ring and its neighbours along it; ``along`` (n,) is the length from the ring's start,
    ``lengths`` (rings,) the whole.
    """

    points: Points
    part: Indices
    ring: Indices
    following: Indices
    preceding: Indices
    along: Floats
    lengths: Floats

    @classmethod
    def of(cls, region: Region, *, step_mm: float) -> Boundary:
        """Return points no more than ``step_mm`` apart; no points for the empty region."""
        nested = [[outer, *holes] for outer, holes in region.polygons()]
        rings = [_resampled(ring, step_mm) for polygon in nested for ring in polygon]
        if not rings:
            none = np.zeros(0, dtype=np.intp)
            return cls(np.zeros((0, 2)), none, none, none, none, np.zeros(0), np.zeros(0))
        counts = np.array([len(ring) for ring in rings])
        starts = np.cumsum(counts) - counts
        points = np.vstack(rings)
        part_of_ring = np.repeat(np.arange(len(nested)), [len(polygon) for polygon in nested])
        ring_of = np.repeat(np.arange(len(rings)), counts)
        after = following(counts)
        steps = np.hypot(*(points[after] - points).T)
        sums = np.cumsum(steps) - steps
        lengths = np.add.reduceat(steps, starts)
        along = sums - sums[starts][ring_of]
        return cls(points, part_of_ring[ring_of], ring_of, after, preceding(counts), along, lengths)

    def opposite(self, i: Indices, j: Indices, *, step_mm: float) -> Flags:
        """Return whether points i and j lie on different sides: the ridge between them is an axis, not a spur."""
        chord = np.hypot(*(self.points[i] - self.points[j]).T)
        way = np.abs(self.along[i] - self.along[j])
        way = np.minimum(way, self.lengths[self.ring[i]] - way)
        across: Flags = (self.ring[i] != self.ring[j]) | ((way > _BEND * chord) & (way > _LEAST_STEPS * step_mm))
        return across

    def distances(self, spots: Points, near: Indices) -> Floats:
        """Return how far each spot (m, 2) is from the outline beside the boundary points ``near`` (m, k)."""
        nearest = np.full(len(spots), np.inf)
        for numbers in near.T:
            at = self.points[numbers]
            for neighbour in (self.preceding[numbers], self.following[numbers]):
                nearest = np.minimum(nearest, _to_segments(spots, self.points[neighbour], at))
        return nearest


@dataclass(frozen=True, eq=False)
class Axis:
    """A medial axis as a graph. ``points`` (n, 2) mm, ``radii`` (n,) mm to the outline, ``edges`` (m, 2)."""

    points: Points
    radii: Floats
    edges: Indices


@dataclass(frozen=True, eq=False)
class Axes:
    """The medial axes of a region, ``inside``, and of what is around it, ``outside``."""

    inside: Axis
    outside: Axis


class Surroundings:
    """What lies around spots inside a region: how far its outline is, and which part they are in."""

    def __init__(self, boundary: Boundary) -> None:
        self._boundary = boundary
        self._tree: Any = cKDTree(boundary.points)

    def depth_mm(self, spots: Points) -> Floats:
        """Return each spot's distance from the outline, shape (m,)."""
        count = min(3, len(self._boundary.points))
        _, near = self._tree.query(spots, k=np.arange(1, count + 1))
        return self._boundary.distances(spots, near)

    def part(self, spots: Points) -> Indices:
        """Return the number of the region's part that each spot is in, shape (m,)."""
        _, nearest = self._tree.query(spots)
        parts: Indices = self._boundary.part[nearest]
        return parts


@dataclass(frozen=True, eq=False)
class Diagram:
    """The ridges of a Voronoi diagram between points on opposite sides: ``edges`` (m, 2) between ``points`` (n, 2).

    ``corners`` (n, 3) are the boundary's points that each is as far from.
    """

    boundary: Boundary
    step_mm: float
    points: Points
    corners: Indices
    edges: Indices

    @classmethod
    def of(cls, boundary: Boundary, *, step_mm: float) -> Diagram:
        """Return the diagram of a boundary's points; no ridges for fewer than four points."""
        if len(boundary.points) < 4:
            none = np.zeros((0, 3), dtype=np.intp)
            return cls(boundary, step_mm, np.zeros((0, 2)), none, none[:, :2])
        jitter = np.random.default_rng(0).uniform(-_JITTER_MM, _JITTER_MM, boundary.points.shape)
        triangles = Delaunay(boundary.points + jitter)
        i, j, ends = _ridges(triangles)
        used, edges = _numbered(ends[boundary.opposite(i, j, step_mm=step_mm)], len(triangles.simplices))
        corners = triangles.simplices[used].astype(np.intp)
        return cls(boundary, step_mm, _circumcentres(triangles.points[corners]), corners, edges)

    @property
    def circle_mm(self) -> Floats:
        """How far each point is from its corners, shape (n,): hardly further than from the outline."""
        radii: Floats = np.hypot(*(self.points - self.boundary.points[self.corners[:, 0]]).T)
        return radii

    def axis(self, chosen: Flags) -> Axis:
        """Return the axis of the ridges between ``chosen`` points, flags (n,), and these points alone."""
        used, edges = _numbered(self.edges[chosen[self.edges].all(axis=1)], len(self.points))
        points = self.points[used]
        return Axis(points, self.boundary.distances(points, self.corners[used]), edges)

    def within(self, region: Region) -> Flags:
        """Return which of the points (n,) lie inside the region whose boundary this is.

        A piece of the outline, no longer than a step, comes hardly nearer to a point than its corners are. A ridge
        shorter than that doesn't cross the outline, so that one point stands for all that such ridges join.
        """
        count = len(self.points)
        away = self.circle_mm**2 - self.step_mm**2 / 4
        with np.errstate(invalid="ignore"):  # the centre of three points on a line
            squares = ((self.points[self.edges[:, 0]] - self.points[self.edges[:, 1]]) ** 2).sum(axis=1)
        near = self.edges[squares < away[self.edges].max(axis=1)]
        links = coo_array((np.ones(len(near), dtype=bool), tuple(near.T)), shape=(count, count))
        _, part = connected_components(links, directed=False)
        _, first = np.unique(part, return_index=True)
        inside: Flags = region.within(self.points[first])[part]
        return inside


def medial_axis(region: Region, boundary: Boundary, *, step_mm: float) -> Axis:
    """Return the medial axis of a region given points along its outline at ``step_mm``.

    Corners blunter than about 141 degrees get no branch of their own. Empty for fewer than four points.
    """
    diagram = Diagram.of(boundary, step_mm=step_mm)
    return diagram.axis(diagram.within(region))


def medial_axes(region: Region, boundary: Boundary, *, step_mm: float) -> Axes:
    """Return the medial axes of a region and of the plane around it, from one diagram; as ``medial_axis``.

    Nodes of the outer one lie as far off as the region is wide.
    """
    diagram = Diagram.of(boundary, step_mm=step_mm)
    inside = diagram.within(region)
    return Axes(diagram.axis(inside), diagram.axis(~inside & np.isfinite(diagram.circle_mm)))


def _numbered(edges: Indices, count: int) -> tuple[Indices, Indices]:
    """Return which of ``count`` nodes the edges (m, 2) use, in order, and the edges in these nodes' new numbers."""
    uses = np.zeros(count, dtype=bool)
    uses[edges] = True
    return np.flatnonzero(uses), (np.cumsum(uses) - 1)[edges]


def _ridges(triangles: Any) -> tuple[Indices, Indices, Indices]:
    """Return each inner edge of a triangulation: its points i and j (m,), and the triangles beside it (m, 2)."""
    triangle, side = np.nonzero(triangles.neighbors > np.arange(len(triangles.simplices))[:, None])
    i, j = (triangles.simplices[triangle, (side + by) % 3] for by in (1, 2))
    return i, j, np.column_stack([triangle, triangles.neighbors[triangle, side]])


def _circumcentres(corners: Floats) -> Points:
    """Return the centres of the circles through the corners of triangles (m, 3, 2); nan where these lie on a line."""
    first = corners[:, 0]
    a, b = corners[:, 1] - first, corners[:, 2] - first
    twice = 2 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
    aa, bb = (a**2).sum(axis=1), (b**2).sum(axis=1)
    across = np.column_stack([b[:, 1] * aa - a[:, 1] * bb, a[:, 0] * bb - b[:, 0] * aa])
    with np.errstate(divide="ignore", invalid="ignore"):
        centres: Points = first + across / twice[:, None]
    return centres


def _resampled(ring: Points, step_mm: float) -> Points:
    pieces = np.roll(ring, -1, axis=0) - ring
    counts = np.maximum(1, np.ceil(np.hypot(*pieces.T) / step_mm - 1e-9)).astype(np.intp)
    piece, number = spread(counts)
    share = number / counts[piece]
    points: Points = ring[piece] + share[:, None] * pieces[piece]
    return points


def _to_segments(spots: Points, starts: Points, ends: Points) -> Floats:
    way = ends - starts
    square = np.maximum((way**2).sum(axis=1), 1e-30)
    share = np.clip(((spots - starts) * way).sum(axis=1) / square, 0.0, 1.0)
    distances: Floats = np.hypot(*(spots - starts - share[:, None] * way).T)
    return distances
