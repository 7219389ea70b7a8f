"""How a router template finds its place on the board: dowels in the board's own register holes, and a known overhang.

The template's sheet lies around the middle of the board, so its edges stand over the board's by the same on both
sides, and its centre lines are the board's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from shadowrout.geometry.contacts import clearance
from shadowrout.geometry.region import Box, Region, union_all
from shadowrout.sheets.register import LEAST_WOOD_MM, RegisterMark, holes_of

if TYPE_CHECKING:
    from shadowrout.job.sheet_options import TemplateOptions

_ERROR_MM = 0.01
"""A twentieth of _STEP_MM, which makes up for it."""
_STEP_MM = 0.2
"""What the whole tenths of a millimetre of the marks' places may take from the web, and more."""


def kept_for_openings(pockets: Sequence[Region], options: TemplateOptions, *, tolerance_mm: float) -> Region:
    """Return where register holes would meet a template's openings or leave too thin a web beside them; mm.

    Meant as part of what the register marks keep clear of. Empty without pockets.
    """
    offset = max(0.0, (options.bush - options.bit) / 2) + options.web + 2 * tolerance_mm + _STEP_MM - LEAST_WOOD_MM
    return union_all(pockets).offset(max(0.0, offset), error=_ERROR_MM)


def clear_marks(marks: Sequence[RegisterMark], opening: Region, *, web_mm: float) -> tuple[RegisterMark, ...]:
    """Return the marks whose holes leave a web between themselves and the openings of a sheet."""
    return tuple(mark for mark in marks if clearance(holes_of([mark]), opening) >= web_mm)


def marks_within(marks: Sequence[RegisterMark], sheet: Box, *, web_mm: float) -> tuple[RegisterMark, ...]:
    """Return the marks whose holes leave a web between themselves and the sheet's edge."""
    return tuple(mark for mark in marks if _beyond(_around([mark], web_mm), sheet) <= 1e-6)


def least_overhang(
    openings: Region, marks: Sequence[RegisterMark], plaque: Box, *, margin_mm: float, web_mm: float
) -> float:
    """Return by how much a sheet must reach past the plaque on all sides, in whole mm.

    It holds the openings with their margin and the marks' holes with a web; 0 where the plaque's own size does.
    """
    x0, y0, x1, y1 = openings.bounds
    boxes = [(x0 - margin_mm, y0 - margin_mm, x1 + margin_mm, y1 + margin_mm)]
    if marks:
        boxes.append(_around(marks, web_mm))
    return float(max(0, math.ceil(max(_beyond(box, plaque) for box in boxes) - 1e-6)))


def _around(marks: Sequence[RegisterMark], web_mm: float) -> Box:
    """Return the box around holes and a web beside them."""
    x0, y0, x1, y1 = holes_of(marks).bounds
    return x0 - web_mm, y0 - web_mm, x1 + web_mm, y1 + web_mm


def _beyond(box: Box, around: Box) -> float:
    """Return how far a box reaches out of another at most; negative where it lies within."""
    return max(around[0] - box[0], around[1] - box[1], box[2] - around[2], box[3] - around[3])
