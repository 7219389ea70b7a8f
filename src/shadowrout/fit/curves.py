"""The bulge of each piece: straight where that is admissible, else an arc between the bounds."""

from __future__ import annotations

import numpy as np

from shadowrout.fit.bulges import Chords, left_bulge_bounds
from shadowrout.fit.joins import followers, wrapped
from shadowrout.fit.rows import Floats
from shadowrout.fit.track import Pieces, Track

INSET = 0.15
"""Share of the admissible interval at either end that is left alone."""

ROUNDS = 40
SHARP_RAD = np.radians(30)
"""Kink that is half let go: a corner of the drawing can't be smoothed, and would spoil the joins next to it."""


def curved(track: Track, pieces: Pieces) -> Pieces:
    """Return the pieces with their bulges: 0 where admissible, else the middle of the admissible interval.

    A bulge a hair from 0 can't come out: where 0 isn't admissible, some point is farther from the chord than the
    tolerance, and an arc half way to the other bound stays clear of it.
    """
    low, high = _bounds(track, pieces)
    return pieces.bent((low + high) / 2)


def smoothly_curved(track: Track, pieces: Pieces) -> Pieces:
    """Return the pieces of whole paths with bulges that let neighbours meet at small angles; 0 where admissible.

    With lean l, half the angle of a piece, and turn t from its chord to the next one's, two pieces meet at the angle
    t - l - l'. The leans that make the sum of its squares least, sharp kinks counting less, are found step by step:
    each goes half way to where it would be best for its two joins, as far as its bounds allow.
    """
    low, high = (2 * np.arctan(bound) for bound in _bounds(track, pieces))
    inset = INSET * (high - low)
    low, high, lean = low + inset, high - inset, (low + high) / 2
    before, after = followers(pieces, closed=track.closed)
    turn = _turns(track, pieces)
    turn = wrapped(turn[after] - turn[before])
    for _ in range(ROUNDS):
        kink = wrapped(turn - lean[before] - lean[after])
        weight = 1 / (1 + (kink / SHARP_RAD) ** 2)
        pull = np.bincount(before, weight * kink, len(lean)) + np.bincount(after, weight * kink, len(lean))
        stiff = np.bincount(before, weight, len(lean)) + np.bincount(after, weight, len(lean))
        lean = np.clip(lean + pull / np.maximum(2 * stiff, 1e-9), low, high)
    return pieces.bent(np.tan(lean / 2))


def _turns(track: Track, pieces: Pieces) -> Floats:
    (ax, ay), (bx, by) = track.starts(pieces), track.ends(pieces)
    return np.arctan2(by - ay, bx - ax)


def _bounds(track: Track, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return the least and greatest admissible bulge of each piece, as in ``ArcPath``; both 0 where 0 is admissible."""
    low, high = left_bulge_bounds(track, Chords.of(track, pieces, pieces.tolerance))
    straight = (low <= 0) & (high >= 0)
    return np.where(straight, 0.0, -high), np.where(straight, 0.0, -low)
