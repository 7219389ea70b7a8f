"""The printed pages of a pattern: each a drawing of its own on one sheet, with windows onto the pattern.

Pages are drawn in the sheet's millimetres from its lower left corner. The first says how to print and to join
(``cover``); every other one holds a window, the seams with its neighbours, its label and two scale bars.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from shadowrout.drawing.marks import bar_mm, cross, dashed, scale_bar, straight
from shadowrout.drawing.paper.text_column import LARGE_MM, SMALL_MM
from shadowrout.drawing.paper.tiles import BAR_STRIP_MM, LABEL_STRIP_MM, Tile, Tiling
from shadowrout.drawing.shapes import LETTER_SHARE, Drawing, Layer, Path, Role, Shape, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.words.lengths import brief

Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f: (x, y) goes to (a x + c y + e, b x + d y + f)."""

JOIN_SHARES = (0.1, 0.5, 0.9)
"""Where on a seam its crosses lie, as shares of the window's side."""

JOIN_ARM_MM = 2.5
"""Arm of a seam's cross: long enough to lay one over another by eye."""

DOT_MM = 25.4 / 300
"""The coarsest dots of printers that patterns are printed on."""

_LABEL_LINE_MM = 3.1
"""From one line of a sheet's label to the next: three stand in the strip, the title over the level scale bar."""

NAME_SHARE = 0.3
"""Where on a seam its neighbour's name lies, as a share of the window's side: between two crosses."""

LEAST_NAMED_OVERLAP_MM = 8.0
"""In a narrower overlap there is no room for the neighbour's name."""


@dataclass(frozen=True)
class Seam:
    """The line on a page along which a sheet is joined to its ``neighbour``; ``outwards`` leads into the overlap."""

    start: Point
    end: Point
    neighbour: str
    outwards: Point

    def at(self, share: float) -> Point:
        """Return the place at a share of the seam's length."""
        (x0, y0), (x1, y1) = self.start, self.end
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0)


@dataclass(frozen=True)
class Window:
    """The part ``on_page_mm`` of a page, through which the pattern shows; ``matrix`` takes its mm to the page's.

    Where the pattern is too small for its words to be read it shows ``with_words`` False.
    """

    on_page_mm: Box
    matrix: Matrix
    with_words: bool = True


@dataclass(frozen=True, eq=False)
class Page:
    """One printed page: the windows, and over them the sheet's own shapes."""

    sheet: Drawing
    windows: tuple[Window, ...]


def tile_page(tile: Tile, tiling: Tiling, pattern: Drawing, *, mirrored: bool) -> Page:
    """Return the page of one tile. ``mirrored`` swaps the pattern's left and right, not the sheet's own texts."""
    frame = window_frame(tile, tiling)
    window = Window(frame, _onto_page(tile, frame, tiling.box_mm, mirrored=mirrored))
    seams = list(seams_of(tile, tiling))
    lines = tuple(shape for seam in seams for shape in _seam_shapes(seam))
    notes = (*_neighbours(seams, tiling), *_labels(tile, tiling, pattern, mirrored=mirrored), *_bars(tiling, pattern))
    layers = (Layer(Role.SHEET_EDGE, lines), Layer(Role.NOTE, notes))
    page = (0.0, 0.0, *tiling.sheet_mm)
    return Page(Drawing(f"{pattern.title}, sheet {tile.label}", "", page, layers, pattern.unit), (window,))


def window_frame(tile: Tile, tiling: Tiling) -> Box:
    """Return the window's place on the page: in the middle of what the strips leave, to a printer's dot.

    The way from the pattern to the page is a whole number of dots, so that a line which runs over a seam falls on
    dots in the same way on both sheets.
    """
    (width, height), margin, window = tiling.sheet_mm, tiling.printer_margin_mm, tile.window_mm
    wide, high = window[2] - window[0], window[3] - window[1]
    x = window[0] + _in_dots((margin + BAR_STRIP_MM + width - margin - wide) / 2 - window[0])
    y = window[1] + _in_dots((margin + LABEL_STRIP_MM + height - margin - high) / 2 - window[1])
    return x, y, x + wide, y + high


def seams_of(tile: Tile, tiling: Tiling) -> Iterator[Seam]:
    """Yield a tile's seams on its page: left, right, top, bottom, those that it has."""
    x0, y0, x1, y1 = window_frame(tile, tiling)
    half = tiling.overlap_mm / 2
    row, column = tile.row, tile.column
    if column > 1:
        yield Seam((x0 + half, y0), (x0 + half, y1), f"{row}-{column - 1}", (-half / 2, 0.0))
    if column < tiling.columns:
        yield Seam((x1 - half, y0), (x1 - half, y1), f"{row}-{column + 1}", (half / 2, 0.0))
    if row > 1:
        yield Seam((x0, y1 - half), (x1, y1 - half), f"{row - 1}-{column}", (0.0, half / 2))
    if row < tiling.rows:
        yield Seam((x0, y0 + half), (x1, y0 + half), f"{row + 1}-{column}", (0.0, -half / 2))


