"""Specks, pinholes and touch-up, judged in square millimetres."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from skimage.measure import label

from shadowrout.design.mask import Mask, clean
from shadowrout.design.tone.choosing import Tone


def tone_of(dark: np.ndarray, pixel_mm: float = 0.5) -> Tone:
    return Tone(np.where(dark, 1, -1).astype(np.float32), pixel_mm, "two-tone")


def cleaned(dark: np.ndarray, speck_mm2: float = 0.0, pinhole_mm2: float = 0.0, **options: object) -> Mask:
    return clean(tone_of(dark), least_speck_mm2=speck_mm2, least_pinhole_mm2=pinhole_mm2, **options)


def board() -> np.ndarray:
    """Return a 4 x 5 px speck, a 20 x 20 px square with a 2 x 3 px hole, on 40 x 60 px; pixels of 0.25 mm2."""
    dark = np.zeros((40, 60), dtype=bool)
    dark[3:7, 3:8] = True
    dark[12:32, 12:32] = True
    dark[20:22, 20:23] = False
    return dark


@pytest.mark.parametrize(("least_mm2", "removed"), [(4.9, 0), (5.0, 0), (5.1, 1)])
def test_specks_go_below_their_area(least_mm2: float, removed: int):
    """20 pixels of 0.25 mm2 are 5 mm2."""
    mask = cleaned(board(), speck_mm2=least_mm2)
    assert mask.specks_removed == removed
    assert (mask.field[3:7, 3:8] > 0).all() == (removed == 0)


@pytest.mark.parametrize(("least_mm2", "filled"), [(1.5, 0), (1.6, 1)])
def test_pinholes_fill_below_their_area(least_mm2: float, filled: int):
    mask = cleaned(board(), pinhole_mm2=least_mm2)
    assert mask.pinholes_filled == filled
    assert (mask.field[20:22, 20:23] > 0).all() == (filled == 1)


def test_zero_level_elsewhere_stays_to_the_last_digit():
    field = np.random.default_rng(1).normal(size=(50, 50)).astype(np.float32)
    mask = clean(Tone(field, 0.1, "keep-lines"), least_speck_mm2=0.05, least_pinhole_mm2=0.05)
    assert mask.specks_removed > 0
    assert (np.abs(mask.field) == np.abs(field)).all()


def test_dark_share_counts_pixels():
    assert cleaned(board()).dark_share == pytest.approx((20 + 400 - 6) / 2400)


def test_touch_up_adds_and_removes():
    touch_up = np.zeros((40, 60), dtype=np.float32)
    touch_up[30:38, 40:55] = 1
    touch_up[12:20, 12:32] = -1
    mask = cleaned(board(), touch_up=touch_up)
    assert (mask.field[30:38, 40:55] > 0).all()
    assert (mask.field[12:20, 12:32] < 0).all()
    assert (mask.field[23:32, 12:32] > 0).all()


def test_touch_up_is_no_speck_and_no_pinhole():
    touch_up = np.zeros((40, 60), dtype=np.float32)
    touch_up[5, 50] = 1
    touch_up[15, 15] = -1
    mask = cleaned(board(), speck_mm2=6, pinhole_mm2=6, touch_up=touch_up)
    assert mask.field[5, 50] > 0
    assert mask.field[15, 15] < 0
    assert mask.specks_removed == 1  # the speck beside it still goes
    assert mask.pinholes_filled == 1


@pytest.mark.parametrize("strength", [1.0, 30.0])
@pytest.mark.parametrize("adds", [True, False])
def test_soft_touch_up_edge_lies_at_one_half(strength: float, adds: bool):
    """Coverage .25 and .75 either side of column 30: half is crossed there, however strong the field is."""
    sign = 1 if adds else -1
    field = np.full((20, 60), -sign * strength, dtype=np.float32)
    field[:, 50:] *= -1
    touch_up = np.zeros((20, 60), dtype=np.float32)
    touch_up[:, :29], touch_up[:, 29], touch_up[:, 30] = sign, sign * 0.75, sign * 0.25
    line = cleaned_line(field, touch_up)
    left, right = line[29], line[30]
    assert 29.5 + left / (left - right) == pytest.approx(30.0, abs=1e-5)


def cleaned_line(field: np.ndarray, touch_up: np.ndarray) -> np.ndarray:
    mask = clean(Tone(field, 0.1, "two-tone"), least_speck_mm2=0, least_pinhole_mm2=0, touch_up=touch_up)
    return mask.field[10].astype(np.float64)


def test_touch_up_of_another_shape_is_refused():
    with pytest.raises(ValueError, match="expected shape"):
        cleaned(board(), touch_up=np.zeros((4, 4), dtype=np.float32))


@settings(max_examples=60, deadline=None)
@given(arrays(np.bool_, (12, 15)), st.integers(1, 12))
def test_what_is_left_is_as_scikit_image_labels_it(dark: np.ndarray, least_px: int):
    """Shadows are 8-connected and light parts 4-connected, so that one separates the other."""
    mask = cleaned(dark, speck_mm2=least_px * 0.25, pinhole_mm2=least_px * 0.25)
    parts = label(dark, connectivity=2)
    sizes = np.bincount(parts.ravel())[1:]
    assert mask.specks_removed == np.count_nonzero(sizes < least_px)
    holes = np.bincount(label(mask.field <= 0, connectivity=1).ravel())[1:]
    assert (holes >= least_px).all()
