"""How the finished plaque will look: bare wood with its grain, dark paint in the recesses, light from the upper left.

Dowel holes are plugged, as they are before the paint: a plug is of the board's own wood, and its joint shows.

A picture for the customer, not a measurement: colours and grain are invented, the shapes and what sanding leaves of
them are not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.fragile_light import Grain
from shadowrout.report.look.height_field import Field, HeightField
from shadowrout.report.look.wood_colours import WOOD_COLOURS
from shadowrout.words.colours import VERMILLION
from shadowrout.words.units import MM_PER_INCH

Picture = NDArray[np.uint8]
"""Shape (height, width, 3), sRGB."""

_PAINT = np.array([44, 38, 36], np.float32)
"""Dark and a little warm, by eye, no source; not black, so that the light still shapes what is painted."""

_LOST = np.array(VERMILLION, np.float32)
_TABLE = np.float32(255)

_LIGHT = np.array([-0.5, -0.6, 0.62], np.float32)
"""Towards the light, x right, y down, z up: from the upper left, as people take a picture to be lit."""

_SEED = 11
"""Of the grain's noise; any would do, and the same always gives the same picture."""

_ROWS_A_BAND = 32
"""How many rows are reckoned at once: with all their arrays they stay in the processor's cache."""

_JOINT_MM = 0.25
"""Width of the joint round a plug, by eye, no source: a well fitted one that still shows in the picture."""

_JOINT_SHADE = np.float32(0.7)
_PLUG_SHADE = np.float32(0.96)
"""What the joint round a plug, and the plug itself, have of the wood's brightness."""


def finished(field: HeightField, *, sanding_mm: float, wood: str = "basswood") -> Picture:
    """Return the plaque of a ``wood`` of the options after painting and sanding the face down by ``sanding_mm``."""
    bare = _Bare.of(field, wood)
    slope_x, slope_y = _slopes(field, sanding_mm)
    picture = np.empty((*field.board_cover.shape, 3), np.uint8)
    for rows in _bands(field):
        part = field.of_rows(rows)
        painted = _mixed(bare.colours(rows), _PAINT, part.dark_cover(sanding_mm))
        picture[rows] = _on_table(_lit(painted, slope_x[rows], slope_y[rows]), part.board_cover)
    return picture


def what_sanding_takes(
    field: HeightField, *, planned_mm: float, wood: str = "basswood", inches: bool = False
) -> Picture:
    """Return three plaques side by side, sanded by half the planned loss, by all of it and by twice as much.

    What was dark after half the loss and is gone stands in vermilion. Where no loss is planned all three are alike.
    The captions are in mm, with ``inches`` in inches too.
    """
    losses_mm = [factor * planned_mm for factor in (0.5, 1.0, 2.0)]
    height, width = field.board_cover.shape
    captions = [_caption(_sanded_off(loss_mm, inches=inches), width) for loss_mm in losses_mm]
    gap = max(8, width // 40)
    sheet = np.full((height + len(captions[0]), 3 * width + 2 * gap, 3), 255, np.uint8)
    panels = [sheet[:, left : left + width] for left in range(0, sheet.shape[1], width + gap)]
    for panel, caption in zip(panels, captions, strict=True):
        panel[height:] = caption
    bare = _Bare.of(field, wood)
    for rows in _bands(field):
        part, wooden = field.of_rows(rows), bare.colours(rows)
        darks = [part.dark_cover(loss_mm) for loss_mm in losses_mm]
        for panel, dark in zip(panels, darks, strict=True):
            lost = np.clip(darks[0] - dark, 0, 1)
            panel[rows] = _on_table(_mixed(_mixed(wooden, _PAINT, dark), _LOST, lost), part.board_cover)
    return sheet


def _sanded_off(loss_mm: float, *, inches: bool) -> str:
    told = f" ({loss_mm / MM_PER_INCH:.3f} in)" if inches else ""
    return f"{loss_mm:.2f} mm{told} sanded off"


def _bands(field: HeightField) -> Iterator[slice]:
    """Yield the rows of a field a few at a time: what is reckoned of so few stays in the processor's cache."""
    rows = len(field.board_cover)
    for first in range(0, rows, _ROWS_A_BAND):
        yield slice(first, min(first + _ROWS_A_BAND, rows))


def _mixed(colours: Field, colour: Field, share: Field) -> Field:
    """Return colours (3, height, width) with another over the share of each pixel."""
    mixed: Field = colours * (1 - share) + colour[:, None, None] * share
    return mixed


@dataclass(frozen=True, eq=False)
class _Bare:
    """Bare wood before paint: the colours of what grows early and late in a year, and how much of a pixel is what.

    Plugs in the dowel holes are other wood, its grain along the board's, within a thin joint.
    """

    early: Field
    """Red, green and blue, shape (3,)."""
    late: Field
    late_share: Field
    """Shape (height, width), as the other shares."""
    plug: Field
    joint: Field

    @classmethod
    def of(cls, field: HeightField, wood: str) -> _Bare:
        early, late = (np.array(colour, np.float32) for colour in WOOD_COLOURS[wood])
        around = 2 * math.ceil(_JOINT_MM / field.pixel_mm) + 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (around, around))
        plug = cv2.erode(field.hole_cover, disc).astype(np.float32, copy=False)
        late_share = _late_share(field.board_cover.shape, field.pixel_mm, field.grain)
        return cls(early, late, late_share, plug, field.hole_cover - plug)

    def colours(self, rows: slice) -> Field:
        """Return red, green and blue of some rows, shape (3, rows, width)."""
        plug, joint = self.plug[rows], self.joint[rows]
        wood = self._grown(self.late_share[rows])
        if not (plug.any() or joint.any()):
            return wood
        other = self._grown(self.late_share[::-1][rows])
        colours: Field = wood * (1 - joint * (1 - _JOINT_SHADE)) * (1 - plug) + other * _PLUG_SHADE * plug
        return colours

    def _grown(self, late_share: Field) -> Field:
        return _mixed(self.early[:, None, None], self.late, late_share)


