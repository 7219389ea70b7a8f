"""TIFF pictures of floating-point numbers, most of which Pillow doesn't know."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from shadowrout.picture.deep_grey import finite_range_of, scale_of_range

# TIFF 6.0
_ORIENTATION_TAG = 274
_RGB = 2

_MOST_MEGABYTES = 400  # scaling works on several copies


@dataclass(frozen=True, eq=False)
class FloatPicture:
    """The first page of a TIFF file of floating-point numbers, its header read and its numbers not."""

    page: Any

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height as stored."""
        return int(self.page.imagewidth), int(self.page.imagelength)

    @property
    def orientation(self) -> int:
        """As EXIF's, 1 to 8; 1 when it isn't said."""
        tag = self.page.tags.get(_ORIENTATION_TAG)
        return int(tag.value) if tag is not None and tag.value in range(1, 9) else 1

    @property
    def profile(self) -> None:
        """None: what a colour profile would mean for stretched numbers is not defined, so none is used."""

    def decoded(self, share: float) -> tuple[Image.Image, tuple[str, ...]]:
        """Return the picture, of mode "F" when grey, else "RGB", and notes on how it was scaled.

        Colour is brought to 8 bits, all its numbers by one scale; a fourth sample is left out. ``share`` has no
        effect. Raises ValueError when the numbers can't be scaled or are too many, and whatever tifffile raises.
        """
        megabytes = self.page.size * self.page.dtype.itemsize / 1e6
        if megabytes > _MOST_MEGABYTES:
            raise ValueError(f"{megabytes:.0f} MB of floating-point numbers, at most {_MOST_MEGABYTES} can be read")
        numbers: NDArray[np.floating] = self.page.asarray()
        if self.page.axes == "YX":
            return Image.fromarray(numbers.astype(np.float32)), ()
        colours = (np.moveaxis(numbers, 0, 2) if self.page.axes == "SYX" else numbers)[:, :, :3]
        scale, notes = scale_of_range(finite_range_of([colours]))
        return Image.fromarray(np.rint(scale.applied(colours) * 255).astype(np.uint8)), notes


def float_picture(file: BinaryIO) -> FloatPicture | None:
    """Return the picture of a TIFF file of floating-point grey or RGB, None when it holds something else.

    Raises whatever tifffile raises on a damaged file.
    """
    import tifffile  # costs 60 ms, and few pictures need it

    log = logging.getLogger("tifffile")
    if not log.handlers:
        log.addHandler(logging.NullHandler())  # else it reports damage to standard error besides raising
    file.seek(0)
    page: Any = tifffile.TiffFile(file).pages[0]
    is_float = page.dtype is not None and page.dtype.kind == "f"
    is_grey = page.axes == "YX"
    is_colour = page.axes in ("YXS", "SYX") and page.samplesperpixel in (3, 4) and page.photometric == _RGB
    return FloatPicture(page) if is_float and (is_grey or is_colour) else None
