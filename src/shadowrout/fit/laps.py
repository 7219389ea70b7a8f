"""From rings to pieces: where to start, where to stop, and how to close up with as few pieces as can be.

A greedy walk is nearly the best from the place where it starts; what costs pieces is the end of a lane, which cuts the
last one short. Long rings are walked in many lanes at once. Then each lane is led on from its last whole piece until
it comes upon a vertex of the next lane's walk, from where the two agree: greedy walks run into each other soon on
real outlines. Short rings are walked in one lane and on past their start: each vertex of the first lap is then the
start of a lap of its own, and the best is kept.
"""

from __future__ import annotations

import numpy as np

from shadowrout.fit.bulges import feasible
from shadowrout.fit.search import Lanes, Walk, walked
from shadowrout.fit.track import Floats, Indices, Pieces, Track, spread

LANE_POINTS = 200
FEW_PIECES = 24
"""Pieces of a long ring up to which it is walked again in one lap like a short one."""

TRIED_STARTS = 8
LEAST_STEPS = 3
"""Steps of a lane whose walk is worth keeping; a shorter one is walked again by the lane before."""

Steps = tuple[Indices, Indices]
"""Starts and ends of pieces, as places."""


def ring_pieces(track: Track, barrier: Indices, corners: Indices, tolerance: float) -> Pieces:
    """Cut every ring into pieces that don't pass their ``barrier``.

    A ring with ``corners``, places on its first lap, starts from one of them; elsewhere other starts are tried.
    """
    ring_of_corner = track.ring_of(corners)
    starts, sharp = track.begin.copy(), np.zeros(len(track.begin), dtype=bool)
    starts[ring_of_corner[::-1]] = corners[::-1]
    sharp[ring_of_corner] = True
    short = track.count < 2 * LANE_POINTS
    first, last = _long_rings(track, barrier, np.flatnonzero(~short), starts, tolerance)
    pieces = np.bincount(track.ring_of(first), minlength=len(short))
    one_lap = short | (pieces <= FEW_PIECES)
    kept = ~one_lap[track.ring_of(first)]
    parts = [
        (first[kept], last[kept]),
        _best_starts(track, barrier, np.flatnonzero(one_lap & ~sharp), tolerance),
        _laps_from(track, barrier, np.flatnonzero(one_lap & sharp), starts, tolerance),
    ]
    first = np.concatenate([first for first, _ in parts])
    last = np.concatenate([last for _, last in parts])
    return pieces_between(track, first, last, np.full(len(first), tolerance))


def line_pieces(track: Track, barrier: Indices, tolerance: float) -> Pieces:
    """Cut every open line into pieces."""
    stop = track.begin + track.count - 1
    walk = walked(track, Lanes.to_the_end(track.begin, stop, np.full(len(stop), tolerance)), barrier)
    _, first, last = walk.steps()
    return pieces_between(track, first, last, np.full(len(first), tolerance))


def pieces_between(track: Track, first: Indices, last: Indices, tolerance: Floats) -> Pieces:
    """Return the pieces with these ends, sorted along each ring, without their bulges (all 0 yet)."""
    span = last - first
    first = track.home(first)
    order = np.argsort(first, kind="stable")
    first, span = first[order], span[order]
    return Pieces(track.ring_of(first), first, first + span, np.zeros(len(order)), tolerance[order])


def _best_starts(track: Track, barrier: Indices, rings: Indices, e: float) -> Steps:
    if not len(rings):
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    begin, count = track.begin[rings], track.count[rings]
    tolerance = np.full(len(rings), e)
    lanes = Lanes(begin, begin + 2 * count - 1, tolerance, begin + count, np.full(len(rings), TRIED_STARTS))
    walk = walked(track, lanes, barrier)
    chosen, closing = _best_laps(track, walk, count, e)
    lane, first, last = walk.steps()
    start = walk.place[chosen]
    within = (first >= start[lane]) & (last <= closing[lane])
    rest = Lanes.to_the_end(closing, start + count, tolerance)
    _, more_first, more_last = walked(track, rest, barrier).steps()
    return np.concatenate([first[within], more_first]), np.concatenate([last[within], more_last])


