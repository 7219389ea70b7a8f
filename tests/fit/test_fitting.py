"""Known shapes come out as they were drawn, with the pieces that geometry says they need."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from zoo import circle_points, dense, koch_snowflake, rounded_rectangle, stadium

from shadowrout.fit.fitting import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath, PathFigures
from shadowrout.geometry.region import Region

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def fitted_ring(points, tolerance):
    (path,) = fit_region(Region.of_polygons([(points, [])]), tolerance=tolerance).paths
    return path


@pytest.mark.parametrize("shift", [0, 7, 33, 150])
@pytest.mark.parametrize(
    ("points", "lines", "arcs"),
    [
        (circle_points(10, 400), 0, 2),
        (stadium(20, 5, 0.1), 2, 2),
        (rounded_rectangle(30, 20, 4, 0.1), 4, 4),
        (dense(SQUARE, 0.1), 4, 0),
    ],
    ids=["circle", "stadium", "rounded rectangle", "square"],
)
def test_fewest_pieces(points, lines, arcs, shift):
    """By geometry: a circle 2 arcs, a stadium 2 + 2, a rounded rectangle 4 + 4, a square 4 lines."""
    figures = PathFigures.of([fitted_ring(np.roll(points, shift, axis=0), 0.02)])
    assert (figures.lines, figures.arcs) == (lines, arcs)


@pytest.mark.parametrize("shift", [0, 7, 33, 55])
def test_corners_stay_sharp(shift):
    path = fitted_ring(np.roll(dense(SQUARE, 0.1), shift, axis=0), 0.1)
    assert sorted(map(tuple, path.vertices.tolist())) == sorted(SQUARE)


def test_letters_keep_their_corners():
    """The capital E of DejaVu Sans has 12 corners, all of them square, and nothing round."""
    text = TextPath((0, 0), "E", size=100, prop=FontProperties("DejaVu Sans"))
    (corners,) = (points[:-1] for points in text.to_polygons())
    assert len(corners) == 12
    path = fitted_ring(dense(corners, 0.3), 0.2)
    assert {tuple(v) for v in path.vertices.tolist()} == {tuple(v) for v in corners.tolist()}
    assert (path.bulges == 0).all()


def test_segment_of_a_circle():
    """Radius 12, height 2: chord 13.2665, arc 14.0565, area 18.0062 (Machinery's Handbook, 31st ed., p. 50)."""
    half = np.arccos(10 / 12)
    turn = np.linspace(np.pi / 2 - half, np.pi / 2 + half, 300)
    path = fitted_ring(np.column_stack([12 * np.cos(turn), 12 * np.sin(turn)]), 0.005)
    assert len(path.bulges) == 2
    curved = np.flatnonzero(path.bulges)
    assert path.chords[curved] == pytest.approx([13.2665], abs=1e-3)
    assert path.lengths[curved] == pytest.approx([14.0565], abs=0.01)
    assert path.area == pytest.approx(18.0062, abs=0.005 * 27.4)


def test_radius_from_chord_and_height():
    """Chord 16, height 6: radius 8.33333 (Machinery's Handbook, 31st ed., p. 79)."""
    radius, half = 25 / 3, np.arcsin(8 / (25 / 3))
    turn = np.linspace(-half, half, 200)
    arc = np.column_stack([radius * np.sin(turn), radius * np.cos(turn)])
    (path,) = fit_open([arc], tolerance=0.001).paths
    assert path.radii == pytest.approx([8.33333], abs=0.005)


def test_the_arc_of_nistir_6556():
    """G2 from (7, 7) to (10, 16) about (10, 11): clockwise, radius 5 (NISTIR 6556, 3.5.3.2; example from memory)."""
    centre = 10 + 11j
    start, end = np.angle(7 + 7j - centre) + 2 * np.pi, np.angle(10 + 16j - centre)
    points = centre + 5 * np.exp(1j * np.linspace(start, end, 200))
    (path,) = fit_open([np.column_stack([points.real, points.imag])], tolerance=0.002).paths
    assert path.vertices == pytest.approx(np.array([[7, 7], [10, 16]]))
    assert path.radii == pytest.approx([5], abs=0.005)
    assert np.degrees(path.angles_rad) == pytest.approx([-143.13], abs=0.1)
    x0, y0, x1, y1 = path.bounds
    assert (x0, (x0 + 5), y1) == pytest.approx((5, 10, 16), abs=0.005)


def test_arcs_grow_with_the_cube_root():
    """Arcs on a smooth curve go with tolerance ** -1/3 (Meek and Walton; exponent from memory)."""
    turn = np.linspace(0, 2 * np.pi, 40000, endpoint=False)
    ring = np.column_stack([100 * np.cos(turn), 40 * np.sin(turn)])
    tolerances = np.array([0.1, 0.01, 0.001, 0.0001])
    pieces = [len(fitted_ring(ring, tolerance).bulges) for tolerance in tolerances]
    exponent = np.polyfit(np.log(tolerances), np.log(pieces), 1)[0]
    assert exponent == pytest.approx(-1 / 3, abs=0.05)


@pytest.mark.parametrize(("order", "share"), [(1, 4 / 3), (2, 40 / 27), (3, 376 / 243), (4, 3448 / 2187)])
def test_koch_snowflake(order, share):
    """Areas over the first triangle's: 4/3, 40/27, 376/243, 3448/2187 (Koch snowflake, standard series)."""
    corners = koch_snowflake(order, side=81.0)
    path = fitted_ring(dense(corners, 0.5), 0.01)
    assert path.area == pytest.approx(share * 81**2 * np.sqrt(3) / 4, abs=0.01 * shapely.Polygon(corners).length)
    assert len(path.bulges) == len(corners)


def test_order_and_direction_of_rings():
    region = Region.of_polygons([(circle_points(10, 100), [circle_points(3, 40)]), (circle_points(2, 30, (20, 0)), [])])
    paths = fit_region(region, tolerance=0.1).paths
    areas = [shapely.Polygon(ring).area for ring in region.rings()]
    assert [np.sign(path.area) for path in paths] == [1, -1, 1]
    assert [abs(path.area) for path in paths] == pytest.approx(areas, rel=0.05)


def test_a_straight_piece_is_exactly_straight():
    wavy = np.column_stack([np.arange(200.0), 0.01 * np.sin(np.arange(200.0))])
    (path,) = fit_open([wavy], tolerance=0.05).paths
    assert path.bulges.tolist() == [0.0]


def test_open_lines_keep_their_order():
    lines = [np.array([[0.0, 0.0], [5.0, 0.0]]), circle_points(5, 100)[:50]]
    fitted = fit_open(lines, tolerance=0.05)
    assert [path.closed for path in fitted.paths] == [False, False]
    assert [len(path.bulges) for path in fitted.paths] == [1, 1]
    assert (fitted.paths[1].vertices == lines[1][[0, -1]]).all()


def test_nothing_in_nothing_out():
    assert fit_region(Region.empty(), tolerance=0.1).paths == ()
    assert fit_region(Region.empty(), tolerance=0.1).deviation == 0
    assert fit_open([], tolerance=0.1).paths == ()
    assert PathFigures.of([]) == PathFigures(0, 0, 0, 0.0, 0.0)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, np.nan, np.inf])