def joins_of(tiling: Tiling, *, mirrored: bool) -> Iterator[ArcPath]:
    """Yield what joining adds to the sheets, as lines on the pattern that its own words had better keep off.

    Those are the seams, their crosses, and a line through each neighbour's name.
    """
    for tile in tiling.tiles:
        a, _, _, _, e, f = _onto_page(tile, window_frame(tile, tiling), tiling.box_mm, mirrored=mirrored)
        seams = list(seams_of(tile, tiling))
        crosses = [line for seam in seams for place in map(seam.at, JOIN_SHARES) for line in cross(place, JOIN_ARM_MM)]
        whole = [straight(seam.start, seam.end) for seam in seams]
        for line in (*whole, *crosses, *map(_through, _neighbours(seams, tiling))):
            yield ArcPath((line.path.vertices - [e, f]) / [a, 1.0], np.zeros(1), closed=False)


def _through(text: Text) -> Path:
    """Return a line along the middle of a centred text, as long as it is."""
    (x, y), half = text.at, LETTER_SHARE * text.height_mm * len(text.text) / 2
    return straight((x - half, y), (x + half, y))


def without_words(pattern: Drawing) -> Drawing:
    """Return the pattern's lines alone."""
    layers = [
        replace(layer, shapes=tuple(shape for shape in layer.shapes if not isinstance(shape, Text)))
        for layer in pattern.layers
        if layer.role is not Role.NOTE
    ]
    return replace(pattern, layers=tuple(layers))


def words_of(pattern: Drawing) -> Drawing:
    """Return what ``without_words`` leaves out: the pattern's notes, their leaders with them, and all other texts."""
    layers = [
        layer if layer.role is Role.NOTE else replace(layer, shapes=texts)
        for layer in pattern.layers
        if (texts := tuple(shape for shape in layer.shapes if isinstance(shape, Text))) or layer.role is Role.NOTE
    ]
    return replace(pattern, layers=tuple(layers))


def _in_dots(length_mm: float) -> float:
    return round(length_mm / DOT_MM) * DOT_MM


def _onto_page(tile: Tile, frame: Box, box: Box, *, mirrored: bool) -> Matrix:
    """Return the map from the pattern to the page; a mirrored pattern is first turned over about its middle."""
    x, y = frame[0] - tile.window_mm[0], frame[1] - tile.window_mm[1]
    return (-1.0, 0.0, 0.0, 1.0, box[0] + box[2] + x, y) if mirrored else (1.0, 0.0, 0.0, 1.0, x, y)


def _seam_shapes(seam: Seam) -> Iterator[Shape]:
    yield from dashed(seam.start, seam.end)
    for place in map(seam.at, JOIN_SHARES):
        yield from cross(place, JOIN_ARM_MM)


def _neighbours(seams: Iterable[Seam], tiling: Tiling) -> Iterator[Text]:
    """Yield the name of each seam's neighbour, in the strip that ends up under or over it."""
    if tiling.overlap_mm >= LEAST_NAMED_OVERLAP_MM:
        for seam in seams:
            (x, y), (dx, dy) = seam.at(NAME_SHARE), seam.outwards
            yield Text((x + dx, y + dy), seam.neighbour, SMALL_MM)


def _labels(tile: Tile, tiling: Tiling, pattern: Drawing, *, mirrored: bool) -> Iterator[Text]:
    margin = tiling.printer_margin_mm
    number = (tile.row - 1) * tiling.columns + tile.column
    place = f": row {tile.row} of {tiling.rows}, column {tile.column} of {tiling.columns}" if tiling.sheets > 1 else ""
    after = margin + LARGE_MM * len(tile.label) + 2.0
    yield Text((margin, margin + 1.0), tile.label, LARGE_MM, centred=False)
    lines = ("scale 1:1, mirrored" if mirrored else "scale 1:1", f"sheet {number} of {tiling.sheets}{place}")
    for row, line in enumerate((*lines, pattern.title)):
        yield Text((after, margin + 1.0 + _LABEL_LINE_MM * row), line, SMALL_MM, centred=False)


def _bars(tiling: Tiling, pattern: Drawing) -> Iterator[Shape]:
    margin, (width, _) = tiling.printer_margin_mm, tiling.sheet_mm
    length = bar_mm(pattern.unit)
    x, y = width - margin - length - 1.0, margin + 1.0
    yield from scale_bar((x, y), pattern.unit, upright=False)
    yield Text((x + length / 2, y + 4.5), brief(length, pattern.unit), SMALL_MM)
    low = margin + LABEL_STRIP_MM
    yield from scale_bar((margin + 3.0, low + 1.0), pattern.unit, upright=True)
    yield Text((margin, low - 2.0), brief(length, pattern.unit), SMALL_MM, centred=False)
