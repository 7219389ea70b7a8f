"""Texture goes and contours stay: the papers' formulas on fields whose result is known."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import skimage.data

from shadowrout.design.tone.fields import blurred
from shadowrout.design.tone.rolling_guidance import joint_bilateral, rolling_guidance


def test_the_first_round_of_a_dot_is_its_gaussian():
    """Zhang and others 2014: with a flat guide the first round is the Gaussian, whose peak is 1 / (2 pi s^2)."""
    dot = np.zeros((61, 61), np.float32)
    dot[30, 30] = 1
    assert joint_bilateral(dot, np.zeros_like(dot), sigma_px=3, range_sigma=0.1)[30, 30] == pytest.approx(
        1 / (2 * np.pi * 9), rel=2e-3
    )
    assert blurred(dot, 3)[30, 30] == pytest.approx(0.017684, abs=1e-5)


@pytest.mark.parametrize("sigma_px", [2.0, 4.0, 6.0])
def test_a_step_keeps_its_place_and_its_height(sigma_px):
    step = np.full((80, 160), 20, np.float32)
    step[:, 80:] = 70
    row = rolling_guidance(step, sigma_px=sigma_px, range_sigma=4 + 2 * sigma_px)[40]
    assert np.interp(45, row, np.arange(160)) == pytest.approx(79.5, abs=0.1)
    assert row[10] == pytest.approx(20, abs=0.1)
    assert row[-10] == pytest.approx(70, abs=0.1)


@pytest.mark.parametrize("sigma_px", [2.0, 4.0, 6.0])
@pytest.mark.parametrize("periods", [1.5, 2.0])
def test_texture_of_a_period_under_twice_the_scale_is_gone(sigma_px, periods):
    wave = 50 + 15 * np.sin(2 * np.pi * np.arange(240) / (periods * sigma_px))
    texture = np.tile(wave.astype(np.float32), (80, 1))
    left = rolling_guidance(texture, sigma_px=sigma_px, range_sigma=4 + 2 * sigma_px)
    assert np.ptp(left[:, 40:200]) < 0.05 * np.ptp(texture)


def test_the_filter_by_levels_agrees_with_the_direct_one():
    """Reference: OpenCV's ``bilateralFilter``, which sums over every pixel in a window."""
    picture = (skimage.data.camera()[::2, ::2] / 255 * 100).astype(np.float32)
    direct = cv2.bilateralFilter(picture, 25, 8, 2, borderType=cv2.BORDER_REFLECT)
    apart = np.abs(joint_bilateral(picture, picture, sigma_px=2, range_sigma=8) - direct)
    assert apart.mean() < 0.05
    assert np.percentile(apart, 99) < 0.5


def test_a_wide_filter_on_coarser_pixels_agrees_too():
    picture = (skimage.data.camera()[::2, ::2] / 255 * 100).astype(np.float32)
    smooth = blurred(picture, 3)
    direct = cv2.bilateralFilter(smooth, 49, 16, 8, borderType=cv2.BORDER_REFLECT)
    assert np.abs(joint_bilateral(smooth, smooth, sigma_px=8, range_sigma=16) - direct).mean() < 0.3


def test_a_constant_stays():
    flat = np.full((30, 40), 33, np.float32)
    assert rolling_guidance(flat, sigma_px=4, range_sigma=12) == pytest.approx(flat)
