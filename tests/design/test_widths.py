"""Lines below the finest line: widened where there is room, dropped where there is none, the rest untouched."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from narrow_parts import narrow_parts
from skimage import data, filters, measure

from shadowrout.design.widths.right_width import right_for_size
from shadowrout.geometry.region import Region
from shadowrout.geometry.sweeps import swept

FINEST, LIGHT = 0.8, 0.4


def stroke(points: list[tuple[float, float]], width: float) -> shapely.Geometry:
    return shapely.LineString(points).buffer(width / 2, quad_segs=16)


def region(*shapes: shapely.Geometry) -> Region:
    return Region.of_shape(shapely.union_all(shapes))


def right(shadow: Region, finest: float = FINEST, light: float = LIGHT):
    return right_for_size(shadow, finest_mm=finest, least_light_mm=light)


def width_at(shadow: Region, x: float, *, below: float = -np.inf, above: float = np.inf) -> float:
    """Length of an upright cut through the shadow at x, between two heights."""
    cut = shapely.LineString([(x, max(below, -50)), (x, min(above, 50))]).intersection(shadow.shape)
    return float(cut.length)


def opened(shape: shapely.Geometry, width: float) -> shapely.Geometry:
    """Return what a disc of a width reaches inside a shape: a morphological opening (Serra 1982)."""
    return shape.buffer(-width / 2, quad_segs=32).buffer(width / 2, quad_segs=32)


def light_gap(shadow: Region) -> float:
    return float(shapely.distance(shadow.shape.geoms[0], shadow.shape.geoms[1]))


class TestWidened:
    def test_a_thin_line_comes_out_at_the_finest_width(self):
        shadow, report = right(region(stroke([(0, 0), (20, 0)], 0.4)))
        for x in (5.0, 10.0, 15.0):
            assert width_at(shadow, x) == pytest.approx(FINEST, abs=0.02)
        assert sum(s.length_mm for s in report.widened) == pytest.approx(20, abs=0.5)
        assert report.widened[0].width_mm == pytest.approx(0.4, abs=0.01)
        assert report.dropped == ()

    def test_its_free_ends_taper_and_gain_no_length(self):
        before = region(stroke([(0, 0), (20, 0)], 0.4))
        shadow, _ = right(before)
        assert shadow.bounds[0] == pytest.approx(before.bounds[0], abs=0.02)
        assert width_at(shadow, 0.1) < 0.55 < 0.75 < width_at(shadow, 1.5)

    def test_a_closed_line_has_no_ends(self):
        ring = shapely.Point(0, 0).buffer(5, quad_segs=64).exterior.buffer(0.2, quad_segs=16)
        shadow, report = right(region(ring))
        assert shadow.area == pytest.approx(2 * np.pi * 5 * FINEST, rel=0.01)
        assert len(shadow) == 1
        assert len(shadow.rings()) == 2
        assert sum(s.length_mm for s in report.widened) == pytest.approx(2 * np.pi * 5, rel=0.01)

    def test_a_dot_is_a_line_too(self):
        shadow, report = right(region(shapely.Point(3, 4).buffer(0.25, quad_segs=16)))
        assert shadow.area == pytest.approx(np.pi * (FINEST / 2) ** 2, rel=0.03)
        (dot,) = report.widened
        assert dot.place == pytest.approx((3, 4), abs=0.02)
        assert dot.width_mm == pytest.approx(0.5, abs=0.02)

    def test_a_line_that_hangs_on_something_wide_is_widened_up_to_it(self):
        shadow, report = right(region(shapely.box(0, 0, 10, 10), stroke([(10, 5), (20, 5)], 0.4)))
        assert width_at(shadow, 12.0) == pytest.approx(FINEST, abs=0.02)
        assert len(shadow) == 1
        assert report.dropped == ()


class TestLeftAlone:
    @pytest.mark.parametrize(
        "shape",
        [
            shapely.box(0, 0, 10, 10),
            shapely.Point(0, 0).buffer(6, quad_segs=32),
            stroke([(0, 0), (20, 5)], 1.0),
            shapely.Polygon([(0, 0), (10, 0), (5, 9)]),
            shapely.Point(0, 0).buffer(8, quad_segs=32).difference(shapely.Point(2, 0).buffer(3, quad_segs=32)),
        ],
    )
    def test_what_is_wide_enough_keeps_its_outline(self, shape):
        before = region(shape)
        after, report = right(before)
        assert after.shape.equals(before.shape)
        assert report.widened == report.dropped == ()
        assert len(report.kept) > 0

    def test_nothing_stays_nothing(self):
        shadow, report = right(Region.empty())
        assert shadow.is_empty
        assert report.kept == report.widened == report.dropped == ()

    @pytest.mark.parametrize(("finest", "light"), [(0.0, 0.4), (0.8, -1.0), (float("nan"), 0.4)])
    def test_widths_are_lengths(self, finest, light):
        with pytest.raises(ValueError, match="widths"):
            right(Region.empty(), finest, light)


class TestRoom:
    def test_two_lines_side_by_side_grow_away_from_each_other(self):
        """0.4 mm wide and 0.7 mm apart: each may grow by 0.15 mm inwards and takes the other 0.25 mm outwards."""
        shadow, report = right(region(stroke([(0, 0), (20, 0)], 0.4), stroke([(0, 1.1), (20, 1.1)], 0.4)))
        assert report.dropped == ()
        assert light_gap(shadow) == pytest.approx(LIGHT, abs=0.02)
        assert width_at(shadow, 10.0, above=0.55) == pytest.approx(FINEST, abs=0.02)

    def test_of_lines_too_close_the_shorter_gives_way(self):
        """0.4 mm wide and 0.3 mm apart, three of them: the middle one can grow on no side."""
        lines = [stroke([(0, 0), (20, 0)], 0.4), stroke([(4, 0.7), (16, 0.7)], 0.4), stroke([(0, 1.4), (20, 1.4)], 0.4)]
        shadow, report = right(region(*lines))
        assert [round(s.length_mm) for s in report.dropped] == [12]
        assert report.dropped[0].place[1] == pytest.approx(0.7, abs=0.05)
        assert len(shadow) == 2
        assert width_at(shadow, 10.0, below=0.7) == pytest.approx(FINEST, abs=0.03)

    def test_a_line_that_is_too_close_on_one_side_grows_on_the_other(self):
        """0.4 mm wide and 0.3 mm from a wall, which is less than the least light: that gap stays as it is."""
        wall, line = shapely.box(0, 0.5, 20, 5), stroke([(0, 0), (20, 0)], 0.4)
        shadow, report = right(region(wall, line))
        assert report.dropped == ()
        assert light_gap(shadow) == pytest.approx(0.3, abs=0.01)
        assert width_at(shadow, 10.0, below=-2, above=0.4) == pytest.approx(FINEST, abs=0.02)

    def test_a_line_without_room_is_dropped_and_its_wide_neighbours_stay(self):
        walls = [shapely.box(0, 0.4, 20, 5), shapely.box(0, -5, 20, -0.4)]
        shadow, report = right(region(*walls, stroke([(-1, 0), (21, 0)], 0.3)))
        assert shapely.union_all(walls).symmetric_difference(shadow.shape).area < 0.05
        assert sum(s.length_mm for s in report.dropped) == pytest.approx(22, abs=1.5)

    @pytest.mark.parametrize("drop_crumbs", [True, False])
    def test_a_crumb_goes_but_not_what_a_hand_drew(self, drop_crumbs):
        """A dot 0.3 mm across beside a line; a quarter of the finest line's square is 0.4 mm across."""
        line, crumb = stroke([(0, 0), (20, 0)], 1.0), shapely.Point(10, 3).buffer(0.15)
        shadow, report = right_for_size(
            region(line, crumb), finest_mm=FINEST, least_light_mm=LIGHT, drop_crumbs=drop_crumbs
        )
        assert len(shadow) == (1 if drop_crumbs else 2)
        assert len(report.dropped) == drop_crumbs
        if not drop_crumbs:
            assert FINEST - 0.02 < width_at(shadow, 10.0, above=1.0) < 1.3 * FINEST

    def test_a_short_narrow_place_is_not_cut_through(self):
        """A line 0.4 mm wide that passes between two ends 0.9 mm apart: the light beside it is closed there."""
        gates = [shapely.box(9.9, 0.45, 10.1, 3), shapely.box(9.9, -3, 10.1, -0.45)]
        shadow, report = right(region(*gates, stroke([(0, 0), (20, 0)], 0.4)))
        assert report.dropped == ()
        assert len(shadow) == 1
        assert width_at(shadow, 8.0, below=-0.5, above=0.5) == pytest.approx(FINEST, abs=0.02)
        assert width_at(shadow, 10.0, below=-0.5, above=0.5) > FINEST - 0.02


