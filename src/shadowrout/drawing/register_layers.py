"""Register marks as shapes: a dowel hole, a cross through it, and its name beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from shadowrout.design.board import Layout
from shadowrout.drawing.ink import Ink
from shadowrout.drawing.marks import cross
from shadowrout.drawing.shapes import Circle, Layer, Role, Shape, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.sheets.register import RegisterMark

NAME_MM = 3.5
"""Capital height of a register mark's name (ISO 3098)."""

_ARM_MM = 1.5
"""How far a register mark's cross stands out of its hole, so that it still shows once the hole is drilled."""


def register_layers(marks: Sequence[RegisterMark], layout: Layout, *, joins: Sequence[ArcPath] = ()) -> Iterator[Layer]:
    """Yield the layer of register marks, the same on the board and on the pattern; none where there are no marks.

    Names keep off ``joins`` where they can.
    """
    shapes: list[Shape] = []
    ink = Ink([(path, 1.0) for path in joins], layout.board_mm)
    for mark in marks:
        shapes += [Circle(mark.centre, mark.dowel_mm / 2), *cross(mark.centre, mark.dowel_mm / 2 + _ARM_MM)]
        shapes.append(Text(_beside(mark, layout, ink), mark.name, NAME_MM))
    if shapes:
        yield Layer(Role.REGISTER, tuple(shapes))


def _beside(mark: RegisterMark, layout: Layout, ink: Ink) -> tuple[float, float]:
    """Return the place for a mark's name: beside the hole, on the board but not on its field where that can be."""
    turns = np.arange(16) * np.pi / 8
    away = mark.dowel_mm / 2 + _ARM_MM + 0.7 * NAME_MM
    around = np.array(mark.centre) + away * np.column_stack([np.cos(turns), np.sin(turns)])
    board = Region.of_polygons([(layout.edge.flattened(0.05), [])])
    on_board = board.offset(-0.7 * NAME_MM, error=0.05).within(around)
    half = NAME_MM / 2
    struck = ink.under(np.hstack([around - half, around + half])) > 0
    x, y = around[np.argmax(4 * on_board.astype(int) - 2 * struck - layout.field.within(around))]
    return float(x), float(y)
