"""Printed pages as pictures, and what a person with a rule and scissors does with them.

Pages are rendered by PDFium. Everything here is measured on pixels; places come from the pictures, and only where
to look for them from the drawing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
from paper_plaque import BENCH

from shadowrout.drawing.paper.cover import pattern_pages
from shadowrout.drawing.paper.pages import JOIN_ARM_MM, JOIN_SHARES, seams_of, window_frame
from shadowrout.drawing.paper.tiles import Tile, Tiling, tiled
from shadowrout.files.pdf import pdf_bytes

DPI = 300
PX_A_MM = DPI / 25.4


def rendered(content: bytes, page: int, dpi: float = DPI) -> np.ndarray:
    """One page as pixels, shape (rows, columns, 3), RGB, row 0 at the top, at the resolution to the last digit.

    PDFium's plain call stretches a page to whole pixels, 0.03 % of an A4 sheet; with a matrix it doesn't.
    """
    scale = dpi / 72
    with pypdfium2.PdfDocument(content) as document:
        width, height = (math.ceil(side * scale) for side in document[page].get_size())
        bitmap = pypdfium2.PdfBitmap.new_native(width, height, raw.FPDFBitmap_BGRx)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, width, height)
        matrix, clip = raw.FS_MATRIX(scale, 0, 0, scale, 0, 0), raw.FS_RECTF(0, 0, width, height)
        raw.FPDF_RenderPageBitmapWithMatrix(bitmap, document[page], matrix, clip, raw.FPDF_ANNOT)
        return bitmap.to_numpy()[:, :, 2::-1].copy()


def page_sizes(content: bytes) -> list[tuple[float, float]]:
    with pypdfium2.PdfDocument(content) as document:
        return [page.get_size() for page in document]


def page_text(content: bytes, page: int) -> str:
    with pypdfium2.PdfDocument(content) as document:
        return document[page].get_textpage().get_text_range()


def dark(picture: np.ndarray, level: int = 128) -> np.ndarray:
    """Pixels that are dark in every colour: black ink."""
    return picture.max(axis=2) < level


def ink(picture: np.ndarray) -> np.ndarray:
    """How black each pixel is, 0 to 1: the brightest colour counts, so that blue and green lines are not black."""
    return 1.0 - picture.max(axis=2) / 255.0


def cut_out(picture: np.ndarray, box_mm: tuple[float, float, float, float]) -> tuple[np.ndarray, float, float]:
    """Return the pixels of a box given in mm from the page's lower left corner, and the place of their corner."""
    rows = picture.shape[0]
    x0, y0, x1, y1 = (side * PX_A_MM for side in box_mm)
    left, top = max(0, round(x0)), max(0, round(rows - y1))
    return picture[top : round(rows - y0), left : round(x1)], left, top


def line_places(profile: np.ndarray, least: float) -> list[float]:
    """Middles, in pixels from the first pixel's side, of the runs of a profile that reach ``least``."""
    above = np.concatenate([[False], profile > least / 4, [False]])
    begins, ends = np.flatnonzero(above[1:] & ~above[:-1]), np.flatnonzero(~above[1:] & above[:-1])
    runs = [(a, b) for a, b in zip(begins, ends, strict=True) if profile[a:b].max() >= least]
    return [float(np.average(np.arange(a, b) + 0.5, weights=profile[a:b])) for a, b in runs]


def bar_length_mm(picture: np.ndarray, box_mm: tuple[float, float, float, float], *, upright: bool) -> float:
    """Return the distance between the first and the last long tick of the scale bar that lies in the box."""
    part, _, _ = cut_out(picture, box_mm)
    blackness = ink(part)
    profile = blackness.sum(axis=1 if upright else 0)
    places = line_places(profile, 0.75 * profile.max())
    return (places[-1] - places[0]) / PX_A_MM


def cross_place(picture: np.ndarray, near_mm: tuple[float, float], arm_mm: float) -> tuple[float, float]:
    """Return the middle of an upright black cross near a place, in pixels from the page's left and top sides."""
    x, y = near_mm
    reach = arm_mm + 1.0
    part, left, top = cut_out(picture, (x - reach, y - reach, x + reach, y + reach))
    blackness = ink(part)
    columns, rows = blackness.sum(axis=0), blackness.sum(axis=1)
    return left + _peak(columns), top + _peak(rows)


def _peak(profile: np.ndarray) -> float:
    """Return the place of a profile's highest peak: the middle of the ink within a line's width."""
    profile = profile - np.median(profile)
    top = int(np.argmax(profile))
    near = np.arange(max(0, top - 2), min(len(profile), top + 3))
    return float(np.average(near + 0.5, weights=np.maximum(profile[near], 0)))


