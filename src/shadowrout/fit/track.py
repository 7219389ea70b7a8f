"""All the rings or lines to be fitted, in one pair of arrays, so that one numpy call serves them all.

A ring is stored twice over, one lap after the other: a piece that runs across the ring's first point is then a
plain stretch of the arrays. Open lines are stored once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats, Indices, ParallelArrays, following, preceding, spread

ASIDE = 0.7
"""How far vertices may lie from the rings, in tolerances."""


@dataclass(frozen=True, eq=False)
class Track:
    """Places along every ring or line where a vertex may lie, as ``x`` and ``y`` of shape (total,).

    Along rings these are the input's points and the middles of its segments, along lines the points. ``begin`` and
    ``count`` have one number a ring or line: its first place in the arrays, and how many different places it has
    (without the second lap). ``segment`` numbers the input's segments: that which starts at, or goes on from, each
    place. ``given`` has the places as they came, shape (total, 2); ``x`` and ``y`` are measured from the middle of
    them all, which keeps digits where coordinates are huge. ``normal_x`` and ``normal_y`` have the unit vector to the
    left of the way at each place. ``dense_x`` and ``dense_y``, shape (2 total - 1,), have the places at
    even numbers and the middles between them at odd ones; ``spacing`` has for each place the greatest distance between
    neighbours among these on its ring or line.
    """

    x: Floats
    y: Floats
    normal_x: Floats
    normal_y: Floats
    begin: Indices
    count: Indices
    segment: Indices
    closed: bool
    given: Points
    dense_x: Floats
    dense_y: Floats
    spacing: Floats

    @classmethod
    def of_rings(cls, rings: Sequence[Points]) -> Track:
        """Return the track of closed rings, each of shape (n, 2), n >= 3, the first point not repeated."""
        points, count = _without_repeats(rings, closed=True)
        points, count, segment = _with_middles(points, count)
        row, number = spread(2 * count)
        laps = (np.cumsum(count) - count)[row] + number % count[row]
        every, x, y = _centred(points[laps])
        normal_x, normal_y = (normal[laps] for normal in _normals(points, count, closed=True))
        begin = 2 * (np.cumsum(count) - count)
        spacing = np.repeat(_dense_spacing(points, count, closed=True), 2 * count)
        dense = _between(x), _between(y), spacing
        return cls(x, y, normal_x, normal_y, begin, count, segment[laps], True, every, *dense)

    @classmethod
    def of_lines(cls, lines: Sequence[Points]) -> Track:
        """Return the track of open lines, each of shape (n, 2), n >= 2."""
        points, count = _without_repeats([np.asarray(line) for line in lines], closed=False)
        every, x, y = _centred(points)
        normal_x, normal_y = _normals(points, count, closed=False)
        begin, segment = np.cumsum(count) - count, np.arange(len(x))
        dense = _between(x), _between(y), np.repeat(_dense_spacing(points, count, closed=False), count)
        return cls(x, y, normal_x, normal_y, begin, count, segment, False, every, *dense)

    @property
    def places_per_segment(self) -> int:
        """How many places there are to each segment of the input."""
        return 2 if self.closed else 1

    @cached_property
    def along(self) -> Floats:
        """Lengths of the way from the first place of all to each place, steps from ring to ring included."""
        steps = np.hypot(np.diff(self.x), np.diff(self.y))
        lengths: Floats = np.concatenate([[0.0], np.cumsum(steps)])
        return lengths

    def points(self, places: Indices) -> Points:
        """Return the points at ``places`` in the track's own coordinates, shape (n, 2)."""
        points: Points = np.column_stack([self.x[places], self.y[places]])
        return points

    def shifted(self, places: Indices, shift: Floats) -> tuple[Floats, Floats]:
        """Return x and y of points to the left of ``places`` by ``shift``, to the right where negative."""
        return self.x[places] + shift * self.normal_x[places], self.y[places] + shift * self.normal_y[places]

    def starts(self, stretches: Stretches) -> tuple[Floats, Floats]:
        """Return x and y of the vertex at the start of each stretch."""
        return self.shifted(stretches.first, stretches.first_shift)

    def ends(self, stretches: Stretches) -> tuple[Floats, Floats]:
        """Return x and y of the vertex at the end of each stretch."""
        return self.shifted(stretches.last, stretches.last_shift)

    def chords(self, stretches: Stretches) -> tuple[Floats, Floats]:
        """Return how far it is in x and y from the start to the end of each stretch."""
        (ax, ay), (bx, by) = self.starts(stretches), self.ends(stretches)
        return bx - ax, by - ay

    def exact(self, stretches: Stretches) -> Flags:
        """Return which stretches are, from vertex to vertex, a part of one segment of the input."""
        on_input = (stretches.first_shift == 0) & (stretches.last_shift == 0)
        exact: Flags = on_input & (self.segment[stretches.first] == self.segment[stretches.last - 1])
        return exact

    def segment_ends(self, places: Indices) -> tuple[Indices, Indices]:
        """Return the first and the last place of the segment that goes on from each place of a ring's first lap."""
        segment = self.segment[places]
        start: Indices = places - (self.segment[places - 1] == segment)
        return start, start + 1 + (self.segment[start + 1] == segment)

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
class Stretches(ParallelArrays):
    """Stretches of a track from place ``first`` to place ``last``, with a vertex at either end.

    The vertices lie to the left of their places by ``first_shift`` and ``last_shift``, to the right where negative. All
    arrays have shape (n,).
    """

    first: Indices
    last: Indices
    first_shift: Floats
    last_shift: Floats

    @classmethod
    def none(cls) -> Stretches:
        """Return no stretches."""
        places, shifts = np.zeros(0, dtype=np.intp), np.zeros(0)
        return cls(places, places, shifts, shifts)

    @property
    def spans(self) -> Indices:
        """How many places lie from each stretch's start to its end."""
        spans: Indices = self.last - self.first
        return spans


