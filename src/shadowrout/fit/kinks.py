"""What pieces have to turn where they meet, and which of that the outline itself doesn't turn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shadowrout.fit.bulges import INSET, Chords, left_bulge_bounds
from shadowrout.fit.corners import turns_near
from shadowrout.fit.joins import followers, wrapped
from shadowrout.fit.track import Pieces, Track
from shadowrout.geometry.arrays import Flags, Floats, Indices, ParallelArrays

LET_BE_RAD = np.radians(25)
"""Kink that is let be: less than the 30 degrees from which on the project counts kinks (its own bound, no source)."""

OWN_SHARE = 0.5
"""Share of a kink up to which it is needless when the outline itself turns no more."""

SMOOTH_RAD = np.radians(15)
"""Kink that is as good as none while others are made smaller."""

Bounds = Callable[[Track, Chords], tuple[Floats, Floats]]


@dataclass(frozen=True, eq=False)
class Leans(ParallelArrays):
    """Directions of chords, and the least and greatest angle of an arc to its chord; NaN where none is admissible.

    The angles are those at the start of a piece from its arc to its chord, to the left, and at its end the other way
    round. All have the same shape.
    """

    direction: Floats
    low: Floats
    high: Floats

    @classmethod
    def of(cls, track: Track, chords: Chords, bounds: Bounds = left_bulge_bounds) -> Leans:
        """Return the leans that pieces with these chords may have; straight ones have none."""
        least, most = bounds(track, chords)
        straight = (least <= 0) & (most >= 0)
        inset = np.where(least <= most, INSET * (most - least), np.nan)
        low = np.where(straight, 0.0, -2 * np.arctan(most - inset))
        high = np.where(straight, 0.0, -2 * np.arctan(least + inset))
        return cls(np.arctan2(chords.uy, chords.ux), low, high)

    def replaced(self, rows: Indices, others: Leans) -> None:
        """Put others in the place of some of the leans."""
        self.direction[rows], self.low[rows], self.high[rows] = others.direction, others.low, others.high


def least_kinks(left: Leans, right: Leans) -> Floats:
    """Return the least angle at which each piece of ``left`` can meet that of ``right``; NaN where one has no leans."""
    turn = wrapped(right.direction - left.direction)
    low, high = turn - left.high - right.high, turn - left.low - right.low
    kinks: Floats = np.maximum(np.maximum(low, -high), 0.0)
    return kinks


def excess(left: Leans, right: Leans, allowed: Floats) -> Floats:
    """Return the squares of what the least kinks are above those allowed; infinite where a piece has no leans."""
    over = np.maximum(least_kinks(left, right) - allowed, 0.0)
    return np.where(np.isnan(over), np.inf, over * over)


@dataclass(frozen=True, eq=False)
class Ways:
    """Pieces of whole rings with their leans; shape (pieces,) each.

    ``previous`` and ``following`` are the pieces before and after each. ``kinks`` has the least kinks at the pieces'
    starts, ``needless`` which of these the outline doesn't ask for, ``free`` which vertices there may be moved.
    """

    pieces: Pieces
    previous: Indices
    following: Indices
    leans: Leans
    kinks: Floats
    needless: Flags
    free: Flags

    @classmethod
    def of(cls, track: Track, pieces: Pieces, corners: Indices, tolerance: float) -> Ways:
        """Return the pieces' ways to meet each other; ``corners`` aren't free and no kink there is needless."""
        before, after = followers(track, pieces)
        previous = np.empty_like(before)
        previous[after] = before
        leans = Leans.of(track, Chords.of(track, pieces, pieces.tolerance))
        kinks = least_kinks(leans.taken(previous), leans)
        free = ~np.isin(pieces.first, corners)
        needless = free & (kinks > LET_BE_RAD)
        asked = np.flatnonzero(needless)
        needless[asked] = turns_near(track, pieces.first[asked], tolerance) <= OWN_SHARE * kinks[asked]
        return cls(pieces, previous, after, leans, kinks, needless, free)

    def allowed(self, track: Track, rows: Indices, tolerance: float) -> Floats:
        """Return what kink at the start of each piece in ``rows`` is none to speak of."""
        return np.maximum(turns_near(track, self.pieces.first[rows], tolerance), SMOOTH_RAD)


def disjoint(groups: Indices) -> Indices:
    """Return the numbers of rows of ``groups``, shape (rows, n), no two with a piece in common, the first ones kept."""
    taken: set[int] = set()
    kept = []
    for row, group in enumerate(groups.tolist()):
        if taken.isdisjoint(group):
            taken.update(group)
            kept.append(row)
    return np.array(kept, dtype=np.intp)
