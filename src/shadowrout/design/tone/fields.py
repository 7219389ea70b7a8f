"""Fields of values, one a pixel: blurred, and on other pixels."""

from __future__ import annotations

from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""


def blurred(values: Field, sigma_px: float) -> Field:
    """Return the Gaussian mean of ``values`` with a mirrored border; below a fifth of a pixel, ``values`` itself."""
    if sigma_px < 0.2:
        return values
    return cast(Field, cv2.GaussianBlur(values, (0, 0), sigma_px, borderType=cv2.BORDER_REFLECT))


def resized(values: Field, width: int, height: int) -> Field:
    """Return the field on other pixels of the same area: area means where fewer, cubic interpolation where more."""
    fewer = width * height < values.size
    way = cv2.INTER_AREA if fewer else cv2.INTER_CUBIC
    return cast(Field, cv2.resize(values, (width, height), interpolation=way))


def looked_at(lightness: Field, long_side_px: int) -> Field:
    """Return the field reduced so that its longer side is ``long_side_px``, never enlarged."""
    height, width = lightness.shape
    scale = long_side_px / max(height, width)
    if scale >= 1:
        return lightness
    return resized(lightness, max(1, round(width * scale)), max(1, round(height * scale)))
