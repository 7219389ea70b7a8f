"""What a V line is worth to the picture: how long its darkness lasts over scales, summed over its pixels.

A dark spot or line answers to a difference of Gaussians of about its own width and keeps answering to wider ones the
more it stands out from what is around it; that lifetime over scales tells what counts in a picture (T. Lindeberg,
"Detecting salient blob-like image structures and their scales with a scale-space primal sketch", 1993).
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.grid import Grid

SIGMAS_MM = (0.4, 0.8, 1.6, 3.2, 6.4)
"""Octaves from half the finest line to what is seen across a room (a judgement)."""

RATIO = 1.6
"""The wider Gaussian of each difference over the narrower: close to the Laplacian of a Gaussian."""

FINE_FACTOR = 6.0
"""How much more darkness counts where a picture must keep its fine detail: 1 + 6 of it (a judgement)."""

_LEAST_SIGMA_PX = 0.3
"""Narrower Gaussians leave pixels as they are."""

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""


def lifetime(lightness: Field, *, pixel_mm: float) -> Field:
    """Return sum of max(0, G(1.6 sigma) - G(sigma)) over SIGMAS_MM, in the lightness's unit; shape (height, width).

    It is 0 where nothing is darker than what is around it.
    """
    total = np.zeros_like(lightness)
    for sigma in SIGMAS_MM:
        narrow, wide = (_blurred(lightness, each / pixel_mm) for each in (sigma, RATIO * sigma))
        total += np.maximum(wide - narrow, 0)
    return total


def worth_of_pixels(lightness: Field, fine: Field | None, *, pixel_mm: float) -> Field:
    """Return each pixel's lifetime, (1 + 6 ``fine``) times where fine detail must stay; all (height, width)."""
    worth = lifetime(lightness, pixel_mm=pixel_mm)
    return worth if fine is None else worth * (1 + np.float32(FINE_FACTOR) * fine)


def worth_of_lines(lines: Sequence[VLine], worth: Field, grid: Grid) -> NDArray[np.float64]:
    """Return the sum of ``worth`` over the pixels that each line covers, shape (n,), in the field's unit times mm2.

    It is taken in the middle of the line, and counts as far across as the line is wide there.
    """
    return np.array([_worth_of(line, worth, grid) for line in lines], dtype=np.float64)


def _worth_of(line: VLine, worth: Field, grid: Grid) -> float:
    along = np.concatenate([[0.0], np.cumsum(line.segments_mm)])
    ring = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    widths = np.append(line.width_mm, line.width_mm[:1]) if line.closed else line.width_mm
    count = max(1, int(np.ceil(along[-1] / grid.pixel_mm)))
    at = (np.arange(count) + 0.5) * along[-1] / count
    x, y, width = (np.interp(at, along, values) for values in (*ring.T, widths))
    return float((sampled(worth, grid, x, y) * width).sum() * along[-1] / count)


def sampled(field: Field, grid: Grid, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float32]:
    """Return a field's values (n,) at places in millimetres, y up; past its border those on it."""
    height, width = field.shape
    columns = np.clip(np.floor((x - grid.box[0]) / grid.pixel_mm), 0, width - 1).astype(np.intp)
    rows = np.clip(np.floor((grid.box[3] - y) / grid.pixel_mm), 0, height - 1).astype(np.intp)
    values: NDArray[np.float32] = field[rows, columns]
    return values


def _blurred(lightness: Field, sigma_px: float) -> Field:
    sigma = max(_LEAST_SIGMA_PX, sigma_px)
    blurred: Field = cv2.GaussianBlur(lightness, (0, 0), sigma, borderType=cv2.BORDER_REPLICATE).astype(np.float32)
    return blurred
