"""The picture as the later rooms see it, and the same picture at another resolution."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeVar, cast

import cv2
import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.uint8] | NDArray[np.float32]
"""Pixels: bytes from 0 to 255, or floats."""

AnySamples = TypeVar("AnySamples", bound=Samples)


@dataclass(frozen=True, eq=False)
class Photo:
    """An upright, cropped picture at a working resolution.

    ``lightness``: shape (height, width), float32, CIE L* from 0 to 100, rows downwards. ``colour``: shape
    (height, width, 3), uint8 sRGB, the same pixels. ``full_width_px`` and ``full_height_px``: the size that the
    upright, cropped picture has in its file. ``notes``: what had to be assumed to read it, a sentence each. ``fine``:
    shape (height, width), from 0 to 1, how much of its fine detail each pixel must keep; None where none need.
    ``ground``: "light" or "dark", what was laid behind its transparent parts; empty where it has none.
    """

    lightness: NDArray[np.float32]
    colour: NDArray[np.uint8]
    full_width_px: int
    full_height_px: int
    notes: tuple[str, ...] = ()
    ground: Literal["light", "dark", ""] = ""
    fine: NDArray[np.float32] | None = None

    @property
    def aspect(self) -> float:
        """Width over height, of the picture in its file."""
        return self.full_width_px / self.full_height_px


def resampled(photo: Photo, *, width_px: int, height_px: int) -> Photo:
    """Return the picture at ``width_px`` x ``height_px``, both at least 1; the full size stays as it was.

    Each axis is averaged over areas where it gets smaller and interpolated cubically where it gets larger.
    """
    if width_px < 1 or height_px < 1:
        raise ValueError(f"a picture needs at least 1 x 1 pixel, got {width_px} x {height_px}")
    lightness = resized(photo.lightness, width_px=width_px, height_px=height_px)
    return replace(
        photo,
        lightness=np.clip(lightness, 0, 100),  # cubic interpolation overshoots at edges
        colour=resized(photo.colour, width_px=width_px, height_px=height_px),
        fine=None if photo.fine is None else np.clip(resized(photo.fine, width_px=width_px, height_px=height_px), 0, 1),
    )


def resized(values: AnySamples, *, width_px: int, height_px: int) -> AnySamples:
    """Return ``values``, shape (h, w) or (h, w, c), c up to 4, at another size; one axis after the other."""
    return _resized_rows(_resized_columns(values, width_px), height_px)


def _resized_columns(values: AnySamples, width_px: int) -> AnySamples:
    height, width = values.shape[:2]
    return values if width_px == width else _resized_once(values, (width_px, height), shrinks=width_px < width)


def _resized_rows(values: AnySamples, height_px: int) -> AnySamples:
    height, width = values.shape[:2]
    return values if height_px == height else _resized_once(values, (width, height_px), shrinks=height_px < height)


def _resized_once(values: AnySamples, size_px: tuple[int, int], *, shrinks: bool) -> AnySamples:
    method = cv2.INTER_AREA if shrinks else cv2.INTER_CUBIC
    out = cv2.resize(values, size_px, interpolation=method)
    return cast(AnySamples, out.reshape(out.shape[:2] + values.shape[2:]))  # OpenCV drops an axis of length 1
