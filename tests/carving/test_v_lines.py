"""V lines against medial axes known exactly, and against what they cut."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from plan_designs import circle_ring, random_shadow, swept
from scipy.ndimage import distance_transform_edt
from scipy.spatial import cKDTree

from shadowrout.carving import v_lines
from shadowrout.carving.cuts import CutShadow, cut_shadow
from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.smoothing import smoothed, thinned
from shadowrout.errors import SettingError
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.lines import outlines_inside
from shadowrout.geometry.medial import Axis, Boundary, medial_axis
from shadowrout.geometry.region import Region, parts_meeting, union_all
from shadowrout.geometry.strokes import Stroke, chains_of, pruned, strokes_of
from shadowrout.job.options import Cutter, Finish, VTool

STEP_MM = 0.1
FINISH = Finish(sanding_loss=0.5, least_depth_left=2.0)
WIDE_TOOL = VTool(angle=90, greatest_depth=5.5)


def axis_of(region: Region) -> Axis:
    return medial_axis(region, Boundary.of(region, step_mm=STEP_MM), step_mm=STEP_MM)


def axis_points(axis: Axis) -> np.ndarray:
    return axis.points[np.unique(axis.edges)]


def plan_of(shadow: Region, *cutters: Cutter, v_tool: VTool = WIDE_TOOL) -> Plan:
    return plan_carving(shadow, thickness_mm=18, finish=FINISH, cutters=cutters, v_tool=v_tool, tolerance_mm=0.1)


def hausdorff_mm(one: shapely.Geometry, other: shapely.Geometry) -> float:
    return shapely.hausdorff_distance(one.segmentize(0.05), other.segmentize(0.05))


def axis_lines(axis: Axis, edges: np.ndarray) -> shapely.Geometry:
    return shapely.MultiLineString(list(axis.points[edges]))


def test_medial_axis_of_a_rectangle() -> None:
    # 12 x 4: a ridge from (2, 2) to (10, 2) and the four bisectors of the corners (Blum 1967).
    axis = axis_of(Region.box((0, 0, 12, 4)))
    ends = [((0, 0), (2, 2)), ((0, 4), (2, 2)), ((12, 0), (10, 2)), ((12, 4), (10, 2)), ((2, 2), (10, 2))]
    # Branches start up to 2.5 steps along the outline from their corner.
    assert hausdorff_mm(axis_lines(axis, axis.edges), shapely.MultiLineString(ends)) < 0.25
    x, y = axis_points(axis).T
    exact = np.minimum(np.minimum(x, 12 - x), np.minimum(y, 4 - y))
    assert axis.radii[np.unique(axis.edges)] == pytest.approx(exact, abs=1e-5)


def test_medial_axis_of_a_disc_is_its_centre() -> None:
    axis = axis_of(Region.of_polygons([(circle_ring(3), [])]))
    assert np.hypot(*axis_points(axis).T).max() < 1e-3
    assert axis.radii[np.unique(axis.edges)] == pytest.approx(3, abs=1e-3)


def test_medial_axis_of_an_annulus_is_the_middle_circle() -> None:
    axis = axis_of(Region.of_polygons([(circle_ring(6), [circle_ring(4)])]))
    kept = pruned(axis)
    assert np.hypot(*axis.points[np.unique(kept)].T) == pytest.approx(5, abs=0.01)
    [stroke] = strokes_of(axis, kept)
    assert stroke.closed
    assert stroke.half_widths == pytest.approx(1, abs=0.002)


def test_medial_axis_of_an_l() -> None:
    # Arms 4 wide along x to 16 and along y to 12. Far from the reflex corner (4, 4) the axis runs in the middle of
    # either arm; near it, points as far from that corner as from x = 0 or y = 0, which is a parabola.
    corners = np.array([(0, 0), (16, 0), (16, 4), (4, 4), (4, 12), (0, 12)], dtype=float)
    axis = axis_of(Region.of_polygons([(corners, [])]))
    points = axis_points(axis)
    x, y = points.T
    assert points[(x > 5) & (x < 13.5)][:, 1] == pytest.approx(2, abs=1e-5)
    assert points[(y > 5) & (y < 9.5)][:, 0] == pytest.approx(2, abs=1e-5)
    # The bisector of the outer corner meets the parabolas where sqrt(2) (4 - t) = t.
    meeting = 4 * math.sqrt(2) / (1 + math.sqrt(2))
    on_bisector = points[(x < 2.3) & (y < 2.3)]
    assert on_bisector[:, 0] == pytest.approx(on_bisector[:, 1], abs=1e-4)
    for along, across in ((x, y), (y, x)):
        curved = (along > 2.4) & (along < 4) & (across < 2.4)
        assert np.hypot(4 - along, 4 - across)[curved] == pytest.approx(across[curved], abs=0.005)
    assert np.hypot(x - meeting, y - meeting).min() < 0.1
    largest = axis.radii[np.unique(axis.edges)].max()
    assert largest == pytest.approx(meeting, abs=0.01)


@pytest.mark.parametrize("seed", range(8))
def test_radii_are_distances_from_the_outline(seed: int) -> None:
    shadow = random_shadow(seed).simplified(0.005)
    axis = axis_of(shadow)
    used = np.unique(axis.edges)
    exact = shapely.distance(shapely.points(axis.points[used]), shadow.shape.boundary)
    assert axis.radii[used] == pytest.approx(exact, abs=0.004)
    assert shadow.within(axis.points[used]).all()


def test_medial_axis_of_nothing() -> None:
    axis = axis_of(Region.empty())
    assert len(axis.points) == 0
    assert pruned(axis).shape == (0, 2)
    assert strokes_of(axis, pruned(axis)) == []


def test_spurs_go_and_the_trunk_stays() -> None:
    points = np.array([(0, 0), (1, 0), (2, 0), (3, 0), (1, 0.3), (2, 1.5)], dtype=float)
    radii = np.array([0.5, 0.5, 0.5, 0.5, 0.35, 0.2])
    axis = Axis(points, radii, np.array([(0, 1), (1, 2), (2, 3), (1, 4), (2, 5)]))
    # Node 4 adds 0.3 + 0.35 - 0.5 = 0.15 to the reach, node 5 adds 1.5 + 0.2 - 0.5 = 1.2.
    assert {tuple(sorted(edge)) for edge in pruned(axis).tolist()} == {(0, 1), (1, 2), (2, 3), (2, 5)}
    # Twice as large, node 4 adds 0.3.
    assert len(pruned(Axis(2 * points, 2 * radii, axis.edges))) == 5


def test_a_short_stroke_is_never_pruned_away() -> None:
    axis = Axis(
        np.array([(0, 0), (0.01, 0), (0, 0.01), (0.01, 0.02)]), np.full(4, 1.0), np.array([(0, 1), (0, 2), (0, 3)])
    )
    [chain] = chains_of(pruned(axis))
    assert len(chain) == 3


def test_branches_that_run_on_make_one_stroke() -> None:
    # A cross with a slight bend, and a branch at 90 degrees: the through line is one stroke, the branch another.
    points = np.array([(-2, 0), (0, 0), (2, 0.3), (0, 2)], dtype=float)
    axis = Axis(points, np.ones(4), np.array([(0, 1), (1, 2), (1, 3)]))
    strokes = sorted(strokes_of(axis, axis.edges), key=lambda s: len(s.points))
    assert [len(s.points) for s in strokes] == [2, 3]
    # A turn of 70 degrees isn't joined, one of 50 is.
    for turn, count in ((70, 2), (50, 1)):
        way = np.radians(turn)
        bent = np.array([(-2, 0), (0, 0), (2 * np.cos(way), 2 * np.sin(way)), (0, -2), (-1, -2)])
        edges = np.array([(0, 1), (1, 2), (1, 3), (3, 4)]) if count == 2 else np.array([(0, 1), (1, 2)])
        assert len(strokes_of(Axis(bent, np.ones(5), edges), edges)) == count


def test_a_figure_of_eight_is_wholly_run() -> None:
    turn = np.linspace(0, 2 * np.pi, 41)[:-1]
    right = np.column_stack([2 - 2 * np.cos(turn), 2 * np.sin(turn)])
    points = np.vstack([right, -right[1:]])
    first = [(i, i + 1) for i in range(39)] + [(39, 0)]
    second = [(0, 40), *((i, i + 1) for i in range(40, 78)), (78, 0)]
    axis = Axis(points, np.ones(len(points)), np.array(first + second))
    strokes = strokes_of(axis, axis.edges)
    lengths = [
        shapely.LinearRing(s.points).length if s.closed else shapely.LineString(s.points).length for s in strokes
    ]
    assert sum(lengths) == pytest.approx(4 * np.pi * 2, rel=0.01)


def test_smoothing_keeps_ends_and_takes_jitter_out() -> None:
    rng = np.random.default_rng(1)
    x = np.linspace(0, 10, 101)
    rough = Stroke(np.column_stack([x, rng.normal(0, 0.05, 101)]), np.full(101, 0.5), closed=False)
    [smooth] = smoothed([rough])
    assert smooth.points[[0, -1]] == pytest.approx(rough.points[[0, -1]], abs=1e-9)
    short = Stroke(np.array([(0, 0), (0.2, 0.1), (0.3, 0)]), np.full(3, 0.2), closed=False)
    assert smoothed([short])[0].points[[0, -1]] == pytest.approx(short.points[[0, -1]], abs=1e-9)
    assert smooth.points[20:-20, 1].std() < 0.5 * rough.points[:, 1].std()
    assert smooth.half_widths == pytest.approx(0.5)


def test_radii_agree_with_a_distance_transform() -> None:
    """A second opinion without polygons: scipy's exact Euclidean distance transform of the drawn shadow."""
    shadow, pixel_mm = random_shadow(3), 0.05
    x0, y0, x1, y1 = shadow.bounds
    box = (x0 - 1, y0 - 1, x1 + 1, y1 + 1)
    grid = Grid(box, pixel_mm)
    distances = distance_transform_edt(grid.covered(shadow) >= 0.5) * pixel_mm
    axis = axis_of(shadow)
    used = np.unique(axis.edges)
    rows, columns = np.array([grid.pixel(x, y) for x, y in axis.points[used]]).T
    # A place is half a pixel's diagonal from its pixel's middle at most, and an edge half a pixel from a light middle.
    allowed = pixel_mm * (math.sqrt(0.5) + math.sqrt(0.5)) + 0.005
    assert np.abs(distances[rows, columns] - axis.radii[used]).max() <= allowed


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("tolerance", [0.01, 0.1])
def test_thinning_keeps_its_tolerance(closed: bool, tolerance: float) -> None:
    turn = np.linspace(0, 2 * np.pi, 301)[:-1]
    dense = Stroke(np.column_stack([5 * np.cos(turn), 3 * np.sin(turn)]), 0.6 + 0.2 * np.sin(3 * turn), closed)
    [thin] = thinned([dense], tolerance_mm=tolerance)
    ring = shapely.LinearRing if closed else shapely.LineString
    assert len(thin.points) < 150
    assert hausdorff_mm(ring(thin.points), ring(dense.points)) <= tolerance
    place = cKDTree(dense.points).query(thin.points)[1]
    period = 300 if closed else None
    between = np.interp(np.arange(300 if closed else 300), place, thin.half_widths, period=period)
    assert np.abs(between - dense.half_widths).max() < 3 * tolerance


