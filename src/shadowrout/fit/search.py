"""The longest admissible piece from a place, and the next from its end, for many lanes at the same time.

A lane is a stretch of the track that is walked on its own. Every step serves all lanes that are not yet done, so
that the number of numpy calls follows from the longest lane and not from the number of pieces.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from shadowrout.fit.bulges import Chords, feasible, sampled_feasible
from shadowrout.fit.track import Stretches, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices, ParallelArrays

FIRST_SPAN = 16
"""Places of the length tried first; the next one goes by the piece before. With 4 or 64 it comes to the same pieces but
one."""

RUNGS = np.array([0.5, 1.0, 1.6, 2.6])[:, None]
"""Lengths tried, as shares of the step before."""

SIDE_RUNGS = np.array([0.0, 0.08, 0.2, 0.4])[:, None]
"""Lengths tried in addition with a vertex aside, as shares of the length without it."""

SIDE_STEPS = np.arange(4)[:, None]
"""Places added to each of these, so that they differ on short pieces, too."""

FAN = 5
"""Lengths tried at once between one that will do and one that won't: three or eight come to as many within 0.1 %."""

FIRST_SHARES = np.array([0.5, 0.75, 0.9])[:, None]
"""Where all points object, shares of the way to the length hoped for; those below take 0.2 % more pieces."""

SHARES = np.array([0.25, 0.5, 0.75])[:, None]
"""The same from then on."""

Test = Callable[[Track, Chords], Flags]


@dataclass(frozen=True, eq=False)
class Lanes(Stretches):
    """Stretches to walk, each to its own ``tolerance``; shape (lanes,).

    A lane may end early: it is done once ``spare`` places were reached that lie at ``home`` or beyond. Vertices between
    its ends may lie ``aside`` of their places, to either side.
    """

    tolerance: Floats
    aside: Floats
    home: Indices
    spare: Indices

    @classmethod
    def to_the_end(cls, stretches: Stretches, tolerance: Floats, aside: Floats) -> Lanes:
        """Return lanes that are walked to their stop."""
        ends = stretches.first, stretches.last, stretches.first_shift, stretches.last_shift
        return cls(*ends, tolerance, aside, stretches.last, np.ones(len(stretches), dtype=np.intp))


@dataclass(frozen=True, eq=False)
class Walk(ParallelArrays):
    """The vertices reached, sorted by lane and then along it, each lane's start among them; shape (vertices,)."""

    lane: Indices
    place: Indices
    shift: Floats

    def parted(self, lanes: int) -> tuple[Walk, Walk]:
        """Return the walk of the first so many lanes, and of the others, numbered from 0 again."""
        cut = np.searchsorted(self.lane, lanes)
        rest = self.taken(slice(cut, None))
        return self.taken(slice(cut)), replace(rest, lane=rest.lane - lanes)

    def steps(self) -> tuple[Indices, Stretches]:
        """Return the lane of each step, shape (steps,), and its stretch."""
        same = self.lane[1:] == self.lane[:-1]
        places, shifts = (self.place[:-1][same], self.place[1:][same]), (self.shift[:-1][same], self.shift[1:][same])
        return self.lane[1:][same], Stretches(*places, *shifts)


def walked(track: Track, lanes: Lanes, barrier: Indices, *, marks: Floats | None = None) -> Walk:
    """Walk every lane greedily by the longest pieces.

    ``barrier`` has for each place of the track the farthest one that a piece from there may reach. ``marks`` has for
    each place the shift of a vertex there, or NaN; a lane that comes upon such a vertex ends there.
    """
    at, shift, stop = lanes.first.copy(), lanes.first_shift.copy(), lanes.last
    spare, span = lanes.spare.copy(), np.full(len(at), FIRST_SPAN)
    active = np.flatnonzero(at < stop)
    steps = [(np.arange(len(at)), at.copy(), shift.copy())]
    while len(active):
        here = at[active]
        limit = np.minimum(stop[active], barrier[here])
        limit_shift = np.where(limit == stop[active], lanes.last_shift[active], 0.0)
        ahead = Stretches(here, limit, shift[active], limit_shift)
        seek = _Seek(track, ahead, lanes.tolerance[active], lanes.aside[active])
        at[active], shift[active] = there, _ = seek.farthest(span[active])
        span[active] = there - here
        steps.append((active, there, shift[active]))
        spare[active] -= there >= lanes.home[active]
        going = (there < stop[active]) & (spare[active] > 0)
        if marks is not None:
            going &= marks[there] != shift[active]
        active = active[going]
    lane, place, shift = (np.concatenate(part) for part in zip(*steps, strict=True))
    order = np.argsort(lane, kind="stable")
    return Walk(lane, place, shift).taken(order)


