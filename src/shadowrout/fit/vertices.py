"""Moving vertices to where both pieces that meet there fit best, and leaving out those that aren't needed.

A greedy walk ends each piece as late as it may, with no slack left, often beyond the place where a line of the drawing
turns into an arc. The slack of a piece is how far the middle of its arc may move before some point leaves the
tolerance; it is greatest where the vertex sits at the natural place, and a line then comes out as a line.
"""

from __future__ import annotations

import numpy as np

from shadowrout.fit.bulges import feasible, sampled_feasible, sampled_slack
from shadowrout.fit.joins import followers
from shadowrout.fit.track import Floats, Indices, Pieces, Track

STRIDES = (1 / 4, 1 / 8, 1 / 16, 1 / 32, 0.0)
"""By how much a vertex is tried to be moved either way, in shares of the shorter piece; by one point at the last."""


def settled(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with their vertices moved; ``corners`` stay where they are."""
    before, after = followers(pieces, closed=track.closed)
    movable = ~np.isin(pieces.first[after], corners) & (before != after)
    before, after = before[movable], after[movable]
    turn = _turns(pieces, after)
    first, last = pieces.first.copy(), pieces.last.copy()
    for stride in STRIDES:
        for now in range(3):
            chosen = np.flatnonzero(turn == now)
            if len(chosen):
                _move(track, first, last, pieces.tolerance, before[chosen], after[chosen], stride)
                _bring_home(track, pieces.ring, first, last)
    return pieces.between(first, last).taken(np.argsort(first, kind="stable"))


def merged(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with neighbours made one wherever one line or arc can stand for both."""
    while True:
        before, after = followers(pieces, closed=track.closed)
        movable = ~np.isin(pieces.first[after], corners) & (before != after)
        before, after = before[movable], after[movable]
        start, end = pieces.first[before], pieces.last[before] + pieces.spans[after]
        tolerance = np.minimum(pieces.tolerance[before], pieces.tolerance[after])
        fits = sampled_feasible(track, start, end, tolerance)
        fits[fits] = feasible(track, start[fits], end[fits], tolerance[fits])
        before, after, end = before[fits], after[fits], end[fits]
        alone = ~np.isin(before, after) | (_turns(pieces, after) == 0)
        alone &= ~np.isin(after, before) | (_turns(pieces, after) == 0)
        if not alone.any():
            return pieces
        last = pieces.last.copy()
        last[before[alone]] = end[alone]
        gone = np.zeros(len(pieces), dtype=bool)
        gone[after[alone]] = True
        pieces = pieces.between(pieces.first, last).taken(~gone)


def _bring_home(track: Track, ring: Indices, first: Indices, last: Indices) -> None:
    """Shift pieces that no longer begin on their ring's first lap by a lap; changes first and last."""
    begin, count = track.begin[ring], track.count[ring]
    laps = (first < begin).astype(np.intp) - (first >= begin + count)
    first += laps * count
    last += laps * count


def _turns(pieces: Pieces, after: Indices) -> Indices:
    """Return 0, 1 or 2 for each vertex, given by the piece that begins there, so that neighbours don't move at once."""
    number = np.arange(len(pieces)) - np.searchsorted(pieces.ring, pieces.ring)
    ends = np.searchsorted(pieces.ring, pieces.ring, side="right") - 1
    turn = number % 2
    turn[ends[(number[ends] % 2) == 0]] = 2
    turns: Indices = turn[after]
    return turns


def _move(
    track: Track, first: Indices, last: Indices, tolerance: Floats, before: Indices, after: Indices, stride: float
) -> None:
    """Move the vertices between ``before`` and ``after`` by a stride where that helps; changes first and last."""
    shorter = np.minimum(last[before] - first[before], last[after] - first[after])
    step = (stride * shorter).astype(np.intp) if stride else np.ones(len(before), dtype=np.intp)
    far_enough = step >= (2 if stride else 1)
    before, after, step = before[far_enough], after[far_enough], step[far_enough]
    a, vertex, b = first[before], last[before], last[before] + last[after] - first[after]
    e = np.minimum(tolerance[before], tolerance[after])
    tried = vertex[:, None] + np.array([0, -1, 1]) * step[:, None]
    possible = (tried > a[:, None]) & (tried < b[:, None])
    tried = np.where(possible, tried, vertex[:, None])
    worth = _worth(track, a, tried, b, e)
    best = np.argmax(worth, axis=1)
    moved = np.flatnonzero(best > 0)
    moved = moved[worth[moved, best[moved]] > worth[moved, 0]]
    place = tried[moved, best[moved]]
    fits = feasible(track, a[moved], place, e[moved])
    fits[fits] = feasible(track, place[fits], b[moved][fits], e[moved][fits])
    moved, place = moved[fits], place[fits]
    shift = place - vertex[moved]
    last[before[moved]] += shift
    first[after[moved]] += shift


def _worth(track: Track, a: Indices, tried: Indices, b: Indices, e: Floats) -> Floats:
    width = tried.shape[1]
    starts, ends, many = np.repeat(a, width), np.repeat(b, width), np.repeat(e, width)
    left = sampled_slack(track, starts, tried.ravel(), many)
    right = sampled_slack(track, tried.ravel(), ends, many)
    worth: Floats = (np.minimum(left, right) + 0.25 * (left + right)).reshape(tried.shape)
    return worth
