"""From a picture's pixels to millimetres on one plaque: the board's outline, the picture's place, the design."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shadowrout.design.trace import Outline
from shadowrout.errors import InputError, SettingError
from shadowrout.geometry import outlines
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region
from shadowrout.job.options import Plaque

PIXELS_A_LINE = 4
"""Working pixels across the finest line: enough for a sub-pixel outline, and no more than the wood can hold."""

MOST_PIXELS = 60_000_000
"""The most working pixels: one field of so many is 240 MB in single precision, and a tone holds several."""

LEAST_FIELD_MM = 20.0
"""The least side of what the margin leaves of a board: less isn't worth carving."""

_CORNER_SHARE = 0.1
"""Radius of a rounded board's corners over its shorter side (common practice, no source)."""

_FLATNESS_MM = 0.005
"""How far a board's edge, flattened, may lie from its arcs: a twentieth of the usual tolerance."""

_HAIR_MM = 1e-6
"""Heights of a picture that differ by less are equal, and a box that reaches out by less lies within."""


@dataclass(frozen=True, eq=False)
class Layout:
    """One plaque before anything is drawn on it; millimetres, y up."""

    plaque: Plaque
    edge: ArcPath
    board_mm: Box
    field: Region
    """What lies within the margin."""
    picture_box_mm: Box
    """Where the whole picture lies; larger than the field when the picture fills it."""

    @property
    def board_words(self) -> str:
        """The board's width and height as a message tells them."""
        width, height = _sides(self.board_mm)
        return f"{width:g}x{height:g}mm"


@dataclass(frozen=True)
class Resolution:
    """The working pixels of one plaque."""

    width_px: int
    height_px: int
    pixel_mm: float


@dataclass(frozen=True, eq=False)
class Design:
    """The shadows of one plaque at true size; millimetres, y up."""

    layout: Layout
    shadow: Region
    dark_share: float
    """Share of the picture's visible part that is shadow."""
    slivers_dropped: int
    """Pieces that the edge of the field cut so small that no tool makes them."""


def lay_out(plaque: Plaque, *, aspect: float, origin: str) -> Layout:
    """Return the layout of a plaque for a picture of ``aspect`` = width / height.

    ``origin`` "corner" puts zero at the lower left corner of the board's box, "centre" at its middle. Raises
    SettingError where the shape can't have the size, or the margin leaves no field worth carving.
    """
    if plaque.size is None:
        raise ValueError("a plaque's size must be settled before it is laid out")
    width, height = plaque.size
    x0, y0 = (0.0, 0.0) if origin == "corner" else (-width / 2, -height / 2)
    board = (x0, y0, x0 + width, y0 + height)
    edge = _edge(plaque.shape, board)
    field = Region.of_polygons([(edge.flattened(_FLATNESS_MM), [])]).offset(-plaque.margin, error=_FLATNESS_MM)
    if field.is_empty or min(_sides(field.bounds)) < LEAST_FIELD_MM:
        most = (min(width, height) - LEAST_FIELD_MM) / 2
        raise SettingError(
            "plaque.margin",
            f"{plaque.margin:g}mm leaves less than {LEAST_FIELD_MM:g}mm to carve on a plaque of "
            f"{width:g}x{height:g}mm; give {max(0.0, most):g}mm or less, or a larger plaque",
        )
    place = _largest_inside if plaque.fit == "inside" else _least_around
    return Layout(plaque, edge, board, field, place(field, aspect))


def resolution_of(layout: Layout, *, detail_mm: float) -> Resolution:
    """Return the working pixels for a finest line of ``detail_mm``; raises SettingError for too many."""
    width, height = _sides(layout.picture_box_mm)
    pixel = detail_mm / PIXELS_A_LINE
    if width * height / pixel**2 > MOST_PIXELS:
        least = math.ceil(PIXELS_A_LINE * math.sqrt(width * height / MOST_PIXELS) * 100) / 100
        raise SettingError(
            "tone.detail",
            f"{detail_mm:g}mm is too fine for a picture of {width:.0f}x{height:.0f}mm; give {least:g}mm or more",
        )
    width_px, height_px = max(16, round(width / pixel)), max(16, round(height / pixel))
    return Resolution(width_px, height_px, math.sqrt(width * height / (width_px * height_px)))


