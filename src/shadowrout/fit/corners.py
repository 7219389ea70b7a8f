"""Corners of the drawing, at which a vertex must lie so that they stay sharp.

A corner is a place where the outline turns much over a length that is short against the tolerance, while it runs
nearly straight on both sides. A small circle turns as much, but evenly: over half the length it turns half as much,
whereas a corner has turned nearly all of it already.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.fit.track import Track
from shadowrout.geometry.arrays import Floats, Indices

LEAST_TURN_RAD = np.radians(40)
"""Turn of the bluntest corner: a bevel's of 45 degrees is one. From 30 on it would take 1.1 % more pieces."""

LEAST_LOCAL_TURN_RAD = np.radians(25)
"""Turn within a few points where a corner is looked for: less than the whole, of which tracing rounds some off."""

ARM_TOLERANCES = 6.0
"""Length over which the direction on either side of a corner is taken, in tolerances."""

ARM_SPACINGS = 4.0
"""The same in spacings of the input's points, so that the steps of a traced picture aren't taken for corners."""

MOST_ARM_TOLERANCES = 15.0
"""Arms are no longer, in tolerances, whatever the spacing: with up to 30 it takes 0.2 % fewer pieces, with up to 10
3.5 % more."""

SHORT_ARM = 1 / 3
"""Arms that tell a corner from a bend, as a share of the others. With a half, bends would pass for corners: 1.7 % more
pieces."""

LEAST_SHARE_SHORT = 0.72
"""Share of the turn that is seen with arms of a third of that length; 0.33 on a circle, 1 at a corner."""

LEAST_STRAIGHTNESS = 0.96
"""Chord of an arm over its length."""

WINDOW = 2
"""Segments left out between two whose directions are compared, besides those that follow each other."""

NEARBY = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])[:, None]
"""Where the outline's own turn is looked for, in tolerances from a place, as needless kinks are told by (no source)."""


def corners_of(track: Track, tolerance: float) -> Indices:
    """Return the places of all corners on the first lap of each ring or line, sorted; ends of lines aren't any."""
    candidates = _turning_places(track)
    if not len(candidates):
        return candidates
    arm = _arm_length(track, tolerance)
    turn, straightness = _turns(track, candidates, arm)
    sharp = (np.abs(turn) > LEAST_TURN_RAD) & (straightness > LEAST_STRAIGHTNESS)
    candidates, turn = candidates[sharp], np.abs(turn[sharp])
    short, _ = _turns(track, candidates, arm * SHORT_ARM)
    sharp = np.abs(short) > LEAST_SHARE_SHORT * turn
    return _sharpest_of_each(track, candidates[sharp], turn[sharp], arm / 2)


def _arm_length(track: Track, tolerance: float) -> float:
    steps = np.hypot(np.diff(track.x), np.diff(track.y))
    spacing = track.places_per_segment * float(np.partition(steps, len(steps) // 2)[len(steps) // 2])
    return float(np.clip(ARM_SPACINGS * spacing, ARM_TOLERANCES * tolerance, MOST_ARM_TOLERANCES * tolerance))


def barriers(track: Track, corners: Indices) -> Indices:
    """Return for each place the farthest one that a piece from there may reach: no corner lies between."""
    reach = track.laps_end()
    if len(corners):
        ring = track.ring_of(corners)
        places = np.union1d(corners, corners + track.count[ring]) if track.closed else corners
        following = np.append(places, len(track.x))
        reach = np.minimum(reach, following[np.searchsorted(places, np.arange(len(reach)), side="right")])
    return reach


def _turning_places(track: Track) -> Indices:
    """Return the places where the outline turns markedly within a few points, on the first laps."""
    dx, dy = np.diff(track.x), np.diff(track.y)
    length = np.hypot(dx, dy)
    turning = np.zeros(len(track.x), dtype=bool)
    for window in (0, WINDOW * track.places_per_segment):
        gap = 2 * window + 1
        along = dx[:-gap] * dx[gap:] + dy[:-gap] * dy[gap:]
        straight = np.cos(LEAST_LOCAL_TURN_RAD) * length[:-gap] * length[gap:]
        turning[window + 1 : len(turning) - window - 1] |= along < straight
    place = np.flatnonzero(turning)
    begin, count = track.begin[track.ring_of(place)], track.count[track.ring_of(place)]
    if track.closed:
        # The second lap sees both neighbours of the ring's first point, the first lap doesn't.
        middle = (place > begin + count // 2) & (place <= begin + count // 2 + count)
        return np.sort(track.home(place[middle]))
    return place[(place > begin) & (place < begin + count - 1)]


def _turns(track: Track, places: Indices, arm: float) -> tuple[Floats, Floats]:
    """Return the turn at each place between the chords of the outline's stretches of length ``arm`` on both sides.

    The second array is the smaller of the two chords over ``arm``.
    """
    ring = track.ring_of(places)
    begin, count = track.begin[ring], track.count[ring]
    way = track.along
    if track.closed:
        lap = way[begin + count] - way[begin]
        at = way[places] + np.where(places < begin + count // 2, lap, 0.0)
        low, high = way[begin], way[begin + 2 * count - 1]
        arm_length = np.minimum(arm, lap / 3)
    else:
        at, arm_length = way[places], np.full(len(places), arm)
        low, high = way[begin], way[begin + count - 1]
    before, after = np.maximum(at - arm_length, low), np.minimum(at + arm_length, high)
    x, y = track.x[places], track.y[places]
    back_x, back_y = x - np.interp(before, way, track.x), y - np.interp(before, way, track.y)
    ahead_x, ahead_y = np.interp(after, way, track.x) - x, np.interp(after, way, track.y) - y
    turns: Floats = np.arctan2(back_x * ahead_y - back_y * ahead_x, back_x * ahead_x + back_y * ahead_y)
    chord = np.minimum(np.hypot(back_x, back_y), np.hypot(ahead_x, ahead_y))
    return turns, chord / arm_length


def turns_near(track: Track, places: Indices, tolerance: float) -> Floats:
    """Return the most that a ring itself turns near each place of its first lap, shape (n,), as an angle from 0 to pi.

    Looked at are places up to two tolerances away, each between arms of the length that corners have.
    """
    way = track.along
    ring = track.ring_of(places)
    low, high = way[track.begin[ring]], way[track.begin[ring] + track.count[ring]]
    lap = high - low
    arm = np.minimum(ARM_TOLERANCES * tolerance, lap / 4)

    def points(at: Floats) -> NDArray[np.complex128]:
        at = np.where(at < low, at + lap, np.where(at >= high, at - lap, at))
        return np.interp(at, way, track.x) + 1j * np.interp(at, way, track.y)

    at = way[places] + np.minimum(tolerance, lap / 16) * NEARBY
    here = points(at)
    turns = np.angle((points(at + arm) - here) * np.conj(here - points(at - arm)))
    most: Floats = np.abs(turns).max(axis=0)
    return most


def _sharpest_of_each(track: Track, places: Indices, turn: Floats, gap: float) -> Indices:
    """Return of each run of places that follow within ``gap`` of each other the one that turns most."""
    if not len(places):
        return places
    ring = track.ring_of(places)
    new = (ring[1:] != ring[:-1]) | (np.diff(track.along[places]) > gap)
    run = np.concatenate([[0], np.cumsum(new)])
    order = np.lexsort([places, -turn, run])
    return places[order[np.searchsorted(run[order], np.arange(run[-1] + 1))]]
