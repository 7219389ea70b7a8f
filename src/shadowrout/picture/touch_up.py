"""A touch-up: a picture drawn over the customer's, whose opaque dark adds shadow and whose opaque light removes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from shadowrout.errors import InputError
from shadowrout.picture.decoders import BROKEN_EXIF, PillowPicture
from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.opening import opened
from shadowrout.picture.photo import resized
from shadowrout.picture.picture_files import decoding, source_name
from shadowrout.picture.pixels import Flat
from shadowrout.picture.srgb import to_srgb
from shadowrout.picture.upright import Crop, View

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""

MOST_OFF = 0.01
"""How far the proportions may differ from the picture's, as a share: what rounding to whole pixels does."""

_MIDDLE, _HALF_WAY = 50.0, 10.0
"""CIE L* that is neither dark nor light, and how far from it a colour counts fully."""

_MOST_UNCLEAR = 0.1
"""Share of the opaque pixels that may be neither dark nor light: more than the edges between the two ever are."""

_BAND_PX = 1 << 21
"""Pixels looked at together: copies of so many are small beside a large picture."""

_NOTHING_TRANSPARENT = (
    "nothing in it is transparent, so it would replace the whole design; to carve it as it is, give it as the "
    "picture itself with method two-tone; to touch up, draw on a transparent layer and save that as PNG"
)

_NOT_UPRIGHT = "its EXIF data are damaged, so it can't be turned upright; save it again as PNG"

_UNCLEAR = "its colours are neither dark nor light; draw in black what becomes shadow, and in white what becomes light"


@dataclass(frozen=True, eq=False)
class TouchUp:
    """``amount``: shape (h, w), 1 where shadow is added, -1 where it is removed, 0 where neither; and reading notes."""

    amount: Field
    notes: tuple[str, ...]


def read_touch_up(
    path: Path, *, crop: Crop | None = None, proportions_of: tuple[int, int], long_side_px: int
) -> TouchUp:
    """Return what a touch-up adds and removes.

    Between them lie soft edges: what is half transparent counts half. ``proportions_of`` is the width and height of
    the upright, uncropped picture, whose proportions the touch-up must have within MOST_OFF; ``crop`` is the
    picture's, in shares of it. The longer side gets at most ``long_side_px``, and is never enlarged. Colours are
    dark below CIE L* 50, by the file's own colour profile where it has one. Raises InputError as ``reading.read``
    does, and for other proportions, a picture without transparency, and colours that are neither dark nor light.
    """
    if long_side_px < 1:
        raise ValueError(f"long_side_px must be at least 1, got {long_side_px}")
    with opened(path, crop) as header:
        picture, view = header.picture, header.view
        if not isinstance(picture, PillowPicture) or header.kind.name == "JPEG":  # neither can have an alpha channel
            raise InputError(source_name(path), _NOTHING_TRANSPARENT)
        _check_proportions(path, replace(view, crop=None).size_px, proportions_of)
        with decoding(path, header.kind):
            image, _ = picture.decoded(1.0)
            if BROKEN_EXIF in picture.notes:  # only now: a file cut short has none to read either
                raise InputError(source_name(path), _NOT_UPRIGHT)
            _check_alpha(path, image)
            amount, unclear, notes = _averaged(image, picture.profile, view, long_side_px)
    if unclear > _MOST_UNCLEAR:
        raise InputError(source_name(path), _UNCLEAR)
    return TouchUp(np.clip(view.turned(amount), -1, 1), tuple(f"touch-up: {note}" for note in notes))


def fitted(touch_up: Field, *, width_px: int, height_px: int) -> Field:
    """Return the touch-up at ``width_px`` x ``height_px``, -1 to 1."""
    return np.clip(resized(touch_up, width_px=width_px, height_px=height_px), -1, 1)


def _check_proportions(path: Path, size_px: tuple[int, int], wanted_px: tuple[int, int]) -> None:
    (width, height), (wanted_width, wanted_height) = size_px, wanted_px
    if abs(width * wanted_height / (height * wanted_width) - 1) > MOST_OFF:
        raise InputError(
            source_name(path),
            f"{width} x {height} pixels are not the proportions of the picture it touches up, {wanted_width} x "
            f"{wanted_height}; draw it over the whole picture and don't crop it",
        )


def _check_alpha(path: Path, image: Image.Image) -> None:
    rows = max(1, _BAND_PX // image.width)
    bands = (image.crop((0, y, image.width, min(y + rows, image.height))) for y in range(0, image.height, rows))
    if not image.has_transparency_data or all(
        np.asarray(_layered(band).getchannel("A")).min() == 255 for band in bands
    ):
        raise InputError(source_name(path), _NOTHING_TRANSPARENT)


def _averaged(
    image: Image.Image, profile: bytes | None, view: View, long_side_px: int
) -> tuple[Field, float, tuple[str, ...]]:
    """Return the wanted part as stored, reduced, the share of its opaque pixels that are unclear, and notes."""
    left, top, right, bottom = view.box_in(*image.size)
    share = min(1.0, long_side_px / max(view.size_px))
    width_px, height_px = (max(1, round(side * share)) for side in view.stored_part_px)
    rows = max(1, _BAND_PX // (right - left))
    bands, opaque, unclear = [], 0, 0
    notes: tuple[str, ...] = ()
    for y in range(top, bottom, rows):
        band = _layered(image.crop((left, y, right, min(y + rows, bottom))))
        side, notes = _sides(band, profile)
        alpha = np.asarray(band.getchannel("A"), dtype=np.float32) / np.float32(255)
        opaque += int(np.count_nonzero(alpha == 1))
        unclear += int(np.count_nonzero((alpha == 1) & (np.abs(side) < 1)))
        bands.append(resized(side * alpha, width_px=width_px, height_px=side.shape[0]))
    amount = resized(np.concatenate(bands), width_px=width_px, height_px=height_px)
    return amount, unclear / max(1, opaque), notes


def _sides(band: Image.Image, profile: bytes | None) -> tuple[Field, tuple[str, ...]]:
    """Return for each pixel its side, 1 for dark to -1 for light, and notes on what had to be assumed."""
    mode = "L" if band.mode == "LA" else "RGB"
    colours, notes = to_srgb(Flat(np.asarray(band.convert(mode)), mode), profile)
    side = np.clip((_MIDDLE - lightness_of(colours)) / _HALF_WAY, -1, 1)
    return side.astype(np.float32), notes


def _layered(band: Image.Image) -> Image.Image:
    """Return the band with a channel of its own for alpha, colours not multiplied by it."""
    return band.convert("LA" if band.mode in ("1", "L", "LA", "La") else "RGBA")
