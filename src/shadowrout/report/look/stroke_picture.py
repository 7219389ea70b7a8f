"""What became of thin strokes at one plaque's size: kept, widened or dropped."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shadowrout.design.widths.stretch import Stretch, WidthReport
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region
from shadowrout.geometry.sweeps import swept
from shadowrout.report.look.finished_look import Picture, captioned
from shadowrout.words.colours import BLUE, VERMILLION
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit

_KEPT = (150, 150, 150)
_WIDENED = BLUE
_DROPPED = VERMILLION


def stroke_picture(shadow: Region, report: WidthReport, board: Box, *, pixel_mm: float, unit: str = "mm") -> Picture:
    """Return a picture of the board: shadows in grey, widened strokes as they were in blue, dropped ones in vermilion.

    A line below it gives the lengths in ``unit``. ``shadow`` is the design after both.
    """
    grid = Grid(board, pixel_mm)
    picture = np.full((*grid.shape, 3), 255, np.float32)
    layers = ((shadow, _KEPT), (_covered(report.widened), _WIDENED), (_covered(report.dropped), _DROPPED))
    for region, colour in layers:
        share = grid.covered(region)[..., None]
        picture = picture * (1 - share) + np.array(colour, np.float32) * share
    widened, dropped = (Mm(sum(s.length_mm for s in part)) for part in (report.widened, report.dropped))
    told = Sentence(
        "below {finest:g mm}: {widened:.0f mm} widened (blue), {dropped:.0f mm} dropped (orange)",
        finest=Mm(report.finest_mm),
        widened=widened,
        dropped=dropped,
    )
    return captioned(np.clip(np.rint(picture), 0, 255).astype(np.uint8), told.told(Unit(unit)))


def _covered(stretches: Sequence[Stretch]) -> Region:
    return swept([s.points for s in stretches], [s.half_widths for s in stretches]) if stretches else Region.empty()
