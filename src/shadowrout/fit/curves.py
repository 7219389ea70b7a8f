"""The bulge of each piece: straight where that is admissible, else midway between the bounds."""

from __future__ import annotations

import numpy as np

from shadowrout.fit.bulges import Chords, left_bulge_bounds
from shadowrout.fit.track import Pieces, Track


def curved(track: Track, pieces: Pieces) -> Pieces:
    """Return the pieces with their bulges: 0 where admissible, else the middle of the admissible interval.

    A bulge a hair from 0 can't come out: where 0 isn't admissible, some point is farther from the chord than the
    tolerance, and an arc half way to the other bound stays clear of it.
    """
    low, high = left_bulge_bounds(track, Chords.of(track, pieces, pieces.tolerance))
    straight = (low <= 0) & (high >= 0)
    return pieces.bent(np.where(straight, 0.0, -(low + high) / 2))
