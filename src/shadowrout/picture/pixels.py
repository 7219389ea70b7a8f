"""From a decoded picture of any mode to plain samples over white, averaged down band by band.

The picture itself is the only thing held at full size: each band of rows is converted and averaged alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from PIL import Image

from shadowrout.picture.deep_grey import Scale, is_numeric
from shadowrout.picture.photo import Samples, resized
from shadowrout.picture.upright import PixelBox

_BAND_PX = 1 << 21
"""Pixels worked on together: copies of so many are small beside a large picture."""

# Modes whose samples are kept, so that their colour profile still fits; all others become RGB.
_KEPT = ("L", "RGB", "CMYK")


@dataclass(frozen=True, eq=False)
class Flat:
    """Flat of one colour model without alpha.

    ``values``: shape (h, w) for grey, (h, w, 3 or 4) for colour; uint8, or float32 from 0 (black) to 1 (white) for
    grey of more than 8 bits. ``mode``: "L", "RGB" or "CMYK", as in Pillow.
    """

    values: Samples
    mode: str


def averaged(image: Image.Image, box: PixelBox, *, width_px: int, height_px: int, scale: Scale | None) -> Flat:
    """Return the picture's ``box`` at ``width_px`` x ``height_px``, no larger than the box.

    Alpha goes over white. ``scale`` is needed for the numeric modes and unused otherwise.
    """
    left, top, right, bottom = box
    rows = max(1, _BAND_PX // (right - left))
    bands, mode = [], ""
    for y in range(top, bottom, rows):
        band = _flat(image.crop((left, y, right, min(y + rows, bottom))), scale)
        bands.append(resized(band.values, width_px=width_px, height_px=band.values.shape[0]))
        mode = band.mode
    return Flat(resized(cast(Samples, np.concatenate(bands)), width_px=width_px, height_px=height_px), mode)


def _flat(band: Image.Image, scale: Scale | None) -> Flat:
    if is_numeric(band):
        if scale is None:
            raise ValueError(f"a picture of mode {band.mode} needs a scale")
        return Flat(scale.applied(np.asarray(band)), "L")
    if band.has_transparency_data:
        band = _over_white(band)
    elif band.mode == "1":
        band = band.convert("L")
    elif band.mode not in _KEPT:
        band = band.convert("RGB")
    return Flat(np.asarray(band), band.mode)


def _over_white(band: Image.Image) -> Image.Image:
    grey = band.mode in ("1", "L", "LA", "La")
    layered = band.convert("LA" if grey else "RGBA")
    solid = layered.convert("L" if grey else "RGB")
    white = Image.new(solid.mode, solid.size, "white")
    white.paste(solid, mask=layered.getchannel("A"))
    return white