def _best_laps(track: Track, walk: Walk, count: Indices, e: float) -> tuple[Indices, Indices]:
    """Return for each lane the item of ``walk`` that starts the lap of fewest pieces, and its last whole step.

    A lap's last step is cut short where it would pass the lap's start; then it must still be admissible.
    """
    rank = np.arange(len(walk.lane)) - np.searchsorted(walk.lane, walk.lane)
    key = walk.lane * (int(walk.place.max()) + 1) + walk.place
    goal = walk.place + count[walk.lane]
    before = np.searchsorted(key, walk.lane * (int(walk.place.max()) + 1) + goal, side="right") - 1
    reached_end = np.searchsorted(walk.lane, walk.lane, side="right") - 1
    usable = (walk.place[reached_end] >= goal) | (rank == 0)
    cut = walk.place[before] < goal
    cost = (before - np.arange(len(before)) + cut).astype(np.float64)
    check = np.flatnonzero(usable & cut)
    ok = feasible(track, walk.place[before[check]], goal[check], np.full(len(check), e))
    cost[check[~ok]] += 1
    cost[~usable] = np.inf
    chosen = np.lexsort([rank, cost, walk.lane])[np.searchsorted(walk.lane, np.arange(len(count)))]
    return chosen, walk.place[before[chosen]]


def _long_rings(track: Track, barrier: Indices, rings: Indices, starts: Indices, e: float) -> Steps:
    parts = np.maximum(1, track.count[rings] // LANE_POINTS)
    row, number = spread(parts)
    owner = rings[row]
    start = starts[owner] + number * track.count[owner] // parts[row]
    stop = starts[owner] + (number + 1) * track.count[owner] // parts[row]
    walk = walked(track, Lanes.to_the_end(start, stop, np.full(len(start), e)), barrier)
    lane, first, last = walk.steps()
    steps = np.bincount(lane, minlength=len(start))
    cut = first[np.cumsum(steps) - 1]
    whole = steps >= LEAST_STEPS
    inner = whole[lane] & (first < cut[lane])
    lanes = np.flatnonzero(whole)
    on_first, on_last, met = _led_on(track, barrier, owner[lanes], cut[lanes], first[inner], e)
    entry = np.zeros(len(start), dtype=np.intp)
    entry[lanes] = (met - start[lanes]) % track.count[owner[lanes]]
    inner &= first - start[lane] >= entry[lane]
    bare = np.setdiff1d(rings, owner[lanes])
    more_first, more_last = _laps_from(track, barrier, bare, starts, e)
    return np.concatenate([first[inner], on_first, more_first]), np.concatenate([last[inner], on_last, more_last])


def _led_on(
    track: Track, barrier: Indices, owner: Indices, cut: Indices, vertices: Indices, e: float
) -> tuple[Indices, Indices, Indices]:
    """Walk from where each lane was cut until the next lane's walk is met, at its own cut at the latest.

    Returns the steps walked, and for each lane the place at which it is met by the one before.
    """
    marks = np.zeros(len(track.x), dtype=bool)
    marks[_both_laps(track, vertices)] = True
    begin, count = track.begin[owner], track.count[owner]
    goal = np.roll(cut, -1)
    ends = np.append(owner[1:] != owner[:-1], True)[: len(owner)]
    goal[ends] = cut[np.searchsorted(owner, owner[ends])] + count[ends]
    lap = np.where(cut >= begin + count, count, 0)
    walk = walked(track, Lanes.to_the_end(cut - lap, goal - lap, np.full(len(cut), e)), barrier, marks=marks)
    _, first, last = walk.steps()
    arrived = walk.place[np.searchsorted(walk.lane, np.arange(len(cut)), side="right") - 1]
    met = np.roll(arrived, 1)
    met[np.searchsorted(owner, owner[ends])] = arrived[ends]
    return first, last, met


def _laps_from(track: Track, barrier: Indices, rings: Indices, starts: Indices, e: float) -> Steps:
    lanes = Lanes.to_the_end(starts[rings], starts[rings] + track.count[rings], np.full(len(rings), e))
    _, first, last = walked(track, lanes, barrier).steps()
    return first, last


def _both_laps(track: Track, places: Indices) -> Indices:
    home = track.home(places)
    return np.concatenate([home, home + track.count[track.ring_of(home)]])
