"""How far the lines and arcs lie from the input, both ways, to the true curves and without sampling.

From input to result: the distance to an arc is the distance to its circle where the arc faces the point, else the
distance to an end. On a straight segment of the input the distance from the circle is greatest at an end or at the
foot of the perpendicular from the centre, so three numbers a segment bound it all. For a straight piece the distance
is convex along a segment, and its ends are enough.

From result to input: the input runs from the piece's start to its end and, as seen from the centre, turns steadily
or not through every direction between them. Where the arc passes a direction, so does the input, and there the two
are no farther apart than the greatest distance of the input from the circle. This holds while the input neither
reaches the centre nor passes it on the other side; where it might, every point of the arc is at most 2 r sin(angle / 4)
from an end of it, which is at most its shift from an input point. For straight pieces the same is true of the
projections on the chord.

A piece whose end lies aside of its place on the input may reach past the first direction of the input there. That bit
of it lies between its end and the place's foot on it, of which the end is the farther from the place.
"""

from __future__ import annotations

import numpy as np

from shadowrout.fit.track import Pieces, Track
from shadowrout.geometry.arrays import Floats, Indices, spread

NARROW = 4.0
"""Radius in deviations below which a segment of the input may pass the centre on the other side than the arc."""


def deviations(track: Track, pieces: Pieces) -> Floats:
    """Return for each piece a bound of its distance from its stretch of the input, both ways; shape (pieces,)."""
    result = np.zeros(len(pieces))
    for kind, measure in ((pieces.bulge == 0, _from_lines), (pieces.bulge != 0, _from_arcs)):
        chosen = np.flatnonzero(kind & (pieces.spans > 1))
        if len(chosen):
            result[chosen] = measure(track, pieces.taken(chosen))
    return np.maximum(result, np.maximum(np.abs(pieces.first_shift), np.abs(pieces.last_shift)))


def _from_lines(track: Track, pieces: Pieces) -> Floats:
    row, place, rows = _points_between(pieces)
    (ax, ay), (ux, uy) = track.starts(pieces), track.chords(pieces)
    length = np.hypot(ux, uy)
    safe = np.where(length > 0, length, 1.0)
    ux, uy = ux / safe, uy / safe
    wx, wy = track.x[place] - ax[row], track.y[place] - ay[row]
    along = wx * ux[row] + wy * uy[row]
    beyond = np.maximum(np.maximum(-along, along - length[row]), 0.0)
    across = wx * uy[row] - wy * ux[row]
    distance = np.where(length[row] > 0, np.hypot(across, beyond), np.hypot(wx, wy))
    return np.maximum.reduceat(distance, rows)


def _from_arcs(track: Track, pieces: Pieces) -> Floats:
    cx, cy, radius, angle = _circles(track, pieces)
    row, place, rows = _points_between(pieces, with_end=True)
    r = radius[row]
    px, py = track.x[place], track.y[place]
    qx, qy = track.x[place - 1], track.y[place - 1]
    away = np.hypot(px - cx[row], py - cy[row])
    dx, dy = px - qx, py - qy
    share = ((cx[row] - qx) * dx + (cy[row] - qy) * dy) / (dx * dx + dy * dy)
    sagitta = r - np.abs((px - cx[row]) * dy - (py - cy[row]) * dx) / np.hypot(dx, dy)
    radial = np.maximum(np.abs(away - r), np.where((share > 0) & (share < 1), sagitta, 0.0))
    mx, my = _middle_direction(track, pieces)
    facing = (px - cx[row]) * mx[row] + (py - cy[row]) * my[row]
    outside = facing < np.cos(angle / 2)[row] * away
    distance, far, its = radial, np.flatnonzero(outside), row[outside]
    (ax, ay), (bx, by) = track.starts(pieces), track.ends(pieces)
    to_start = np.hypot(px[far] - ax[its], py[far] - ay[its])
    to_end = np.hypot(px[far] - bx[its], py[far] - by[its])
    distance[far] = np.maximum(radial[far], np.minimum(to_start, to_end))
    worst: Floats = np.maximum.reduceat(distance, rows)
    aside = np.maximum(np.abs(pieces.first_shift), np.abs(pieces.last_shift))
    from_ends = 2 * radius * np.sin(np.abs(angle) / 4) + aside
    steady = worst < radius
    narrow = np.flatnonzero(steady & (radius < NARROW * np.maximum(worst, aside)))
    steady[narrow] = np.abs(_swept(track, pieces.taken(narrow), cx[narrow], cy[narrow]) - angle[narrow]) < np.pi
    return np.where(steady, worst, np.maximum(worst, from_ends))


def _swept(track: Track, pieces: Pieces, cx: Floats, cy: Floats) -> Floats:
    """Return the angle through which the input turns as seen from each centre."""
    if not len(pieces):
        return np.zeros(0)
    row, place, rows = _points_between(pieces, with_end=True)
    px, py = track.x[place] - cx[row], track.y[place] - cy[row]
    qx, qy = track.x[place - 1] - cx[row], track.y[place - 1] - cy[row]
    swept: Floats = np.add.reduceat(np.arctan2(qx * py - qy * px, qx * px + qy * py), rows)
    return swept


def _circles(track: Track, pieces: Pieces) -> tuple[Floats, Floats, Floats, Floats]:
    """Return centre x and y, radius and signed angle of each piece, none of which may be straight."""
    b = pieces.bulge
    (ax, ay), (ux, uy) = track.starts(pieces), track.chords(pieces)
    lean = (1 - b * b) / (4 * b)
    radius = np.hypot(ux, uy) * (1 + b * b) / (4 * np.abs(b))
    return ax + ux / 2 - uy * lean, ay + uy / 2 + ux * lean, radius, 4 * np.arctan(b)


def _middle_direction(track: Track, pieces: Pieces) -> tuple[Floats, Floats]:
    """Return the unit vector from each centre to the middle of its arc."""
    ux, uy = track.chords(pieces)
    length = np.hypot(ux, uy) * np.sign(pieces.bulge)
    return uy / length, -ux / length


def _points_between(pieces: Pieces, *, with_end: bool = False) -> tuple[Indices, Indices, Indices]:
    """Return each point's piece and place, and where each piece's points begin."""
    counts = pieces.last - pieces.first - (0 if with_end else 1)
    row, number = spread(counts)
    return row, pieces.first[row] + 1 + number, np.cumsum(counts) - counts
