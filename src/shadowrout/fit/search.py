"""The longest admissible piece from a place, and the next from its end, for many lanes at the same time.

A lane is a stretch of the track that is walked on its own. Every step serves all lanes that are not yet done, so
that the number of numpy calls follows from the longest lane and not from the number of pieces.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shadowrout.fit.bulges import feasible, sampled_feasible
from shadowrout.fit.track import Flags, Floats, Indices, Track

FAN = 8
FIRST_SHARES = np.array([0.5, 0.75, 0.9])
SHARES = np.array([0.25, 0.5, 0.75])

Test = Callable[[Track, Indices, Indices, Floats], Flags]


@dataclass(frozen=True, eq=False)
class Lanes:
    """Stretches to walk, each from ``start`` to ``stop``, both places, to its own ``tolerance``; shape (lanes,).

    A lane may end early: it is done once ``spare`` places were reached that lie at ``home`` or beyond.
    """

    start: Indices
    stop: Indices
    tolerance: Floats
    home: Indices
    spare: Indices

    @classmethod
    def to_the_end(cls, start: Indices, stop: Indices, tolerance: Floats) -> Lanes:
        """Return lanes that are walked to their stop."""
        return cls(start, stop, tolerance, stop, np.ones(len(start), dtype=np.intp))


@dataclass(frozen=True, eq=False)
class Walk:
    """The places reached, sorted by lane and then along it, each lane's start among them; shape (places,)."""

    lane: Indices
    place: Indices

    def steps(self) -> tuple[Indices, Indices, Indices]:
        """Return the lane, the start and the end of each step, shape (steps,) each."""
        same = self.lane[1:] == self.lane[:-1]
        return self.lane[1:][same], self.place[:-1][same], self.place[1:][same]


def walked(track: Track, lanes: Lanes, barrier: Indices, *, marks: Flags | None = None) -> Walk:
    """Walk every lane greedily by the longest pieces.

    ``barrier`` has for each place of the track the farthest one that a piece from there may reach. A lane that
    comes upon one of ``marks``, a flag for each place, ends there.
    """
    at = lanes.start.copy()
    spare = lanes.spare.copy()
    active = np.flatnonzero(at < lanes.stop)
    steps_lane, steps_place = [np.arange(len(at))], [at.copy()]
    while len(active):
        here = at[active]
        limit = np.minimum(lanes.stop[active], barrier[here])
        at[active] = there = _farthest(track, here, limit, lanes.tolerance[active])
        steps_lane.append(active)
        steps_place.append(there)
        spare[active] -= there >= lanes.home[active]
        going = (there < lanes.stop[active]) & (spare[active] > 0)
        if marks is not None:
            going &= ~marks[there]
        active = active[going]
    lane = np.concatenate(steps_lane)
    order = np.argsort(lane, kind="stable")
    return Walk(lane[order], np.concatenate(steps_place)[order])


def _farthest(track: Track, at: Indices, limit: Indices, tolerance: Floats) -> Indices:
    """Return how far one piece gets from each place, at least to the next point.

    A few points of each stretch narrow the answer down; then all its points are tested, and where they object the
    answer is sought below. Admissibility isn't strictly monotone, so this is a long piece, not the longest.
    """
    good = _sampled_farthest(track, at, limit, tolerance)
    todo = np.flatnonzero(good > at + 1)
    todo = todo[~feasible(track, at[todo], good[todo], tolerance[todo])]
    low, high = at[todo] + 1, good[todo]
    good[todo] = low
    shares = FIRST_SHARES
    while len(todo):
        fan = low[:, None] + (shares * (high - low)[:, None]).astype(np.intp)
        low, high = _best_of(track, at[todo], fan, tolerance[todo], low, high, feasible)
        good[todo] = low
        open_ = high - low > 1
        todo, low, high = todo[open_], low[open_], high[open_]
        shares = SHARES
    return good


def _sampled_farthest(track: Track, at: Indices, limit: Indices, tolerance: Floats) -> Indices:
    longest = int((limit - at).max())
    ladder = [2]
    while ladder[-1] < longest:
        ladder.append(2 * ladder[-1])
    rungs = np.minimum(at[:, None] + np.array(ladder), limit[:, None])
    good, bad = _best_of(track, at, rungs, tolerance, at + 1, limit + 1, sampled_feasible)
    todo = np.flatnonzero(bad - good > 1)
    while len(todo):
        low, high = good[todo], bad[todo]
        fan = low[:, None] + (np.arange(1, FAN + 1) * (high - low)[:, None] + FAN) // (FAN + 1)
        fan = np.minimum(fan, (high - 1)[:, None])
        good[todo], bad[todo] = _best_of(track, at[todo], fan, tolerance[todo], low, high, sampled_feasible)
        todo = todo[bad[todo] - good[todo] > 1]
    return good


def _best_of(
    track: Track, at: Indices, rungs: Indices, tolerance: Floats, low: Indices, high: Indices, test: Test
) -> tuple[Indices, Indices]:
    """Return the last rung that passes the test, and the one after it; rungs rise along each row.

    ``low`` is the answer where none passes, ``high`` what comes after the last.
    """
    width = rungs.shape[1]
    fits = test(track, np.repeat(at, width), rungs.ravel(), np.repeat(tolerance, width)).reshape(rungs.shape)
    ladder = np.column_stack([low, rungs, high])
    best = np.where(fits.any(axis=1), width - np.argmax(fits[:, ::-1], axis=1), 0)
    good = ladder[np.arange(len(at)), best]
    above = np.where(ladder > good[:, None], ladder, high[:, None]).min(axis=1)
    return good, above
