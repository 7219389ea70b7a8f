"""All the rings or lines to be fitted, in one pair of arrays, so that one numpy call serves them all.

A ring is stored twice over, one lap after the other: a piece that runs across the ring's first point is then a
plain stretch of the arrays. Open lines are stored once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Track:
    """Points of every ring or line, as ``x`` and ``y`` of shape (total,).

    ``begin`` and ``count`` have one number a ring or line: its first place in the arrays, and how many different
    places it has (without the second lap). ``given`` has the points as they came, shape (total, 2); ``x`` and ``y``
    are measured from the middle of them all, which keeps digits where coordinates are huge. ``dense_x`` and
    ``dense_y``, shape (2 total - 1,), have the points at even numbers and the middles of the segments at odd ones.
    """

    x: Floats
    y: Floats
    begin: Indices
    count: Indices
    closed: bool
    given: Points
    dense_x: Floats
    dense_y: Floats

    @classmethod
    def of_rings(cls, rings: Sequence[Points]) -> Track:
        """Return the track of closed rings, each of shape (n, 2), n >= 3, the first point not repeated."""
        return cls._of(rings, closed=True)

    @classmethod
    def of_lines(cls, lines: Sequence[Points]) -> Track:
        """Return the track of open lines, each of shape (n, 2), n >= 2."""
        return cls._of([np.asarray(line) for line in lines], closed=False)

    @classmethod
    def _of(cls, runs: Sequence[Points], *, closed: bool) -> Track:
        points, count = _without_repeats(runs, closed=closed)
        if count.min() < 2:
            raise ValueError("points: expected two different points at least in every ring or line")
        laps = 2 if closed else 1
        row, number = spread(laps * count)
        every = points[(np.cumsum(count) - count)[row] + number % count[row]]
        x, y = np.ascontiguousarray((every - (every.min(axis=0) + every.max(axis=0)) / 2).T)
        begin = np.cumsum(laps * count) - laps * count
        return cls(x, y, begin, count, closed, every, _with_middles(x), _with_middles(y))

    def points(self, places: Indices) -> Points:
        """Return the points at ``places`` in the track's own coordinates, shape (n, 2)."""
        points: Points = np.column_stack([self.x[places], self.y[places]])
        return points

    def ring_of(self, places: Indices) -> Indices:
        """Return the number of the ring or line that each place belongs to, same shape as ``places``."""
        ring: Indices = np.searchsorted(self.begin, places, side="right") - 1
        return ring

    def laps_end(self) -> Indices:
        """Return for each place the last one that a piece from there may end at: short of a whole lap."""
        laps = 2 if self.closed else 1
        span = np.repeat(self.count, laps * self.count)
        place = np.arange(len(self.x))
        ends: Indices = np.minimum(place + span - 1, np.repeat(self.begin + laps * self.count - 1, laps * self.count))
        return ends

    def home(self, places: Indices) -> Indices:
        """Return the same places on their ring's first lap."""
        if not self.closed:
            return places
        ring = self.ring_of(places)
        begin = self.begin[ring]
        home: Indices = begin + (places - begin) % self.count[ring]
        return home


@dataclass(frozen=True, eq=False)
class Pieces:
    """Stretches of a track from place ``first`` to place ``last``, each to become one line or arc.

    All arrays have shape (pieces,). ``tolerance`` is what the piece was fitted to, ``bulge`` its bulge as in
    ``ArcPath``. A ring's pieces follow each other, the last one ending where the first begins, a lap later.
    """

    ring: Indices
    first: Indices
    last: Indices
    bulge: Floats
    tolerance: Floats

    def __len__(self) -> int:
        return len(self.first)

    @property
    def spans(self) -> Indices:
        """How many segments of the input each piece stands for."""
        spans: Indices = self.last - self.first
        return spans

    @property
    def exact(self) -> Flags:
        """Which pieces are segments of the input itself."""
        exact: Flags = self.spans == 1
        return exact

    def bent(self, bulge: Floats) -> Pieces:
        """Return the same pieces with other bulges."""
        return Pieces(self.ring, self.first, self.last, bulge, self.tolerance)

    def between(self, first: Indices, last: Indices) -> Pieces:
        """Return the same pieces with other ends."""
        return Pieces(self.ring, first, last, self.bulge, self.tolerance)

    def taken(self, which: Flags | Indices) -> Pieces:
        """Return some of the pieces."""
        ring, first, last = self.ring[which], self.first[which], self.last[which]
        return Pieces(ring, first, last, self.bulge[which], self.tolerance[which])

    def joined(self, other: Pieces) -> Pieces:
        """Return these pieces and then the other ones."""
        both = (self, other)
        return Pieces(
            np.concatenate([pieces.ring for pieces in both]),
            np.concatenate([pieces.first for pieces in both]),
            np.concatenate([pieces.last for pieces in both]),
            np.concatenate([pieces.bulge for pieces in both]),
            np.concatenate([pieces.tolerance for pieces in both]),
        )


def spread(counts: Indices) -> tuple[Indices, Indices]:
    """Return for ragged rows of ``counts`` items the row of each item and its number within the row."""
    row = np.repeat(np.arange(len(counts)), counts)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)


def _with_middles(values: Floats) -> Floats:
    dense = np.empty(2 * len(values) - 1)
    dense[::2] = values
    dense[1::2] = (values[1:] + values[:-1]) / 2
    return dense


def _without_repeats(runs: Sequence[Points], *, closed: bool) -> tuple[Points, Indices]:
    """Return all points after each other without those that repeat the one before, and how many each run has."""
    for run in runs:
        if run.ndim != 2 or run.shape[1] != 2 or len(run) < 2:
            raise ValueError(f"points: expected shape (n, 2) with n >= 2, got {run.shape}")
    count = np.array([len(run) for run in runs], dtype=np.intp)
    every = np.concatenate(runs).astype(np.float64, copy=False)
    if not np.isfinite(every).all():
        raise ValueError("points: expected finite numbers")
    row, number = spread(count)
    begin = np.cumsum(count) - count
    before = np.roll(np.arange(len(every)), 1)
    before[begin] = begin + count - 1
    keep = (every != every[before]).any(axis=1)
    if not closed:
        keep[begin] = True
    return every[keep], np.bincount(row[keep], minlength=len(count))
