"""Which arcs from one point to another pass within a tolerance of the points between them.

All circles through A and B form one family with the bulge as its number. A point P leaves an interval of it
open: those circles whose distance from P is at most e. With u = B - A, c = |u|, w = P - A, k = u x w,
Q = e^2 - w.(w - u) and D = Q^2 + k^2 - c^2 e^2, the interval is [(k - c e) / q, (k + c e) / q], q = Q + sqrt(D).
It follows from |distance to the centre - radius| <= e by squaring twice. D <= 0 means that P is so near A or B
that every circle will do, q <= 0 that none will. A piece can be one arc where the intervals of all its points
and [-1, 1], arcs of up to half a turn, have something in common.

Here a positive bulge lies to the left of A -> B; the bulge of DXF and of ``ArcPath`` is its negative.
"""

from __future__ import annotations

import numpy as np

from shadowrout.fit.track import Flags, Floats, Indices, Track, spread

SAMPLES = 6
TINY = 1e-290


def sampled_feasible(track: Track, first: Indices, last: Indices, tolerance: Floats) -> Flags:
    """Return for each stretch whether it may be one piece, judged by a few of its points only, shape (n,)."""
    low, high = _sampled_bounds(track, first, last, tolerance)
    return low <= high


def sampled_slack(track: Track, first: Indices, last: Indices, tolerance: Floats) -> Floats:
    """Return for each stretch how far the middle of its arc may move, judged by a few of its points; shape (n,).

    The middle is chord x bulge / 2 away from the chord. Negative where no arc is admissible.
    """
    low, high = _sampled_bounds(track, first, last, tolerance)
    chord = np.hypot(track.x[last] - track.x[first], track.y[last] - track.y[first])
    return np.minimum((high - low) * chord / 2, 2 * tolerance)


def _sampled_bounds(track: Track, first: Indices, last: Indices, tolerance: Floats) -> tuple[Floats, Floats]:
    share = (np.arange(SAMPLES) + 0.5) / SAMPLES
    span = (last - first)[:, None]
    between = 2 * (first[:, None] + np.minimum(1 + (share * (span - 1)).astype(np.intp), span))
    chords = [part[:, None] for part in _chords(track, first, last, tolerance)]
    low, high = _bounds(chords, track.dense_x[between], track.dense_y[between])
    return np.maximum(low.max(axis=1), -1.0), np.minimum(high.min(axis=1), 1.0)


def left_bulge_bounds(track: Track, first: Indices, last: Indices, tolerance: Floats) -> tuple[Floats, Floats]:
    """Return the smallest and the largest admissible bulge (left positive) of each stretch; shape (n,) each.

    Where none is admissible the first is greater than the second. Neighbouring points are a line: both are 0.
    """
    low, high = np.zeros(len(first)), np.zeros(len(first))
    long = np.flatnonzero(last - first > 1)
    if len(long):
        a, b, e = first[long], last[long], tolerance[long]
        counts = 2 * (b - a) - 1
        row, number = spread(counts)
        between = number + (2 * a + 1)[row]
        chords = [part[row] for part in _chords(track, a, b, e)]
        lows, highs = _bounds(chords, track.dense_x[between], track.dense_y[between])
        rows = np.cumsum(counts) - counts
        low[long] = np.maximum(np.maximum.reduceat(lows, rows), -1.0)
        high[long] = np.minimum(np.minimum.reduceat(highs, rows), 1.0)
    return low, high


def feasible(track: Track, first: Indices, last: Indices, tolerance: Floats) -> Flags:
    """Return for each stretch whether one line or arc can stand for all of it, shape (n,)."""
    low, high = left_bulge_bounds(track, first, last, tolerance)
    return low <= high


def _chords(track: Track, first: Indices, last: Indices, tolerance: Floats) -> list[Floats]:
    """Return A and u as x and y, c e, and e^2 of each stretch; c e is NaN, which nothing passes, where A is B."""
    ax, ay = track.x[first], track.y[first]
    ux, uy = track.x[last] - ax, track.y[last] - ay
    length = np.hypot(ux, uy)
    return [ax, ay, ux, uy, np.where(length > 0, length * tolerance, np.nan), tolerance * tolerance]


def _bounds(chords: list[Floats], x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return the interval that each point leaves open.

    D <= 0 implies -c e <= k <= c e, so that a divisor near 0 makes the interval endless on both sides; q < 0 implies
    the same and gives a lower bound above 0 and an upper one below, which nothing satisfies.
    """
    ax, ay, ux, uy, reach, square = chords
    wx, wy = x - ax, y - ay
    k = ux * wy - uy * wx
    below, above = k - reach, k + reach
    inside = square - wx * (wx - ux) - wy * (wy - uy)
    root = inside * inside + below * above
    q = inside + np.sqrt(np.maximum(root, 0.0))
    q = np.where(root <= 0, TINY, np.where(q == 0, -TINY, q))
    with np.errstate(over="ignore"):
        return below / q, above / q
