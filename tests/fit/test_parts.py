"""The parts that the fit's promises rest on: admissible bulges, measured deviations, crossings found."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from fit_judge import cut_up
from zoo import circle_points

from shadowrout.fit.bulges import Chords, curved, left_bulge_bounds, smoothly_curved
from shadowrout.fit.corners import barriers
from shadowrout.fit.first_pieces import ring_pieces
from shadowrout.fit.joins import joins_of, meets_again
from shadowrout.fit.measure import deviations
from shadowrout.fit.track import Pieces, Track
from shadowrout.fit.vertices import evened, settled
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.crossings import crossing, nearby_boxes, ring_containment, within_distance


def one_piece(track, bulge, *, shifts=(0.0, 0.0)):
    ends = np.array([0]), track.count - 1, np.array(shifts[:1]), np.array(shifts[1:])
    return Pieces(*ends, np.array([0]), np.array([bulge]), np.array([0.1]))


def wobbly_arc(dice, *, bulge, noise):
    path = ArcPath(np.array([[0.0, 0.0], [8.0, 3.0]]), np.array([bulge]), closed=False)
    points = cut_up(path, 0.02)
    points[1:-1] += dice.normal(0, noise, (len(points) - 2, 2))
    return points


def true_distance(points, bulge):
    """Return the Hausdorff distance of the points' polyline from an arc between its ends, by shapely."""
    arc = cut_up(ArcPath(points[[0, -1]], np.array([bulge]), closed=False), 1e-5)
    return shapely.LineString(arc).hausdorff_distance(shapely.LineString(points))


@pytest.mark.parametrize("seed", range(12))
def test_admissible_bulges(seed):
    """Inside the bounds every point is within tolerance of the arc, outside some point isn't."""
    dice = np.random.default_rng(seed)
    points = wobbly_arc(dice, bulge=dice.uniform(-0.8, 0.8), noise=0.03)
    track, e = Track.of_lines([points]), np.array([0.1])
    (low,), (high,) = left_bulge_bounds(track, Chords.of(track, one_piece(track, 0.0), e))
    assert -1 < low < high < 1
    for bulge in np.linspace(low + 1e-4, high - 1e-4, 5):
        assert true_distance(points, -bulge) < 0.1 + 5e-3
    assert true_distance(points, -low + 1e-3) > 0.1
    assert true_distance(points, -high - 1e-3) > 0.1


@pytest.mark.parametrize("bulge", [0.0, 0.05, -0.3, 0.6, -1.0])
@pytest.mark.parametrize("seed", range(6))
def test_deviation_against_shapely(seed, bulge):
    """Never less than the true distance, and hardly more, also where the arc is far from the points."""
    dice = np.random.default_rng(seed)
    points = wobbly_arc(dice, bulge=bulge + dice.uniform(-0.3, 0.3), noise=0.05)
    (measured,) = deviations(Track.of_lines([points]), one_piece(Track.of_lines([points]), bulge))
    true = true_distance(points, bulge)
    assert true - 1e-4 <= measured <= 1.3 * true + 0.02


@pytest.mark.parametrize("shifts", [(0.07, 0.0), (0.07, -0.07), (-0.05, -0.07)])
@pytest.mark.parametrize("bulge", [0.0, -0.3, 0.8])
@pytest.mark.parametrize("seed", range(4))
def test_deviation_with_vertices_aside(seed, bulge, shifts):
    """The same for arcs that start and end beside the points."""
    dice = np.random.default_rng(seed)
    points = wobbly_arc(dice, bulge=bulge, noise=0.02)
    track = Track.of_lines([points])
    pieces = one_piece(track, bulge, shifts=shifts)
    middle = points[0] - [track.x[0], track.y[0]]
    ends = np.vstack([np.ravel(track.starts(pieces)), np.ravel(track.ends(pieces))]) + middle
    assert np.hypot(*(ends - points[[0, -1]]).T) == pytest.approx(np.abs(shifts))
    arc = shapely.LineString(cut_up(ArcPath(ends, np.array([bulge]), closed=False), 1e-5))
    true = arc.hausdorff_distance(shapely.LineString(points))
    (measured,) = deviations(track, pieces)
    assert true - 1e-4 <= measured <= 1.3 * true + 0.02


def test_pieces_are_led_to_meet_at_smaller_angles():
    """Vertices where they have most slack, then where pieces meet evenly, then bulges chosen together: each helps."""
    turn = np.linspace(0, 2 * np.pi, 500, endpoint=False)
    radius = 20 + 4 * np.cos(5 * turn) + np.random.default_rng(3).normal(0, 0.02, 500)
    track = Track.of_rings([np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])])
    none = np.zeros(0, dtype=np.intp)
    slack = settled(track, ring_pieces(track, barriers(track, none), none, 0.15), none)
    even = evened(track, slack, none)
    together = smoothly_curved(track, even)
    low, high = left_bulge_bounds(track, Chords.of(track, even, even.tolerance))
    assert ((low <= -together.bulge) & (-together.bulge <= high)).all()
    kinks = [np.square(joins_of(track, each).kinks_rad).sum() for each in (curved(track, slack), curved(track, even))]
    kinks.append(np.square(joins_of(track, together).kinks_rad).sum())
    assert kinks[0] > kinks[1] > kinks[2]


