"""Necks made wide, on shapes of which it is plain what is narrow; tapers and what is wide stay as they are."""

from __future__ import annotations

import numpy as np
import pytest
from narrow_parts import narrow_parts

from shadowrout.geometry.necks import neck_fillings
from shadowrout.geometry.region import Region

NARROW, WIDE, GAP = 0.72, 0.8, 0.36
BLOCK = Region.box((0, 0, 5, 5))


def mended(region: Region):
    added, necks = neck_fillings(region, narrow_mm=NARROW, width_mm=WIDE, least_gap_mm=GAP)
    return region.union(added), necks


def together(*boxes: tuple[float, float, float, float]) -> Region:
    region = BLOCK
    for box in boxes:
        region = region.union(Region.box(box))
    return region


def test_a_thin_bar_between_blocks_comes_out_wide():
    before = together((4, 2.3, 8, 2.7), (7, 0, 12, 5))
    after, necks = mended(before)
    assert narrow_parts(before, WIDE).necks == len(necks) == 1
    assert narrow_parts(after, WIDE).necks == 0
    assert after.intersection(Region.box((5.8, 1, 6.2, 4))).area == pytest.approx(0.4 * WIDE, rel=0.02)
    assert necks[0].width_mm == pytest.approx(0.4, abs=0.1)


def test_an_end_that_widens_again_is_made_wide_up_to_there():
    before = together((4, 2.35, 6.5, 2.65), (6.5, 2.2, 7.1, 2.8))
    after, necks = mended(before)
    assert narrow_parts(before, WIDE).necks == len(necks) == 1
    assert narrow_parts(after, WIDE).necks == 0


def test_a_taper_and_what_is_wide_stay_as_they_are():
    before = BLOCK.union(Region.of_polygons([(np.array([(4.0, 2.0), (4.0, 3.0), (9.0, 2.5)]), [])]))
    after, necks = mended(before)
    assert necks == []
    assert after.shape.equals(before.shape)


def test_light_that_gets_too_narrow_beside_a_neck_is_closed():
    """The bar grows by 0.2 mm towards a third block 0.4 mm away."""
    after, _ = mended(together((4, 2.3, 8, 2.7), (7, 0, 12, 5), (5.7, 3.1, 6.3, 6)))
    assert len(after) == 1
    assert after.covers(Region.box((5.8, 2.5, 6.2, 3.5)))
    assert narrow_parts(after, WIDE).necks == 0


def test_nothing_has_no_necks():
    after, necks = mended(Region.empty())
    assert after.is_empty
    assert necks == []
