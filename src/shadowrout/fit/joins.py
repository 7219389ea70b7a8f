"""How neighbouring pieces of a path meet at their common vertex."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shadowrout.fit.track import Pieces, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices

END = 1 - 1e-6
"""Share of a piece that counts as the piece without its far end."""

LEAST_CROSSING_RAD = 0.01
"""Angle between two curves below which they are taken to cross at this angle."""


@dataclass(frozen=True, eq=False)
class Joins:
    """For each piece ``before`` that has a follower ``after`` on its ring, the directions at the common vertex.

    ``arriving_rad`` and ``leaving_rad`` are the directions of the two curves there; shape (joins,) each.
    """

    before: Indices
    after: Indices
    arriving_rad: Floats
    leaving_rad: Floats

    @property
    def kinks_rad(self) -> Floats:
        """Turn from the one curve to the other, from -pi to pi, positive to the left."""
        return wrapped(self.leaving_rad - self.arriving_rad)


def wrapped(angles_rad: Floats) -> Floats:
    """Return the same angles between -pi and pi."""
    return np.remainder(angles_rad + np.pi, 2 * np.pi) - np.pi


def followers(track: Track, pieces: Pieces) -> tuple[Indices, Indices]:
    """Return the pairs of pieces that share a vertex: the one that ends there, the one that begins there."""
    number = np.arange(len(pieces))
    starts = np.flatnonzero(np.append(True, pieces.ring[1:] != pieces.ring[:-1]))
    after = number + 1
    ends = np.append(starts[1:], len(pieces)) - 1
    after[ends] = starts
    if track.closed:
        return number, after
    inner = np.setdiff1d(number, ends)
    return inner, after[inner]


def joins_of(track: Track, pieces: Pieces) -> Joins:
    """Return all joins of closed or open paths; none for no pieces."""
    before, after = followers(track, pieces)
    ux, uy = track.chords(pieces)
    direction = np.arctan2(uy, ux)
    lean = 2 * np.arctan(pieces.bulge)
    return Joins(before, after, (direction + lean)[before], (direction - lean)[after])


def meets_again(track: Track, pieces: Pieces, joins: Joins, margin: Floats) -> Flags:
    """Return for each join whether its two curves meet again, or would if they went on a little at their far ends.

    That little is as long as it takes the curves to part by the ``margin`` of both, shape (pieces,). It is nothing
    where a ring's two pieces meet at either end.

    With the vertex as origin a curve of unit normal n (to the left) and curvature s is s |X|^2 = 2 n.X, also when
    straight (s = 0). Two such curves share, besides the origin, one point at the most, on the line through the
    origin where s2 n1.X = s1 n2.X, and cross there at the same angle as at the vertex.
    """
    p, q = joins.before, joins.after
    inner_angle = np.clip(np.pi - np.abs(joins.kinks_rad), LEAST_CROSSING_RAD, np.pi / 2)
    further = np.where(pieces.per_ring[p] == 2, 0.0, (margin[p] + margin[q]) / np.sin(inner_angle))
    curvature = _curvatures(track, pieces)
    s1, s2 = curvature[p], curvature[q]
    n1x, n1y = -np.sin(joins.arriving_rad), np.cos(joins.arriving_rad)
    n2x, n2y = -np.sin(joins.leaving_rad), np.cos(joins.leaving_rad)
    dx, dy = -(s2 * n1y - s1 * n2y), s2 * n1x - s1 * n2x
    steeper_first = np.abs(s1) > np.abs(s2)
    bend = np.where(steeper_first, s1, s2)
    across = np.where(steeper_first, n1x * dx + n1y * dy, n2x * dx + n2y * dy)
    square = dx * dx + dy * dy
    exists = (bend != 0) & (square > 0)
    scale = 2 * across / np.where(exists, bend * square, 1.0)
    x, y = scale * dx, scale * dy
    chords = np.hypot(*track.chords(pieces))
    back = _lies_on(x, y, joins.arriving_rad + np.pi, -s1, pieces.bulge[p], chords[p], further)
    ahead = _lies_on(x, y, joins.leaving_rad, s2, pieces.bulge[q], chords[q], further)
    again: Flags = exists & back & ahead
    return again


def _lies_on(
    x: Floats, y: Floats, heading_rad: Floats, curvature: Floats, bulge: Floats, chord: Floats, further: Floats
) -> Flags:
    """Return whether points of a circle through the origin lie on its arc that leaves there with this heading.

    The arc's far end is left out, or it goes on ``further`` by that length. The angle between heading and chord is half
    the arc's angle.
    """
    turned = wrapped(np.arctan2(y, x) - heading_rad)
    angle = np.mod(2 * turned * np.sign(curvature), 2 * np.pi)
    on_arc = angle <= 4 * np.arctan(np.abs(bulge)) * END + further * np.abs(curvature)
    on_line = (np.abs(turned) < np.pi / 2) & (np.hypot(x, y) <= chord * END + further)
    return np.where(curvature == 0, on_line, on_arc)


def _curvatures(track: Track, pieces: Pieces) -> Floats:
    chords = np.hypot(*track.chords(pieces))
    return 4 * pieces.bulge / (np.where(chords > 0, chords, 1.0) * (1 + pieces.bulge**2))
