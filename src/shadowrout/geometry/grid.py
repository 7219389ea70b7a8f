"""Square pixels over an upright box, and how much of each a region covers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats, Indices, spread
from shadowrout.geometry.region import Box, Region

_LINES_A_PIXEL = 8
"""Lines across each row of pixels that are looked at: an edge along the row is placed to a sixteenth of a pixel."""


@dataclass(frozen=True)
class Grid:
    """Pixels of side ``pixel_mm`` whose first row lies along the top of ``box``; y points up, rows go down.

    The box is covered whole: the last column and row may reach past it by less than a pixel.
    """

    box: Box
    pixel_mm: float

    def __post_init__(self) -> None:
        x0, y0, x1, y1 = self.box
        if not (x0 < x1 and y0 < y1 and self.pixel_mm > 0):
            raise ValueError(f"expected a box with x0 < x1 and y0 < y1 and a positive pixel, got {self}")

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        x0, y0, x1, y1 = self.box
        return math.ceil((y1 - y0) / self.pixel_mm - 1e-9), math.ceil((x1 - x0) / self.pixel_mm - 1e-9)

    def place(self, row: float, column: float) -> tuple[float, float]:
        """Return x and y of a pixel's centre."""
        return self.box[0] + (column + 0.5) * self.pixel_mm, self.box[3] - (row + 0.5) * self.pixel_mm

    def places(self, mask: Flags) -> Floats:
        """Return x and y of the centres of a mask's pixels, shape (n, 2), row by row."""
        rows, columns = np.nonzero(mask)
        x, y = self.box[0] + (columns + 0.5) * self.pixel_mm, self.box[3] - (rows + 0.5) * self.pixel_mm
        return np.column_stack([x, y])

    def pixel(self, x: float, y: float) -> tuple[int, int]:
        """Return row and column of the pixel that holds a point; outside the grid for a point outside."""
        return math.floor((self.box[3] - y) / self.pixel_mm), math.floor((x - self.box[0]) / self.pixel_mm)

    def covered(self, region: Region) -> NDArray[np.float32]:
        """Return the share of each pixel that lies in the region, 0 to 1, shape ``shape``.

        Exact along the rows, sampled on eight lines a pixel across them: each crossing of a line with a ring
        adds what lies right of it, minus where the ring runs the other way (signed area under an edge).
        """
        rows, columns = self.shape
        rings = region.rings()
        if not rings:
            return np.zeros((rows, columns), dtype=np.float32)
        line, x, sign = self._crossings(rings)
        row = line // _LINES_A_PIXEL
        column = np.floor(x).astype(np.intp)
        share = x - column
        flat = row * (columns + 2)
        total = np.bincount(
            np.concatenate([flat + column, flat + column + 1]),
            np.concatenate([sign * (1 - share), sign * share]) / _LINES_A_PIXEL,
            minlength=rows * (columns + 2),
        )
        sums = total.reshape(rows, columns + 2)
        np.cumsum(sums, axis=1, out=sums)  # in place, since there may be tens of millions
        return np.clip(sums[:, :columns], 0, 1, out=np.empty((rows, columns), np.float32), casting="same_kind")

    def _crossings(self, rings: list[Points]) -> tuple[Indices, Floats, NDArray[np.int8]]:
        """Return line number, place along it in pixels and direction of every crossing of a ring with a line."""
        rows, columns = self.shape
        a = np.vstack(rings)
        b = np.vstack([np.roll(ring, -1, axis=0) for ring in rings])
        per_line = self.pixel_mm / _LINES_A_PIXEL
        ya, yb = (self.box[3] - a[:, 1]) / per_line - 0.5, (self.box[3] - b[:, 1]) / per_line - 0.5
        first = np.clip(np.ceil(np.minimum(ya, yb)), 0, rows * _LINES_A_PIXEL).astype(np.intp)
        last = np.clip(np.ceil(np.maximum(ya, yb)), 0, rows * _LINES_A_PIXEL).astype(np.intp)
        counts = last - first
        edge, number = spread(counts)
        line = number + first[edge]
        share = (line - ya[edge]) / (yb - ya)[edge]
        x = (a[edge, 0] + share * (b - a)[edge, 0] - self.box[0]) / self.pixel_mm
        sign = np.where(yb > ya, 1, -1).astype(np.int8)[edge]
        return line, np.clip(x, 0, columns), sign
