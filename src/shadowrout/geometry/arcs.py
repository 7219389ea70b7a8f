"""Paths of straight lines and circular arcs, held as vertices and bulges.

A bulge is the tangent of a quarter of the arc's included angle, positive where the arc turns
counter-clockwise from its start to its end (DXF Reference, group code 42). 0 is a straight line, 1 half a
turn. Since a path is nothing but vertices and bulges, every writer draws the very same curve.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.arrays import Floats, Indices, spread

Points = Floats
"""Array of shape (n, 2): x and y."""

_STRAIGHT = 1e-12
"""An arc of a smaller bulge leaves its chord by less than a millionth of a millionth of it: it counts as a line."""


@dataclass(frozen=True, eq=False)
class ArcPath:
    """One path of lines and arcs, in the unit of its vertices.

    ``vertices`` has shape (n, 2). ``bulges`` has one number a piece: shape (n,) for a closed path, whose last
    piece leads from the last vertex back to the first, and (n - 1,) for an open one. A closed path needs two
    vertices at least, since one arc can't make a whole turn.
    """

    vertices: Points
    bulges: Floats
    closed: bool = True

    def __post_init__(self) -> None:
        vertices, bulges = np.asarray(self.vertices), np.asarray(self.bulges)
        pieces = len(vertices) if self.closed else len(vertices) - 1
        if vertices.ndim != 2 or vertices.shape[1] != 2 or len(vertices) < 2:
            raise ValueError(f"vertices: expected shape (n, 2) with n >= 2, got {vertices.shape}")
        if bulges.shape != (pieces,):
            raise ValueError(f"bulges: expected shape ({pieces},), got {bulges.shape}")

    @classmethod
    def polygon(cls, points: Points) -> ArcPath:
        """Return the closed path of straight lines through ``points``, shape (n, 2), n >= 2."""
        vertices = np.asarray(points, dtype=np.float64)
        return cls(vertices, np.zeros(len(vertices)))

    @classmethod
    def circle(cls, centre: tuple[float, float], radius: float) -> ArcPath:
        """Return a counter-clockwise circle as two half turns, starting east of its centre."""
        x, y = centre
        return cls(np.array([[x + radius, y], [x - radius, y]]), np.ones(2))

    @property
    def starts(self) -> Points:
        """Start of each piece, shape (pieces, 2)."""
        return self.vertices if self.closed else self.vertices[:-1]

    @property
    def ends(self) -> Points:
        """End of each piece, shape (pieces, 2)."""
        return np.roll(self.vertices, -1, axis=0) if self.closed else self.vertices[1:]

    @property
    def chords(self) -> Floats:
        """Straight distance from start to end of each piece, shape (pieces,)."""
        dx, dy = (self.ends - self.starts).T
        chords: Floats = np.hypot(dx, dy)
        return chords

    @property
    def angles_rad(self) -> Floats:
        """Included angle of each piece, signed like its bulge and 0 for a line, shape (pieces,)."""
        return 4.0 * np.arctan(self.bulges)

    @property
    def radii(self) -> Floats:
        """Radius of each piece, infinite for a line, shape (pieces,)."""
        return radii_of(self.chords, self.bulges)

    @property
    def lengths(self) -> Floats:
        """Length of each piece along the path, shape (pieces,)."""
        half = np.abs(self.angles_rad) / 2
        return self.chords / np.sinc(half / np.pi)

    @property
    def area(self) -> float:
        """Signed area that a closed path encloses, positive when counter-clockwise; 0 for an open one.

        The polygon of the vertices by the shoelace formula, and for each arc of chord c and angle t the segment
        between it and its chord, r^2 (t - sin t) / 2 (Machinery's Handbook, 31st ed., circular segments), which
        is c^2 (t - sin t) / (8 sin^2(t / 2)) and c^2 t / 12 for small t.
        """
        if not self.closed:
            return 0.0
        origin = self.vertices[0]
        (x0, y0), (x1, y1) = (self.starts - origin).T, (self.ends - origin).T
        angles = self.angles_rad
        share = angles / 12
        np.divide(angles - np.sin(angles), 8 * np.sin(angles / 2) ** 2, out=share, where=np.abs(angles) > 1e-3)
        return float((x0 * y1 - x1 * y0).sum() / 2 + (self.chords**2 * share).sum())

    def mirrored(self, height: float) -> ArcPath:
        """Return the path with y measured downwards from ``height``; every arc turns the other way, and so its bulge.

        The order of the vertices stays.
        """
        return ArcPath(self.vertices * [1.0, -1.0] + [0.0, height], -self.bulges, self.closed)

    def flattened(self, tolerance: float) -> Points:
        """Return points on the curve whose chords leave it by ``tolerance`` at the most.

        Shape (m, 2); a closed path's first point isn't repeated at the end. ``tolerance`` is in the path's
        own unit and must be positive. Every vertex is among the points.
        """
        points = self.points_along(self.chords_for(tolerance))
        return points if self.closed else np.vstack([points, self.vertices[-1:]])

    def chords_for(self, tolerance: float) -> Indices:
        """Return how many equal chords each piece takes that leave it by ``tolerance`` at the most, shape (pieces,)."""
        if not tolerance > 0:
            raise ValueError(f"tolerance: expected a positive length, got {tolerance}")
        return chord_counts(self.angles_rad, self.radii, tolerance)

    def points_along(self, counts: Indices) -> Points:
        """Return ``counts[i]`` points on piece i at equal angles, its start included and its end not."""
        return points_along(self.starts, self.ends, self.angles_rad, counts)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest upright box around the true curve: x0, y0, x1, y1.

        An arc reaches past its ends only where it passes due east, north, west or south of its centre.
        """
        corners = [self.vertices]
        curved = np.flatnonzero(np.abs(self.bulges) > _STRAIGHT)
        if len(curved):
            starts, angles, radii = self.starts[curved], self.angles_rad[curved], self.radii[curved]
            x, y = (self.ends - self.starts)[curved].T
            b = self.bulges[curved]
            lean = (1 - b**2) / (4 * b)
            centres = starts + np.column_stack([x / 2 - y * lean, y / 2 + x * lean])
            from_rad = np.arctan2(*(starts - centres).T[::-1])
            for quarter in range(4):
                east = quarter * np.pi / 2
                ahead = np.mod((east - from_rad) * np.sign(angles), 2 * np.pi)
                hit = ahead < np.abs(angles)
                corners.append(centres[hit] + radii[hit, None] * [np.cos(east), np.sin(east)])
        every = np.vstack(corners)
        (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)


def radii_of(chords: Floats, bulges: Floats) -> Floats:
    """Return the radii of pieces by their chords and bulges, infinite for lines; shape (pieces,) all."""
    size = np.abs(bulges)
    radii: Floats = np.full(len(size), np.inf)
    np.divide(chords * (1 + size**2), 4 * size, out=radii, where=size > _STRAIGHT)
    return radii


def chord_counts(angles_rad: Floats, radii: Floats, tolerance: Floats | float) -> Indices:
    """Return how many equal chords each piece takes that leave it by ``tolerance`` at the most, shape (pieces,)."""
    step = 2 * np.arccos(1 - tolerance / np.maximum(radii, tolerance))
    wanted = np.ceil(np.abs(angles_rad) / np.maximum(step, 1e-9) - 1e-9)
    counts: Indices = np.maximum(1, wanted).astype(np.intp)
    counts[angles_rad == 0] = 1
    return counts


def points_along(
    starts: Points, ends: Points, angles_rad: Floats, counts: Indices, *, with_ends: bool = False
) -> Points:
    """Return points at equal angles that part each piece into ``counts`` bits, its end included if ``with_ends``."""
    piece, number = spread(counts + with_ends)
    return points_at(starts, ends, angles_rad, piece, number / counts[piece])


def points_at(starts: Points, ends: Points, angles_rad: Floats, piece: Indices, share: Floats) -> Points:
    """Return a point for each number of a ``piece`` (n,), at a share of its length; shape (n, 2).

    The chord from an arc's start to the point at the share s of its angle t has length
    c sin(s t / 2) / sin(t / 2) and is turned by (s - 1) t / 2 against the whole chord, which stays exact
    for arcs that are nearly straight, where a centre far away would not.
    """
    half = angles_rad[piece] / 2
    ratio = share * np.sinc(share * half / np.pi) / np.sinc(half / np.pi)
    turn = (share - 1) * half
    x, y = (ends - starts)[piece].T
    chord = np.column_stack([x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)])
    points: Points = starts[piece] + ratio[:, None] * chord
    return points


@dataclass(frozen=True)
class PathFigures:
    """Number of pieces, straight and curved, and the lengths of the longest and shortest, in the paths' unit."""

    pieces: int
    lines: int
    arcs: int
    longest: float
    shortest: float

    @classmethod
    def of(cls, paths: Iterable[ArcPath]) -> PathFigures:
        """Return the figures of all ``paths`` together; all are 0 where there is no path."""
        every = list(paths)
        if not every:
            return cls(0, 0, 0, 0.0, 0.0)
        bulges = np.concatenate([path.bulges for path in every])
        lengths = np.concatenate([path.lengths for path in every])
        lines = int((bulges == 0).sum())
        return cls(len(bulges), lines, len(bulges) - lines, float(lengths.max()), float(lengths.min()))
