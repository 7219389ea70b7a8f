"""Grey of more than 8 bits: which of its numbers are black and white."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image, TiffImagePlugin

_BAND_PX = 1 << 21
"""Pixels looked at together: as doubles they take 16 MB."""

_SIXTEEN_BITS = ("I;16", "I;16L", "I;16B", "I;16N")

# TIFF 6.0
_BITS_TAG, _PHOTOMETRIC_TAG, _SAMPLE_FORMAT_TAG = 258, 262, 339
_WHITE_IS_ZERO, _UNSIGNED = 0, 1


@dataclass(frozen=True)
class Scale:
    """Which numbers are black and white; white may be the smaller."""

    black: float
    white: float
    unsigned: bool = False  # Pillow hands on 32-bit integers as signed ones

    def applied(self, numbers: NDArray[np.generic]) -> NDArray[np.float32]:
        """Return the numbers as 0..1; what is not finite becomes white, being an empty part of the picture."""
        exact = (numbers.view(np.uint32) if self.unsigned else numbers).astype(np.float64)
        values = np.clip((exact - self.black) / (self.white - self.black), 0, 1)
        return np.where(np.isfinite(exact), values, 1).astype(np.float32)


def is_numeric(image: Image.Image) -> bool:
    """Whether the picture is grey with more than 8 bits."""
    return image.mode in (*_SIXTEEN_BITS, "I", "F")


def scale_of(image: Image.Image) -> tuple[Scale, tuple[str, ...]]:
    """Return the scale of a decoded numeric picture, and notes on what had to be assumed.

    16-bit grey runs over its whole range (TIFF 6.0, PNG: ISO/IEC 15948). For 32-bit integers and floats no
    standard says what black and white are: see ``scale_of_range``. Raises ValueError as that does.
    """
    if image.mode in _SIXTEEN_BITS:
        return _sixteen_bit_scale(image), ()
    if image.format == "PNG":  # older versions of Pillow read 16-bit grey PNG as 32-bit integers
        return Scale(0, 65535), ()
    unsigned = image.mode == "I" and _tag(image, _SAMPLE_FORMAT_TAG, _UNSIGNED) == _UNSIGNED
    bands = (band.view(np.uint32) if unsigned else band for band in _bands(image))
    scale, notes = scale_of_range(finite_range_of(bands))
    return replace(scale, unsigned=unsigned), notes


def scale_of_range(found: tuple[float, float] | None) -> tuple[Scale, tuple[str, ...]]:
    """Return the scale for numbers from ``found[0]`` to ``found[1]``, and a note where it was assumed.

    Within 0..1 they are taken as they are, like sRGB's encoded values; otherwise the least is black and the most
    white. Raises ValueError when there is no finite number or, outside 0..1, only one.
    """
    if found is None:
        raise ValueError("it holds no finite number")
    least, most = found
    if least >= 0 and most <= 1:
        return Scale(0, 1), ()
    if least == most or not np.isfinite(most - least):
        raise ValueError(f"its numbers from {least:g} to {most:g} can't be stretched to black and white")
    return Scale(least, most), (f"the picture's numbers from {least:g} to {most:g} were stretched to black and white",)


def finite_range_of(parts: Iterable[NDArray[np.generic]]) -> tuple[float, float] | None:
    """Return the smallest and largest finite number of all the parts, None when there is none."""
    least, most = np.inf, -np.inf
    for part in parts:
        finite = part[np.isfinite(part)]
        if finite.size:
            least, most = min(least, float(finite.min())), max(most, float(finite.max()))
    return (least, most) if least <= most else None


def _bands(image: Image.Image) -> Iterable[NDArray[np.generic]]:
    rows = max(1, _BAND_PX // image.width)
    for top in range(0, image.height, rows):
        yield np.asarray(image.crop((0, top, image.width, min(top + rows, image.height))))


def _sixteen_bit_scale(image: Image.Image) -> Scale:
    white = 2.0 ** _tag(image, _BITS_TAG, 16) - 1
    inverted = _tag(image, _PHOTOMETRIC_TAG, -1) == _WHITE_IS_ZERO
    return Scale(white, 0) if inverted else Scale(0, white)


def _tag(image: Image.Image, number: int, default: int) -> int:
    """Return a TIFF tag, its first value if it has several; ``default`` for pictures without it."""
    if not isinstance(image, TiffImagePlugin.TiffImageFile):
        return default
    value = image.tag_v2.get(number, default)
    return int(value[0] if isinstance(value, tuple) else value)
