"""Moving vertices to where both pieces that meet there fit best, and leaving out those that aren't needed.

A greedy walk ends each piece as late as it may, with no slack left, often beyond the place where a line of the drawing
turns into an arc. The slack of a piece is how far the middle of its arc may move before some point leaves the
tolerance; it is greatest where the vertex sits at the natural place, and a line then comes out as a line.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from shadowrout.fit.bulges import Chords, feasible, sampled_bounds, sampled_feasible
from shadowrout.fit.joins import followers
from shadowrout.fit.kinks import Leans, least_kinks
from shadowrout.fit.track import ASIDE, Pieces, Stretches, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices

MOVES = ((1 / 4, 0.0), (1 / 12, 0.0), (0.0, 0.35), (0.0, 0.0), (0.0, 0.35))
"""By how much a vertex is tried to be moved either way: along, in shares of the shorter piece, one place at least, or
across, in tolerances."""

EVENING_MOVES = ((0.0, 0.35), (1 / 8, 0.0), (0.0, 0.35))
"""The same where it is for the angle. Those across alone leave 2.0 instead of 1.9 % of the kinks at 0.2 mm needless."""

EVEN_RAD = np.radians(5)
"""Angle that is as good as none: a vertex that meets so stays where it is."""

EVENING_STEP_RAD = np.radians(2)
"""Least gain for which a vertex is moved."""

Move = tuple[float, float]
Worth = Callable[[Track, Chords, Chords], Floats]


def settled(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with their vertices where they have most slack."""
    return _moved(track, pieces, corners, MOVES, _slack)


def evened(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with their vertices where these can meet at the smallest angles."""
    return _moved(track, pieces, corners, EVENING_MOVES, _evenness)


def _moved(track: Track, pieces: Pieces, corners: Indices, moves: Sequence[Move], worth: Worth) -> Pieces:
    """Return the pieces with their vertices moved to where they are worth more; ``corners`` stay where they are.

    Vertices of rings may move across the way, too, those of lines along it only.
    """
    before, after = followers(track, pieces)
    movable = _movable(track, pieces, corners, before, after)
    before, after = before[movable], after[movable]
    turn = _turns(pieces, after)
    pieces = pieces.loosened()
    for stride, shift in moves if track.closed else [move for move in moves if not move[1]]:
        for now in range(3):
            chosen = np.flatnonzero(turn == now)
            if len(chosen):
                _move(track, pieces, before[chosen], after[chosen], (stride, shift), worth)
                pieces.bring_home(track)
    return pieces.in_order()


def merged(track: Track, pieces: Pieces, corners: Indices) -> Pieces:
    """Return the pieces, all of whole paths, with neighbours made one wherever one line or arc can stand for both."""
    while True:
        before, after = followers(track, pieces)
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


def _turns(pieces: Pieces, after: Indices) -> Indices:
    """Return 0, 1 or 2 for each vertex, given by the piece that begins there, so that neighbours don't move at once."""
    number = np.arange(len(pieces)) - np.searchsorted(pieces.ring, pieces.ring)
    ends = np.searchsorted(pieces.ring, pieces.ring, side="right") - 1
    turn = number % 2
    turn[ends[(number[ends] % 2) == 0]] = 2
    turns: Indices = turn[after]
    return turns


def _slack(track: Track, left: Chords, right: Chords) -> Floats:
    """Return how far the middles of both arcs may move, the one that may move less counting more.

    The middle is chord x bulge / 2 away from the chord. Negative where no arc is admissible. Arcs of more than half a
    turn count, too: without them the halves of a circle would seem to have more room beside it than on it.
    """
    slack = []
    for chords in (left, right):
        low, high = sampled_bounds(track, chords, most=2.0)
        slack.append(np.minimum((high - low) * np.hypot(chords.ux, chords.uy), 4 * np.sqrt(chords.square)) / 2)
    worth: Floats = np.minimum(*slack) + 0.25 * (slack[0] + slack[1])
    return worth


def _evenness(track: Track, left: Chords, right: Chords) -> Floats:
    """Return the least angle at which both arcs can meet, negative, in steps; -inf where one isn't admissible."""
    kink = least_kinks(Leans.of(track, left, sampled_bounds), Leans.of(track, right, sampled_bounds))
    steps = np.floor(np.maximum(kink - EVEN_RAD, 0.0) / EVENING_STEP_RAD)
    evenness: Floats = np.where(np.isnan(steps), -np.inf, -steps)
    return evenness


def _move(track: Track, pieces: Pieces, before: Indices, after: Indices, move: Move, worth_of: Worth) -> None:
    """Move the vertices between ``before`` and ``after`` where that helps; changes the ends of ``pieces``."""
    stride, across = move
    pairs = _Pairs(track, pieces, before, after)
    vertex, shift = pieces.last[before], pieces.last_shift[before]
    step = np.maximum(1, stride * np.minimum(pieces.spans[before], pieces.spans[after]))
    both = np.array([0, -1, 1])[:, None]
    near: Indices = vertex + both * (step * (not across)).astype(np.intp)
    shifts = np.clip(shift + both * (across * pairs.tolerance), -ASIDE * pairs.tolerance, ASIDE * pairs.tolerance)
    inside = (near > pieces.first[before]) & (near < pairs.end)
    near[~inside] = np.broadcast_to(vertex, near.shape)[~inside]
    worth = pairs.worth(near, shifts, worth_of)
    best = np.argmax(worth, axis=0)
    moved = np.flatnonzero(best > 0)
    best = best[moved]
    better = worth[best, moved] > worth[0, moved]
    moved, best = moved[better], best[better]
    place, shift = near[best, moved], shifts[best, moved]
    fits = pairs.feasible(moved, place, shift)
    moved, place, shift = moved[fits], place[fits], shift[fits]
    pieces.first[after[moved]] += place - vertex[moved]
    pieces.last[before[moved]] = place
    pieces.last_shift[before[moved]] = pieces.first_shift[after[moved]] = shift


class _Pairs:
    """Pairs of pieces with a vertex between them."""

    def __init__(self, track: Track, pieces: Pieces, before: Indices, after: Indices) -> None:
        self.track = track
        self.first, self.first_shift = pieces.first[before], pieces.first_shift[before]
        self.end, self.last_shift = pieces.last[before] + pieces.spans[after], pieces.last_shift[after]
        self.tolerance = np.minimum(pieces.tolerance[before], pieces.tolerance[after])

    def parted(self, rows: Indices, place: Indices, shift: Floats) -> tuple[Stretches, Stretches]:
        """Return both pieces of some rows with their vertex at ``place``, aside by ``shift``."""
        left = Stretches(self.first[rows], place, self.first_shift[rows], shift)
        return left, Stretches(place, self.end[rows], shift, self.last_shift[rows])

    def worth(self, places: Indices, shifts: Floats, worth_of: Worth) -> Floats:
        """Return how good the vertex at each of the places tried, shape (n, pairs), would be."""
        many = np.tile(np.arange(len(self.end)), len(places))
        parted = self.parted(many, places.ravel(), shifts.ravel())
        left, right = (Chords.of(self.track, part, self.tolerance[many]) for part in parted)
        return worth_of(self.track, left, right).reshape(places.shape)

    def feasible(self, rows: Indices, place: Indices, shift: Floats) -> Flags:
        """Return whether both pieces are admissible with the vertex there."""
        left, right = self.parted(rows, place, shift)
        fits = feasible(self.track, Chords.of(self.track, left, self.tolerance[rows]))
        fits[fits] = feasible(self.track, Chords.of(self.track, right.taken(fits), self.tolerance[rows][fits]))
        return fits
