"""The two judges of "one piece", the stencil's and the check's, on sheets drawn by hand, whole and spoiled.

Sizes in mm, least web 3.
"""

from __future__ import annotations

import numpy as np
import pytest
import raster_judge
import shapely

from shadowrout.geometry.region import Region
from shadowrout.sheets.criterion import holds

SHEET = (0.0, 0.0, 100.0, 100.0)
WEB = 3.0

JUDGES = pytest.mark.parametrize("judge", [raster_judge.holds, holds])


def ring() -> shapely.Polygon:
    """Return an opening 10 mm wide round an island of 20 x 20."""
    return shapely.box(30, 30, 70, 70).difference(shapely.box(40, 40, 60, 60))


def bridged(*widths: float) -> Region:
    """Return the ring with bridges of these widths, the first below the island, the second above it."""
    shape = ring()
    for width, (low, high) in zip(widths, [(29, 41), (59, 71)], strict=False):
        shape = shape.difference(shapely.box(50 - width / 2, low, 50 + width / 2, high))
    return Region.of_shape(shape)


@JUDGES
def test_an_island_on_two_wide_bridges_holds(judge):
    assert judge(bridged(3.3, 3.3), sheet=SHEET, web=WEB).holds


@JUDGES
def test_one_wide_bridge_holds(judge):
    assert judge(bridged(3.3), sheet=SHEET, web=WEB)


@JUDGES
def test_an_island_without_a_bridge_falls_out(judge):
    verdict = judge(Region.of_shape(ring()), sheet=SHEET, web=WEB)
    assert not verdict.holds
    assert "falls out" in str(verdict.faults[0].reason)
    assert verdict.faults[0].place == pytest.approx((50, 50), abs=0.2)


@JUDGES
@pytest.mark.parametrize("widths", [(2.0,), (3.3, 2.0), (0.3, 3.3), (2.0, 2.0)])
def test_a_bridge_thinned_below_the_web_fails(judge, widths):
    assert not judge(bridged(*widths), sheet=SHEET, web=WEB).holds


def test_the_vector_judge_sees_a_web_a_twentieth_of_a_millimetre_too_thin():
    assert holds(bridged(WEB + 0.01, WEB + 0.01), sheet=SHEET, web=WEB).holds
    assert not holds(bridged(WEB - 0.06, WEB + 0.01), sheet=SHEET, web=WEB).holds


@JUDGES
def test_an_island_that_hangs_by_corners_falls_out(judge):
    """Sides of the island open on all four; it meets the sheet in two points. 8-connected pixels would call it one."""
    below_left = shapely.box(30, 30, 60, 40).union(shapely.box(30, 30, 40, 60))
    above_right = shapely.box(60, 40, 70, 70).union(shapely.box(40, 60, 70, 70))
    openings = Region(shapely.MultiPolygon([below_left, above_right]))
    assert not judge(openings, sheet=SHEET, web=WEB).holds


@JUDGES
def test_an_island_that_hangs_by_a_hair_fails(judge):
    assert not judge(bridged(0.15), sheet=SHEET, web=WEB).holds


@JUDGES
@pytest.mark.parametrize(("length", "passes"), [(2.0, True), (2.7, True), (4.5, False), (15.0, False)])
def test_a_thin_fin_may_be_as_long_as_the_web(judge, length, passes):
    opening = shapely.box(30, 30, 70, 70).difference(shapely.box(49.5, 30, 50.5, 30 + length))
    assert judge(Region.of_shape(opening), sheet=SHEET, web=WEB).holds is passes


@JUDGES
def test_sharp_corners_of_the_sheet_are_no_fault(judge):
    wedge = Region.of_polygons([(np.array([[20.0, 20.0], [80.0, 20.0], [50.0, 80.0]]), [])])
    assert judge(wedge, sheet=SHEET, web=WEB).holds


@JUDGES
def test_a_thin_web_between_two_openings_fails(judge):
    two = Region.of_shape(shapely.union_all([shapely.box(20, 20, 49, 80), shapely.box(51, 20, 80, 80)]))
    verdict = judge(two, sheet=SHEET, web=WEB)
    assert not verdict.holds
    x, y = verdict.faults[0].place
    assert 49 < x < 51
    assert 20 < y < 80


@JUDGES
def test_openings_too_near_the_edge_fail(judge):
    assert not judge(Region.box((1.0, 20.0, 30.0, 80.0)), sheet=SHEET, web=WEB).holds


@JUDGES
def test_a_cut_right_across_fails(judge):
    assert not judge(Region.box((-1.0, 48.0, 101.0, 52.0)), sheet=SHEET, web=WEB).holds


@JUDGES
def test_no_opening_holds_and_nothing_but_opening_does_not(judge):
    assert judge(Region.empty(), sheet=SHEET, web=WEB).holds
    assert not judge(Region.box((-1.0, -1.0, 101.0, 101.0)), sheet=SHEET, web=WEB).holds


@JUDGES
def test_a_sheet_narrower_than_the_web_fails(judge):
    assert not judge(Region.empty(), sheet=(0.0, 0.0, 2.5, 100.0), web=WEB).holds


@pytest.mark.parametrize("web", [0.0, -1.0, float("nan")])
def test_the_web_must_be_positive(web):
    with pytest.raises(ValueError, match="web"):
        holds(Region.empty(), sheet=SHEET, web=web)
