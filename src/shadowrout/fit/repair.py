"""Finding pieces that break a promise, and fitting just those again to a tighter tolerance.

A piece is at fault when it leaves the tolerance, when it comes too close to another piece, or when its ring has lost
its area, its direction or its place in the nest. It is fitted again to a smaller tolerance, in the end down to the
segments of the input. These don't cross, since the input is a valid region, so the repair always comes to an end.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from shadowrout.errors import PromiseError
from shadowrout.fit.bulges import curved
from shadowrout.fit.joins import followers, joins_of, meets_again
from shadowrout.fit.measure import deviations
from shadowrout.fit.search import Lanes, walked
from shadowrout.fit.track import ASIDE, Pieces, Stretches, Track
from shadowrout.geometry.arcs import Points, chord_counts, points_along, radii_of
from shadowrout.geometry.arrays import Flags, Floats, Indices, spread
from shadowrout.geometry.crossings import crossing, nearby_boxes, ring_containment, within_distance

TIGHTER = 0.5
"""Share of its tolerance to which a piece too near another is fitted again, since how much it takes isn't known; no
piece is fitted to less at a time."""

BIT_TIGHTER = 0.99
"""Share of the tolerance that its deviation says a piece takes, so that it comes out below."""

HALVING_SHARE = 0.25
"""Share of the tolerance below which a piece is also cut in two, so that only its faulty end stays faulty."""

FLATTENING = 0.02
"""Distance between arcs and the chords that stand for them, as a share of the piece's tolerance."""

COARSE_FLATTENING = 0.3
"""The same for a first look, which finds all that the second one does."""

LEAST_AREA_KEPT = 0.25
"""Share of its area that a ring must keep."""

ROUNDINGS = 4
"""How many roundings of a coordinate wide a ring must be for its direction to be known."""

CUSP_RAD = 0.01
"""Angle between two curves that lead back into each other up to which they are taken to overlap."""

FOLD_RAD = 1e-9
"""The same between two lines, whose directions are known to rounding."""

ROUNDS = 40
"""Repairs before it is given up: halved so often, a tolerance comes to the rounding of coordinates."""

MOST_ASIDE = 0.85
"""How far a vertex may lie from the input, in tolerances of the tighter of its pieces."""


def repaired(track: Track, pieces: Pieces, barrier: Indices, tolerance: float, *, sound: bool) -> tuple[Pieces, float]:
    """Return the pieces with all faulty ones fitted again, and their largest deviation.

    ``sound`` asks for sound rings as well.

    Raises PromiseError where the input's own segments cross, so that no fit can be sound.
    """
    old = np.zeros(len(pieces), dtype=bool)
    pieces, deviation = _middled(track, pieces, tolerance)
    for _ in range(ROUNDS):
        far = deviation > tolerance
        wrong = far.copy()
        if sound:
            wrong |= _crossing(track, pieces, ~old)
            if not wrong.any():
                wrong |= _ring_faults(track, pieces)
        if not wrong.any():
            return pieces, float(deviation.max())
        wrong &= ~track.exact(pieces)
        if not wrong.any():
            raise PromiseError("the outlines to be fitted touch along a stretch or are in the wrong order")
        again, new = _refitted(track, pieces, wrong, deviation, barrier, tolerance)
        pieces, order = _merged(pieces.taken(~again), new)
        old = order < len(order) - len(new)
        deviation = np.concatenate([deviation[~again], deviations(track, new)])[order]
        pieces, kept = _whole_segments(track, pieces)
        old, deviation = old[kept], deviation[kept]
    raise PromiseError(f"no sound fit within {tolerance:g} was found")


def _middled(track: Track, pieces: Pieces, tolerance: float) -> tuple[Pieces, Floats]:
    """Return the pieces, those that leave the tolerance with the bulge that has most room where that keeps it.

    The second value is the deviation of each.
    """
    deviation, bulge = deviations(track, pieces), pieces.bulge.copy()
    far = np.flatnonzero(deviation > tolerance)
    middled = curved(track, pieces.taken(far))
    less = deviations(track, middled)
    keeps = less <= tolerance
    bulge[far[keeps]], deviation[far[keeps]] = middled.bulge[keeps], less[keeps]
    return pieces.bent(bulge), deviation


