"""Fitted outlines are sound and within tolerance, whatever the shape and the tolerance."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from fit_judge import cut_up, faults, within
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from zoo import circle_points, clockwise_circle, random_region, zoo

from shadowrout.errors import PromiseError
from shadowrout.fit.fitting import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

ZOO = zoo()
NEARLY_TOUCHED = [(-28, -23), (1, 31), (-11, 30), (-36, -10), (-5, -9), (-31, 31), (-10, -1)]
"""Of three pieces one once ended a hair's breadth from its neighbour, away from the vertex that they share."""

LENGTHS = st.integers(-3000, 3000).map(lambda hundredths: hundredths / 100)


@pytest.mark.parametrize("tolerance", [0.02, 0.1, 0.5, 2.0])
@pytest.mark.parametrize("name", ZOO)
def test_zoo(name, tolerance):
    fitted = fit_region(ZOO[name], tolerance=tolerance)
    assert faults(ZOO[name], fitted.paths, tolerance) == []
    assert fitted.deviation <= tolerance


def test_vertices_of_rings_lie_near_the_rings():
    for region in ZOO.values():
        for ring, path in zip(region.rings(), fit_region(region, tolerance=0.1).paths, strict=True):
            assert shapely.dwithin(shapely.LinearRing(ring), shapely.points(path.vertices), 0.1).all()


def test_vertices_of_lines_are_points_of_the_lines():
    lines = [ring for region in ZOO.values() for ring in region.rings()]
    dice = np.random.default_rng(8)
    lines += [np.cumsum(dice.normal(0, size, (400, 2)), axis=0) for size in (0.02, 0.05, 0.1, 0.3) for _ in range(10)]
    for line, path in zip(lines, fit_open(lines, tolerance=0.1).paths, strict=True):
        given_points = {tuple(point) for point in line.tolist()}
        assert all(tuple(vertex) in given_points for vertex in path.vertices.tolist())


@pytest.mark.parametrize("block", range(10))
def test_random_masks(block):
    for seed in range(50 * block, 50 * block + 50):
        region = random_region(seed, most=30)
        tolerance = (0.05, 0.15, 0.4, 1.0, 3.0)[seed % 5]
        fitted = fit_region(region, tolerance=tolerance)
        assert (seed, faults(region, fitted.paths, tolerance)) == (seed, [])
        assert fitted.deviation <= tolerance


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(st.tuples(st.integers(-40, 40), st.integers(-40, 40)), min_size=4, max_size=25, unique=True),
    st.sampled_from([0.1, 0.5, 2.0, 10.0]),
    st.sampled_from([0.3, 2.0, 100.0]),
)
@example(NEARLY_TOUCHED, 10.0, 2.0)
def test_random_polygons(corners, tolerance, spacing):
    region = Region.of_shape(shapely.Polygon(corners).segmentize(spacing).buffer(0))
    assume(all(len(ring) > 2 for ring in region.rings()))
    fitted = fit_region(region, tolerance=tolerance)
    assert faults(region, fitted.paths, tolerance) == []


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(LENGTHS, LENGTHS), min_size=2, max_size=30),
    st.sampled_from([0.05, 0.5, 5.0]),
)
def test_open_lines(points, tolerance):
    line = np.array(points)
    if not (line != line[0]).any():
        with pytest.raises(ValueError, match="two different points"):
            fit_open([line], tolerance=tolerance)
        return
    fitted = fit_open([line], tolerance=tolerance)
    (path,) = fitted.paths
    assert not path.closed
    assert (path.vertices[0] == line[0]).all()
    assert (path.vertices[-1] == line[-1]).all()
    curve, given_line = (shapely.LineString(p) for p in (cut_up(path, tolerance / 400), line))
    assert within(curve, given_line, tolerance * (1 + 1 / 400), tolerance / 4)
    assert fitted.deviation <= tolerance


def test_a_region_whose_outlines_cross_is_refused():
    bow_tie = shapely.Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    with pytest.raises(PromiseError):
        fit_region(Region(shapely.MultiPolygon([bow_tie])), tolerance=0.1)


SLIVERS = (
    [(0, 17), (-6, 17), (0, 5), (-17, 39)],
    [(0, 0), (-6, 17), (0, 5), (-17, 39)],
    [(-16, -24), (-27, 7), (7, -37), (-10, -15), (37, -10), (-16, 25), (24, 9), (-3, -24)],
)


@pytest.mark.parametrize("tolerance", [0.1, 10.0])
@pytest.mark.parametrize("corners", SLIVERS)
def test_slivers_as_thin_as_rounding(corners, tolerance):
    """Where overlays leave rings 1e-16 wide, the middles of segments would lie on the wrong side."""
    region = Region.of_shape(shapely.Polygon(corners).segmentize(0.3).buffer(0))
    assert min(shapely.Polygon(ring).area for ring in region.rings()) < 1e-15
    assert faults(region, fit_region(region, tolerance=tolerance).paths, tolerance) == []


def test_a_ring_of_two_points_is_refused():
    flat = shapely.Polygon([(0, 0), (1, 0), (1, 0), (0, 0)])
    with pytest.raises(PromiseError, match="encloses nothing"):
        fit_region(Region(shapely.MultiPolygon([flat])), tolerance=0.1)


class TestTheJudge:
    """The judge finds each kind of fault when it is put into a sound result."""

    region = Region.of_polygons(
        [(circle_points(10, 200), [circle_points(4, 100)]), (circle_points(3, 80, (14, 0)), [])]
    )

    def spoiled(self, number, path):
        paths = [ArcPath.circle((0, 0), 10), clockwise_circle((0, 0), 4), ArcPath.circle((14, 0), 3)]
        paths[number] = path
        return faults(self.region, paths, 0.1)

    def test_sound(self):
        assert self.spoiled(2, ArcPath.circle((14, 0), 3)) == []

    def test_too_far(self):
        assert "off by" in self.spoiled(2, ArcPath.circle((14, 0), 2.85))[0]

    def test_flat_side(self):
        assert "off by" in self.spoiled(0, ArcPath(ArcPath.circle((0, 0), 10).vertices, np.array([1.0, 0.96])))[0]

    def test_turned_round(self):
        assert self.spoiled(1, ArcPath.circle((0, 0), 4)) == ["ring 1 is turned round"]

    def test_nothing_enclosed(self):
        assert "encloses nothing" in self.spoiled(2, ArcPath.polygon(np.array([[11.0, 0.0], [17.0, 0.0]])))[0]

    def test_missing_ring(self):
        assert faults(self.region, [], 0.1) == ["0 paths for 3 rings"]

    def test_crossing_itself(self):
        turn = np.arange(80) * np.pi / 40
        loop = np.column_stack([14 + 3 * np.cos(turn), 3 * np.sin(turn)])
        loop[[30, 31]] = loop[[31, 30]]
        assert "Self-intersection" in self.spoiled(2, ArcPath.polygon(loop))[0]

    def test_crossing_another(self):
        close = Region.of_polygons([(circle_points(10, 200), []), (circle_points(3, 80, (13.01, 0)), [])])
        assert any(
            "Self-intersection" in fault
            for fault in faults(close, [ArcPath.circle((0, 0), 10), ArcPath.circle((12.95, 0), 3)], 0.1)
        )

    def test_wrong_nest(self):
        near = Region.of_polygons([(circle_points(10, 400), [circle_points(0.02, 9, (9.97, 0))])])
        out = clockwise_circle((10.03, 0), 0.02)
        assert faults(near, [ArcPath.circle((0, 0), 10), out], 0.1) != []
