"""The drawings of a router template's sheets, and of the piece that measures a kerf."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import reduce

import numpy as np

from shadowrout.drawing.marks import straight
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Path, Role, Shape, Text
from shadowrout.drawing.sheet_words import sheet_text, text_box
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.outlines import rectangle
from shadowrout.geometry.region import Box, Region
from shadowrout.sheets.cutting_order import cutting_order
from shadowrout.sheets.kerf_piece import KerfTest
from shadowrout.sheets.register import RegisterMark, holes_of
from shadowrout.sheets.router.router_template import RouterTemplate
from shadowrout.words.lengths import inside_edge, shown
from shadowrout.words.units import Unit

_RIM_MM = 8.0
"""Page around the kerf test piece, so that its edge isn't cut on the edge of the material."""

_TEXT_MM = 2.5
_NAME_MM = 2.5
"""Capital heights of the kerf test's formulas and of a hole's name (ISO 3098)."""

_TICK_MM = 1.5
"""Least length of what is left of an upright centre line where the sheet's words stand in its way."""


def template_drawing(
    openings: Sequence[ArcPath],
    template: RouterTemplate,
    *,
    number: int,
    board: ArcPath,
    rim_mm: float,
    unit: Unit,
    title: str,
    description: str,
) -> Drawing:
    """Return the drawing of one sheet of a template, counted from 1, its page the sheet.

    ``openings`` are the paths fitted to ``template.openings[number - 1]``, drawn in an order with little travel
    and before the sheet's edge; between the two come the register holes. The text on the rim, ``rim_mm`` wide, says
    what bush and bit the sheet is for, how far the bit must stick out, and how the sheet is placed. To place it, the
    ``board``'s outline and its centre lines are drawn as notes.
    """
    starts = np.array([path.vertices[0] for path in openings]).reshape(-1, 2)
    order = cutting_order(starts, begin=template.sheet[:2])
    holes = template.holes[number - 1]
    heading = f"{title}, template {number} of {len(template.openings)}"
    lines = (heading, *stack_lines(template, unit), placing_line(template, number, unit))
    layers = (
        Layer(Role.NOTE, (*placing_notes(lines, template, number, board, rim_mm=rim_mm),)),
        Layer(Role.OPENING, tuple(Path(openings[i]) for i in order)),
        *([Layer(Role.REGISTER, tuple(Circle(m.centre, m.dowel_mm / 2) for m in holes))] if holes else []),
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
    if template.under_keys.is_empty:
        return guide, reach
    return guide, reach, "points in the openings are keys, which keep the bit off narrow light: leave them whole"


def placing_line(template: RouterTemplate, number: int, unit: Unit) -> str:
    """Return how a sheet, counted from 1, is placed on the board."""
    names = [mark.name for mark in template.holes[number - 1]]
    by = ["the centre lines", f"dowel {', '.join(names)}, centre lines", f"dowels {', '.join(names)}"]
    return f"place by {by[min(len(names), 2)]}; board {inside_edge(template.overhang_mm, unit)}"


def placing_notes(
    lines: Sequence[str], template: RouterTemplate, number: int, board: ArcPath, *, rim_mm: float
) -> Iterator[Shape]:
    """Yield a sheet's text, its holes' names, and the lines by which it is placed; the sheets are counted from 1.

    The text stands in the broader strip that the board's outline leaves of the rim. Where it has no room there it
    stands clear of holes, names and openings, but may stand over lines.
    """
    holes = template.holes[number - 1]
    names = [_name(mark, template.sheet) for mark in holes]
    placing = list(_placing_lines(template, board, rim_mm))
    strip, rim = _strip(template, holes, rim_mm)
    keep_off = reduce(Region.union, map(Region.box, map(text_box, names)), holes_of(holes))
    keep_off = keep_off.union(template.openings[number - 1])
    over = [path.path for path in placing]
    yield from sheet_text(lines, template.sheet, rim_mm=rim, keep_off=keep_off, over=over, strip=strip)
    yield from names
    yield from placing


def _name(mark: RegisterMark, sheet: Box) -> Text:
    """Return the name of a hole, beside it towards the sheet's middle."""
    inwards = math.copysign(mark.dowel_mm / 2 + _NAME_MM, (sheet[0] + sheet[2]) / 2 - mark.centre[0])
    return Text((mark.centre[0] + inwards, mark.centre[1]), mark.name, _NAME_MM)


def _strip(template: RouterTemplate, holes: Sequence[RegisterMark], rim_mm: float) -> tuple[Box, float]:
    """Return the broader strip that the board's outline leaves of the rim, between the holes, and its breadth."""
    (_, y0, _, y1), up = template.sheet, template.overhang_mm[1]
    left, right = _between_holes(holes, template.sheet, rim_mm)
    if _is_outside(template, rim_mm):
        return (left, y0, right, y1), min(up, rim_mm)
    return (left, y0 + up, right, y1 - up), rim_mm - up


def _is_outside(template: RouterTemplate, rim_mm: float) -> bool:
    """Return whether the rim's broader strip is the one outside the board."""
    up = template.overhang_mm[1]
    return up >= rim_mm - up


def _placing_lines(template: RouterTemplate, board: ArcPath, rim_mm: float) -> Iterator[Path]:
    """Yield the board's outline, where it isn't the sheet's edge, and the centre lines."""
    x0, y0, x1, y1 = template.sheet
    across, up = template.overhang_mm
    if max(across, up) > 0 or len(board.vertices) != 4 or board.bulges.any():
        yield Path(board)
    tick = _TICK_MM if _is_outside(template, rim_mm) else max(up, _TICK_MM)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    yield straight((x0, y), (x1, y))
    for low, high in ((y0, y0 + tick), (y0 + rim_mm, y1 - rim_mm), (y1 - tick, y1)):
        yield straight((x, low), (x, high))


def _between_holes(holes: Sequence[RegisterMark], sheet: Box, rim_mm: float) -> tuple[float, float]:
    """Return the ends of the widest stretch across the sheet that no hole in the lower or upper rim interrupts."""
    x0, y0, x1, y1 = sheet
    in_rim = [mark for mark in holes if not y0 + rim_mm < mark.centre[1] < y1 - rim_mm]
    taken = sorted((m.centre[0], m.dowel_mm / 2 + 2 * _NAME_MM) for m in in_rim)
    starts = [x0, *(x + room for x, room in taken)]
    ends = [*(x - room for x, room in taken), x1]
    return max(zip(starts, ends, strict=True), key=lambda stretch: stretch[1] - stretch[0])


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