def _refitted(
    track: Track, pieces: Pieces, wrong: Flags, deviation: Floats, barrier: Indices, tolerance: float
) -> tuple[Flags, Pieces]:
    """Return which pieces are fitted again, the wrong ones among them, and those that come in their place.

    Vertices that are aside by more than the tighter tolerance allows go back to the input, and their other pieces
    are fitted again, too.
    """
    needed = np.where(deviation > tolerance, BIT_TIGHTER * tolerance / np.maximum(deviation, tolerance), TIGHTER)
    tighter = pieces.tolerance * np.where(wrong, np.maximum(needed, TIGHTER), 1.0)
    before, after = followers(track, pieces)
    back = np.abs(pieces.first_shift[after]) > MOST_ASIDE * np.minimum(tighter[before], tighter[after])
    first_shift, last_shift = pieces.first_shift.copy(), pieces.last_shift.copy()
    first_shift[after[back]] = last_shift[before[back]] = 0.0
    again = wrong.copy()
    again[before[back]] = again[after[back]] = True
    chosen = replace(pieces, first_shift=first_shift, last_shift=last_shift, tolerance=tighter).taken(again)
    lanes = _halved(chosen, HALVING_SHARE * tolerance, ASIDE if track.closed else 0.0)
    lane, steps = walked(track, lanes, barrier).steps()
    new = Pieces.of(track, steps, lanes.tolerance[lane])
    return again, curved(track, new)


def _halved(pieces: Pieces, small: float, share: float) -> Lanes:
    """Return the pieces as lanes, those of a tolerance below ``small`` cut in two and without vertices aside.

    Elsewhere vertices may lie aside by that ``share`` of the tolerance.
    """
    tight = pieces.tolerance < small
    halved = tight & (pieces.spans > 1)
    half, middle, zero = pieces.taken(halved), (pieces.first + pieces.last) // 2, np.zeros(int(halved.sum()))
    last_shift = np.where(halved, 0.0, pieces.last_shift)
    wholes = Stretches(pieces.first, np.where(halved, middle, pieces.last), pieces.first_shift, last_shift)
    seconds = Stretches(middle[halved], half.last, zero, half.last_shift)
    tolerance = np.concatenate([pieces.tolerance, half.tolerance])
    aside = np.concatenate([np.where(tight, 0.0, share * pieces.tolerance), zero])
    return Lanes.to_the_end(wholes.joined(seconds), tolerance, aside)


def _merged(old: Pieces, new: Pieces) -> tuple[Pieces, Indices]:
    """Return the pieces sorted along their rings, and their numbers among the old ones and then the new ones."""
    both = old.joined(new)
    order = np.argsort(both.first, kind="stable")
    return both.taken(order), order


def _whole_segments(track: Track, pieces: Pieces) -> tuple[Pieces, Flags]:
    """Return the pieces without vertices at the middle of a segment that both pieces follow, and which are left.

    The middle is rounded, and where outlines nearly touch the halves might cross what the segment doesn't.
    """
    before, after = followers(track, pieces)
    exact = track.exact(pieces)
    halves = exact[before] & exact[after] & (before != after)
    halves &= track.segment[pieces.first[before]] == track.segment[pieces.first[after]]
    last, kept = pieces.last.copy(), np.ones(len(pieces), dtype=bool)
    last[before[halves]] += pieces.spans[after[halves]]
    kept[after[halves]] = False
    return replace(pieces, last=last).taken(kept), kept


