"""How the finished plaque will look: bare wood with its grain, dark paint in the recesses, light from the upper left.

Dowel holes are plugged, as they are before the paint: a plug is of the board's own wood, and its joint shows.

A picture for the customer, not a measurement: colours and grain are invented, the shapes and what sanding leaves of
them are not.
"""

from __future__ import annotations

import math
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.colours import VERMILLION
from shadowrout.plan import Grain
from shadowrout.simulate.height_field import Field, HeightField
from shadowrout.simulate.wood_colours import WOOD_COLOURS
from shadowrout.units import MM_PER_INCH

Picture = NDArray[np.uint8]
"""Shape (height, width, 3), sRGB."""

_PAINT = np.array([44, 38, 36], np.float32)
_LOST = np.array(VERMILLION, np.float32)
_TABLE = np.float32(255)

_LIGHT = np.array([-0.5, -0.6, 0.62], np.float32)  # towards the light: x right, y down, z up
_SEED = 11

_JOINT_MM = 0.25
_JOINT_SHADE = np.float32(0.7)
_PLUG_SHADE = np.float32(0.96)
"""What the joint round a plug, and the plug itself, have of the wood's brightness."""


def finished(field: HeightField, *, sanding_mm: float, wood: str = "basswood") -> Picture:
    """Return the plaque of a ``wood`` of the options after painting and sanding the face down by ``sanding_mm``."""
    return _on_table(_lit(_painted(field, field.dark_cover(sanding_mm), wood), field, sanding_mm), field)


def what_sanding_takes(
    field: HeightField, *, planned_mm: float, wood: str = "basswood", inches: bool = False
) -> Picture:
    """Return three plaques side by side, sanded by half the planned loss, by all of it and by twice as much.

    What was dark after half the loss and is gone stands in vermilion. Where no loss is planned all three are alike.
    The captions are in mm, with ``inches`` in inches too.
    """
    first = field.dark_cover(planned_mm / 2)
    panels = []
    for factor in (0.5, 1.0, 2.0):
        dark = field.dark_cover(factor * planned_mm)
        lost = np.clip(first - dark, 0, 1)[..., None]
        surface = _painted(field, dark, wood) * (1 - lost) + _LOST * lost
        told = f" ({factor * planned_mm / MM_PER_INCH:.3f} in)" if inches else ""
        panels.append(captioned(_on_table(surface, field), f"{factor * planned_mm:.2f} mm{told} sanded off"))
    gap = np.full((panels[0].shape[0], max(8, panels[0].shape[1] // 40), 3), 255, np.uint8)
    sheet: Picture = np.hstack([panels[0], gap, panels[1], gap, panels[2]])
    return sheet


def _painted(field: HeightField, dark: Field, wood: str) -> Field:
    """Return bare wood with paint in the share of each pixel that is dark, as linear blend; (height, width, 3)."""
    share = dark[..., None]
    bare = _plugged(_wood(field.board_cover.shape, field.pixel_mm, wood, field.grain), field)
    surface: Field = bare * (1 - share) + _PAINT * share
    return surface


def _plugged(wood: Field, field: HeightField) -> Field:
    """Return the wood with plugs in the dowel holes: other wood, its grain along the board's, within a thin joint."""
    if not field.hole_cover.any():
        return wood
    around = 2 * math.ceil(_JOINT_MM / field.pixel_mm) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (around, around))
    plug = cv2.erode(field.hole_cover, disc)[..., None]
    joint = field.hole_cover[..., None] - plug
    surface: Field = wood * (1 - joint * (1 - _JOINT_SHADE)) * (1 - plug) + wood[::-1] * _PLUG_SHADE * plug
    return surface


@lru_cache(maxsize=1)
def _wood(shape: tuple[int, ...], pixel_mm: float, wood: str, grain: Grain) -> Field:
    """Return flat-sawn wood, its ``grain`` along the board's width or height."""
    early, late = (np.array(colour, np.float32) for colour in WOOD_COLOURS[wood])
    share = _late_share(shape, pixel_mm, grain)
    surface: Field = early * (1 - share) + late * share
    return surface


def _late_share(shape: tuple[int, ...], pixel_mm: float, grain: Grain) -> Field:
    """Return the share of late wood, (height, width, 1): growth rings that wander along the grain, and fine fibres."""
    if grain == "along-height":
        return _late_share((shape[1], shape[0]), pixel_mm, "along-width").swapaxes(0, 1)
    height, _ = shape[:2]
    rng = np.random.default_rng(_SEED)
    wander = _noise(rng, shape, along_mm=120, across_mm=25, pixel_mm=pixel_mm)
    y = np.arange(height, dtype=np.float32)[:, None] * np.float32(pixel_mm)
    rings = (y / 9 + 1.6 * wander) % 1.0
    late = np.clip((rings - 0.35) / 0.65, 0, 1) ** 2 * 0.7
    fibres = 0.12 * _noise(rng, shape, along_mm=12, across_mm=0.35, pixel_mm=pixel_mm)
    share: Field = np.clip(late + fibres, 0, 1)[..., None]
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


def _lit(surface: Field, field: HeightField, sanding_mm: float) -> Field:
    """Return the surface under one lamp: walls turned to the light brighten, those turned away darken."""
    height = -np.maximum(field.depth_mm() - np.float32(sanding_mm), 0)
    height = cv2.GaussianBlur(height, (0, 0), 0.15 / field.pixel_mm)
    slope_x = cv2.Sobel(height, cv2.CV_32F, 1, 0, scale=1 / (8 * field.pixel_mm))
    slope_y = cv2.Sobel(height, cv2.CV_32F, 0, 1, scale=1 / (8 * field.pixel_mm))
    steep = np.sqrt(1 + slope_x**2 + slope_y**2)
    towards = (-slope_x * _LIGHT[0] - slope_y * _LIGHT[1] + _LIGHT[2]) / steep / np.linalg.norm(_LIGHT)
    shade = 0.55 + 0.45 * np.clip(towards, 0, 1) / (_LIGHT[2] / np.linalg.norm(_LIGHT))
    gloss = 55 * np.clip(towards - 0.85, 0, 1)
    lit: Field = surface * np.clip(shade, 0.4, 1.25)[..., None] + gloss[..., None]
    return lit


def _on_table(surface: Field, field: HeightField) -> Picture:
    cover = field.board_cover[..., None]
    picture: Picture = np.clip(np.round(surface * cover + _TABLE * (1 - cover)), 0, 255).astype(np.uint8)
    return picture


def captioned(picture: Picture, text: str) -> Picture:
    """Return the picture, shape (height, width, 3), over a line of text on white."""
    (width, _), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 1.0, 2)
    scale = picture.shape[1] / max(700, 1.05 * width)
    strip = np.full((round(44 * scale), picture.shape[1], 3), 255, np.uint8)
    at = (round(8 * scale), round(30 * scale))
    cv2.putText(strip, text, at, cv2.FONT_HERSHEY_SIMPLEX, scale, (40, 40, 40), max(1, round(2 * scale)), cv2.LINE_AA)
    captioned: Picture = np.vstack([picture, strip])
    return captioned
