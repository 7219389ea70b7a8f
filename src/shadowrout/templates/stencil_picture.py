"""A picture of a stencil that shows what was changed to hold it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.templates.stencil_values import Stencil

Colour = tuple[int, int, int]

SHEET: Colour = (255, 255, 255)
OPENING: Colour = (40, 40, 40)
DARK_LOST: Colour = (213, 94, 0)
LIGHT_LOST: Colour = (86, 180, 233)
"""Vermillion and sky blue of Okabe and Ito's palette for all kinds of colour vision (2002, revised 2008)."""


def stencil_picture(stencil: Stencil, shadow: Region, *, pixel_mm: float) -> NDArray[np.uint8]:
    """Return red, green and blue of a picture of the sheet, shape (rows, columns, 3), row 0 at the top.

    Openings are dark, the sheet white. Dark of the design that bridges and webs take shows in vermillion, light that
    became part of an opening, such as a dropped island, in sky blue.
    """
    grid = Grid(stencil.sheet, pixel_mm)
    dark, opened = grid.covered(shadow)[..., None], grid.covered(stencil.openings)[..., None]
    both = np.minimum(dark, opened)
    shares = ((SHEET, 1 - dark - opened + both), (OPENING, both), (DARK_LOST, dark - both), (LIGHT_LOST, opened - both))
    mixed = sum(np.array(colour, dtype=np.float32) * share for colour, share in shares)
    return np.clip(np.rint(mixed), 0, 255).astype(np.uint8)