def sized(outline: Outline, layout: Layout, *, least_area_mm2: float) -> Design:
    """Return the design on the plaque: pixels to millimetres, y up, clipped to the field.

    Pieces that clipping leaves smaller than ``least_area_mm2`` are dropped and counted, holes as small are
    filled. Raises InputError where no shadow is left.
    """
    x0, y0, x1, y1 = layout.picture_box_mm
    scale = ((x1 - x0) / outline.width_px, -(y1 - y0) / outline.height_px)
    shadow = outline.region.mapped(scale, (x0, y1))
    visible = Region.box(layout.picture_box_mm)
    dropped = 0
    if not layout.field.covers(visible):
        visible = visible.intersection(layout.field)
        clipped = shadow.intersection(layout.field)
        shadow = clipped.keeping(least_area_mm2).holes_filled(least_area_mm2)
        dropped = len(clipped) - len(shadow)
    if shadow.is_empty:
        raise InputError("the picture", "no shadow is left within the plaque's margin; set more dark or a crop")
    return Design(layout, shadow, shadow.area / visible.area, dropped)


def on_board(shadow: Region, layout: Layout) -> Region:
    """Return what lies on the board: past its edge there is no wood to cut."""
    board = Region.of_polygons([(layout.edge.flattened(_FLATNESS_MM), [])])
    return shadow if board.covers(shadow) else shadow.intersection(board)


def _edge(shape: str, board: Box) -> ArcPath:
    width, height = _sides(board)
    if shape == "rectangle":
        return outlines.rectangle(board)
    if shape == "rounded":
        return outlines.rounded_rectangle(board, _CORNER_SHARE * min(width, height))
    if shape == "oval":
        return outlines.ellipse(board)
    if shape == "round":
        if width != height:
            raise SettingError(
                "plaque.size", f"a round plaque is as wide as high; {width:g}x{height:g}mm can be an oval"
            )
        return outlines.ellipse(board)
    if height <= width / 2:
        raise SettingError(
            "plaque.size", f"an arch {width:g}mm wide must be higher than {width / 2:g}mm, half its width"
        )
    return outlines.arch(board)


def _least_around(field: Region, aspect: float) -> Box:
    """Return the smallest box of the aspect, centred, that covers the field's box."""
    x0, y0, x1, y1 = field.bounds
    height = max(y1 - y0, (x1 - x0) / aspect)
    return _box_at((x0 + x1) / 2, (y0 + y1) / 2, height, aspect)


def _largest_inside(field: Region, aspect: float) -> Box:
    """Return the largest box of the aspect within the field, on its upright middle line.

    The field is convex, so the height that fits at a level rises to one maximum: a golden-section search
    over the level finds it (Kiefer 1953), a bisection the height at each.
    """
    x0, y0, x1, y1 = field.bounds
    x, middle = (x0 + x1) / 2, (y0 + y1) / 2
    most = min(y1 - y0, (x1 - x0) / aspect)
    if field.covers(Region.box(_box_at(x, middle, most - 2 * _HAIR_MM, aspect))):
        return _box_at(x, middle, most, aspect)
    golden = (math.sqrt(5) - 1) / 2
    low, high = y0, y1
    while high - low > 1e-4:
        left, right = high - golden * (high - low), low + golden * (high - low)
        lower, upper = (_height_at(field, x, level, most, aspect) for level in (left, right))
        if abs(lower - upper) < _HAIR_MM:  # as high on both sides: the middle is as good as any
            low, high = left, right
        elif lower < upper:
            low = left
        else:
            high = right
    level = (low + high) / 2
    return _box_at(x, level, _height_at(field, x, level, most, aspect), aspect)


def _height_at(field: Region, x: float, y: float, most: float, aspect: float) -> float:
    low, high = 0.0, most
    while high - low > 1e-7:
        height = (low + high) / 2
        if field.covers(Region.box(_box_at(x, y, height, aspect))):
            low = height
        else:
            high = height
    return low


def _box_at(x: float, y: float, height: float, aspect: float) -> Box:
    half = height * aspect / 2
    return x - half, y - height / 2, x + half, y + height / 2


def _sides(box: Box) -> tuple[float, float]:
    x0, y0, x1, y1 = box
    return x1 - x0, y1 - y0
