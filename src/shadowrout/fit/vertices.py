"""Moving vertices to where both pieces that meet there fit best, and leaving out those that aren't needed.

A greedy walk ends each piece as late as it may, with no slack left, often beyond the place where a line of the drawing
turns into an arc. The slack of a piece is how far the middle of its arc may move before some point leaves the
tolerance; it is greatest where the vertex sits at the natural place, and a line then comes out as a line.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from shadowrout.fit.bulges import Chords, feasible, sampled_feasible, sampled_slack
from shadowrout.fit.joins import followers
from shadowrout.fit.track import Flags, Floats, Indices, Pieces, Stretches, Track

STRIDES = (1 / 4, 1 / 12, 0.0)
"""By how much a vertex is tried to be moved either way, in shares of the shorter piece; by one place at the last."""


def settled(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with their vertices moved; ``corners`` stay where they are."""
    before, after = followers(pieces, closed=track.closed)
    movable = _movable(track, pieces, corners, before, after)
    before, after = before[movable], after[movable]
    turn = _turns(pieces, after)
    pieces = replace(pieces, first=pieces.first.copy(), last=pieces.last.copy())
    for stride in STRIDES:
        for now in range(3):
            chosen = np.flatnonzero(turn == now)
            if len(chosen):
                _move(track, pieces, before[chosen], after[chosen], stride)
                _bring_home(track, pieces)
    return pieces.taken(np.argsort(pieces.first, kind="stable"))


def merged(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with neighbours made one wherever one line or arc can stand for both."""
    while True:
        before, after = followers(pieces, closed=track.closed)
        movable = _movable(track, pieces, corners, before, after)
        before, after = before[movable], after[movable]
        end = pieces.last[before] + pieces.spans[after]
        both = Stretches(pieces.first[before], end, pieces.first_shift[before], pieces.last_shift[after])
        tolerance = np.minimum(pieces.tolerance[before], pieces.tolerance[after])
        chords = Chords.of(track, both, tolerance)
        fits = sampled_feasible(track, chords)
        fits[fits] = feasible(track, chords.taken(np.flatnonzero(fits)))
        before, after, both = before[fits], after[fits], both.taken(fits)
        alone = ~np.isin(before, after) | (_turns(pieces, after) == 0)
        alone &= ~np.isin(after, before) | (_turns(pieces, after) == 0)
        if not alone.any():
            return pieces
        last, last_shift = pieces.last.copy(), pieces.last_shift.copy()
        last[before[alone]], last_shift[before[alone]] = both.last[alone], both.last_shift[alone]
        gone = np.zeros(len(pieces), dtype=bool)
        gone[after[alone]] = True
        pieces = replace(pieces, last=last, last_shift=last_shift).taken(~gone)


def _movable(track: Track, pieces: Pieces, corners: Indices, before: Indices, after: Indices) -> Flags:
    """Return which vertices aren't corners nor the only one of their path."""
    fixed = np.zeros(len(track.x), dtype=bool)
    fixed[corners] = True
    movable: Flags = ~fixed[pieces.first[after]] & (before != after)
    return movable


def _bring_home(track: Track, pieces: Pieces) -> None:
    """Shift pieces that no longer begin on their ring's first lap by a lap; changes first and last."""
    begin, count = track.begin[pieces.ring], track.count[pieces.ring]
    laps = (pieces.first < begin).astype(np.intp) - (pieces.first >= begin + count)
    pieces.first[:] += laps * count
    pieces.last[:] += laps * count


def _turns(pieces: Pieces, after: Indices) -> Indices:
    """Return 0, 1 or 2 for each vertex, given by the piece that begins there, so that neighbours don't move at once."""
    number = np.arange(len(pieces)) - np.searchsorted(pieces.ring, pieces.ring)
    ends = np.searchsorted(pieces.ring, pieces.ring, side="right") - 1
    turn = number % 2
    turn[ends[(number[ends] % 2) == 0]] = 2
    turns: Indices = turn[after]
    return turns


def _move(track: Track, pieces: Pieces, before: Indices, after: Indices, stride: float) -> None:
    """Move the vertices between ``before`` and ``after`` by a stride where that helps; changes first and last."""
    shorter = np.minimum(pieces.spans[before], pieces.spans[after])
    step: Indices = (stride * shorter).astype(np.intp) if stride else np.ones(len(before), dtype=np.intp)
    far_enough = step >= (2 if stride else 1)
    before, after, step = before[far_enough], after[far_enough], step[far_enough]
    pairs = _Pairs(track, pieces, before, after)
    vertex = pieces.last[before]
    near = vertex[:, None] + np.array([0, -1, 1]) * step[:, None]
    possible = (near > pieces.first[before][:, None]) & (near < pairs.end[:, None])
    tried: Indices = np.where(possible, near, vertex[:, None])
    worth = pairs.worth(tried)
    best = np.argmax(worth, axis=1)
    moved = np.flatnonzero(best > 0)
    moved = moved[worth[moved, best[moved]] > worth[moved, 0]]
    place = tried[moved, best[moved]]
    fits = pairs.feasible(moved, place)
    moved, place = moved[fits], place[fits]
    shift = place - vertex[moved]
    pieces.last[before[moved]] += shift
    pieces.first[after[moved]] += shift


class _Pairs:
    """Pairs of pieces with a vertex between them."""

    def __init__(self, track: Track, pieces: Pieces, before: Indices, after: Indices) -> None:
        self.track = track
        self.first, self.first_shift = pieces.first[before], pieces.first_shift[before]
        self.end, self.last_shift = pieces.last[before] + pieces.spans[after], pieces.last_shift[after]
        self.shift = pieces.last_shift[before]
        self.tolerance = np.minimum(pieces.tolerance[before], pieces.tolerance[after])

    def parted(self, rows: Indices, place: Indices) -> tuple[Stretches, Stretches]:
        """Return both pieces of some rows with their vertex at ``place``."""
        shift = self.shift[rows]
        left = Stretches(self.first[rows], place, self.first_shift[rows], shift)
        return left, Stretches(place, self.end[rows], shift, self.last_shift[rows])

    def worth(self, tried: Indices) -> Floats:
        """Return how good the vertex at each of the places tried, shape (pairs, n), would be."""
        many = np.repeat(np.arange(len(tried)), tried.shape[1])
        left, right = (sampled_slack(self.track, s, self.tolerance[many]) for s in self.parted(many, tried.ravel()))
        worth: Floats = (np.minimum(left, right) + 0.25 * (left + right)).reshape(tried.shape)
        return worth

    def feasible(self, rows: Indices, place: Indices) -> Flags:
        """Return whether both pieces are admissible with the vertex at ``place``."""
        left, right = self.parted(rows, place)
        fits = feasible(self.track, Chords.of(self.track, left, self.tolerance[rows]))
        fits[fits] = feasible(self.track, Chords.of(self.track, right.taken(fits), self.tolerance[rows][fits]))
        return fits
