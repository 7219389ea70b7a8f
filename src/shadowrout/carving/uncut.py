"""How much of the shadow neither a cutter nor the V tool reaches, counted on a raster."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shadowrout.carving.canvas import PIXEL_MM, Canvas
from shadowrout.carving.pockets import Pocket, reached
from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.region import Region

NEAR_MM = 0.15
"""Shadow this close to a cut counts as cut: less shows on wood."""


def uncut_mm2(shadow: Region, pockets: Sequence[Pocket], v_lines: Sequence[VLine]) -> float:
    """Return the area of shadow further than 0.15 mm from every cut, 0 for an empty shadow or one under 0.1 mm wide.

    The wood of a pocket's finishing allowance counts as cut. OpenCV fills half a pixel beyond every edge, so
    all is drawn that much smaller.
    """
    core = shadow.offset(-PIXEL_MM / 2, error=PIXEL_MM / 10)
    if core.is_empty:
        return 0.0
    canvas = Canvas(core)
    beyond_mm = NEAR_MM - PIXEL_MM / 2
    canvas.paint(core, 1)
    canvas.paint(reached(pockets, beyond_mm=beyond_mm), 0)
    canvas.sweep(v_lines, beyond_mm, 0)
    return float(np.count_nonzero(canvas.pixels)) * PIXEL_MM**2
