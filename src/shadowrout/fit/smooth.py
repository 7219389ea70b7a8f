"""No kinks by more pieces: those between fitted pieces are rounded off by short arcs that are tangent to both.

Next to a vertex the path is replaced by an arc that leaves the one piece and joins the other without a turn. Of all
that it replaces the vertex lies farthest from it, and every direction that it passes, as seen from its centre, the
replaced bit passes too: so the distance of the vertex from the arc bounds what the path moves, both ways.

The replaced bit and the arc enclose a cell. Where no other piece enters a cell and no two cells meet, the rounded
path is as sound as the one before: it can be drawn over into it without ever touching itself.

This is for those who ask for smooth outlines, since it takes twice as many pieces; ``easing`` is for every fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.fit.joins import wrapped
from shadowrout.geometry.arcs import ArcPath, Points, points_along
from shadowrout.geometry.arrays import Flags, Floats, Indices, ParallelArrays, following, preceding
from shadowrout.geometry.crossings import Shapes, hulls, pairs_within, polylines

LEAST_KINK_RAD = np.radians(0.5)
"""Kink that is as good as none."""

MOST_OF_A_PIECE = 0.4
"""Share of either piece that is asked for an arc between them, at the most."""

MOST_TAKEN = 0.45
"""Share that it may come out at on the piece after."""

LEAST_CUT = 0.2
"""Length that an arc takes of a piece, as a share of the room, for less than which the kink is let be."""

SMALLER = 0.7
"""The next length tried where one doesn't fit."""

FLATTENING = 0.02
"""Distance between pieces and the chords that stand for them, as a share of the room."""

NEARLY = 1 - 1e-9
"""Share of the room that is asked for, so that rounding takes no arc beyond it."""

CELL_STEPS = 8
"""Parts of each side of a cell; what a side leaves their chords by is added. Four or sixteen round as many kinks."""


def rounded(paths: Sequence[ArcPath], sharp: Sequence[Flags], *, room: float) -> tuple[tuple[ArcPath, ...], float]:
    """Return closed paths in the place of these without kinks, and how far they moved at the most, both ways.

    ``sharp`` tells for each path which of its vertices, shape (vertices,), stay as they are. No point moves farther
    than ``room``. The paths mustn't cross; the rounded ones don't. Where other pieces are too near, or a piece too
    short, a kink stays. No paths give none and 0.
    """
    if not paths:
        return (), 0.0
    vertices = _Vertices.of(paths)
    asked = np.flatnonzero((np.abs(vertices.kink) > LEAST_KINK_RAD) & ~np.concatenate(sharp))
    arcs = _clear(vertices, _fitting(vertices, asked, room), _polylines(paths, FLATTENING * room), room)
    return vertices.with_arcs(arcs), float(arcs.moved.max(initial=0.0))


@dataclass(frozen=True, eq=False)
class _Bits:
    """Shapes and arcs by their start, shape (n, 2), and direction there, what they turn and their length, (n,)."""

    start: Points
    heading: Floats
    angle: Floats
    length: Floats

    def points(self, share: float) -> Points:
        """Return the point at that share of each one's length."""
        chord = share * self.length * np.sinc(share * self.angle / (2 * np.pi))
        direction = self.heading + share * self.angle / 2
        points: Points = self.start + chord[:, None] * np.column_stack([np.cos(direction), np.sin(direction)])
        return points

    @property
    def slack(self) -> Floats:
        """How far each one lies at the most from chords of ``CELL_STEPS`` equal parts of it."""
        slack: Floats = np.abs(self.angle) * self.length / (8 * CELL_STEPS**2)
        return slack


@dataclass(frozen=True, eq=False)
class _Arcs(ParallelArrays):
    """Arcs in the place of the ends of two pieces; shape (n,), of points (n, 2).

    ``vertex`` numbers the vertices where the pieces meet; ``cut_before`` is the length taken of the piece before,
    ``cut_after`` of that after; ``start`` and ``end`` are the arcs' ends, ``heading`` their direction at the start,
    ``angle`` what they turn, ``moved`` how far they lie from the vertices. ``fits`` tells which are as they should be.
    """

    vertex: Indices
    cut_before: Floats
    cut_after: Floats
    start: Points
    end: Points
    heading: Floats
    angle: Floats
    moved: Floats
    fits: Flags