def test_a_stroke_is_one_line_of_its_own_width_and_depth() -> None:
    # A stadium 2 mm wide: the axis is its core, r = 1, depth r / tan(45 degrees) + 0.5 = 1.5.
    shadow = Region.of_shape(shapely.LineString([(0, 0), (20, 0)]).buffer(1.0, quad_segs=64))
    [line] = plan_of(shadow).v_lines
    assert line.length == pytest.approx(20, abs=0.1)
    assert not line.closed
    assert line.width_mm == pytest.approx(2.0, abs=0.02)
    assert line.depth_mm == pytest.approx(1.5, abs=0.01)


def test_a_dot_is_a_short_line() -> None:
    [line] = plan_of(Region.of_polygons([(circle_ring(0.8), [])])).v_lines
    assert line.length == pytest.approx(0.1)
    assert line.width_mm.max() == pytest.approx(1.5, abs=0.11)
    assert np.isfinite(line.points).all()


def test_the_smallest_shapes_make_no_trouble() -> None:
    corners = np.array([(0, 0), (0.3, 0), (0.1, 0.2)])
    for scale in (1.0, 0.1, 3.0):
        shadow = Region.of_polygons([(corners * scale + 900, [])])
        plan = plan_of(shadow, Cutter())
        assert 0 <= cut_shadow(shadow, plan.pockets, plan.v_lines).uncut_share <= 1.01
        assert len(plan.v_lines) <= 1


