"""Regions as pixels: which pixel centres closed curves enclose, and distances from them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples
from shadowrout.check.drawing_file import Box

_LARGEST_DISC_PX = 20.0
"""Drawing a disc of this radius about every pixel takes as long as measuring all distances."""


@dataclass(frozen=True)
class Raster:
    """Square pixels over a box. Row 0 is the lowest; the centre of pixel (0, 0) is half a pixel from the corner."""

    x0: float
    y0: float
    pixel_mm: float
    rows: int
    columns: int

    @classmethod
    def over(cls, box: Box, *, pixel_mm: float, most_pixels: int, pad_mm: float = 0.0) -> Raster:
        """Return a raster over the box grown by ``pad_mm``, its pixels larger where there would be too many."""
        x0, y0, x1, y1 = box[0] - pad_mm, box[1] - pad_mm, box[2] + pad_mm, box[3] + pad_mm
        pixel = max(pixel_mm, float(np.sqrt((x1 - x0) * (y1 - y0) / most_pixels)))
        return cls(x0, y0, pixel, int(np.ceil((y1 - y0) / pixel)) + 2, int(np.ceil((x1 - x0) / pixel)) + 2)

    def centres(self, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> Points:
        """Return the middles of pixels."""
        return np.column_stack([self.x0 + (columns + 0.5) * self.pixel_mm, self.y0 + (rows + 0.5) * self.pixel_mm])

    def enclosed(self, samples: Samples) -> NDArray[np.bool_]:
        """Return whether an odd number of the closed curves is around each pixel's centre.

        Every crossing of a segment with a row's middle line flips the pixels to its right: the crossings are
        counted at the first centre beyond them, and a running sum along the row does the rest.
        """
        a, b, _ = samples.segments
        low = np.where((a[:, 1] <= b[:, 1])[:, None], a, b)
        high = np.where((a[:, 1] <= b[:, 1])[:, None], b, a)
        first = np.clip(np.ceil((low[:, 1] - self.y0) / self.pixel_mm - 0.5), 0, self.rows).astype(np.intp)
        stop = np.clip(np.ceil((high[:, 1] - self.y0) / self.pixel_mm - 0.5), 0, self.rows).astype(np.intp)
        counts = stop - first
        segment = np.repeat(np.arange(len(counts)), counts)
        row = np.arange(len(segment)) - np.repeat(np.cumsum(counts) - counts, counts) + first[segment]
        y = self.y0 + (row + 0.5) * self.pixel_mm
        start, end = low[segment], high[segment]
        x = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / (end[:, 1] - start[:, 1])
        column = np.clip(np.ceil((x - self.x0) / self.pixel_mm - 0.5), 0, self.columns).astype(np.intp)
        flips = np.zeros((self.rows, self.columns + 1), dtype=np.uint8)
        np.bitwise_xor.at(flips, (row, column), 1)
        inside: NDArray[np.bool_] = np.bitwise_xor.accumulate(flips[:, :-1], axis=1).astype(bool)
        return inside

    def discs(self, points: Points, radii_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return which pixel centres lie in any of the discs about points (n, 2); one of no radius holds none.

        Each disc is a run of pixels on every row that it crosses. The starts and ends of all runs are counted, and a
        running sum along the row does the rest.
        """
        low = np.ceil((points[:, 1] - radii_mm - self.y0) / self.pixel_mm - 0.5)
        high = np.floor((points[:, 1] + radii_mm - self.y0) / self.pixel_mm - 0.5) + 1
        first, stop = (np.clip(side, 0, self.rows).astype(np.intp) for side in (low, high))
        counts = np.where(radii_mm > 0, np.maximum(stop - first, 0), 0)
        disc = np.repeat(np.arange(len(counts)), counts)
        row = np.arange(len(disc)) - np.repeat(np.cumsum(counts) - counts, counts) + first[disc]
        up = self.y0 + (row + 0.5) * self.pixel_mm - points[disc, 1]
        half = np.sqrt(np.maximum(radii_mm[disc] ** 2 - up**2, 0.0))
        left = np.ceil((points[disc, 0] - half - self.x0) / self.pixel_mm - 0.5)
        right = np.floor((points[disc, 0] + half - self.x0) / self.pixel_mm - 0.5) + 1
        begins, ends = (row * (self.columns + 1) + np.clip(x, 0, self.columns).astype(np.intp) for x in (left, right))
        some, size = ends > begins, self.rows * (self.columns + 1)
        runs = np.bincount(begins[some], minlength=size) - np.bincount(ends[some], minlength=size)
        inside: NDArray[np.bool_] = np.cumsum(runs.reshape(self.rows, -1), axis=1)[:, :-1] > 0
        return inside

    def touched(self, points: Points) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return rows and columns of the pixels that hold the points; points off the raster are left out."""
        columns = np.floor((points[:, 0] - self.x0) / self.pixel_mm).astype(np.intp)
        rows = np.floor((points[:, 1] - self.y0) / self.pixel_mm).astype(np.intp)
        on = (rows >= 0) & (rows < self.rows) & (columns >= 0) & (columns < self.columns)
        return rows[on], columns[on]


def distance_px(mask: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return each pixel's distance to the nearest pixel of the mask, centre to centre, in pixels; 0 within it.

    Felzenszwalb and Huttenlocher's exact transform, as OpenCV does it. Infinite where the mask is empty.
    """
    if not mask.any():
        return np.full(mask.shape, np.inf, dtype=np.float32)
    distances = cv2.distanceTransform((~mask).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(distances, dtype=np.float32)


def within_px(mask: NDArray[np.bool_], reach_px: float) -> NDArray[np.bool_]:
    """Return which pixels lie within ``reach_px`` of one of the mask, centre to centre; none where that is empty."""
    if not 0 <= reach_px <= _LARGEST_DISC_PX:
        return distance_px(mask) <= reach_px
    steps = np.arange(-math.floor(reach_px), math.floor(reach_px) + 1)
    disc = np.hypot(steps[:, None], steps) <= reach_px
    return cv2.dilate(mask.view(np.uint8), disc.view(np.uint8)).view(np.bool_)


def grown_by_one(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the pixels of the mask and their eight neighbours."""
    return cv2.dilate(mask.view(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
