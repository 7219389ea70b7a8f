"""The drawing of a stencil for the laser or the knife: openings in the order of cutting, the sheet's edge last."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from shadowrout.drawing.marks import straight
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Role, Text
from shadowrout.drawing.sheet_words import sheet_text, text_box
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region, union_all
from shadowrout.sheets.cutting_order import cutting_order, sheet_edge
from shadowrout.sheets.register import RegisterMark, holes_of
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.words.lengths import inside_edge, shown
from shadowrout.words.units import Unit

_NAME_MM = 2.5
"""Capital height of a hole's name (ISO 3098)."""

_AROUND = np.column_stack([np.cos(turns := np.arange(16) * np.pi / 8), np.sin(turns)])
"""The directions in which a hole's name is tried."""


def stencil_drawing(
    openings: Sequence[ArcPath],
    stencil: CutStencil,
    marks: Sequence[RegisterMark],
    *,
    board: Box,
    rim_mm: float,
    ties: bool,
    unit: Unit,
    title: str,
    description: str,
) -> Drawing:
    """Return the drawing of a stencil, its page the sheet.

    ``openings`` are the paths fitted to ``stencil.drawn``: what the beam's middle follows. They come in an order
    with little travel from the sheet's lower left corner, then the dowel holes, and the sheet's edge at the end, in
    pieces that leave ties where ``ties``. Holes are drawn smaller by the kerf; the sheet's edge is drawn at its
    size and comes out smaller by it. Each hole's name stands beside it. The text says how the sheet is placed on the
    ``board``, whose box lies about the same middle. Middle lines of bridges and the text are for reference: the
    first aren't cut, the second is engraved. ``rim_mm`` is the sheet's margin.
    """
    starts = np.array([path.vertices[0] for path in openings]).reshape(-1, 2)
    order = cutting_order(starts, begin=stencil.sheet[:2])
    lines = (*_lines(stencil, unit, title), _placing(marks, stencil, board, unit))
    cut = stencil.drawn.union(holes_of(marks))
    names = [_name(mark, stencil.sheet, cut) for mark in _holes(marks, stencil)]
    texts = sheet_text(
        lines, stencil.sheet, rim_mm=rim_mm, keep_off=union_all([cut, *map(Region.box, map(text_box, names))])
    )
    layers = [
        Layer(Role.NOTE, (*texts, *names)),
        *_bridge_layers(stencil),
        Layer(Role.OPENING, tuple(Path(openings[i]) for i in order)),
        *_register_layers(_holes(marks, stencil), stencil.kerf_mm),
        Layer(Role.SHEET_EDGE, tuple(map(Path, sheet_edge(stencil.sheet, ties=ties)))),
    ]
    properties = (("kerf", shown(stencil.kerf_mm, unit, decimals=2)), ("web", shown(stencil.web_mm, unit)))
    return Drawing(title, description, stencil.sheet, tuple(layers), unit, properties)


def _lines(stencil: CutStencil, unit: Unit, title: str) -> tuple[str, str]:
    x0, y0, x1, y1 = stencil.sheet
    size = f"{shown(x1 - x0, unit)} x {shown(y1 - y0, unit)}"
    return title, f"{size}, webs {shown(stencil.web_mm, unit)}"


def _holes(marks: Sequence[RegisterMark], stencil: CutStencil) -> list[RegisterMark]:
    """Return the marks that are holes of the sheet: those that the kerf alone doesn't cut."""
    return [mark for mark in marks if mark.dowel_mm > stencil.kerf_mm]


def _name(mark: RegisterMark, sheet: Box, cut: Region) -> Text:
    """Return the name of a hole, beside it on the sheet: where it is clear of what is cut, and nearest the middle."""
    around = np.array(mark.centre) + (mark.dowel_mm / 2 + _NAME_MM) * _AROUND
    texts = [Text((float(x), float(y)), mark.name, _NAME_MM) for x, y in around]
    on_sheet = Region.box(sheet)
    middle = (sheet[0] + sheet[2]) / 2, (sheet[1] + sheet[3]) / 2

    def in_the_way(text: Text) -> tuple[float, float]:
        box = Region.box(text_box(text))
        covered = box.intersection(cut).area + box.difference(on_sheet).area
        return round(covered, 3), round(math.dist(text.at, middle), 3)

    return min(texts, key=in_the_way)


def _placing(marks: Sequence[RegisterMark], stencil: CutStencil, board: Box, unit: Unit) -> str:
    """Return how the sheet is placed on the board: by its dowel holes, and by the board's edge."""
    names = ", ".join(mark.name for mark in _holes(marks, stencil))
    told = f"board {inside_edge((board[0] - stencil.sheet[0], board[1] - stencil.sheet[1]), unit)}"
    return f"place by dowels {names}; {told}" if names else told


def _bridge_layers(stencil: CutStencil) -> Iterator[Layer]:
    shapes = [
        Path(straight(b.start, b.end).path, Marks(width_mm=b.width_mm)) for b in stencil.bridges if b.start != b.end
    ]
    if shapes:
        yield Layer(Role.BRIDGE, tuple(shapes))


def _register_layers(marks: Sequence[RegisterMark], kerf_mm: float) -> Iterator[Layer]:
    if marks:
        yield Layer(Role.REGISTER, tuple(Circle(mark.centre, (mark.dowel_mm - kerf_mm) / 2) for mark in marks))