@dataclass(frozen=True, eq=False)
class _Vertices:
    """The vertices of all paths, and the pieces that begin there; shape (vertices,), ``points`` (vertices, 2).

    ``counts`` is how many each path has and ``before`` the piece that ends at each. ``angle``, ``length`` and ``bend``
    (curvature, positive to the left) are those of the pieces, ``leaving`` and ``arriving`` their directions at their
    start and end, ``kink`` the turn from the piece before.
    """

    points: Points
    counts: Indices
    before: Indices
    angle: Floats
    length: Floats
    bend: Floats
    leaving: Floats
    arriving: Floats
    kink: Floats

    @classmethod
    def of(cls, paths: Sequence[ArcPath]) -> _Vertices:
        """Return the vertices of closed paths."""
        counts = np.array([len(path.vertices) for path in paths])
        before = preceding(counts)
        angle, length, starts, ends = (
            np.concatenate([getattr(path, name) for path in paths])
            for name in ("angles_rad", "lengths", "starts", "ends")
        )
        direction = np.arctan2(*(ends - starts).T[::-1])
        leaving, arriving = direction - angle / 2, direction + angle / 2
        kink = wrapped(leaving - arriving[before])
        return cls(starts, counts, before, angle, length, angle / length, leaving, arriving, kink)

    def arcs(self, vertex: Indices, cut: Floats, room: float) -> _Arcs:
        """Return the arcs that leave the piece before at ``cut`` from the vertex and are tangent to the one after.

        The circle through T there, of unit normal m to the left and radius r to that side, touches the circle of
        curvature s through the vertex V, of unit normal n there, where |T + r m - V - n / s| = |1 / s - r|. Squared and
        multiplied by s this is linear in r, and right for a line, s = 0, too.
        """
        before, corner, s = self.before[vertex], self.points[vertex], self.bend[vertex]
        turned = self.bend[before] * cut
        heading = self.arriving[before] - turned
        start = _Bits(corner, self.arriving[before] + np.pi, -turned, cut).points(1.0)
        m, n, u = _normals(heading), _normals(self.leaving[vertex]), start - corner
        with np.errstate(divide="ignore", invalid="ignore"):
            radius = _dot(u, 2 * n - s[:, None] * u) / (2 * (s * _dot(m, u) - _dot(m, n) + 1))
            centre = start + radius[:, None] * m
            end = centre - (radius / (1 - radius * s))[:, None] * (n + s[:, None] * (corner - centre))
            chord = np.hypot(*(end - corner).T)
            cut_after = chord / np.sinc(np.arcsin(np.abs(s) * chord / 2) / np.pi)
            angle = wrapped(self.leaving[vertex] + s * cut_after - heading)
            moved = np.abs(np.hypot(*(corner - centre).T) - np.abs(radius))
            fits = (_dot(end - corner, _normals(self.leaving[vertex] - np.pi / 2)) > 0) & (moved <= room)
            fits &= (np.sign(radius) == np.sign(self.kink[vertex])) & (np.sign(angle) == np.sign(radius))
            fits &= cut_after <= MOST_TAKEN * self.length[vertex]
        return _Arcs(vertex, cut, cut_after, start, end, heading, angle, moved, fits)

    def cells(self, arcs: _Arcs) -> tuple[Shapes, Floats]:
        """Return hulls around the arcs and what they replace, and how far beyond these may reach."""
        before, vertex = self.before[arcs.vertex], arcs.vertex
        length = np.hypot(*(arcs.end - arcs.start).T) / np.sinc(arcs.angle / (2 * np.pi))
        bits = (
            _Bits(arcs.start, arcs.heading, self.bend[before] * arcs.cut_before, arcs.cut_before),
            _Bits(self.points[vertex], self.leaving[vertex], self.bend[vertex] * arcs.cut_after, arcs.cut_after),
            _Bits(arcs.start, arcs.heading, arcs.angle, length),
        )
        shares = np.linspace(0.0, 1.0, CELL_STEPS + 1).tolist()
        points = np.stack([bit.points(share) for bit in bits for share in shares], axis=1)
        return hulls(points), np.max([bit.slack for bit in bits], axis=0)

    def with_arcs(self, arcs: _Arcs) -> tuple[ArcPath, ...]:
        """Return the paths with these arcs put in."""
        cut, taken, after = np.zeros(len(self.before)), np.zeros(len(self.before)), following(self.counts)
        cut[arcs.vertex], taken[arcs.vertex] = arcs.cut_before, arcs.cut_after
        points, angles = np.repeat(self.points, 2, axis=0), np.zeros(2 * len(self.before))
        points[2 * arcs.vertex], points[2 * arcs.vertex + 1] = arcs.start, arcs.end
        angles[2 * arcs.vertex] = arcs.angle
        angles[1::2] = self.angle - self.bend * (taken + cut[after])
        there = np.ones(len(points), dtype=bool)
        there[::2] = np.isin(np.arange(len(self.before)), arcs.vertex)
        path = np.repeat(np.arange(len(self.counts)), 2 * self.counts)[there]
        cuts = np.flatnonzero(np.diff(path)) + 1
        parts = zip(np.split(points[there], cuts), np.split(np.tan(angles[there] / 4), cuts), strict=True)
        return tuple(ArcPath(vertices, bulges) for vertices, bulges in parts)


