"""Which arcs from one point to another pass within a tolerance of the points between them, and which one is taken.

All circles through A and B form one family with the bulge as its number. A point P leaves an interval of it
open: those circles whose distance from P is at most e. With u = B - A, c = |u|, w = P - A, k = u x w,
Q = e^2 - w.(w - u) and D = Q^2 + k^2 - c^2 e^2, the interval is [(k - c e) / q, (k + c e) / q], q = Q + sqrt(D).
It follows from |distance to the centre - radius| <= e by squaring twice. D <= 0 means that P is so near A or B
that every circle will do, q <= 0 that none will. A piece can be one arc where the intervals of all its points
and [-1, 1], arcs of up to half a turn, have something in common.

Here a positive bulge lies to the left of A -> B; the bulge of DXF and of ``ArcPath`` is its negative.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.fit.joins import followers, wrapped
from shadowrout.fit.track import Pieces, Stretches, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices, ParallelArrays

SAMPLES = 8
"""Points by which a stretch is judged at first; all of them have the last word. Four or sixteen come to as many pieces
within 0.3 %."""

ODD = (2 * np.arange(SAMPLES) + 1)[:, None]
"""The sampled points' shares of the way, in parts of twice as many."""

BLOCK = 12000
"""Points looked at in one go: so many that what is computed for them stays in the processor's cache."""

UNSEEN = 0.02
"""Share of the tolerance by which an arc may pass farther from the input between the points looked at than at them."""

TINY = 1e-290
"""Keeps divisors off 0: far less than the square of any length."""

INSET = 0.15
"""Share of the admissible interval at either end that is left alone, so that arcs keep clear of the tolerance. Twice
as much leaves 2.4 instead of 1.9 % of the kinks at 0.2 mm needless."""

ROUNDS = 40
"""Steps in which bulges are chosen. After these, 99 % of the arcs turn within 0.03 degrees of what they come to in the
end; after 10 it is 2.4 degrees."""

SHARP_RAD = np.radians(30)
"""Kink that is half let go: a corner of the drawing can't be smoothed, and would spoil the joins next to it."""


@dataclass(frozen=True, eq=False)
class Chords(ParallelArrays):
    """Chords of stretches from place ``first`` to ``last``; shape (n,) each.

    ``mx`` and ``my`` are their middles, ``ux`` and ``uy`` u, ``reach`` c e, NaN, which nothing passes, where A is B,
    ``square`` e^2 and ``room`` e^2 + c^2 / 4, so that Q is the room less the square of the distance from the middle.
    """

    first: Indices
    last: Indices
    mx: Floats
    my: Floats
    ux: Floats
    uy: Floats
    reach: Floats
    square: Floats
    room: Floats

    @classmethod
    def of(cls, track: Track, stretches: Stretches, tolerance: Floats) -> Chords:
        """Return the chords of the stretches, each with its tolerance."""
        (ax, ay), (bx, by) = track.starts(stretches), track.ends(stretches)
        return cls.between(stretches.first, stretches.last, (ax, ay), (bx, by), tolerance)

    @classmethod
    def between(
        cls, first: Indices, last: Indices, a: tuple[Floats, Floats], b: tuple[Floats, Floats], tolerance: Floats
    ) -> Chords:
        """Return the chords between points given by their x and y."""
        ux, uy = b[0] - a[0], b[1] - a[1]
        length_squared, square = ux * ux + uy * uy, tolerance * tolerance
        reach = np.sqrt(length_squared) * tolerance
        reach[length_squared == 0] = np.nan
        middle = a[0] + ux / 2, a[1] + uy / 2
        return cls(first, last, *middle, ux, uy, reach, square, square + length_squared / 4)

    @property
    def numbers(self) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
        """What ``_bounds`` asks of them."""
        return self.mx, self.my, self.ux, self.uy, self.reach, self.room


def sampled_feasible(track: Track, chords: Chords) -> Flags:
    """Return for each stretch whether it may be one piece, judged by a few of its points only, shape (n,)."""
    low, high = sampled_bounds(track, chords)
    return low <= high


def feasible(track: Track, chords: Chords) -> Flags:
    """Return for each stretch whether one line or arc can stand for all of it, shape (n,)."""
    low, high = left_bulge_bounds(track, chords)
    return low <= high