def _crossing(track: Track, pieces: Pieces, fresh: Flags) -> Flags:
    """Return which pieces come too near another one, given that only ``fresh`` ones may."""
    wrong = np.zeros(len(pieces), dtype=bool)
    joins = joins_of(track, pieces)
    straight = (pieces.bulge[joins.before] == 0) & (pieces.bulge[joins.after] == 0)
    turned_back = np.abs(joins.kinks_rad) > np.pi - np.where(straight, FOLD_RAD, CUSP_RAD)
    again = meets_again(track, pieces, joins, _unknown(track, pieces, FLATTENING))
    bad = (again | turned_back) & (fresh[joins.before] | fresh[joins.after])
    wrong[joins.before[bad]] = wrong[joins.after[bad]] = True
    low, high = _boxes(track, pieces)
    one, other = nearby_boxes(low, high, np.flatnonzero(fresh), 3 * FLATTENING * pieces.tolerance.max())
    neighbours = (joins.after[one] == other) | (joins.after[other] == one)
    one, other = one[~neighbours], other[~neighbours]
    close = _too_close(track, pieces, one, other)
    one, other = one[close], other[close]
    _refuse_crossed_input(track, pieces, one, other)
    wrong[one] = wrong[other] = True
    return wrong & ~track.exact(pieces)


def _too_close(track: Track, pieces: Pieces, one: Indices, other: Indices) -> Flags:
    """Return for each pair of pieces whether they may touch, all that isn't known of the true arcs allowed for.

    A few chords tell most of them apart.
    """
    close = np.ones(len(one), dtype=bool)
    for flattening in (COARSE_FLATTENING, FLATTENING):
        close[close] = _chords_too_close(track, pieces, one[close], other[close], flattening)
    return close


def _chords_too_close(track: Track, pieces: Pieces, one: Indices, other: Indices, flattening: float) -> Flags:
    margin = _unknown(track, pieces, flattening)
    used, number = np.unique(np.concatenate([one, other]), return_inverse=True)
    involved = pieces.taken(used)
    points, counts = _flattened(track, involved, involved.tolerance * flattening)
    pairs = number[: len(one)], number[len(one) :]
    return within_distance(points, counts, *pairs, margin[one] + margin[other])


def _unknown(track: Track, pieces: Pieces, flattening: float) -> Floats:
    """Return how near each piece may lie to what its chords show: nothing for a part of the input's segment."""
    return np.where(track.exact(pieces), 0.0, 1.5 * flattening * pieces.tolerance)


def _boxes(track: Track, pieces: Pieces) -> tuple[Points, Points]:
    """Return the lowest and highest corner of a box around each piece.

    An arc of up to half a turn lies in the rectangle of its chord and its height, chord x bulge / 2, beside it.
    """
    (ax, ay), (bx, by) = track.starts(pieces), track.ends(pieces)
    up_x, up_y = (by - ay) * pieces.bulge / 2, (ax - bx) * pieces.bulge / 2
    low = [np.minimum(a, b) + np.minimum(up, 0.0) for a, b, up in ((ax, bx, up_x), (ay, by, up_y))]
    high = [np.maximum(a, b) + np.maximum(up, 0.0) for a, b, up in ((ax, bx, up_x), (ay, by, up_y))]
    return np.column_stack(low), np.column_stack(high)


def _refuse_crossed_input(track: Track, pieces: Pieces, one: Indices, other: Indices) -> None:
    """Raise PromiseError where segments of one and the same input ring pass through each other.

    Judged on the points as they came: moved ones may be rounded across a segment that they touched.
    """
    exact = track.exact(pieces)
    asked = exact[one] & exact[other] & (pieces.ring[one] == pieces.ring[other])
    used, number = np.unique(np.concatenate([one[asked], other[asked]]), return_inverse=True)
    ends = track.given[np.column_stack(track.segment_ends(pieces.first[used])).ravel()]
    pairs = np.split(number, 2)
    if crossing(ends, np.full(len(used), 2, dtype=np.intp), pairs[0], pairs[1]).any():
        raise PromiseError("an outline that crosses itself can't be fitted soundly")


