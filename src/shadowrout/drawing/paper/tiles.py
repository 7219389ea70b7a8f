"""A drawing larger than a sheet of paper, cut into overlapping windows, one a sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shadowrout.errors import SettingError
from shadowrout.geometry.region import Box
from shadowrout.words.sentences import Mm, Sentence

LABEL_STRIP_MM = 10.0
"""Height of the strip under each window that holds the sheet's label and its level scale bar."""

BAR_STRIP_MM = 8.0
"""Width of the strip left of each window that holds its upright scale bar."""

LEAST_PRINTED_MM = 170.0
"""Least side of what the printer reaches: the scale bars and the words of the first page must fit."""

Size = tuple[float, float]


@dataclass(frozen=True)
class Tile:
    """One sheet's window onto the drawing, in the drawing's mm; rows count from the top, both from 1."""

    row: int
    column: int
    window_mm: Box

    @property
    def label(self) -> str:
        """The sheet's name, its row and its column: ``2-1``."""
        return f"{self.row}-{self.column}"


@dataclass(frozen=True)
class Tiling:
    """Sheets of one size that cover a box. ``sheet_mm`` is the sheet as it is held, on its side or upright.

    All windows have one size. Windows side by side share a strip ``overlap_mm`` wide; its middle is the seam,
    where one sheet is cut to be laid on the other.
    """

    box_mm: Box
    sheet_mm: Size
    printer_margin_mm: float
    overlap_mm: float
    rows: int
    columns: int

    @property
    def sheets(self) -> int:
        """How many sheets the drawing takes."""
        return self.rows * self.columns

    @property
    def window_mm(self) -> Size:
        """Width and height of every window."""
        x0, y0, x1, y1 = self.box_mm
        return (
            _side(x1 - x0, self.columns, self.overlap_mm),
            _side(y1 - y0, self.rows, self.overlap_mm),
        )

    @property
    def tiles(self) -> tuple[Tile, ...]:
        """The sheets, row by row from the top, each from the left."""
        return tuple(self._tiles())

    @property
    def seams_mm(self) -> tuple[list[float], list[float]]:
        """The seams between columns, as x from the left, and those between rows, as y from the top."""
        (width, height), (left, _, _, top), overlap = self.window_mm, self.box_mm, self.overlap_mm
        upright = [left + column * (width - overlap) + overlap / 2 for column in range(1, self.columns)]
        level = [top - row * (height - overlap) - overlap / 2 for row in range(1, self.rows)]
        return upright, level

    def _tiles(self) -> Iterator[Tile]:
        width, height = self.window_mm
        left, _, _, top = self.box_mm
        for row in range(self.rows):
            for column in range(self.columns):
                x = left + column * (width - self.overlap_mm)
                y = top - row * (height - self.overlap_mm)
                yield Tile(row + 1, column + 1, (x, y - height, x + width, y))


def tiled(box: Box, *, paper: Size, overlap: float, printer_margin: float) -> Tiling:
    """Return the tiling of ``box`` on ``paper`` that takes fewer sheets, upright or on its side; upright for a tie.

    All in mm; ``paper`` is width and height held upright. ``printer_margin`` is the rim that the printer can't
    reach. Raises SettingError for a margin that leaves too little of the sheet, and for an overlap that is
    negative or takes more than half of a window.
    """
    _check(paper, overlap, printer_margin)
    width, height = paper
    ways = [_held(box, sheet, overlap, printer_margin) for sheet in ((width, height), (height, width))]
    return min(ways, key=lambda tiling: tiling.sheets)


def _held(box: Box, sheet: Size, overlap: float, margin: float) -> Tiling:
    x0, y0, x1, y1 = box
    width, height = _room(sheet, margin)
    return Tiling(box, sheet, margin, overlap, _count(y1 - y0, height, overlap), _count(x1 - x0, width, overlap))


def _room(sheet: Size, margin: float) -> Size:
    return sheet[0] - 2 * margin - BAR_STRIP_MM, sheet[1] - 2 * margin - LABEL_STRIP_MM


def _count(length: float, window: float, overlap: float) -> int:
    """Return the least n with n windows, n - 1 overlaps taken off, as long as ``length``."""
    return max(1, math.ceil((length - overlap) / (window - overlap) - 1e-9))


def _side(length: float, count: int, overlap: float) -> float:
    return (length + (count - 1) * overlap) / count


def _check(paper: Size, overlap: float, margin: float) -> None:
    shorter = min(paper)
    most_margin = math.floor((shorter - LEAST_PRINTED_MM) / 2)
    if not 0 <= margin <= most_margin:
        raise SettingError(
            "pattern.printer_margin",
            Sentence(
                "{margin} leaves {left} of a sheet {width} wide, the first page needs {needed}; give {allowed}, or "
                "larger paper",
                margin=Mm(margin),
                left=Mm(max(0.0, shorter - 2 * margin)),
                width=Mm(shorter),
                needed=Mm(LEAST_PRINTED_MM),
                allowed=Mm.span(0, most_margin, bound="most"),
            ),
        )
    most_overlap = math.floor((shorter - 2 * margin - LABEL_STRIP_MM) / 2)
    if not 0 <= overlap <= most_overlap:
        raise SettingError(
            "pattern.overlap",
            Sentence(
                "{overlap} can't be shared by sheets that print {printed}; give {allowed}",
                overlap=Mm(overlap),
                printed=Mm(2 * most_overlap),
                allowed=Mm.span(0, most_overlap, bound="most"),
            ),
        )