def page(rows: slice, columns: slice) -> Region:
    """Dark parts of scikit-image's scanned page, 0.15 mm a pixel: letters with strokes of 0.3 to 0.75 mm."""
    picture = filters.gaussian(data.page(), 0.7)[rows, columns]
    level = filters.threshold_local(picture, 51, offset=0.05)
    field = np.pad(np.where(picture < level, 1.0, -1.0) * np.abs(picture - level), 1, constant_values=-0.1)
    rings = [ring[:, ::-1] * 0.15 for ring in measure.find_contours(field, 0.0) if len(ring) > 12]
    shape = shapely.Polygon()
    for ring in rings:
        shape = shape.symmetric_difference(shapely.Polygon(ring).buffer(0))
    return Region.of_shape(shape)


@pytest.fixture(scope="module")
def made():
    before = page(slice(20, 120), slice(0, 150))
    return before, *right(before, 0.5, 0.2)


class TestPicture:
    def test_what_is_listed_as_dropped_is_gone_and_the_rest_is_there(self, made):
        """Except beside something wide, that stays; the points in question are the centre lines' own."""
        _, after, report = made
        assert len(report.widened) > 20
        for stretch in (*report.kept, *report.widened):
            assert after.within(stretch.points[1:-1]).all()
            assert stretch.width_mm > 0
        for stretch in report.dropped:
            inner = stretch.points[1:-1] if len(stretch.points) > 2 else stretch.points
            assert not after.within(inner).all()

    def test_little_thin_shadow_is_left(self, made):
        before, after, _ = made

        def thin_share(shadow: Region) -> float:
            return shadow.shape.difference(opened(shadow.shape, 0.4)).area / shadow.area

        assert thin_share(before) > 0.3
        assert thin_share(after) < 0.5 * thin_share(before)

    def test_nothing_narrower_is_left_but_tapers(self, made):
        before, after, _ = made
        assert narrow_parts(before, 0.5).neck_share > 0.1
        assert narrow_parts(after, 0.5).neck_share < 0.01

    def test_it_is_sound_and_wide_parts_are_all_there(self, made):
        before, after, _ = made
        assert after.shape.is_valid
        assert opened(before.shape, 0.55).difference(after.shape).area < 1e-4


