"""The first pieces of rings and lines: where to start, where to stop, how to close up with as few as can be.

A greedy walk is nearly the best from the place where it starts; what costs pieces is the end of a lane, which cuts the
last one short. Long rings are walked in many lanes at once. Then each lane is led on from its last whole piece until
it comes upon a vertex of the next lane's walk, from where the two agree: greedy walks run into each other soon on
real outlines. Short rings are walked in one lane and on past their start: each vertex of the first lap is then the
start of a lap of its own, and the best is kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shadowrout.fit.bulges import Chords, feasible
from shadowrout.fit.search import Lanes, Walk, walked
from shadowrout.fit.track import ASIDE, Pieces, Stretches, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices, spread

LANE_PLACES = 200
"""Places of a lane. Lanes of 1000 take half as long again, lanes of 100 take 0.3 % more pieces."""

FEW_PIECES = 12
"""Pieces of a long ring up to which it is walked again in one lap like a short one."""

TRIED_STARTS = 4
"""Starts tried on a short ring: one alone takes 0.3 % more pieces, eight take 0.1 % fewer."""

LEAST_STEPS = 3
"""Steps of a lane whose walk is worth keeping; a shorter one is walked again by the lane before."""


def ring_pieces(track: Track, barrier: Indices, corners: Indices, tolerance: float) -> Pieces:
    """Cut every ring into pieces that don't pass their ``barrier``.

    A ring with ``corners``, places on its first lap, starts from one of them; elsewhere other starts are tried.
    """
    rings = _Rings(track, barrier, tolerance, *_starts(track, corners))
    short = np.flatnonzero(track.count < 2 * LANE_PLACES)
    parts, row = rings.parts(np.flatnonzero(track.count >= 2 * LANE_PLACES))
    in_parts, laps = rings.walked(parts.joined(rings.laps(short))).parted(len(parts))
    inner, ahead, few = rings.leading_on(in_parts, parts, row)
    marks = rings.marks(inner)
    on, more_laps = rings.walked(ahead.joined(rings.laps(few)), marks).parted(len(ahead))
    lapped, rest = rings.best_laps(laps, short)
    more_lapped, more_rest = rings.best_laps(more_laps, few)
    ends = rings.walked(rest.joined(more_rest)).steps()[1]
    every = rings.led_on(inner, on).joined(lapped, more_lapped, ends)
    return Pieces.of(track, every, np.full(len(every), tolerance))


def _starts(track: Track, corners: Indices) -> tuple[Indices, Flags]:
    """Return where each ring is to be started, and whether that is one of its corners."""
    ring_of_corner = track.ring_of(corners)
    starts, sharp = track.begin.copy(), np.zeros(len(track.begin), dtype=bool)
    starts[ring_of_corner[::-1]] = corners[::-1]
    sharp[ring_of_corner] = True
    return starts, sharp


def line_pieces(track: Track, barrier: Indices, tolerance: float) -> Pieces:
    """Cut every open line into pieces."""
    zero = np.zeros(len(track.begin))
    lines = Stretches(track.begin, track.begin + track.count - 1, zero, zero)
    walk = walked(track, Lanes.to_the_end(lines, zero + tolerance, zero), barrier)
    _, steps = walk.steps()
    return Pieces.of(track, steps, np.full(len(steps), tolerance))


@dataclass(frozen=True, eq=False)
class _Inner:
    """Whole steps of the long rings' parts, each with its part, and for each part the part that leads on to it.

    ``behind`` is -1 for parts too short to be led on to.
    """

    part: Indices
    steps: Stretches
    start: Indices
    behind: Indices


@dataclass(frozen=True, eq=False)
class _Rings:
    """Rings to be walked: from their ``starts`` where those are ``sharp`` corners, else from anywhere."""

    track: Track
    barrier: Indices
    tolerance: float
    starts: Indices
    sharp: Flags

    def walked(self, lanes: Lanes, marks: Floats | None = None) -> Walk:
        """Walk each lane."""
        return walked(self.track, lanes, self.barrier, marks=marks)

    def to_the_end(self, stretches: Stretches) -> Lanes:
        """Return lanes to be walked to their end."""
        tolerance = np.full(len(stretches), self.tolerance)
        return Lanes.to_the_end(stretches, tolerance, ASIDE * tolerance)

    def laps(self, rings: Indices) -> Lanes:
        """Return lanes of one lap from a sharp corner, else of a lap and as much more as starts are to be tried."""
        start, count, sharp = self.starts[rings], self.track.count[rings], self.sharp[rings]
        zero, tolerance = np.zeros(len(rings)), np.full(len(rings), self.tolerance)
        last, spare = start + np.where(sharp, count, 2 * count - 1), np.where(sharp, 1, TRIED_STARTS)
        return Lanes(start, last, zero, zero, tolerance, ASIDE * tolerance, start + count, spare)

    def best_laps(self, walk: Walk, rings: Indices) -> tuple[Stretches, Lanes]:
        """Return the steps of each ring's lap of the fewest pieces, and what is left to be walked to close it."""
        if not len(rings):
            return Stretches.none(), self.to_the_end(Stretches.none())
        count = self.track.count[rings]
        chosen, closing = self._best_laps(walk, count)
        lane, steps = walk.steps()
        start, end = walk.place[chosen], walk.place[closing]
        within = (steps.first >= start[lane]) & (steps.last <= end[lane])
        rest = Stretches(end, start + count, walk.shift[closing], walk.shift[chosen])
        return steps.taken(within), self.to_the_end(rest)

    def _best_laps(self, walk: Walk, count: Indices) -> tuple[Indices, Indices]:
        """Return for each lane the items of ``walk`` that start its lap of fewest pieces and end its last whole step.

        A lap's last step is cut short where it would pass the lap's start; then it must still be admissible.
        """
        rank = np.arange(len(walk.lane)) - np.searchsorted(walk.lane, walk.lane)
        key = walk.lane * (int(walk.place.max()) + 1) + walk.place
        goal = walk.place + count[walk.lane]
        before = np.searchsorted(key, walk.lane * (int(walk.place.max()) + 1) + goal, side="right") - 1
        before -= (walk.place[before] == goal) & (walk.shift[before] != walk.shift)
        reached_end = np.searchsorted(walk.lane, walk.lane, side="right") - 1
        usable = (walk.place[reached_end] >= goal) | (rank == 0)
        cut = walk.place[before] < goal
        cost = (before - np.arange(len(before)) + cut).astype(np.float64)
        check = np.flatnonzero(usable & cut)
        last = before[check]
        closing = Stretches(walk.place[last], goal[check], walk.shift[last], walk.shift[check])
        ok = feasible(self.track, Chords.of(self.track, closing, np.full(len(check), self.tolerance)))
        cost[check[~ok]] += 1
        cost[~usable] = np.inf
        chosen = np.lexsort([rank, cost, walk.lane])[np.searchsorted(walk.lane, np.arange(len(count)))]
        return chosen, before[chosen]

    def parts(self, rings: Indices) -> tuple[Lanes, Indices]:
        """Return many lanes around each ring, and the ring of each."""
        count = self.track.count
        parts = np.maximum(1, count[rings] // LANE_PLACES)
        row, number = spread(parts)
        owner, zero = rings[row], np.zeros(len(row))
        start = self.starts[owner] + number * count[owner] // parts[row]
        stop = self.starts[owner] + (number + 1) * count[owner] // parts[row]
        return self.to_the_end(Stretches(start, stop, zero, zero)), owner

    def leading_on(self, walk: Walk, parts: Lanes, owner: Indices) -> tuple[_Inner, Lanes, Indices]:
        """Return the whole steps of the parts' walk, lanes on from where each was cut, and the rings better lapped.

        A lane leads on to the cut of the next part at the latest.
        """
        track = self.track
        part, steps = walk.steps()
        many = np.bincount(part, minlength=len(parts))
        whole = many >= LEAST_STEPS
        pieces = np.bincount(owner, weights=many - 1.0, minlength=len(track.count))
        lapped = (pieces <= FEW_PIECES) | (np.bincount(owner[whole], minlength=len(track.count)) == 0)
        few = np.intersect1d(owner, np.flatnonzero(lapped))
        whole &= ~lapped[owner]
        chosen, cuts = np.flatnonzero(whole), np.cumsum(many) - 1
        cut, ring = steps.taken(cuts[chosen]), owner[chosen]
        begin, count = track.begin[ring], track.count[ring]
        ends = np.append(ring[1:] != ring[:-1], True)[: len(ring)]
        follower = np.arange(1, len(ring) + 1)
        follower[ends] = np.searchsorted(ring, ring[ends])
        goal = cut.first[follower] + np.where(ends, count, 0)
        lap = np.where(cut.first >= begin + count, count, 0)
        ahead = Stretches(cut.first - lap, goal - lap, cut.first_shift, cut.first_shift[follower])
        behind = np.full(len(parts), -1)
        behind[chosen[follower]] = np.arange(len(chosen))
        kept = whole[part] & (steps.first < steps.first[cuts][part])
        inner = _Inner(part[kept], steps.taken(kept), parts.first, behind)
        return inner, self.to_the_end(ahead), few

    def marks(self, inner: _Inner) -> Floats:
        """Return for each place the shift of the inner steps' vertex there, or NaN."""
        marks = np.full(len(self.track.x), np.nan)
        home = self.track.home(inner.steps.first)
        marks[home] = marks[home + self.track.count[self.track.ring_of(home)]] = inner.steps.first_shift
        return marks

    def led_on(self, inner: _Inner, walk: Walk) -> Stretches:
        """Return the steps that led on, and those of each part from where it was met."""
        _, on = walk.steps()
        if not len(inner.part):
            return on
        arrived = walk.place[np.append(walk.lane[1:] != walk.lane[:-1], True)]
        count = self.track.count[self.track.ring_of(inner.start)]
        entry = (arrived[inner.behind] - inner.start) % count
        met = inner.steps.first - inner.start[inner.part] >= entry[inner.part]
        return inner.steps.taken(met).joined(on)