class _Seek:
    """How far one piece gets along each of the stretches ``ahead``, as far as their ends; shape (n,) all.

    Vertices may end on their places, or ``aside`` of them to the left or to the right.
    """

    def __init__(self, track: Track, ahead: Stretches, tolerance: Floats, aside: Floats) -> None:
        self.track = track
        self.first, self.limit, self.limit_shift = ahead.first, ahead.last, ahead.last_shift
        self.start = track.starts(ahead)
        self.tolerance, self.aside = tolerance, aside

    def farthest(self, span: Indices) -> tuple[Indices, Floats]:
        """Return the farthest place, at least the next one, and the shift of the piece's end there.

        A few points of each stretch narrow the answer down, the search beginning at lengths near ``span``; then all
        points are tested, and where they object the answer is sought below. Admissibility isn't strictly monotone, so
        this is a long piece, not the longest. An end aside is taken only where it lets the piece get farther.
        """
        lanes = np.arange(len(self.first))
        far, shift = self.first + 1, np.zeros(len(lanes))
        hoped = self._by_samples(lanes, shift, far, (RUNGS * span).astype(np.intp))
        far = self._by_all_points(lanes, shift, far, hoped)
        short = np.flatnonzero((self.aside > 0) & (far < self.limit))
        if len(short):
            rows, sides = np.tile(short, 2), np.concatenate([self.aside[short], -self.aside[short]])
            step = (SIDE_RUNGS * (far - self.first)[rows]).astype(np.intp) + SIDE_STEPS
            hoped = self._by_samples(rows, sides, far[rows], step)
            left, right = np.split(hoped, 2)
            shift[short] = np.where(left >= right, 1.0, -1.0) * self.aside[short]
            farther = self._by_all_points(short, shift[short], far[short], np.maximum(left, right))
            shift[short[farther == far[short]]] = 0.0
            far[short] = farther
        return far, np.where(far == self.limit, self.limit_shift, shift)

    def _by_samples(self, lanes: Indices, shift: Floats, low: Indices, steps: Indices) -> Indices:
        """Return the farthest place of each row, ``low`` at least, as far as a few points of the stretch tell.

        ``steps``, shape (n, rows), is how much farther than ``low`` to try at first.
        """
        good, bad = low.copy(), self.limit[lanes] + 1
        going = np.arange(len(lanes))
        while len(going):
            rungs = np.minimum(low[going] + 1 + steps[:, going], bad[going] - 1)
            good[going], bad[going] = self._best_of(
                lanes[going], shift[going], rungs, good[going], bad[going], sampled_feasible
            )
            going = going[(good[going] == rungs[-1]) & (bad[going] - good[going] > 1)]
            steps = 4 * steps
        going = np.flatnonzero(bad - good > 1)
        while len(going):
            low, high = good[going], bad[going]
            fan = np.minimum(low + (np.arange(1, FAN + 1)[:, None] * (high - low) + FAN) // (FAN + 1), high - 1)
            good[going], bad[going] = self._best_of(lanes[going], shift[going], fan, low, high, sampled_feasible)
            going = going[bad[going] - good[going] > 1]
        return good

    def _by_all_points(self, lanes: Indices, shift: Floats, low: Indices, high: Indices) -> Indices:
        """Return the farthest place of each row from ``low``, known to be good, to ``high``, by all points."""
        good = low.copy()
        going = np.flatnonzero(high > low)
        fits = self._fits(lanes[going], shift[going], high[going], feasible)
        good[going[fits]] = high[going[fits]]
        going = going[~fits]
        low, high, shares = low[going], high[going], FIRST_SHARES
        while True:
            open_ = high - low > 1
            going, low, high = going[open_], low[open_], high[open_]
            if not len(going):
                return good
            fan = low + (shares * (high - low)).astype(np.intp)
            low, high = self._best_of(lanes[going], shift[going], fan, low, high, feasible)
            good[going] = low
            shares = SHARES

    def _best_of(
        self, lanes: Indices, shift: Floats, rungs: Indices, low: Indices, high: Indices, test: Test
    ) -> tuple[Indices, Indices]:
        """Return the last rung that passes the test, and the one after it; rungs, shape (n, rows), rise in each row.

        ``low`` is the answer where none passes, ``high`` what comes after the last.
        """
        many = len(rungs)
        fits = self._fits(np.tile(lanes, many), np.tile(shift, many), rungs.ravel(), test).reshape(rungs.shape)
        best = np.where(fits.any(axis=0), many - np.argmax(fits[::-1], axis=0), 0)
        ladder, row = np.vstack([low, rungs, high]), np.arange(len(lanes))
        return ladder[best, row], ladder[best + 1, row]

    def _fits(self, lanes: Indices, shift: Floats, ends: Indices, test: Test) -> Flags:
        shift = np.where(ends == self.limit[lanes], self.limit_shift[lanes], shift)
        start = self.start[0][lanes], self.start[1][lanes]
        end = self.track.shifted(ends, shift)
        return test(self.track, Chords.between(self.first[lanes], ends, start, end, self.tolerance[lanes]))
