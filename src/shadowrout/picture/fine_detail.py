"""Where a picture must keep its fine detail: faces that are found, and boxes that a person drew."""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.picture.upright import Crop

SOFT_EDGE = 0.08
"""Sigma of a box's edge over its width: what changes there within a narrower band shows as a seam."""


def in_crop(box: Crop, crop: Crop) -> Crop:
    """Return a box of the whole picture in shares of the cropped one; it may reach past it."""
    left, top, right, bottom = crop
    width, height = right - left, bottom - top
    return ((box[0] - left) / width, (box[1] - top) / height, (box[2] - left) / width, (box[3] - top) / height)


def fine_detail(boxes: Iterable[Crop], shape: tuple[int, int]) -> NDArray[np.float32] | None:
    """Return how much of its detail each pixel must keep, shape (height, width), from 0 to 1; None without a box.

    ``boxes`` are in shares of the picture and may reach past it.
    """
    kept = [_softened(box, shape) for box in boxes]
    return cast(NDArray[np.float32], np.max(kept, axis=0)) if kept else None


def _softened(box: Crop, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Return one box as 1 inside and 0 outside, its edge a Gaussian's; a side on the picture's border is none."""
    height, width = shape
    columns, rows = (np.arange(side, dtype=np.float32) + 0.5 for side in (width, height))
    inside = ((columns > box[0] * width) & (columns < box[2] * width))[None, :] & (
        (rows > box[1] * height) & (rows < box[3] * height)
    )[:, None]
    sigma_px = SOFT_EDGE * (box[2] - box[0]) * width
    painted = inside.astype(np.float32)
    if sigma_px < 0.2:
        return painted
    return cast(NDArray[np.float32], cv2.GaussianBlur(painted, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE))
