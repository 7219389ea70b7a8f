"""Which stencils and templates lie on which piece of stock, and how much of it they use."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shadowrout.report.figures.precision import fine
from shadowrout.sheets.packing import Placement

StockKind = Literal["stencil", "template"]


@dataclass(frozen=True)
class LyingSheet:
    """A sheet on a piece of stock, which is counted from 1."""

    plaque: str
    drawing: str
    """The name of its files in the plaque's folder, without the ending."""
    piece: int
    place_mm: tuple[float, float]
    """The sheet's lower left corner as it lies, from the stock's."""
    turned: bool
    size_mm: tuple[float, float]
    """Before any turn."""


@dataclass(frozen=True)
class StockFigures:
    """All sheets of one kind on their stock."""

    of: StockKind
    size_mm: tuple[float, float]
    gap_mm: float
    pieces: int
    used_share: float
    """Of all pieces' area, that of the sheets."""
    files: tuple[str, ...]
    sheets: tuple[LyingSheet, ...]


def lying_sheet(plaque: str, drawing: str, size_mm: tuple[float, float], place: Placement) -> LyingSheet:
    """Return the figures of a plaque's sheet that was given a ``place``."""
    width, height = size_mm
    return LyingSheet(
        plaque, drawing, place.stock + 1, (fine(place.x), fine(place.y)), place.turned, (fine(width), fine(height))
    )


def stock_figures(
    of: StockKind,
    size_mm: tuple[float, float],
    *,
    gap_mm: float,
    drawings: Sequence[str],
    sheets: Sequence[LyingSheet],
    sheets_mm2: float,
) -> StockFigures:
    """Return the figures of sheets, ``sheets_mm2`` together, on pieces of ``size_mm``, one for each drawing's name."""
    return StockFigures(
        of=of,
        size_mm=size_mm,
        gap_mm=gap_mm,
        pieces=len(drawings),
        used_share=fine(sheets_mm2 / (len(drawings) * math.prod(size_mm))),
        files=tuple(f"{name}{ending}" for name in drawings for ending in (".svg", ".dxf")),
        sheets=tuple(sheets),
    )