def test_tolerance_must_be_a_length(tolerance):
    with pytest.raises(ValueError, match="tolerance"):
        fit_region(Region.box((0, 0, 1, 1)), tolerance=tolerance)
    with pytest.raises(ValueError, match="tolerance"):
        fit_open([np.zeros((2, 2))], tolerance=tolerance)


@pytest.mark.parametrize("line", [np.zeros((3, 3)), np.zeros(4), np.zeros((1, 2)), np.array([[0, 0], [np.nan, 1]])])
def test_lines_of_a_wrong_shape(line):
    with pytest.raises(ValueError, match="points"):
        fit_open([line], tolerance=0.1)


def test_figures():
    half = ArcPath(np.array([[0.0, 0.0], [4.0, 0.0]]), np.array([1.0, 0.0]))
    figures = PathFigures.of([half, ArcPath.polygon(np.array(SQUARE))])
    assert (figures.pieces, figures.lines, figures.arcs) == (6, 5, 1)
    assert figures.longest == pytest.approx(10)
    assert figures.shortest == pytest.approx(4)


def test_same_in_same_out():
    ring = circle_points(10, 300) + np.random.default_rng(5).normal(0, 0.02, (300, 2))
    one, two = fitted_ring(ring, 0.1), fitted_ring(ring.copy(), 0.1)
    assert (one.vertices == two.vertices).all()
    assert (one.bulges == two.bulges).all()
