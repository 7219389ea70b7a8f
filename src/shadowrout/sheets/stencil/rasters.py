"""Distances and connected parts on pixels, as the making of stencils needs them. Arrays have shape (rows, columns)."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Labels = NDArray[np.int32]
Distances = NDArray[np.float32]

_LARGEST_DISC_PX = 16.0
"""Drawing a disc of this radius about every pixel takes as long as measuring all depths."""


def depth_px(mask: Mask) -> Distances:
    """Return for each pixel of the mask how far its centre lies from the mask's edge, 0 outside; pixels.

    What lies beyond the array counts as outside. Exact to half a pixel: it is measured to the centre of the
    nearest pixel outside, less half a pixel.
    """
    padded = np.pad(mask.view(np.uint8), 1)
    whole = cv2.distanceTransform(padded, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)[1:-1, 1:-1]
    return np.asarray(np.maximum(whole - np.float32(0.5), np.float32(0)), dtype=np.float32)


def deep(mask: Mask, least_px: float) -> Mask:
    """Return where ``depth_px`` is at least so much: the mask worn back by a disc."""
    if not 0 < least_px <= _LARGEST_DISC_PX:
        return np.asarray(depth_px(mask) >= least_px)
    steps = np.arange(-math.ceil(least_px), math.ceil(least_px) + 1)
    disc = np.hypot(steps[:, None], steps).astype(np.float32) - np.float32(0.5) < np.float32(least_px)
    outside = np.pad((~mask).view(np.uint8), 1, constant_values=1)
    return np.asarray(cv2.dilate(outside, disc.view(np.uint8))[1:-1, 1:-1] == 0)


def distance_px(mask: Mask) -> Distances:
    """Return each pixel's distance to the nearest centre of a pixel of the mask; huge where the mask is empty."""
    if not mask.any():
        return np.full(mask.shape, np.float32(1e9))
    return cv2.distanceTransform((~mask).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE).astype(np.float32)


def labelled(mask: Mask, *, connectivity: int) -> tuple[int, Labels]:
    """Return how many connected parts the mask has and their numbers from 1, 0 outside; connectivity 4 or 8."""
    count, labels = cv2.connectedComponents(mask.view(np.uint8), connectivity=connectivity, ltype=cv2.CV_32S)
    return count - 1, labels.astype(np.int32, copy=False)


def neighbours(mask: Mask) -> NDArray[np.uint8]:
    """Return how many of its eight neighbours each pixel has in the mask."""
    around = np.ones((3, 3), dtype=np.uint8)
    around[1, 1] = 0
    count = cv2.filter2D(mask.view(np.uint8), -1, around, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(count, dtype=np.uint8)


def widened(mask: Mask) -> Mask:
    """Return the mask grown by one pixel to all eight sides."""
    return np.asarray(cv2.dilate(mask.view(np.uint8), np.ones((3, 3), dtype=np.uint8)) > 0)
