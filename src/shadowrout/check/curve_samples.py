"""Curves as read from a file: vertices and bulges, and points along them, worked out with complex numbers.

A bulge is the tangent of a quarter of an arc's angle, positive where it turns counter-clockwise with y up (DXF
Reference, group code 42); 0 is a straight line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""Array of shape (n, 2): x and y in mm, y up."""

_STRAIGHT = 1e-12
"""A bulge up to this is a straight line: over a chord of 1 m it rises by less than a millionth of a micrometre."""
_NO_PIECE = np.zeros(1)


@dataclass(frozen=True, eq=False)
class Curve:
    """One path of lines and arcs in mm, y up.

    ``vertices`` has shape (n, 2), n >= 1; ``bulges`` one number a piece, (n,) where closed and (n - 1,) else.
    """

    vertices: Points
    bulges: NDArray[np.float64]
    closed: bool

    @cached_property
    def pieces(self) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
        """Start and end of each piece as complex numbers."""
        z = self.vertices[:, 0] + 1j * self.vertices[:, 1]
        return (z, np.roll(z, -1)) if self.closed else (z[:-1], z[1:])

    @property
    def start(self) -> tuple[float, float]:
        """The first vertex."""
        x, y = self.vertices[0]
        return float(x), float(y)

    @property
    def gap_mm(self) -> float:
        """Distance from the last vertex to the first."""
        return float(np.hypot(*(self.vertices[-1] - self.vertices[0])))

    @property
    def length_mm(self) -> float:
        """Length along the curve."""
        return float(self.lengths_mm.sum())

    @property
    def lengths_mm(self) -> NDArray[np.float64]:
        """Length of each piece: an arc of angle t over a chord c is c (t / 2) / sin(t / 2) long."""
        a, b = self.pieces
        lengths: NDArray[np.float64] = np.abs(b - a) / np.sinc(2 * np.arctan(np.abs(self.bulges)) / np.pi)
        return lengths


@dataclass(frozen=True, eq=False)
class Samples:
    """Points along many curves, in order, with the curve each belongs to and the index of the one after it.

    ``after`` is -1 at the end of an open curve.
    """

    points: Points
    owner: NDArray[np.intp]
    after: NDArray[np.intp]
    curves: int

    @property
    def segments(self) -> tuple[Points, Points, NDArray[np.intp]]:
        """Starts and ends of all straight segments between the points, and the curve each belongs to."""
        first = np.flatnonzero(self.after >= 0)
        return self.points[first], self.points[self.after[first]], self.owner[first]

    def split(self) -> list[Points]:
        """Return the points of each curve."""
        if not self.curves:
            return []
        return np.split(self.points, np.searchsorted(self.owner, np.arange(1, self.curves)))


def vertices(curves: Sequence[Curve]) -> Points:
    """Return the vertices of all curves, in order."""
    return np.concatenate([np.empty((0, 2)), *(curve.vertices for curve in curves)])


def middles(curves: Sequence[Curve]) -> Points:
    """Return the middle of each piece of all curves, in order, and an open curve's last vertex after its own.

    A middle stands off its chord's middle by half the chord times the bulge.
    """
    if not curves:
        return np.empty((0, 2))
    a, b, bulges, _ = pieces_of(curves)
    z = (a + b) / 2 - 0.5j * (b - a) * bulges
    return np.column_stack([z.real, z.imag])


def sampled(curves: Sequence[Curve], *, sagitta_mm: float, step_mm: float = np.inf) -> Samples:
    """Return points on all curves, no further apart than ``step_mm`` along them, every vertex among them.

    Chords between neighbours leave an arc by ``sagitta_mm`` at the most: h = r (1 - cos(t / 2)) is below
    r t^2 / 8. No points for no curves.
    """
    if not curves:
        return Samples(np.empty((0, 2)), np.empty(0, np.intp), np.empty(0, np.intp), 0)
    starts, ends, bulges, owner = pieces_of(curves)
    counts = _counts(np.abs(ends - starts), bulges, sagitta_mm, step_mm)
    points = _along(starts, ends, bulges, counts)
    belongs = np.repeat(owner, counts)
    return Samples(points, belongs, _after(belongs, curves), len(curves))


def sampled_with(
    curves: Sequence[Curve], values: Sequence[NDArray[np.float64]], *, sagitta_mm: float, step_mm: float
) -> tuple[Points, NDArray[np.float64]]:
    """Return points as ``sampled`` does, with what ``values`` (one a vertex) are there: they change evenly between."""
    if not curves:
        return np.empty((0, 2)), np.empty(0)
    starts, ends, bulges, _ = pieces_of(curves)
    return cut_up(curves, values, _counts(np.abs(ends - starts), bulges, sagitta_mm, step_mm))


