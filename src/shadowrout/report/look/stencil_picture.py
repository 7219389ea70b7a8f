"""A picture of a stencil that shows what was changed to hold it, with a legend."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.rasters import Mask, labelled
from shadowrout.words.colours import BLUISH_GREEN, REDDISH_PURPLE, SKY_BLUE, VERMILLION, YELLOW, Colour

Picture = NDArray[np.uint8]

SHEET: Colour = (255, 255, 255)
OPENING: Colour = (40, 40, 40)
BRIDGE = VERMILLION
WEB = REDDISH_PURPLE
DARK_LOST = BLUISH_GREEN
ISLAND = SKY_BLUE
LIGHT_LOST = YELLOW

_FILLET = 1.5
"""Width in which dark counts as taken by a bridge or a web, fillets included, over its own width."""

_FONT = cv2.FONT_HERSHEY_SIMPLEX
_COLUMNS = 2
_LETTERS_ACROSS = 100
"""How many letters of the legend fit across: both columns of its longest lines."""

_LINE, _SWATCH = 44, 30
"""Pixels at the font's scale 1: a line of the legend, and a side of its coloured square."""


def stencil_picture(stencil: CutStencil, shadow: Region, *, pixel_mm: float) -> Picture:
    """Return red, green and blue of a picture of the sheet over its legend, shape (rows, columns, 3), row 0 at the top.

    Openings are dark, the sheet white. Dark of the design that bridges take, that widened webs take and that
    is lost otherwise, light that was an island and other light that became part of an opening: each has its colour.
    """
    grid = Grid(stencil.sheet, pixel_mm)
    return np.vstack([_sheet_picture(stencil, shadow, grid), _legend(stencil, grid.shape[1])])


def _sheet_picture(stencil: CutStencil, shadow: Region, grid: Grid) -> Picture:
    dark, opened = grid.covered(shadow), grid.covered(stencil.openings)
    both = np.minimum(dark, opened)
    light = 1 - dark - opened + both
    picture = np.stack([_bytes(a * light + b * both) for a, b in zip(SHEET, OPENING, strict=True)], axis=-1)
    changed = dark != opened
    bridged = _near_bridges(stencil, grid)[changed]
    widened = _near_webs(stencil, grid)[changed] & ~bridged
    islands = _dropped(dark > 0.5, opened > 0.5)[changed]
    lost, gained = (dark - both)[changed], (opened - both)[changed]
    shares = (
        (SHEET, light[changed]),
        (OPENING, both[changed]),
        (BRIDGE, lost * bridged),
        (WEB, lost * widened),
        (DARK_LOST, lost * ~(bridged | widened)),
        (ISLAND, gained * islands),
        (LIGHT_LOST, gained * ~islands),
    )
    mixed = sum(np.array(colour, dtype=np.float32) * share[:, None] for colour, share in shares)
    picture[changed] = _bytes(mixed)
    return picture


def _bytes(values: NDArray[np.float32]) -> NDArray[np.uint8]:
    return np.clip(np.rint(values), 0, 255).astype(np.uint8)


def _near_bridges(stencil: CutStencil, grid: Grid) -> Mask:
    canvas = np.zeros(grid.shape, dtype=np.uint8)
    for bridge in stencil.bridges:
        (row, column), (end_row, end_column) = grid.pixel(*bridge.start), grid.pixel(*bridge.end)
        thickness = max(1, round(_FILLET * bridge.width_mm / grid.pixel_mm))
        cv2.line(canvas, (column, row), (end_column, end_row), 1, thickness)
    return canvas > 0


def _near_webs(stencil: CutStencil, grid: Grid) -> Mask:
    away = np.ones(grid.shape, dtype=np.uint8)
    rows, columns = grid.shape
    for x, y in stencil.web_middles:
        row, column = grid.pixel(float(x), float(y))
        if 0 <= row < rows and 0 <= column < columns:
            away[row, column] = 0
    if away.all():
        return np.zeros(grid.shape, dtype=bool)
    distances = cv2.distanceTransform(away, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    near: Mask = distances <= _FILLET * stencil.web_mm / 2 / grid.pixel_mm
    return near


def _dropped(dark: Mask, opened: Mask) -> Mask:
    """Return the islands of the design of which less than half is still sheet, and the pixels around them."""
    count, islands = labelled(~dark, connectivity=4)
    whole = np.bincount(islands.ravel(), minlength=count + 1)
    gone = np.bincount(islands[opened], minlength=count + 1) * 2 > whole
    gone[0] = False
    return cv2.dilate(gone[islands].astype(np.uint8), np.ones((3, 3), np.uint8)) > 0


def _legend(stencil: CutStencil, width: int) -> Picture:
    """Return the legend on white, ``width`` pixels wide: what each colour means, and how much there is of it."""
    entries = (
        (BRIDGE, _counted(len(stencil.bridges), "bridge")),
        (WEB, _counted(stencil.webs_widened, "thin web") + " widened"),
        (DARK_LOST, f"dark lost; with bridges and webs {stencil.dark_lost_share:.1%} of all"),
        (ISLAND, _counted(stencil.islands_dropped, "island") + " dropped"),
        (LIGHT_LOST, f"light lost; openings merged with another: {stencil.openings_merged}"),
        (OPENING, _counted(len(stencil.openings), "opening")),
    )
    scale = width / (_LETTERS_ACROSS * 20)
    line = max(1, round(_LINE * scale))
    legend = np.full((line * (len(entries) // _COLUMNS) + line // 3, width, 3), 255, dtype=np.uint8)
    for number, (colour, text) in enumerate(entries):
        column, row = divmod(number, len(entries) // _COLUMNS)
        _entry(legend, colour, text, (round((column / _COLUMNS + 0.02) * width), row * line), scale)
    return legend


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")


def _entry(canvas: Picture, colour: Colour, text: str, corner: Sequence[int], scale: float) -> None:
    x, y = corner
    side = round(_SWATCH * scale)
    cv2.rectangle(canvas, (x, y + side // 4), (x + side, y + side + side // 4), colour, cv2.FILLED)
    cv2.rectangle(canvas, (x, y + side // 4), (x + side, y + side + side // 4), OPENING, 1)
    at = (x + round(1.5 * side), y + side + side // 8)
    cv2.putText(canvas, text, at, _FONT, scale, OPENING, max(1, round(2 * scale)), cv2.LINE_AA)
