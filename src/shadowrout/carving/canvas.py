"""A fine raster over a region's box, for questions that need no more than 0.1 mm."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.cut_pieces import CutPieces
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region

if TYPE_CHECKING:
    from shadowrout.carving.v_lines import VLine

PIXEL_MM = 0.1
"""Finer than the 0.15 mm within which shadow counts as cut, and than anything a flow line's spacing asks."""

_SHIFT = 8
"""Binary places of the sub-pixel coordinates given to OpenCV."""

_TURNS = np.arange(24) * np.pi / 12
_DISC = np.column_stack([np.cos(_TURNS), np.sin(_TURNS)])
"""A disc as a polygon: of these OpenCV fills half a pixel beyond the edge, of its own circles less, and unevenly."""


class Canvas:
    """A raster over a region's box: pixel (0, 0) is centred on the box's lower left corner, y up.

    ``pixels`` is (height, width) uint8, all 0 at first; ``corner`` is the centre of the first in mm. OpenCV fills half
    a pixel beyond every edge. Raises ValueError for the empty region.
    """

    def __init__(self, region: Region) -> None:
        x0, y0, x1, y1 = region.bounds
        self.corner = np.array([x0, y0])
        size = np.ceil((np.array([x1, y1]) - self.corner) / PIXEL_MM).astype(int) + 1
        self.pixels: NDArray[np.uint8] = np.zeros(size[::-1], dtype=np.uint8)

    def paint(self, region: Region, value: int) -> None:
        """Fill a region."""
        rings = [self._fixed(ring) for ring in region.rings()]
        if rings:
            cv2.fillPoly(self.pixels, rings, value, shift=_SHIFT)

    def stroke(self, points: Points, width_mm: float, value: int) -> None:
        """Draw an open line (n, 2) with round ends."""
        thickness = max(1, round(width_mm / PIXEL_MM))
        cv2.polylines(self.pixels, [self._fixed(points)], False, value, thickness=thickness, shift=_SHIFT)

    def has(self, x: float, y: float) -> bool:
        """Return whether the pixel at a point in mm is painted; False beyond the raster."""
        column, row = round((x - self.corner[0]) / PIXEL_MM), round((y - self.corner[1]) / PIXEL_MM)
        height, width = self.pixels.shape
        return 0 <= row < height and 0 <= column < width and bool(self.pixels[row, column])

    def sweep(self, lines: Sequence[VLine], beyond_mm: float, value: int) -> None:
        """Paint what lines cut at the sanded face, and ``beyond_mm``: a disc a point, a strip a piece."""
        pieces = CutPieces.of(lines)
        radii = np.maximum(pieces.width_mm / 2 + beyond_mm, 0.0)
        for disc in self._fixed(pieces.points[:, None] + radii[:, None, None] * _DISC):
            cv2.fillConvexPoly(self.pixels, disc, value, shift=_SHIFT)
        way = pieces.points[pieces.there] - pieces.points[pieces.here]
        across = np.column_stack([-way[:, 1], way[:, 0]]) / np.maximum(pieces.length_mm, 1e-12)[:, None]
        corners = [
            pieces.points[i] + sign * across * radii[i][:, None]
            for i, sign in ((pieces.here, 1), (pieces.there, 1), (pieces.there, -1), (pieces.here, -1))
        ]
        for strip in self._fixed(np.stack(corners, axis=1)):
            cv2.fillConvexPoly(self.pixels, strip, value, shift=_SHIFT)

    def _fixed(self, points: Points) -> NDArray[np.int32]:
        fixed: NDArray[np.int32] = np.round((points - self.corner) / PIXEL_MM * 2**_SHIFT).astype(np.int32)
        return fixed
