"""The drawings of a router template's sheets, and of the piece that measures a kerf."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from shadowrout.drawing.lengths import shown
from shadowrout.drawing.rim import rim_text
from shadowrout.drawing.shapes import Drawing, Layer, Path, Role, Text, Unit
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.outlines import rectangle
from shadowrout.templates.kerf_piece import KerfTest
from shadowrout.templates.ordering import cutting_order
from shadowrout.templates.router import RouterTemplate

_RIM_MM = 8.0
_TEXT_MM = 2.5


def template_drawing(
    openings: Sequence[ArcPath],
    template: RouterTemplate,
    *,
    number: int,
    rim_mm: float,
    unit: Unit,
    title: str,
    description: str,
) -> Drawing:
    """Return the drawing of one sheet of a template, counted from 1, its page the sheet.

    ``openings`` are the paths fitted to ``template.openings[number - 1]``, drawn in an order with little travel
    and before the sheet's edge. The text on the rim, ``rim_mm`` wide, says what bush and bit the
    sheet is for and how far the bit must stick out.
    """
    starts = np.array([path.vertices[0] for path in openings]).reshape(-1, 2)
    order = cutting_order(starts, begin=template.sheet[:2])
    lines = (f"{title}, template {number} of {len(template.openings)}", *stack_lines(template, unit))
    layers = (
        Layer(Role.NOTE, tuple(rim_text(lines, template.sheet, rim_mm=rim_mm))),
        Layer(Role.OPENING, tuple(Path(openings[i]) for i in order)),
        Layer(Role.SHEET_EDGE, (Path(rectangle(template.sheet)),)),
    )
    properties = (("bush", shown(template.bush_mm, unit)), ("bit", shown(template.bit_mm, unit)))
    return Drawing(title, description, template.sheet, layers, unit, properties)


def stack_lines(template: RouterTemplate, unit: Unit) -> tuple[str, ...]:
    """Return what the one at the router must know, a line each."""
    stack = template.stack
    if template.offset_mm == 0:
        guide = f"bearing {shown(template.bush_mm, unit)} on a bit of the same size: openings as large as the pockets"
    else:
        guide = (
            f"bush {shown(template.bush_mm, unit)}, bit {shown(template.bit_mm, unit)}: openings "
            f"{shown(template.offset_mm, unit)} larger all round"
        )
    reach = (
        f"template {shown(stack.thickness, unit)} + depth {shown(stack.depth, unit)}: bit "
        f"{shown(stack.bit_below_base, unit)} below the base"
    )
    return guide, reach


def kerf_drawing(piece: KerfTest, *, unit: Unit) -> Drawing:
    """Return the drawing of the kerf test piece with its formulas below it; its page has a rim of 8 mm."""
    x0, y0, x1, y1 = piece.box
    room = _RIM_MM + 1.6 * _TEXT_MM * len(piece.formula)
    page = (x0 - _RIM_MM, y0 - room, x1 + _RIM_MM, y1 + _RIM_MM)
    texts = [
        Text((x0, y0 - _TEXT_MM * (2 + 1.6 * row)), line, _TEXT_MM, centred=False)
        for row, line in enumerate(piece.formula)
    ]
    layers = (
        Layer(Role.NOTE, tuple(texts)),
        Layer(Role.OPENING, tuple(map(Path, piece.cuts))),
        Layer(Role.SHEET_EDGE, tuple(map(Path, piece.outlines))),
    )
    return Drawing("kerf test piece", "Cut, measure, and enter the kerf that the formulas give.", page, layers, unit)