@lru_cache(maxsize=1)
def _late_share(shape: tuple[int, ...], pixel_mm: float, grain: Grain) -> Field:
    """Return the share of late wood: flat-sawn, growth rings that wander along the grain, and fine fibres."""
    if grain == "along-height":
        return np.ascontiguousarray(_late_share((shape[1], shape[0]), pixel_mm, "along-width").T)
    height, _ = shape[:2]
    rng = np.random.default_rng(_SEED)
    wander = _noise(rng, shape, along_mm=120, across_mm=25, pixel_mm=pixel_mm)
    y = np.arange(height, dtype=np.float32)[:, None] * np.float32(pixel_mm)
    rings = (y / 9 + 1.6 * wander) % 1.0
    late = np.clip((rings - 0.35) / 0.65, 0, 1) ** 2 * 0.7
    fibres = 0.12 * _noise(rng, shape, along_mm=12, across_mm=0.35, pixel_mm=pixel_mm)
    share: Field = np.clip(late + fibres, 0, 1)
    return share


def _noise(
    rng: np.random.Generator, shape: tuple[int, ...], *, along_mm: float, across_mm: float, pixel_mm: float
) -> Field:
    """Return noise of mean 0 and deviation 1 that changes over the given lengths, drawn coarse and stretched."""
    step_x, step_y = max(along_mm / pixel_mm, 1.0), max(across_mm / pixel_mm, 1.0)
    coarse = rng.standard_normal((math.ceil(shape[0] / step_y) + 3, math.ceil(shape[1] / step_x) + 3))
    size = (round(coarse.shape[1] * step_x), round(coarse.shape[0] * step_y))
    fine = cv2.resize(coarse.astype(np.float32), size, interpolation=cv2.INTER_CUBIC)
    noise: Field = fine[: shape[0], : shape[1]].astype(np.float32)
    return noise


def _slopes(field: HeightField, sanding_mm: float) -> tuple[Field, Field]:
    """Return how steeply the sanded surface rises to the right and downwards at each pixel."""
    height = -np.maximum(field.depth_mm() - np.float32(sanding_mm), 0)
    height = cv2.GaussianBlur(height, (0, 0), 0.15 / field.pixel_mm)
    slope_x = cv2.Sobel(height, cv2.CV_32F, 1, 0, scale=1 / (8 * field.pixel_mm))
    slope_y = cv2.Sobel(height, cv2.CV_32F, 0, 1, scale=1 / (8 * field.pixel_mm))
    return slope_x.astype(np.float32, copy=False), slope_y.astype(np.float32, copy=False)


def _lit(colours: Field, slope_x: Field, slope_y: Field) -> Field:
    """Return colours (3, height, width) under one lamp: walls turned to it brighten, those turned away darken."""
    steep = np.sqrt(1 + slope_x**2 + slope_y**2)
    towards = (-slope_x * _LIGHT[0] - slope_y * _LIGHT[1] + _LIGHT[2]) / steep / np.linalg.norm(_LIGHT)
    shade = 0.55 + 0.45 * np.clip(towards, 0, 1) / (_LIGHT[2] / np.linalg.norm(_LIGHT))
    gloss = 55 * np.clip(towards - 0.85, 0, 1)
    lit: Field = colours * np.clip(shade, 0.4, 1.25) + gloss
    return lit


def _on_table(colours: Field, cover: Field) -> Picture:
    """Return colours (3, height, width) as a picture, white beyond the board."""
    shown = np.clip(np.round(colours * cover + _TABLE * (1 - cover)), 0, 255).astype(np.uint8)
    return np.moveaxis(shown, 0, -1)


def captioned(picture: Picture, text: str) -> Picture:
    """Return the picture, shape (height, width, 3), over a line of text on white."""
    captioned: Picture = np.vstack([picture, _caption(text, picture.shape[1])])
    return captioned


def _caption(text: str, width: int) -> Picture:
    """Return a line of text on white, ``width`` pixels wide."""
    (text_width, _), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 1.0, 2)
    scale = width / max(700, 1.05 * text_width)
    strip = np.full((round(44 * scale), width, 3), 255, np.uint8)
    at = (round(8 * scale), round(30 * scale))
    cv2.putText(strip, text, at, cv2.FONT_HERSHEY_SIMPLEX, scale, (40, 40, 40), max(1, round(2 * scale)), cv2.LINE_AA)
    return strip
