"""From a decoded picture of any mode to plain samples over white or black, averaged down band by band.

The picture itself is the only thing held at full size: each band of rows is converted and averaged alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
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
    grey of more than 8 bits. ``mode``: "L", "RGB" or "CMYK", as in Pillow. ``has_ground``: whether something of it was
    transparent, so that the ground shows.
    """

    values: Samples
    mode: str
    has_ground: bool = False


def averaged(
    image: Image.Image, box: PixelBox, *, width_px: int, height_px: int, scale: Scale | None, ground: str = "white"
) -> Flat:
    """Return the picture's ``box`` at ``width_px`` x ``height_px``, no larger than the box.

    Alpha goes over ``ground``, "white" or "black". ``scale`` is needed for the numeric modes and unused otherwise.
    """
    left, top, right, bottom = box
    rows = max(1, _BAND_PX // (right - left))
    bands = []
    for y in range(top, bottom, rows):
        band = _flat(image.crop((left, y, right, min(y + rows, bottom))), scale, ground)
        bands.append(replace(band, values=resized(band.values, width_px=width_px, height_px=band.values.shape[0])))
    values = resized(
        cast(Samples, np.concatenate([band.values for band in bands])), width_px=width_px, height_px=height_px
    )
    return Flat(values, bands[-1].mode, any(band.has_ground for band in bands))


def _flat(band: Image.Image, scale: Scale | None, ground: str) -> Flat:
    if is_numeric(band):
        if scale is None:
            raise ValueError(f"a picture of mode {band.mode} needs a scale")
        return Flat(scale.applied(np.asarray(band)), "L")
    if band.has_transparency_data:
        return _over(band, ground)
    if band.mode == "1":
        band = band.convert("L")
    elif band.mode not in _KEPT:
        band = band.convert("RGB")
    return Flat(np.asarray(band), band.mode)


def _over(band: Image.Image, ground: str) -> Flat:
    grey = band.mode in ("1", "L", "LA", "La")
    layered = band.convert("LA" if grey else "RGBA")
    solid, alpha = layered.convert("L" if grey else "RGB"), layered.getchannel("A")
    behind = Image.new(solid.mode, solid.size, ground)
    behind.paste(solid, mask=alpha)
    least, _ = alpha.getextrema()
    return Flat(np.asarray(behind), behind.mode, has_ground=least != 255)