def left_bulge_bounds(track: Track, chords: Chords) -> tuple[Floats, Floats]:
    """Return the smallest and the largest admissible bulge (left positive) of each stretch; shape (n,) each.

    Where none is admissible the first is greater than the second. Between neighbouring places it is a line: both are 0.
    """
    long = np.flatnonzero(chords.last - chords.first > 1)
    if len(long) < len(chords):
        low, high = np.zeros(len(chords)), np.zeros(len(chords))
        low[long], high[long] = left_bulge_bounds(track, chords.taken(long))
        return low, high
    low, high = np.empty(len(chords)), np.empty(len(chords))
    strides = _strides(track, chords)
    for rows in _blocks(2 * (chords.last - chords.first) // strides):
        low[rows], high[rows] = _whole_bounds(track, chords.taken(rows), strides[rows])
    return low, high


def _strides(track: Track, chords: Chords) -> Indices:
    """Return how many dense places there are from one point looked at to the next: 1, 2 or 4, as far as the input's.

    Between points p apart that lie on a circle of radius r, a line leaves the circle by p^2 / (8 r). An arc of up to
    half a turn has a radius of half its chord c at least, so that this is up to p^2 / (4 c).
    """
    steps = np.sqrt(4 * UNSEEN * chords.reach) / track.spacing[chords.first]
    strides: Indices = 1 + (steps >= 2) + 2 * ((steps >= 4) & (track.places_per_segment == 2))
    return strides


def _whole_bounds(track: Track, chords: Chords, strides: Indices) -> tuple[Floats, Floats]:
    before = 2 * chords.first // strides
    counts = 2 * chords.last // strides - before
    ends = np.cumsum(counts)
    rows = ends - counts
    between = np.arange(1, ends[-1] + 1) + (before - rows).repeat(counts)
    between *= strides.repeat(counts)
    each = [numbers.repeat(counts) for numbers in chords.numbers]
    lows, highs = _bounds(each, track.dense_x.take(between), track.dense_y.take(between))
    return np.maximum(np.maximum.reduceat(lows, rows), -1.0), np.minimum(np.minimum.reduceat(highs, rows), 1.0)


def sampled_bounds(track: Track, chords: Chords, *, most: float = 1.0) -> tuple[Floats, Floats]:
    """Return the same as ``left_bulge_bounds``, by a few points of each stretch only and up to the bulge ``most``."""
    low, high = np.empty(len(chords)), np.empty(len(chords))
    for begin in range(0, len(chords), BLOCK // SAMPLES):
        rows = slice(begin, begin + BLOCK // SAMPLES)
        part = chords.taken(rows)
        between = ODD * (part.last - part.first - 1)
        between //= 2 * SAMPLES
        between += part.first + 1
        between *= 2
        lows, highs = _bounds(part.numbers, track.dense_x.take(between), track.dense_y.take(between))
        low[rows], high[rows] = lows.max(axis=0), highs.min(axis=0)
    return np.maximum(low, -most), np.minimum(high, most)


def _blocks(sizes: Indices) -> Iterator[slice]:
    """Yield slices of rows of ``sizes`` items, a block of items each."""
    ends = np.cumsum(sizes)
    if len(ends):
        cuts = np.searchsorted(ends, np.arange(BLOCK, ends[-1], BLOCK))
        borders = np.unique(np.concatenate([[0], cuts, [len(ends)]])).tolist()
        yield from map(slice, borders[:-1], borders[1:])


def _bounds(numbers: Sequence[Floats], x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return the interval that each point leaves open, given the ``numbers`` of its chord.

    x and y, of shape (n,), or (points, n) for all chords, are written over.
    D <= 0 implies -c e <= k <= c e, so that a divisor near 0 makes the interval endless on both sides; q < 0 implies
    the same and gives a lower bound above 0 and an upper one below, which nothing satisfies.
    """
    mx, my, ux, uy, reach, room = numbers
    x -= mx
    y -= my
    k, root = ux * y, uy * x
    k -= root
    x *= x
    y *= y
    x += y
    inside = np.subtract(room, x, out=x)
    below, above = np.subtract(k, reach, out=y), np.add(k, reach, out=k)
    np.multiply(inside, inside, out=root)
    root += below * above
    free = root <= 0
    q = np.sqrt(np.maximum(root, 0.0, out=root), out=root)
    q += inside
    q -= TINY
    q[free] = TINY
    with np.errstate(over="ignore"):
        np.divide(1.0, q, out=q)
        below *= q
        above *= q
    return below, above


def curved(track: Track, pieces: Pieces) -> Pieces:
    """Return the pieces with their bulges: 0 where admissible, else the middle of the admissible interval.

    A bulge a hair from 0 can't come out: where 0 isn't admissible, some point is farther from the chord than the
    tolerance, and an arc half way to the other bound stays clear of it.
    """
    low, high = _bulges(track, pieces)
    return pieces.bent((low + high) / 2)


def smoothly_curved(track: Track, pieces: Pieces) -> Pieces:
    """Return the pieces of whole paths with bulges that let neighbours meet at small angles; 0 where admissible.

    With lean l, half the angle of a piece, and turn t from its chord to the next one's, two pieces meet at the angle
    t - l - l'. The leans that make the sum of its squares least, sharp kinks counting less, are found step by step:
    each goes half way to where it would be best for its two joins, as far as its bounds allow.
    """
    low, high = (2 * np.arctan(bound) for bound in _bulges(track, pieces))
    inset = INSET * (high - low)
    low, high, lean = low + inset, high - inset, (low + high) / 2
    before, after = followers(track, pieces)
    ux, uy = track.chords(pieces)
    direction = np.arctan2(uy, ux)
    turn = wrapped(direction[after] - direction[before])
    for _ in range(ROUNDS):
        kink = wrapped(turn - lean[before] - lean[after])
        weight = 1 / (1 + (kink / SHARP_RAD) ** 2)
        pull = np.bincount(before, weight * kink, len(lean)) + np.bincount(after, weight * kink, len(lean))
        stiff = np.bincount(before, weight, len(lean)) + np.bincount(after, weight, len(lean))
        lean = np.clip(lean + pull / np.maximum(2 * stiff, 1e-9), low, high)
    return pieces.bent(np.tan(lean / 2))


def _bulges(track: Track, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return the least and greatest admissible bulge of each piece, as in ``ArcPath``; both 0 where 0 is admissible."""
    low, high = left_bulge_bounds(track, Chords.of(track, pieces, pieces.tolerance))
    straight = (low <= 0) & (high >= 0)
    return np.where(straight, 0.0, -high), np.where(straight, 0.0, -low)
