"""Samples of any colour model to sRGB, by the picture's own colour profile where it has one."""

from __future__ import annotations

import io
from typing import cast

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from shadowrout.picture.photo import Samples
from shadowrout.picture.pixels import Flat

BROKEN_PROFILE = "the picture's colour profile can't be used, so its colours were read as sRGB"


def to_srgb(flat: Flat, profile: bytes | None) -> tuple[Samples, tuple[str, ...]]:
    """Return sRGB colours, shape (h, w, 3), and notes on what had to be assumed.

    ``profile`` is the embedded ICC profile (ICC.1, ISO 15076-1), converted with its perceptual intent. Without one
    grey and RGB are taken as sRGB, CMYK as the simple complement. A profile that is damaged or made for another
    colour model is left out, and a note says so: lightness, which the design follows, changes little. Samples
    are uint8; deep grey without a profile stays float32, 0..1.
    """
    if profile:
        try:
            return _by_profile(flat, profile), ()
        except (ImageCms.PyCMSError, OSError):
            return _plain(flat), (BROKEN_PROFILE,)
    return _plain(flat), ()


def bytes_of(colours: Samples) -> NDArray[np.uint8]:
    """Return colours or samples of 0..1 as bytes; bytes stay as they are."""
    if colours.dtype == np.uint8:
        return colours.astype(np.uint8, copy=False)
    return np.rint(colours * 255).astype(np.uint8)


def _by_profile(flat: Flat, profile: bytes) -> NDArray[np.uint8]:
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    transform = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), flat.mode, "RGB")
    return np.asarray(transform.apply(_image(flat)))


def _plain(flat: Flat) -> Samples:
    if flat.mode == "CMYK":
        return np.asarray(_image(flat).convert("RGB"))
    if flat.mode == "L":
        return cast(Samples, np.repeat(flat.values[:, :, None], 3, axis=2))
    return flat.values


def _image(flat: Flat) -> Image.Image:
    values = bytes_of(flat.values)
    height, width = values.shape[:2]
    return Image.frombytes(flat.mode, (width, height), values.tobytes())