@dataclass(frozen=True, eq=False)
class Pieces(Stretches):
    """Stretches each to become one line or arc.

    ``ring`` is the ring or line it belongs to, ``bulge`` its bulge as in ``ArcPath``, ``tolerance`` what it was fitted
    to. A ring's pieces follow each other, the last one ending where the first begins, a lap later.
    """

    ring: Indices
    bulge: Floats
    tolerance: Floats

    @classmethod
    def of(cls, track: Track, steps: Stretches, tolerance: Floats) -> Pieces:
        """Return the pieces with these ends, sorted along each ring, without their bulges (all 0 yet)."""
        first = track.home(steps.first)
        ends = first, first + steps.spans, steps.first_shift, steps.last_shift
        return cls(*ends, track.ring_of(first), np.zeros(len(first)), tolerance).in_order()

    def bent(self, bulge: Floats) -> Pieces:
        """Return the same pieces with other bulges."""
        return replace(self, bulge=bulge)

    @property
    def per_ring(self) -> Indices:
        """How many pieces the ring of each has."""
        many: Indices = np.bincount(self.ring)[self.ring]
        return many

    def in_order(self) -> Pieces:
        """Return the same pieces sorted along each ring."""
        return self.taken(np.argsort(self.first, kind="stable"))

    def loosened(self) -> Pieces:
        """Return the same pieces with ends of their own, which may be changed in place."""
        first, last, first_shift, last_shift = (getattr(self, field.name).copy() for field in fields(Stretches))
        return replace(self, first=first, last=last, first_shift=first_shift, last_shift=last_shift)

    def bring_home(self, track: Track) -> None:
        """Shift pieces that no longer begin on their ring's first lap by a lap; changes first and last."""
        begin, count = track.begin[self.ring], track.count[self.ring]
        laps = (self.first < begin).astype(np.intp) - (self.first >= begin + count)
        self.first[:] += laps * count
        self.last[:] += laps * count


def _centred(points: Points) -> tuple[Points, Floats, Floats]:
    """Return the points, and their x and y from the middle of them all."""
    x, y = np.ascontiguousarray(points.T)
    return points, x - (x.min() + x.max()) / 2, y - (y.min() + y.max()) / 2


def _differ(points: Points, others: Points) -> Flags:
    """Return which points aren't the same; shapes (n, 2)."""
    differ: Flags = (points[:, 0] != others[:, 0]) | (points[:, 1] != others[:, 1])
    return differ


def _between(values: Floats) -> Floats:
    dense = np.empty(2 * len(values) - 1)
    dense[::2] = values
    dense[1::2] = (values[1:] + values[:-1]) / 2
    return dense


def _dense_spacing(points: Points, count: Indices, *, closed: bool) -> Floats:
    """Return half the longest way from one point to the next of each ring or line; points, (n, 2), in rows of count."""
    steps = np.hypot(*(points[following(count)] - points).T)
    ends = np.cumsum(count)
    if not closed:
        steps[ends - 1] = 0.0
    longest: Floats = np.maximum.reduceat(steps, ends - count) / 2
    return longest


def _without_repeats(runs: Sequence[Points], *, closed: bool) -> tuple[Points, Indices]:
    """Return all points after each other without those that repeat the one before, and how many each run has."""
    for run in runs:
        if run.ndim != 2 or run.shape[1] != 2 or len(run) < 2:
            raise ValueError(f"points: expected shape (n, 2) with n >= 2, got {run.shape}")
    count = np.array([len(run) for run in runs], dtype=np.intp)
    every = np.concatenate(runs).astype(np.float64, copy=False)
    if not np.isfinite(every).all():
        raise ValueError("points: expected finite numbers")
    begin = np.cumsum(count) - count
    keep = _differ(every, every[preceding(count)])
    if not closed:
        keep[begin] = True
    kept = np.add.reduceat(keep, begin, dtype=np.intp)
    if kept.min() < 2:
        raise ValueError("points: expected two different points at least in every ring or line")
    return every[keep], kept


def _with_middles(points: Points, count: Indices) -> tuple[Points, Indices, Indices]:
    """Return closed rings with the middle of each segment, their counts, and the segment that goes on from each point.

    A segment so short that its middle is one of its ends in floating point has none.
    """
    middles = (points + points[following(count)]) / 2
    every = np.stack([points, middles], axis=1).reshape(-1, 2)
    segment = np.repeat(np.arange(len(points)), 2)
    doubled = 2 * count
    keep = _differ(every, every[preceding(doubled)])
    if not keep.all():
        ring = np.repeat(np.arange(len(count)), doubled)
        keep[::2] = True
        keep[1::2] &= _differ(every[1::2], points[following(count)])
        return every[keep], np.bincount(ring[keep], minlength=len(count)), segment[keep]
    return every, doubled, segment


def _normals(points: Points, count: Indices, *, closed: bool) -> tuple[Floats, Floats]:
    """Return x and y of the unit vector to the left of the way at each point: across the chord of its neighbours.

    Where both neighbours are one point it is 0.
    """
    before, after = preceding(count), following(count)
    if not closed:
        ends = np.cumsum(count)
        before[ends - count], after[ends - 1] = ends - count, ends - 1
    dx, dy = (points[after] - points[before]).T
    length = np.sqrt(dx * dx + dy * dy)
    length[length == 0] = 1.0
    return -dy / length, dx / length
