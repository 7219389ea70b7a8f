"""Designs to cut stencils of: seeded random ones of four kinds, and letters. All in millimetres, y up."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import shapely
import skimage
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from numpy.typing import NDArray
from scipy import ndimage

from shadowrout.design.mask import Mask, clean
from shadowrout.design.tone.choosing import choose_dark, choose_method, tone_of
from shadowrout.design.trace import outline_of
from shadowrout.geometry.region import Box, Region
from shadowrout.picture import reading
from shadowrout.picture.photo import resampled

KINDS = ("field", "two-scale", "rings", "text")
SIDE_MM = 120.0
PIXEL_MM = 0.3
BORDER_MM = 12.0
WEB_MM = 3.0
SIGMA_OF_WEB = 0.4
SIGMA_OF_DETAIL = 0.3
"""The least sigma of keep-lines over its finest line: a design coarse enough for a web follows from both."""


def random_design(kind: str, seed: int, *, side_mm: float = SIDE_MM) -> Region:
    """Return a design of about ``side_mm`` each way; text has its own size."""
    generator = np.random.default_rng([KINDS.index(kind), seed])
    if kind == "text":
        return _random_text(generator)
    make = {"field": _field, "two-scale": _two_scale, "rings": _rings}[kind]
    return region_of_field(make(generator, round(side_mm / PIXEL_MM)), PIXEL_MM)


def region_of_field(field: NDArray[np.float64], pixel_mm: float) -> Region:
    outline = outline_of(Mask(field.astype(np.float32), pixel_mm, 0, 0))
    return outline.region.mapped((pixel_mm, -pixel_mm), (0.0, field.shape[0] * pixel_mm))


def photo_design(name: str, *, long_side_mm: float = 200.0, pixel_mm: float = 0.25) -> Region:
    """Return the design of a photo that is coarse enough for the web."""
    source = next((Path(skimage.__file__).parent / "data").glob(f"{name}.*"))
    full = reading.read(source, long_side_px=2000)
    height, width = full.lightness.shape
    scale = long_side_mm / max(height, width) / pixel_mm
    picture = resampled(full, width_px=round(width * scale), height_px=round(height * scale))
    method = choose_method(picture)
    tone = tone_of(
        picture,
        pixel_mm=pixel_mm,
        method=method,
        dark=choose_dark(picture, method),
        detail_mm=SIGMA_OF_WEB * WEB_MM / SIGMA_OF_DETAIL,
        smoothing_mm=None,
    )
    return region_of_field(clean(tone, least_speck_mm2=4.0, least_pinhole_mm2=4.0).field, pixel_mm)


def sheet_around(design: Region, border_mm: float = BORDER_MM) -> Box:
    x0, y0, x1, y1 = design.bounds
    return x0 - border_mm, y0 - border_mm, x1 + border_mm, y1 + border_mm


def letters(text: str, height_mm: float, *, weight: str = "normal", face: FontProperties | None = None) -> Region:
    """Return a line of text whose capital H has the given height; DejaVu Sans, as matplotlib ships it."""
    face = face or FontProperties(family="DejaVu Sans", weight=weight)
    shape = shapely.Polygon()
    rings = [shapely.Polygon(ring) for ring in TextPath((0, 0), text, size=100, prop=face).to_polygons()]
    for ring in sorted(rings, key=lambda ring: -ring.area):
        shape = shape.symmetric_difference(ring.buffer(0))
    scale = height_mm / TextPath((0, 0), "H", size=100, prop=face).get_extents().height
    return Region.of_shape(shape).mapped((scale, scale), (0.0, 0.0))


def _noise(generator: np.random.Generator, pixels: int, sigma_mm: float) -> NDArray[np.float64]:
    blurred = ndimage.gaussian_filter(generator.normal(size=(pixels, pixels)), sigma_mm / PIXEL_MM)
    return np.asarray(blurred / blurred.std())


def _field(generator: np.random.Generator, pixels: int) -> NDArray[np.float64]:
    return _noise(generator, pixels, generator.uniform(1.2, 6)) - generator.uniform(-0.6, 0.6)


def _two_scale(generator: np.random.Generator, pixels: int) -> NDArray[np.float64]:
    coarse = _noise(generator, pixels, generator.uniform(5, 12))
    fine = _noise(generator, pixels, generator.uniform(0.8, 2))
    return np.asarray(coarse + generator.uniform(0.3, 1) * fine - generator.uniform(-0.5, 0.5))


def _rings(generator: np.random.Generator, pixels: int) -> NDArray[np.float64]:
    y, x = np.mgrid[:pixels, :pixels] * PIXEL_MM
    field = np.full(x.shape, -1.0)
    for number in range(generator.integers(3, 9)):
        across, up = generator.uniform(15, pixels * PIXEL_MM - 15, 2)
        band = generator.uniform(1.5, 8) / 2 - np.abs(np.hypot(x - across, y - up) - generator.uniform(4, 30))
        field = np.maximum(field, band) if number == 0 or generator.random() < 0.7 else np.where(band > 0, -band, field)
    return field


def _random_text(generator: np.random.Generator) -> Region:
    signs = list("ABCDEFGHIJKLMNOPQRSTUVWXYZabdegopq0123456789&@%")
    placed = []
    for row in range(generator.integers(2, 5)):
        word = "".join(generator.choice(signs, 4))
        weight = str(generator.choice(["normal", "bold"]))
        height = float(generator.uniform(8, 28))
        turn = float(generator.uniform(-15, 15))
        shape = shapely.affinity.rotate(letters(word, height, weight=weight).shape, turn)
        placed.append(shapely.affinity.translate(shape, float(generator.uniform(0, 20)), 28.0 * row))
    return Region.of_shape(shapely.union_all(placed))