def _dot(vectors: Points, others: Points) -> Floats:
    products: Floats = (vectors * others).sum(axis=1)
    return products


def _normals(headings: Floats) -> Points:
    """Return the unit vectors to the left of the directions."""
    normals: Points = np.column_stack([-np.sin(headings), np.cos(headings)])
    return normals


def _fitting(vertices: _Vertices, vertex: Indices, room: float) -> _Arcs:
    """Return as large arcs as the pieces and the room have place for; none where that is next to nothing."""
    length = np.minimum(vertices.length[vertices.before[vertex]], vertices.length[vertex])
    cut = np.minimum(MOST_OF_A_PIECE * length, NEARLY * room / np.tan(np.abs(vertices.kink[vertex]) / 4))
    found = vertices.arcs(vertex[:0], cut[:0], room)
    while len(vertex):
        arcs = vertices.arcs(vertex, cut, room)
        found = found.joined(arcs.taken(arcs.fits))
        going = ~arcs.fits & (SMALLER * cut > LEAST_CUT * room)
        vertex, cut = vertex[going], SMALLER * cut[going]
    return found


def _clear(vertices: _Vertices, arcs: _Arcs, pieces: Shapes, room: float) -> _Arcs:
    """Return the arcs, made smaller where another piece enters their cells; none where that doesn't help."""
    fresh = np.arange(len(arcs))
    while len(fresh):
        cells, slack = vertices.cells(arcs)
        row, piece = pairs_within(cells[fresh], pieces, slack[fresh] + FLATTENING * room)
        vertex = arcs.vertex[fresh[row]]
        entered = fresh[row[(piece != vertex) & (piece != vertices.before[vertex])]]
        one, other = pairs_within(cells, cells, slack + slack.max())
        met = np.union1d(entered, one[one != other])
        smaller = vertices.arcs(arcs.vertex[met], SMALLER * arcs.cut_before[met], room)
        smaller = smaller.taken(smaller.fits & (smaller.cut_before > LEAST_CUT * room))
        clear = np.ones(len(arcs), dtype=bool)
        clear[met] = False
        arcs = arcs.taken(clear).joined(smaller)
        fresh = np.arange(int(clear.sum()), len(arcs))
    return arcs


def _polylines(paths: Sequence[ArcPath], error: float) -> Shapes:
    """Return each piece of all paths as a line of chords that leave it by ``error`` at the most."""
    counts = np.concatenate([path.chords_for(error) for path in paths])
    starts, ends = (np.concatenate([getattr(path, name) for path in paths]) for name in ("starts", "ends"))
    angles = np.concatenate([path.angles_rad for path in paths])
    return polylines(points_along(starts, ends, angles, counts, with_ends=True), counts + 1)