def test_a_dot_beside_a_pocket_stays_rest() -> None:
    dot = Region.of_polygons([(circle_ring(0.5) + [20.9, 10], [])])
    plan = plan_of(Region.box((0, 0, 20, 20)).union(dot), Cutter(diameter=6))
    assert dot.difference(plan.rest).area < 0.01


def test_a_ring_is_one_closed_line() -> None:
    [line] = plan_of(Region.of_polygons([(circle_ring(6), [circle_ring(4)])])).v_lines
    assert line.closed
    assert line.length == pytest.approx(10 * math.pi, rel=0.005)
    assert len(line.segments_mm) == len(line.points)


def test_a_corner_is_cut_to_its_tip() -> None:
    # A V tool cuts sharp corners: the line rises to the face where the shadow's corner is, 3.2 (sqrt 2 - 1) = 1.33 mm
    # from what is pared.
    shadow = Region.box((0, 0, 30, 30))
    [pocket] = (plan := plan_of(shadow, Cutter(diameter=6))).pockets
    tips = np.array([(0, 0), (30, 0), (0, 30), (30, 30)])
    ends = np.vstack([line.points[[0, -1]] for line in plan.v_lines])
    assert cKDTree(ends).query(tips)[0].max() < 0.45
    assert cut_shadow(shadow, plan.pockets, plan.v_lines).uncut_share == pytest.approx(0, abs=2e-4)
    assert pocket.wall.area + plan.rest.area < 900


