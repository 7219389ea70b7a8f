"""Fitted V lines: closed where the line is, and with the planned depth all along."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from plan_designs import circle_ring, random_shadow
from scipy.spatial import cKDTree

from shadowrout.carving.plan import plan_carving
from shadowrout.carving.v_line_paths import DEPTH_ERROR_MM, EDGE_SHARE, FittedVLine, as_cut, depth_error_mm, fit_v_lines
from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.arcs import ArcPath
from shadowrout.job.options import Cutter, Finish, VTool

TOLERANCE = 0.05
FINISH = Finish(sanding_loss=0.5, least_depth_left=2.5)


def line_of(points: np.ndarray, depths: np.ndarray, *, closed: bool = False) -> VLine:
    return VLine(points, 2 * np.tan(np.pi / 6) * (depths - 0.5), depths, closed)


def track(points: np.ndarray, closed: bool) -> shapely.LineString:
    return (shapely.LinearRing if closed else shapely.LineString)(points)


def sampled(fitted: FittedVLine, a_piece: int = 40) -> np.ndarray:
    """Return x, y, depth at many places of each piece, the depth changing evenly between vertices."""
    path = fitted.path
    depths = np.append(fitted.depths_mm, fitted.depths_mm[:1]) if path.closed else fitted.depths_mm
    points = path.points_along(np.full(len(path.bulges), a_piece))
    at = np.arange(len(points)) / a_piece
    return np.column_stack([points, np.interp(at, np.arange(len(depths)), depths)])


def depth_off_mm(line: VLine, fitted: FittedVLine) -> np.ndarray:
    """Return how far each sample's depth is from the line's at the nearest of its points near the same place."""
    spots = sampled(fitted)
    lines = track(line.points, line.closed)
    way = np.concatenate([[0.0], np.cumsum(line.segments_mm)])
    depths = np.append(line.depth_mm, line.depth_mm[:1]) if line.closed else line.depth_mm
    near = shapely.line_locate_point(lines, shapely.points(spots[:, :2]))
    return np.abs(np.interp(near, way, depths) - spots[:, 2])


def test_a_closed_line_comes_back_to_its_start() -> None:
    ring = circle_ring(6, 90)
    [fitted] = fit_v_lines([line_of(ring, np.full(90, 1.5), closed=True)], tolerance=TOLERANCE)
    assert fitted.path.closed
    assert fitted.path.lengths.sum() == pytest.approx(12 * np.pi, rel=0.003)
    assert abs(fitted.path.area) == pytest.approx(36 * np.pi, rel=0.01)
    assert fitted.depths_mm == pytest.approx(1.5)
    assert len(fitted.depths_mm) == len(fitted.widths_mm) == len(fitted.path.vertices)


def test_the_smallest_closed_lines_keep_their_length() -> None:
    corners = np.array([[0, 0], [0.02, 0], [0.01, 0.02]])
    [fitted] = fit_v_lines([line_of(corners, np.full(3, 1.0), closed=True)], tolerance=TOLERANCE)
    assert len(fitted.path.vertices) >= 2
    there = shapely.LineString(fitted.path.vertices)
    assert shapely.hausdorff_distance(there, shapely.LinearRing(corners)) <= TOLERANCE


def test_a_line_there_and_back_is_drawn_once() -> None:
    """A loop as thin as this encloses nothing that can be written as a closed path."""
    x = np.linspace(0, 10, 21)
    loop = np.vstack([np.column_stack([x, np.zeros(21)]), np.column_stack([x[-2:0:-1], np.full(19, 1e-6)])])
    [fitted] = fit_v_lines([line_of(loop, np.full(40, 1.0), closed=True)], tolerance=TOLERANCE)
    assert not fitted.path.closed
    assert fitted.path.vertices == pytest.approx(np.array([[0, 0], [10, 0]]))
    assert fitted.depths_mm == pytest.approx([1.0, 1.0])


def test_depth_that_jumps_along_an_arc_gets_vertices_of_its_own() -> None:
    turn = np.linspace(0, np.pi / 2, 60)
    points = 30 * np.column_stack([np.cos(turn), np.sin(turn)])
    depths = 1.5 + 0.8 * np.sin(6 * turn)
    line = line_of(points, depths)
    [fitted] = fit_v_lines([line], tolerance=TOLERANCE)
    assert len(fitted.path.vertices) > 4
    assert np.hypot(*fitted.path.vertices.T) == pytest.approx(30, abs=0.01)
    assert fitted.path.radii == pytest.approx(30, abs=0.5)
    assert depth_off_mm(line, fitted).max() <= DEPTH_ERROR_MM
    flat = fit_v_lines([line_of(points, np.full(60, 1.5))], tolerance=TOLERANCE)[0]
    assert len(flat.path.vertices) == 2
    spoiled = FittedVLine(flat.path, depths[[0, -1]], depths[[0, -1]])
    assert depth_off_mm(line, spoiled).max() > 10 * DEPTH_ERROR_MM


@pytest.mark.parametrize("seed", range(4))
def test_planned_lines_keep_place_depth_and_width(seed: int) -> None:
    plan = plan_carving(
        random_shadow(seed),
        thickness_mm=18,
        finish=FINISH,
        cutters=(Cutter(diameter=4),),
        v_tool=VTool(),
        tolerance_mm=0.1,
    )
    fitted = fit_v_lines(plan.v_lines, tolerance=TOLERANCE)
    off = []
    for line, one in zip(plan.v_lines, fitted, strict=True):
        assert one.path.closed == line.closed
        curve = track(one.path.flattened(0.001), line.closed)
        assert shapely.hausdorff_distance(curve.segmentize(0.02), track(line.points, line.closed)) <= TOLERANCE + 0.002
        off.append(depth_off_mm(line, one))
        # A V of 60 degrees leaves w = 2 (d - s) tan(30 degrees).
        assert one.widths_mm == pytest.approx(2 * (one.depths_mm - 0.5) * np.tan(np.pi / 6), abs=1e-9)
    every = np.concatenate(off)
    # The nearest point of the line isn't the one at the same share of the way where the line bends sharply.
    assert np.quantile(every, 0.999) <= DEPTH_ERROR_MM
    assert every.max() <= DEPTH_ERROR_MM + TOLERANCE / np.tan(np.pi / 6)


@pytest.mark.parametrize("closed", [False, True])
def test_depth_takes_few_vertices(closed: bool) -> None:
    """A wave of depth 1.5 +- 0.4 mm, each of its twelve slopes steep enough for a vertex, noise below the tolerance.

    No straight piece can keep within 0.05 mm of a top and of a bottom, so every slope takes one, and the tops one more
    at the most.
    """
    turn = np.linspace(0, 2 * np.pi, 361)[: 360 if closed else 361]
    noise = np.random.default_rng(5).uniform(-0.015, 0.015, len(turn))
    depths = 1.5 + 0.4 * np.clip(2 * np.sin(6 * turn), -1, 1) + noise
    line = line_of(30 * np.column_stack([np.cos(turn), np.sin(turn)]), depths, closed=closed)
    [fitted] = fit_v_lines([line], tolerance=TOLERANCE)
    assert depth_off_mm(line, fitted).max() <= DEPTH_ERROR_MM
    assert 12 <= len(fitted.depths_mm) <= 30
    assert depths.min() <= fitted.depths_mm.min()
    assert fitted.depths_mm.max() <= depths.max()
    assert fitted.depths_mm[0] == depths[0]


def test_no_lines() -> None:
    assert fit_v_lines([], tolerance=TOLERANCE) == ()


def test_a_divided_arc_is_the_same_arc() -> None:
    whole = ArcPath(np.array([[10.0, 0.0], [0.0, 10.0]]), np.array([np.tan(np.pi / 8)]), closed=False)
    turn = np.linspace(0, np.pi / 2, 200)
    points = 10 * np.column_stack([np.cos(turn), np.sin(turn)])
    [fitted] = fit_v_lines([line_of(points, 1 + turn**2)], tolerance=0.01)
    curve = shapely.LineString(fitted.path.flattened(1e-4))
    assert shapely.hausdorff_distance(curve, shapely.LineString(whole.flattened(1e-4))) < 0.011


@pytest.mark.parametrize("angle_deg", [20, 60, 90, 150])
@pytest.mark.parametrize("tolerance", [0.01, 0.1, 1.0])
def test_an_error_of_depth_moves_the_grooves_edge_within_its_share(angle_deg: float, tolerance: float) -> None:
    """A groove of included angle A that is d too deep is d tan(A/2) too wide on either side (plane geometry)."""
    allowed = depth_error_mm(tolerance, angle_deg)
    assert allowed <= DEPTH_ERROR_MM
    assert allowed * np.tan(np.radians(angle_deg) / 2) <= EDGE_SHARE * tolerance * (1 + 1e-9)
    turn = np.linspace(0, 2 * np.pi, 361)
    line = line_of(30 * np.column_stack([np.cos(turn / 2), np.sin(turn / 2)]), 1.5 + 0.4 * np.sin(6 * turn))
    [fitted] = fit_v_lines([line], tolerance=0.05 * tolerance, depth_error_mm=allowed)
    assert depth_off_mm(line, fitted).max() <= allowed
    [coarse] = fit_v_lines([line], tolerance=0.05 * tolerance)
    assert len(coarse.depths_mm) <= len(fitted.depths_mm)


def test_no_depth_comes_out_below_the_least() -> None:
    """Without sanding a line ends in a depth of 0, which a slope times its length may miss by a rounding."""
    rng = np.random.default_rng(0)
    for _ in range(100):
        way, depths = np.cumsum(rng.uniform(0.1, 0.3, 12)), np.append(rng.uniform(0.02, 0.5, 11), 0.0)
        line = VLine(np.column_stack([way, np.zeros(12)]), 2 * np.tan(np.pi / 6) * depths, depths, closed=False)
        [fitted] = fit_v_lines([line], tolerance=TOLERANCE)
        assert fitted.depths_mm.min() >= 0
        assert fitted.widths_mm.min() >= 0


@pytest.mark.parametrize("closed", [False, True])
def test_a_line_as_cut_follows_its_path_and_its_profile(closed: bool) -> None:
    turn = np.linspace(0, 2 * np.pi, 61)[:60]
    path = ArcPath(30 * np.column_stack([np.cos(turn), np.sin(turn)]), np.full(60 - (not closed), 0.01), closed)
    depths = 1.5 + 0.4 * np.sin(turn)
    cut = as_cut(FittedVLine(path, depths, depths - 0.5), 0.0001)
    assert cut.closed == closed
    assert len(cut.points) > 2 * len(turn)
    expected = sampled(FittedVLine(path, depths, depths - 0.5), 200)
    near = cKDTree(expected[:, :2]).query(cut.points)[1]
    assert np.hypot(*(cut.points - expected[near, :2]).T).max() < 0.02
    assert np.abs(cut.depth_mm - expected[near, 2]).max() < 0.001
    assert cut.width_mm == pytest.approx(cut.depth_mm - 0.5)
