"""Levels and local thresholds against scikit-image and against published values."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.ndimage import gaussian_filter
from skimage.filters import threshold_otsu, threshold_sauvola

from shadowrout.design.tone.fields import blurred, resized
from shadowrout.design.tone.keep_lines import RATIO, sharpened
from shadowrout.design.tone.levels import level_at_share, otsu_level
from shadowrout.design.tone.thresholds import threshold


def test_otsu_splits_camera_at_102():
    """scikit-image's own test holds 101 < t < 103 for its camera picture."""
    assert otsu_level(skimage.data.camera().astype(np.float32)) == pytest.approx(102, abs=1.5)


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "coins", "moon", "page", "rocket"])
def test_otsu_agrees_with_scikit_image(name: str):
    picture = getattr(skimage.data, name)()
    grey = picture.mean(axis=2).round().astype(np.uint8) if picture.ndim == 3 else picture
    values = grey.astype(np.float32)
    bin_width = float(np.ptp(values)) / 256
    assert otsu_level(values) == pytest.approx(threshold_otsu(values), abs=bin_width)


@pytest.mark.parametrize(("weight", "level"), [(0.5, 120), (0.8, 118)])
def test_otsu_between_two_gaussians(weight: float, level: int):
    """Means 80 and 160, sigma 20; levels as scikit-image 0.26 gives them for these histograms."""
    grey = np.arange(256)
    low, high = (np.exp(-(((grey - mean) / 20) ** 2) / 2) for mean in (80, 160))
    counts = np.round(1e3 * (weight * low + (1 - weight) * high)).astype(np.int64)
    values = np.repeat(grey, counts).astype(np.float32)
    assert otsu_level(values) == pytest.approx(level, abs=0.5)
    # A whole grey that is the last of the darker class lies up to one below the level.
    assert otsu_level(values) == pytest.approx(threshold_otsu(hist=(counts, grey)) + 0.5, abs=1)


def test_otsu_of_two_values_lies_midway():
    values = np.array([[10, 10, 10, 30]], dtype=np.float32)
    assert otsu_level(values) == pytest.approx(20, abs=0.1)


@pytest.mark.parametrize("value", [0.0, 50.0, 100.0])
def test_otsu_refuses_one_value(value: float):
    with pytest.raises(ValueError, match="differ"):
        otsu_level(np.full((4, 4), value, dtype=np.float32))


@pytest.mark.parametrize(("weight", "level"), [(0.5, 57.8125), (0.2, 83.125)])
def test_sauvola_value(weight: float, level: float):
    """T = m (1 + k (s / R - 1)), Sauvola and Pietikainen 2000: m 100, s 20, R 128."""
    step = 20 * np.sqrt(1.5)  # any three columns in a row have mean 100 and standard deviation 20
    picture = np.tile(np.array([100 - step, 100, 100 + step], dtype=np.float32), (9, 5))
    levels = threshold(picture, window_px=3, weight=weight, deviation_range=128)
    assert levels[2:-2, 2:-2] == pytest.approx(level, abs=1e-3)


@pytest.mark.parametrize("window_px", [15, 31])
def test_sauvola_agrees_with_scikit_image(window_px: int):
    picture = skimage.data.page().astype(np.float32)
    ours = threshold(picture, window_px=window_px, weight=0.2, deviation_range=128)
    theirs = threshold_sauvola(picture, window_size=window_px, k=0.2, r=128)
    inner = slice(window_px, -window_px)
    assert ours[inner, inner] == pytest.approx(theirs[inner, inner], abs=0.02)


def test_sharpening_is_the_published_difference_of_gaussians():
    """S = (1 + p) G(sigma) - p G(k sigma), Winnemoeller et al. 2012, with scipy's Gaussians."""
    picture = skimage.data.camera().astype(np.float32)
    narrow, wide = gaussian_filter(picture, 2.0), gaussian_filter(picture, 2.0 * RATIO)
    expected = (1 + 13) * narrow - 13 * wide
    ours_narrow, ours_wide = blurred(picture, 2.0), blurred(picture, 2.0 * RATIO)
    ours = sharpened(ours_narrow, ours_narrow - ours_wide, sharpness=13, grain=0)
    assert np.abs(ours - expected).max() < 0.02 * np.ptp(expected)
    assert np.abs(ours - expected).mean() < 0.002 * np.ptp(expected)


@pytest.mark.parametrize("grain", [0.0, 0.5])
def test_sharpening_leaves_a_flat_field(grain: float):
    flat = np.full((20, 30), 37.5, dtype=np.float32)
    edges = blurred(flat, 2.0) - blurred(flat, 3.2)
    assert sharpened(flat, edges, sharpness=50, grain=grain) == pytest.approx(37.5, abs=1e-3)


def test_grain_counts_half_at_its_own_size():
    areas, edges = np.zeros((1, 1), np.float32), np.full((1, 1), 0.5, np.float32)
    assert sharpened(areas, edges, sharpness=10, grain=0.5)[0, 0] == pytest.approx(2.5)


fields = arrays(np.float32, (6, 7), elements=st.floats(-100, 100, width=32))


@given(fields, st.floats(0.01, 0.99))
def test_a_level_gives_the_nearest_share(values: np.ndarray, share: float):
    if np.ptp(values) == 0:
        with pytest.raises(ValueError, match="differ"):
            level_at_share(values, share)
        return
    exact = values.astype(np.float64)
    given = np.mean(exact > level_at_share(values, share))
    possible = [np.mean(exact >= value) for value in np.unique(exact)[1:]]
    assert abs(given - share) <= min(abs(p - share) for p in possible) + 1 / values.size


def test_a_cut_between_the_smallest_numbers_lies_between_them():
    values = np.array([[0.0, -1.4e-45, -1.4e-45]], np.float32)
    assert np.mean(values.astype(np.float64) > level_at_share(values, 0.3)) == pytest.approx(1 / 3)


def test_resizing_keeps_the_mean():
    picture = skimage.data.camera().astype(np.float32)
    assert resized(picture, 128, 128).mean() == pytest.approx(picture.mean(), abs=0.01)
    assert resized(picture, 1024, 1024).mean() == pytest.approx(picture.mean(), abs=0.1)
