"""The measure of narrow parts on shapes of which it is plain what they have; the finest line is 0.8 mm."""

from __future__ import annotations

import pytest
from narrow_parts import narrow_parts

from shadowrout.geometry.region import Region

DETAIL_MM = 0.8


def shape(*points: tuple[float, float]) -> Region:
    return Region.of_polygons([(points, [])])


def bar(x0: float, y0: float, x1: float, y1: float) -> Region:
    return Region.box((x0, y0, x1, y1))


BLOCK = bar(0, 0, 5, 5)
FOUR_CORNERS = 4


def test_a_block_has_four_corners():
    """A disc of radius r leaves (1 - pi / 4) r^2 of a right corner (plane geometry)."""
    found = narrow_parts(BLOCK, DETAIL_MM)
    assert (found.tapers, found.necks) == (FOUR_CORNERS, 0)
    assert found.taper_share * 25 == pytest.approx(4 * 0.2146 * 0.36**2, rel=0.15)


def test_a_point_is_a_taper():
    found = narrow_parts(BLOCK.union(shape((4, 2), (4, 3), (9, 2.5))), DETAIL_MM)
    assert (found.tapers, found.necks) == (FOUR_CORNERS + 1, 0)


def test_a_thin_bar_between_blocks_is_a_neck():
    found = narrow_parts(BLOCK.union(bar(4, 2, 8, 2.5)).union(bar(7, 0, 12, 5)), DETAIL_MM)
    assert (found.tapers, found.necks) == (2 * FOUR_CORNERS, 1)
    assert found.neck_share * 51 == pytest.approx(2 * 0.5, rel=0.1)


@pytest.mark.parametrize("width_mm", [0.3, 0.45])
def test_an_end_that_widens_again_is_a_neck(width_mm):
    knob = bar(4, 2.5 - width_mm / 2, 7, 2.5 + width_mm / 2).union(bar(7, 2.2, 7.6, 2.8))
    found = narrow_parts(BLOCK.union(knob), DETAIL_MM)
    assert (found.tapers, found.necks) == (FOUR_CORNERS, 1)


def test_a_line_that_is_wide_nowhere_is_a_neck():
    found = narrow_parts(BLOCK.union(bar(7, 0, 7.5, 5)), DETAIL_MM)
    assert (found.tapers, found.necks) == (FOUR_CORNERS, 1)