def colour_places(picture: np.ndarray, colour: tuple[int, int, int], apart_px: float) -> list[tuple[float, float]]:
    """Return the middles of what has one colour, one for each group of pixels nearer than ``apart_px``."""
    rows, columns = np.nonzero(np.abs(picture.astype(int) - colour).max(axis=2) < 12)
    groups: list[list[tuple[int, int]]] = []
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        for group in groups:
            if np.hypot(group[0][0] - row, group[0][1] - column) < apart_px:
                group.append((row, column))
                break
        else:
            groups.append([(row, column)])
    return [
        ((min(c for _, c in g) + max(c for _, c in g) + 1) / 2, (min(r for r, _ in g) + max(r for r, _ in g) + 1) / 2)
        for g in groups
    ]


@dataclass(frozen=True)
class Joined:
    """Sheets laid together: the picture, and where on it the first sheet's page begins."""

    picture: np.ndarray
    seam_errors_px: list[float]
    """How far each pair of crosses is from the others of its seam, laid together."""


def joined(content: bytes, tiling: Tiling) -> Joined:
    """Cut and lay the sheets of a pattern together as its first page says, crosses on crosses."""
    pictures = {tile: rendered(content, number) for number, tile in enumerate(tiling.tiles, start=1)}
    by_place = {(tile.row, tile.column): tile for tile in tiling.tiles}
    offsets: dict[Tile, np.ndarray] = {}
    errors: list[float] = []
    for tile in tiling.tiles:
        before = (tile.row, tile.column - 1) if tile.column > 1 else (tile.row - 1, tile.column)
        if before not in by_place:
            offsets[tile] = np.zeros(2)
            continue
        here = _crosses(pictures[tile], tile, tiling, before)
        there = _crosses(pictures[by_place[before]], by_place[before], tiling, (tile.row, tile.column))
        steps = there - here
        offsets[tile] = offsets[by_place[before]] + np.median(steps, axis=0)
        errors += np.abs(steps - np.median(steps, axis=0)).max(axis=1).tolist()
    return Joined(_laid(pictures, offsets, tiling), errors)


def _crosses(picture: np.ndarray, tile: Tile, tiling: Tiling, neighbour: tuple[int, int]) -> np.ndarray:
    label = "{}-{}".format(*neighbour)
    seam = next(seam for seam in seams_of(tile, tiling) if seam.neighbour == label)
    return np.array([cross_place(picture, seam.at(share), JOIN_ARM_MM) for share in JOIN_SHARES])


def _laid(pictures, offsets, tiling: Tiling) -> np.ndarray:
    rows, columns = next(iter(pictures.values())).shape[:2]
    far = np.max(list(offsets.values()), axis=0)
    sheet = np.full((rows + round(far[1]), columns + round(far[0]), 3), 255, dtype=np.uint8)
    half = tiling.overlap_mm / 2
    for tile, picture in pictures.items():
        x0, y0, x1, y1 = window_frame(tile, tiling)
        kept = (x0 + half * (tile.column > 1), y0, x1, y1 - half * (tile.row > 1))
        part, left, top = cut_out(picture, kept)
        x, y = left + round(offsets[tile][0]), top + round(offsets[tile][1])
        sheet[y : y + part.shape[0], x : x + part.shape[1]] = part
    return sheet


def one_sheet(pattern, tiling: Tiling) -> tuple[bytes, Tiling]:
    """Return the same pattern on one sheet that is large enough, as a PDF, and its tiling."""
    (x0, y0, x1, y1) = pattern.box_mm
    # As high as the other sheets and some whole pixels more, so that pixels lie alike.
    height = tiling.sheet_mm[1] + math.ceil((y1 - y0) * PX_A_MM) / PX_A_MM
    whole = tiled(pattern.box_mm, paper=(x1 - x0 + 200.0, height), overlap=tiling.overlap_mm, printer_margin=8.0)
    assert whole.sheets == 1
    return pdf_bytes(pattern, pattern_pages(pattern, whole, BENCH)), whole


def differing_share(joined_sheets: np.ndarray, whole: np.ndarray, colour: tuple[int, int, int]) -> float:
    """Return the share of a whole picture's pixels that differ by over half of full scale from the joined sheets.

    The two are laid over each other by what they show in ``colour``, the register marks, to a whole pixel.
    """
    a, b = (np.array(sorted(colour_places(p, colour, 150))) for p in (joined_sheets, whole))
    right, down = np.round(np.mean(b - a, axis=0)).astype(int).tolist()
    laid = shifted(joined_sheets, right, down, whole.shape)
    return float((np.abs(laid.astype(int) - whole).max(axis=2) > 127).mean())


def shifted(picture: np.ndarray, right: int, down: int, shape: tuple[int, ...]) -> np.ndarray:
    """Return the picture moved by whole pixels into a frame of another shape, white where nothing comes in."""
    moved = np.full(shape, 255, dtype=np.uint8)
    source = picture[max(0, -down) :, max(0, -right) :][: shape[0] - max(0, down), : shape[1] - max(0, right)]
    top, left = max(0, down), max(0, right)
    moved[top : top + source.shape[0], left : left + source.shape[1]] = source
    return moved
