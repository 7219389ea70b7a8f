"""Dark is what is darker than a level: one for the whole picture, or one that follows the light.

One level is Otsu's by default: A Threshold Selection Method from Gray-Level Histograms, IEEE Transactions on Systems,
Man, and Cybernetics, 1979. One that follows the light is that of Sauvola and Pietikainen, Adaptive document image
binarization, Pattern Recognition 33, 2000: T = m (1 + k (s / R - 1)), with the mean m and the standard deviation s of a
window around each pixel.
"""

from __future__ import annotations

import cv2
import numpy as np

from shadowrout.design.tone.fields import Field, blurred

WEIGHT = 0.2
"""k of the formula, as scikit-image's ``threshold_sauvola`` has it by default."""
DEVIATION_RANGE = 50.0
"""R of the formula: half the range of CIE L*."""


def darkness(lightness: Field, *, smoothing_px: float) -> Field:
    """Return how dark each pixel is: the smoothed CIE L*, negated; shape (height, width)."""
    return -blurred(lightness, smoothing_px)


def threshold(values: Field, *, window_px: int, weight: float, deviation_range: float) -> Field:
    """Return Sauvola's level for each pixel, shape (height, width), from a square window of odd side.

    The border is mirrored. Values are in any unit, ``deviation_range`` (R of the formula) in the same.
    """
    middle = np.float32(values.mean())
    shifted = values - middle  # keeps the squares small, where float32 would lose digits
    size = (window_px, window_px)
    mean = cv2.boxFilter(shifted, cv2.CV_32F, size, borderType=cv2.BORDER_REFLECT_101)
    square = cv2.sqrBoxFilter(shifted, cv2.CV_32F, size, borderType=cv2.BORDER_REFLECT_101)
    deviation = np.sqrt(np.maximum(square - mean * mean, 0))
    level = (mean + middle) * (1 + weight * (deviation / deviation_range - 1))
    return level.astype(np.float32)


def darkness_by_surroundings(lightness: Field, *, window_px: float, smoothing_px: float) -> Field:
    """Return how much darker each pixel is than its own level, in CIE L*; shape (height, width)."""
    smooth = blurred(lightness, smoothing_px)
    odd = 2 * max(1, round((window_px - 1) / 2)) + 1
    return threshold(smooth, window_px=odd, weight=WEIGHT, deviation_range=DEVIATION_RANGE) - smooth
