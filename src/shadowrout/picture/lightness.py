"""CIE lightness of sRGB colours."""

from __future__ import annotations

from functools import cache
from typing import Any, cast

import cv2
import numpy as np
from numpy.typing import NDArray

# Y of sRGB's primaries for white = 1: IEC 61966-2-1, the matrix's middle row.
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)

_BAND_PX = 1 << 16  # small enough for a processor's cache: several times faster than 1 << 20

Colours = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.floating]


def lightness_of(rgb: Colours) -> NDArray[np.float32]:
    """Return CIE L*, 0 for black to 100 for white, of sRGB colours.

    ``rgb``: shape (height, width, 3), uint8, uint16 or floats from 0 to 1 (clipped to it). Gives shape (height,
    width), float32, within 0.01 of the exact value. The transfer curve and luminance are those of IEC
    61966-2-1, lightness that of CIE 1976 (CIE 15), against sRGB's own white. Raises ValueError for another shape
    or type. An empty picture gives an empty array.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3:
        raise ValueError(f"expected colours of shape (height, width, 3), got {rgb.shape}")
    lightness = np.empty(rgb.shape[:2], dtype=np.float32)
    rows = max(1, _BAND_PX // max(1, rgb.shape[1]))
    for top in range(0, rgb.shape[0] if rgb.size else 0, rows):
        band = cast(Colours, np.ascontiguousarray(rgb[top : top + rows]))
        lightness[top : top + rows] = _lightness_of_luminance(_floats(cv2.transform(_linear(band), _LUMINANCE[None])))
    return lightness


def _linear(rgb: Colours) -> NDArray[np.float32]:
    if rgb.dtype == np.uint8:
        return _floats(cv2.LUT(rgb, _linear_of_bytes()))
    if rgb.dtype == np.uint16:
        return _decoded(rgb.astype(np.float32) / 65535)
    if np.issubdtype(rgb.dtype, np.floating):
        return _decoded(np.clip(rgb.astype(np.float32), 0, 1))
    raise ValueError(f"expected colours of type uint8, uint16 or float, got {rgb.dtype}")


@cache
def _linear_of_bytes() -> NDArray[np.float32]:
    return _decoded(np.arange(256, dtype=np.float64) / 255)


def _decoded(encoded: NDArray[np.floating]) -> NDArray[np.float32]:
    """Return light for sRGB's encoded values, both 0..1 (IEC 61966-2-1)."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4).astype(np.float32)


def _lightness_of_luminance(luminance: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return L* = 116 f(Y) - 16, with f the cube root above (6/29)^3 and a line below (CIE 1976)."""
    root = _floats(cv2.pow(luminance, 1 / 3)).reshape(luminance.shape)
    curve = np.float32(116) * root - np.float32(16)
    line = np.float32((29 / 3) ** 3) * luminance
    return np.where(luminance > (6 / 29) ** 3, curve, line)


def _floats(values: Any) -> NDArray[np.float32]:
    """Return OpenCV's result as the type that it has."""
    return np.asarray(values, dtype=np.float32)
