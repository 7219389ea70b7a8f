"""Chips and posts of light in designs whose parts are known."""

from __future__ import annotations

import numpy as np
import pytest

from shadowrout.design.clean_areas import without_chips
from shadowrout.design.mask import Mask

PIXEL_MM = 0.2
SIDE_PX = 1000
"""200 mm: the least at which a chip is 2 mm."""


def design(*dark_boxes: tuple[int, int, int, int], light: tuple[tuple[int, int, int, int], ...] = ()) -> Mask:
    """Return a light field of 200 mm, dark in boxes (left, top, width, height) in pixels, then light in others."""
    field = np.full((SIDE_PX, SIDE_PX), -2.0, np.float32)
    for value, boxes in ((3.0, dark_boxes), (-2.0, light)):
        for left, top, width, height in boxes:
            field[top : top + height, left : left + width] = value
    return Mask(field, PIXEL_MM, 4, 7)


def cleaned(given: Mask, keep: np.ndarray | None = None) -> Mask:
    none = np.zeros(given.field.shape, bool)
    return without_chips(given, detail_mm=0.8, keep=none if keep is None else keep)


SHADOW = (20, 20, 60, 60)


def test_a_lone_chip_under_2_mm_goes_and_is_counted():
    left = cleaned(design((50, 50, 9, 9)))
    assert not (left.field > 0).any()
    assert (left.specks_removed, left.pinholes_filled) == (5, 7)


def test_on_a_small_plaque_a_chip_is_smaller():
    """A hundredth of 100 mm is 1 mm, five pixels."""
    eyes = np.full((500, 400), -2.0, np.float32)
    eyes[100:104, 100:104] = eyes[200:205, 200:205] = 3.0
    left = cleaned(Mask(eyes, PIXEL_MM, 0, 0))
    assert left.specks_removed == 1
    assert (left.field[200:205, 200:205] == 3.0).all()


@pytest.mark.parametrize("box", [(50, 50, 10, 4), (50, 50, 4, 10)])
def test_what_is_2_mm_long_stays(box):
    given = design(box)
    assert np.array_equal(cleaned(given).field, given.field)


def test_a_chip_near_another_shadow_stays_and_goes_past_2_mm():
    near, far = (design((20, 20, 30, 30), (50 + gap, 30, 8, 8)) for gap in (9, 10))
    assert np.array_equal(cleaned(near).field, near.field)
    assert cleaned(far).specks_removed == 5
    assert np.array_equal(cleaned(far).field > 0, design((20, 20, 30, 30)).field > 0)


def test_a_lone_chip_of_light_is_filled_by_a_change_of_sign():
    left = cleaned(design(SHADOW, light=((45, 45, 9, 9),)))
    assert np.array_equal(left.field > 0, design(SHADOW).field > 0)
    assert left.field[50, 50] == 2.0
    assert (left.specks_removed, left.pinholes_filled) == (4, 8)


def test_a_long_light_narrower_than_the_finest_line_is_filled_and_one_as_wide_stays():
    """Four pixels are 0.8 mm."""
    narrow, wide = (design(SHADOW, light=((30, 45, 30, pixels),)) for pixels in (3, 5))
    assert cleaned(narrow).pinholes_filled == 8
    assert np.array_equal(cleaned(wide).field, wide.field)


def test_narrow_light_on_the_border_isnt_free():
    given = design((0, 0, SIDE_PX, SIDE_PX), light=((0, 45, 30, 3),))
    assert np.array_equal(cleaned(given).field, given.field)


def test_what_must_stay_does():
    given = design((2, 2, 6, 6), SHADOW, light=((45, 45, 5, 5),))
    keep = np.zeros(given.field.shape, bool)
    keep[5, 5] = keep[47, 47] = True
    assert np.array_equal(cleaned(given, keep).field, given.field)
    assert cleaned(given).specks_removed == 5
    assert cleaned(given).pinholes_filled == 8


@pytest.mark.parametrize("value", [-2.0, 3.0])
def test_one_tone_stays(value):
    given = Mask(np.full((50, 50), value, np.float32), PIXEL_MM, 0, 0)
    assert np.array_equal(cleaned(given).field, given.field)
