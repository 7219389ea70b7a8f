"""The check's own judge of "one piece", which counts pixels, on openings that were never written."""

from __future__ import annotations

import numpy as np

from shadowrout.check import one_piece
from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.geometry.region import Box, Region
from shadowrout.sheets.criterion import Fault, Judgement


def holds(openings: Region, *, sheet: Box, web: float) -> Judgement:
    """Return what the check finds of a sheet with these openings, all in mm, nothing allowed for the kerf."""
    file = DrawingFile("stencil.svg")
    for role, region in (("sheet-edge", Region.box(sheet)), ("opening", openings)):
        for ring in region.rings():
            file.add(Shape(role, role, {}, Curve(ring, np.zeros(len(ring)), closed=True)))
    _, findings = one_piece.judged(file, web_mm=web, kerf_mm=0.0)
    return Judgement(tuple(Fault(finding.what, finding.place_mm) for finding in findings))