def test_a_corner_too_short_for_a_cut_of_its_own_is_left_and_counted() -> None:
    # A cutter of radius 1 that keeps 0.2 mm from the wall leaves 1.2 (sqrt 2 - 1) = 0.50 mm to the tip.
    shadow = Region.box((0, 0, 30, 30))
    plan = plan_of(shadow, Cutter(diameter=2))
    assert plan.v_lines == ()
    pared = shapely.box(1.2, 1.2, 28.8, 28.8).buffer(1.2, quad_segs=64)
    left = shadow.shape.difference(pared.buffer(0.15)).area
    assert cut_shadow(shadow, plan.pockets, plan.v_lines).uncut_mm2 == pytest.approx(left, abs=0.1)  # ten pixels


@pytest.mark.parametrize("width_mm", [2.5, 3.5, 5.0, 8.0])
def test_passes_side_by_side_close_a_gap(width_mm: float) -> None:
    # A V of 60 degrees, 2.5 mm deep, 0.5 mm sanded, makes 2 x 2 tan(30) = 2.309 mm; a 10 mm cutter needs more.
    tool = VTool(angle=60, greatest_depth=2.5)
    shadow = Region.box((0, 0, 40, width_mm))
    plan = plan_of(shadow, Cutter(diameter=10), v_tool=tool)
    assert plan.pockets == ()
    assert max(line.width_mm.max() for line in plan.v_lines) == pytest.approx(2.309, abs=0.001)
    assert max(line.depth_mm.max() for line in plan.v_lines) == pytest.approx(2.5)
    left = shadow.shape.difference(swept(plan.v_lines).buffer(0.15))
    # The narrowest one's corners are nearer than 2 mm to its middle: the V tool leaves them as round as its pass.
    corners = shadow.difference(Region.box((2, 0, 38, width_mm))).shape if width_mm == 2.5 else shapely.Polygon()
    assert left.difference(corners).area <= 0.003 * shadow.area
    assert left.area <= 0.008 * shadow.area
    assert swept(plan.v_lines).difference(shadow.shape.buffer(0.02)).area == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("least_branch_mm", "most_left"), [(0.3, 0.006), (2.0, 0.01)])
@pytest.mark.parametrize("seed", range(10))
def test_lines_fill_the_shadow_and_stay_inside(
    seed: int, least_branch_mm: float, most_left: float, monkeypatch
) -> None:
    # Branches under 2 mm were measured to hold 0.2 to 0.8 % of the shadow on pictures.
    monkeypatch.setattr(v_lines, "LEAST_BRANCH_MM", least_branch_mm)
    shadow = random_shadow(seed)
    plan = plan_of(shadow, Cutter(diameter=4), v_tool=VTool(angle=60, greatest_depth=2.5))
    cut = swept(plan.v_lines)
    assert cut.difference(shadow.shape.buffer(0.02)).area < 1e-4 * shadow.area
    roughed = shapely.union_all([p.wall.shape.buffer(0.2 + 0.15, quad_segs=32) for p in plan.pockets])
    left = shadow.shape.difference(roughed).difference(cut.buffer(0.15)).area / shadow.area
    # Goal 0.3 % on pictures; these small masks are full of blunt ends.
    assert left < most_left
    found = cut_shadow(shadow, plan.pockets, plan.v_lines)
    assert found.uncut_share == pytest.approx(left, abs=0.0015)
    pared = shapely.union_all([p.wall.shape.buffer(0.2, quad_segs=32) for p in plan.pockets])
    dark = pared.union(cut).intersection(shadow.shape).area / shadow.area
    assert found.dark_left_share == pytest.approx(dark, abs=0.006)


