"""How much of the shadow neither a cutter nor the V tool reaches, counted on a raster."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region
from shadowrout.plan.pockets import Pocket, reached
from shadowrout.plan.v_lines import VLine

NEAR_MM = 0.15
"""Shadow this close to a cut counts as cut: less shows on wood."""

PIXEL_MM = 0.1

_SHIFT = 8
"""Binary places of the sub-pixel coordinates given to OpenCV."""


def uncut_mm2(shadow: Region, pockets: Sequence[Pocket], v_lines: Sequence[VLine]) -> float:
    """Return the area of shadow further than 0.15 mm from every cut, 0 for an empty shadow or one under 0.1 mm wide.

    The wood of a pocket's finishing allowance counts as cut. OpenCV fills half a pixel beyond every edge, so
    all is drawn that much smaller.
    """
    core = shadow.offset(-PIXEL_MM / 2, error=PIXEL_MM / 10)
    if core.is_empty:
        return 0.0
    canvas = _Canvas(core)
    beyond_mm = NEAR_MM - PIXEL_MM / 2
    canvas.paint(core, 1)
    canvas.paint(reached(pockets, beyond_mm=beyond_mm), 0)
    for line in v_lines:
        canvas.sweep(line, beyond_mm, 0)
    return float(np.count_nonzero(canvas.pixels)) * PIXEL_MM**2


class _Canvas:
    """A raster over a region's box: pixel (0, 0) is centred on the box's lower left corner, y up."""

    def __init__(self, region: Region) -> None:
        x0, y0, x1, y1 = region.bounds
        self._corner = np.array([x0, y0])
        size = np.ceil((np.array([x1, y1]) - self._corner) / PIXEL_MM).astype(int) + 1
        self.pixels: NDArray[np.uint8] = np.zeros(size[::-1], dtype=np.uint8)

    def paint(self, region: Region, value: int) -> None:
        rings = [self._fixed(ring) for ring in region.rings()]
        if rings:
            cv2.fillPoly(self.pixels, rings, value, shift=_SHIFT)

    def sweep(self, line: VLine, beyond_mm: float, value: int) -> None:
        """Paint what the line cuts at the sanded face: a disc at each point, a strip along each piece."""
        radii = line.width_mm / 2 + beyond_mm
        for centre, radius in zip(self._fixed(line.points).tolist(), self._fixed_lengths(radii), strict=True):
            cv2.circle(self.pixels, centre, radius, value, thickness=-1, shift=_SHIFT)
        nxt = np.roll(np.arange(len(radii)), -1)[: len(line.segments_mm)]
        here = np.arange(len(nxt))
        way = line.points[nxt] - line.points[here]
        across = np.column_stack([-way[:, 1], way[:, 0]]) / np.maximum(line.segments_mm, 1e-12)[:, None]
        corners = [
            line.points[i] + sign * across * radii[i][:, None]
            for i, sign in ((here, 1), (nxt, 1), (nxt, -1), (here, -1))
        ]
        for strip in self._fixed(np.stack(corners, axis=1)):
            cv2.fillConvexPoly(self.pixels, strip, value, shift=_SHIFT)

    def _fixed(self, points: Points) -> NDArray[np.int32]:
        fixed: NDArray[np.int32] = np.round((points - self._corner) / PIXEL_MM * 2**_SHIFT).astype(np.int32)
        return fixed

    def _fixed_lengths(self, lengths: NDArray[np.float64]) -> list[int]:
        whole: list[int] = np.round(lengths / PIXEL_MM * 2**_SHIFT).astype(int).tolist()
        return whole