def cut_up(
    curves: Sequence[Curve], values: Sequence[NDArray[np.float64]], counts: NDArray[np.intp]
) -> tuple[Points, NDArray[np.float64]]:
    """Return points that part each piece, as ``pieces_of`` has them, into so many alike, and the values there."""
    starts, ends, bulges, _ = pieces_of(curves)
    piece, share = _shares(counts)
    here = np.concatenate(values)
    there = np.concatenate([np.append(v[1:], v[0] if c.closed else v[-1]) for v, c in zip(values, curves, strict=True)])
    return _along(starts, ends, bulges, counts), here[piece] + share * (there - here)[piece]


def sampled_rings(rings: Sequence[Points], *, step_mm: float) -> Samples:
    """Return points along closed polygons, each ring of shape (n, 2) without its first point repeated."""
    return sampled([Curve(ring, np.zeros(len(ring)), closed=True) for ring in rings], sagitta_mm=1.0, step_mm=step_mm)


def pieces_of(
    curves: Sequence[Curve],
) -> tuple[NDArray[np.complex128], NDArray[np.complex128], NDArray[np.float64], NDArray[np.intp]]:
    """Return start, end, bulge and curve of every piece; an open curve ends with a piece of no length."""
    z, bulges, counts, closed = _joined(curves)
    last = np.cumsum(counts) - 1
    ends = np.append(z[1:], z[:1])
    ends[last] = np.where(closed, z[last - counts + 1], z[last])
    return z, ends, bulges, np.repeat(np.arange(len(counts)), counts)


def _joined(
    curves: Sequence[Curve],
) -> tuple[NDArray[np.complex128], NDArray[np.float64], NDArray[np.intp], NDArray[np.bool_]]:
    """Return all vertices in order, a bulge for each, and of each curve how many and whether it is closed."""
    points = vertices(curves)
    bulges = [part for c in curves for part in ((c.bulges,) if c.closed else (c.bulges, _NO_PIECE))]
    counts = np.array([len(curve.vertices) for curve in curves], dtype=np.intp)
    z = points[:, 0] + 1j * points[:, 1]
    return z, np.concatenate(bulges), counts, np.array([curve.closed for curve in curves])


def _counts(
    chords: NDArray[np.float64], bulges: NDArray[np.float64], sagitta_mm: float, step_mm: float
) -> NDArray[np.intp]:
    """Return how many pieces each piece is cut into, for chords this near to it and no longer than a step."""
    angles, size = 4 * np.arctan(bulges), np.abs(bulges)
    radii = np.where(size > _STRAIGHT, chords * (1 + size**2) / np.maximum(4 * size, _STRAIGHT), 0.0)
    arcs = np.where(size > _STRAIGHT, np.abs(angles) * radii, chords)
    counts = np.maximum(np.abs(angles) / np.sqrt(8 * sagitta_mm / np.maximum(radii, sagitta_mm)), arcs / step_mm)
    whole: NDArray[np.intp] = np.maximum(1, np.ceil(counts)).astype(np.intp)
    return whole


def _shares(counts: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return for each point its piece, and how far along it the point lies, from 0 to under 1."""
    piece = np.repeat(np.arange(len(counts)), counts)
    return piece, (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[piece]


def _along(
    starts: NDArray[np.complex128],
    ends: NDArray[np.complex128],
    bulges: NDArray[np.float64],
    counts: NDArray[np.intp],
) -> Points:
    """Return ``counts`` points on each piece, its start included and its end not.

    The centre stands off the chord's middle by i (b - a) (1 - k^2) / (4 k) for the bulge k.
    """
    piece, share = _shares(counts)
    a, b, k = starts[piece], ends[piece], bulges[piece]
    curved = np.abs(k) > _STRAIGHT
    safe = np.where(curved, k, 1.0)
    centre = (a + b) / 2 + 1j * (b - a) * (1 - safe**2) / (4 * safe)
    turned = centre + (a - centre) * np.exp(4j * np.arctan(k) * share)
    z = np.where(curved & (share > 0), turned, a + (b - a) * share)
    return np.column_stack([z.real, z.imag])


def _after(owner: NDArray[np.intp], curves: Sequence[Curve]) -> NDArray[np.intp]:
    after = np.arange(1, len(owner) + 1)
    indices = np.arange(len(curves))
    last = np.searchsorted(owner, indices, side="right") - 1
    first = np.searchsorted(owner, indices)
    after[last] = np.where([curve.closed for curve in curves], first, -1)
    return after