@pytest.mark.parametrize("seed", range(3))
def test_uncut_shadow_is_counted(seed: int) -> None:
    # Lines left out must be found missing; without any line the whole shadow is.
    shadow = random_shadow(seed)
    plan = plan_of(shadow, v_tool=VTool(angle=60, greatest_depth=1.0))
    spoiled = [line for line in plan.v_lines if line.length < 8]
    exact = shadow.shape.difference(swept(spoiled).buffer(0.15)).area
    assert exact > 0.05 * shadow.area
    assert cut_shadow(shadow, (), spoiled).uncut_mm2 == pytest.approx(exact, rel=0.02)
    assert cut_shadow(shadow, (), ()).uncut_mm2 == pytest.approx(shadow.area, rel=0.005)
    assert cut_shadow(shadow, (), ()).dark_left_share == pytest.approx(0, abs=0.005)


def test_lines_follow_each_other_closely() -> None:
    plan = plan_of(random_shadow(5), v_tool=VTool(angle=60, greatest_depth=2.5))
    starts = np.array([line.points[0] for line in plan.v_lines])
    ends = np.array([line.points[0] if line.closed else line.points[-1] for line in plan.v_lines])
    walked = np.hypot(*(starts[1:] - ends[:-1]).T).sum()
    mixed = np.random.default_rng(0).permutation(len(starts))
    assert walked < 0.3 * np.hypot(*(starts[mixed][1:] - ends[mixed][:-1]).T).sum()


def test_an_empty_shadow_has_an_empty_plan() -> None:
    plan = plan_of(Region.empty(), Cutter())
    assert (plan.pockets, plan.v_lines) == ((), ())
    assert cut_shadow(Region.empty(), (), ()) == CutShadow(0.0, 0.0, 1.0)
    assert cut_shadow(Region.empty(), (), ()).uncut_share == 0
    assert plan.rest.is_empty
    assert plan.sanding.too_much_mm is None


def test_the_same_shadow_gives_the_same_lines() -> None:
    one, other = (plan_of(random_shadow(3), Cutter()) for _ in range(2))
    assert all(np.array_equal(a.points, b.points) for a, b in zip(one.v_lines, other.v_lines, strict=True))


def test_a_v_tool_that_outlasts_no_sanding_is_refused() -> None:
    with pytest.raises(SettingError, match="v_tool.greatest_depth"):
        plan_of(random_shadow(0), v_tool=VTool(greatest_depth=0.5))


def test_outlines_cut_by_an_area() -> None:
    square = Region.box((0, 0, 10, 10))
    [whole] = outlines_inside(square, Region.box((-1, -1, 11, 11)))
    assert whole.closed
    assert len(whole.points) == 4
    [half] = outlines_inside(square, Region.box((-1, -1, 5, 11)))
    assert not half.closed
    assert shapely.LineString(half.points).length == pytest.approx(20)
    assert outlines_inside(square, Region.empty()) == outlines_inside(Region.empty(), square) == []


def test_parts_picked_by_another_region() -> None:
    pair = union_all([Region.box((0, 0, 1, 1)), Region.box((5, 0, 6, 1))])
    met, apart = parts_meeting(pair, Region.box((5.5, 0.5, 9, 9)))
    assert (met.bounds, apart.bounds) == ((5, 0, 6, 1), (0, 0, 1, 1))
    met, apart = parts_meeting(pair, Region.empty())
    assert met.is_empty
    assert apart.area == 2
    assert parts_meeting(Region.empty(), pair)[0].is_empty
    assert union_all([]).is_empty


def test_a_stroke_of_no_width_is_no_line():
    """A needle one hundredth of a millimetre wide would be gone with the planned sanding."""
    needle = Region.of_polygons([(np.array([[10.0, 10], [30, 10], [30, 10.01], [10, 10.01]]), [])])
    assert plan_of(needle).v_lines == ()
    assert cut_shadow(needle, (), ()).uncut_share == 0