def _ring_faults(track: Track, pieces: Pieces) -> Flags:
    """Return the pieces of rings that have lost their area, their direction or their place in the nest.

    So have those, as far as can be told, whose area is no more than rounding of their points makes it.
    """
    before, after = _input_areas(track), _areas(track, pieces)
    faulty = after * np.sign(before) < LEAST_AREA_KEPT * np.abs(before)
    lengths = track.along[track.begin + track.count] - track.along[track.begin]
    faulty |= np.abs(before) < ROUNDINGS * np.spacing(np.abs(track.given).max()) * lengths
    wrong = faulty[pieces.ring] & ~track.exact(pieces)
    return wrong if wrong.any() else _misplaced(track, pieces)[pieces.ring] & ~track.exact(pieces)


def _misplaced(track: Track, pieces: Pieces) -> Flags:
    """Return which rings hold other rings than they should, or are held by others.

    Since no rings cross, one point of a ring tells for all of it. Two are asked, as one may lie on another ring.
    """
    rings = len(track.begin)
    leads = np.searchsorted(pieces.ring, np.arange(rings))
    middles = (leads + np.searchsorted(pieces.ring, np.arange(rings), side="right")) // 2
    points, counts = _flattened(track, pieces, pieces.tolerance * FLATTENING, with_ends=False)
    per_ring = np.bincount(pieces.ring, weights=counts, minlength=rings).astype(np.intp)
    asked = pieces.taken(np.concatenate([leads, middles]))
    row, number = spread(track.count)
    before = ring_containment(track.points(asked.first), track.points(track.begin[row] + number), track.count)
    after = ring_containment(np.column_stack(track.starts(asked)), points, per_ring)
    codes = [pairs[:, 0] * 2 * rings + pairs[:, 1] for pairs in (before, after)]
    changed = np.setxor1d(codes[0], codes[1])
    faulty = np.zeros(rings, dtype=bool)
    faulty[changed // (2 * rings)] = faulty[changed % rings] = True
    return faulty


def _input_areas(track: Track) -> Floats:
    row, number = spread(track.count)
    place = track.begin[row] + number
    a, b = track.segment_ends(place)
    row, a, b = row[a == place], a[a == place], b[a == place]
    x0, y0 = track.x[track.begin[row]], track.y[track.begin[row]]
    doubled: Floats = (track.x[a] - x0) * (track.y[b] - y0) - (track.x[b] - x0) * (track.y[a] - y0)
    return np.asarray(np.bincount(row, weights=doubled, minlength=len(track.count)) / 2, dtype=np.float64)


def _areas(track: Track, pieces: Pieces) -> Floats:
    """Return each ring's area, by the triangles to its first point and the segments of circles on the chords.

    A segment's area is r^2 (angle - sin angle) / 2 (Machinery's Handbook, 31st ed., circular segments).
    """
    x0, y0 = track.x[track.begin[pieces.ring]], track.y[track.begin[pieces.ring]]
    (ax, ay), (bx, by) = track.starts(pieces), track.ends(pieces)
    ax, ay, bx, by = ax - x0, ay - y0, bx - x0, by - y0
    angle = 4 * np.arctan(pieces.bulge)
    curved_ = pieces.bulge != 0
    half_sine = np.where(curved_, np.sin(angle / 2), 1.0)
    radius_squared = ((bx - ax) ** 2 + (by - ay) ** 2) / (4 * half_sine**2)
    segments = np.where(curved_, radius_squared * (angle - np.sin(angle)) / 2, 0.0)
    triangles = (ax * by - bx * ay) / 2
    summed = np.bincount(pieces.ring, weights=triangles + segments, minlength=len(track.begin))
    return np.asarray(summed, dtype=np.float64)


def _flattened(track: Track, pieces: Pieces, error: Floats, *, with_ends: bool = True) -> tuple[Points, Indices]:
    """Return points on each piece whose chords leave it by ``error`` at the most, and how many each piece has."""
    starts, ends = np.column_stack(track.starts(pieces)), np.column_stack(track.ends(pieces))
    angles = 4 * np.arctan(pieces.bulge)
    counts = chord_counts(angles, radii_of(np.hypot(*(ends - starts).T), pieces.bulge), error)
    return points_along(starts, ends, angles, counts, with_ends=with_ends), counts + with_ends