class TestSwept:
    def test_discs_of_one_size_make_a_stadium(self):
        """Area of a stadium: 2 r L + pi r^2."""
        got = swept([np.array([[0.0, 0.0], [4.0, 0.0], [10.0, 0.0]])], [np.full(3, 1.5)])
        assert got.area == pytest.approx(2 * 1.5 * 10 + np.pi * 1.5**2, rel=0.01)

    def test_discs_that_grow_make_a_cone(self):
        """Two circles and their outer tangents: L sin(b) (r + R) ... by the hull of finely drawn discs."""
        got = swept([np.array([[0.0, 0.0], [10.0, 0.0]])], [np.array([0.5, 2.0])])
        discs = [shapely.Point(0, 0).buffer(0.5, quad_segs=200), shapely.Point(10, 0).buffer(2.0, quad_segs=200)]
        assert got.area == pytest.approx(shapely.union_all(discs).convex_hull.area, rel=0.005)

    def test_nothing_sweeps_nothing(self):
        assert swept([], []).is_empty
        assert swept([np.zeros((2, 2))], [np.zeros(2)]).is_empty


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 20), st.floats(0, 20), st.floats(0, 3.14), st.floats(2, 12), st.floats(0.15, 1.5)),
        min_size=1,
        max_size=6,
    )
)
def test_random_strokes_come_out_sound_and_no_wide_one_is_lost(strokes):
    shapes = [
        stroke([(x, y), (x + length * np.cos(a), y + length * np.sin(a))], width) for x, y, a, length, width in strokes
    ]
    before = region(*shapes)
    after, report = right(before)
    assert after.shape.is_valid
    assert opened(before.shape, FINEST * 1.05).difference(after.shape.buffer(1e-6)).area < 1e-3
    if not report.dropped:
        assert before.shape.difference(after.shape.buffer(1e-6)).area < 1e-6
