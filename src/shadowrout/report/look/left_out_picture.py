"""What was left out of a design to keep to its hours, beside what is carved."""

from __future__ import annotations

import numpy as np

from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region
from shadowrout.report.look.finished_look import Picture, captioned
from shadowrout.words.colours import SKY_BLUE, VERMILLION
from shadowrout.words.wording import counted

_CARVED = (40, 40, 40)
_LEFT_OUT = VERMILLION
_FILLED = SKY_BLUE


def left_out_picture(
    shadow: Region, left_out: Region, filled: Region, board: Box, *, lines: int, pixel_mm: float
) -> Picture:
    """Return a picture of the board: the shadow dark, what was left out orange, light that was filled in blue.

    A line below it tells how many V ``lines`` went.
    """
    grid = Grid(board, pixel_mm)
    picture = np.full((*grid.shape, 3), 255, np.float32)
    for region, colour in ((shadow, _CARVED), (left_out, _LEFT_OUT), (filled, _FILLED)):
        share = grid.covered(region)[..., None]
        picture = picture * (1 - share) + np.array(colour, np.float32) * share
    told = f"left out (orange): {counted(lines, 'V line')}"
    if not filled.is_empty:
        told += f"; filled in (blue): {counted(len(filled), 'light speck')}"
    return captioned(np.clip(np.rint(picture), 0, 255).astype(np.uint8), told)