def test_deviation_of_points_beyond_an_end():
    hook = np.array([[0.0, 0.0], [-2.0, 0.0], [5.0, 0.0]])
    (measured,) = deviations(Track.of_lines([hook]), one_piece(Track.of_lines([hook]), 0.0))
    assert measured == pytest.approx(2)


def test_deviation_of_an_arc_the_long_way_round():
    most = circle_points(5, 100)[:90]
    short_way = np.tan(np.pi * 11 / 100 / 2)
    (measured,) = deviations(Track.of_lines([most]), one_piece(Track.of_lines([most]), -short_way))
    assert measured > 9


def test_deviation_of_an_arc_round_the_other_side_of_its_centre():
    """All points of the input are near the arc's ends or its circle, yet no part of it comes near the arc's middle."""
    end = np.exp(1j * np.radians(78.5))
    points = np.array([[end.real, -end.imag], [-0.35, -0.6], [-0.35, 0.6], [end.real, end.imag]])
    bulge = np.tan(np.radians(78.5) / 2)
    true = true_distance(points, bulge)
    (measured,) = deviations(Track.of_lines([points]), one_piece(Track.of_lines([points]), bulge))
    assert true > 1.2
    assert true <= measured <= true + 0.01


def lens(first_bulge, second_bulge):
    """Return a closed track of pieces from (0, 0) to (10, 0) to (4, 0.5), and back by a line."""
    track = Track.of_rings([np.array([[0.0, 0.0], [10.0, 0.0], [4.0, 0.5]])])
    places = np.arange(3)
    bulges = np.array([first_bulge, second_bulge, 0.0])
    zeros = np.zeros(3)
    return track, Pieces(2 * places, 2 * places + 2, zeros, zeros, zeros.astype(np.intp), bulges, np.full(3, 0.1))


def test_neighbours_that_meet_again():
    """Shapely's intersections of the two finely cut up curves are the judge."""
    seen = []
    for first in (-0.9, -0.5, -0.1, 0.0, 0.1, 0.5, 0.9):
        for second in (-0.95, -0.55, -0.15, 0.0, 0.15, 0.55, 0.95):
            track, pieces = lens(first, second)
            joins = joins_of(track, pieces)
            found = meets_again(track, pieces, joins, np.zeros(3))[int(np.flatnonzero(joins.before == 0)[0])]
            one, other = (
                shapely.LineString(
                    cut_up(ArcPath(track.given[[2 * k, 2 * k + 2]], pieces.bulge[[k]], closed=False), 1e-4)
                )
                for k in (0, 1)
            )
            assert found == (shapely.get_num_geometries(one.intersection(other)) > 1), (first, second)
            seen.append(bool(found))
    assert 10 < sum(seen) < len(seen) - 10


LINES = np.array([[0, 0], [4, 0], [2, -1], [2, 1], [2, 3], [2, 9], [0, 0.2], [4, 0.2]], dtype=float)
TWO_EACH = np.full(4, 2)


def test_near_and_crossing_lines():
    low, high = np.minimum(LINES[::2], LINES[1::2]), np.maximum(LINES[::2], LINES[1::2])
    one, other = nearby_boxes(low, high, np.arange(4), 0.1)
    assert set(zip(one.tolist(), other.tolist(), strict=True)) == {(0, 1), (1, 3)}
    one, other = nearby_boxes(low, high, np.array([3]), 0.3)
    assert set(zip(one.tolist(), other.tolist(), strict=True)) == {(3, 0), (3, 1)}
    one, other = np.array([0, 0, 1]), np.array([1, 3, 2])
    assert within_distance(LINES, TWO_EACH, one, other, np.array([0.0, 0.19, 2.0])).tolist() == [True, False, True]
    assert crossing(LINES, TWO_EACH, one, other).tolist() == [True, False, False]


def test_touching_is_not_crossing():
    tee = np.array([[0, 0], [4, 0], [2, 0], [2, 3]], dtype=float)
    pair = np.array([0]), np.array([1])
    assert within_distance(tee, np.array([2, 2]), *pair, np.zeros(1)).tolist() == [True]
    assert crossing(tee, np.array([2, 2]), *pair).tolist() == [False]


def test_points_in_rings():
    rings = np.vstack([circle_points(5, 20), circle_points(2, 10), circle_points(1, 10, (20, 0))])
    witness = np.array([[5.0, 0.0], [2.0, 0.0], [21.0, 0.0], [0.0, -5.0], [0.0, 2.0], [20.0, 0.5]])
    pairs = ring_containment(witness, rings, np.array([20, 10, 10]))
    assert sorted(map(tuple, pairs.tolist())) == [(0, 1), (0, 4)]
