"""Where the upright, cropped picture lies among the pixels as the file stores them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np

from shadowrout.picture.photo import AnySamples

Crop = tuple[float, float, float, float]
"""Left, top, right, bottom as shares 0..1 of the upright picture."""

PixelBox = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels; right and bottom are the first left out."""

# EXIF orientation (CIPA DC-008, tag 0x0112): exchange rows and columns first, then mirror along x, along y.
_TURNS = {
    1: (False, False, False),
    2: (False, True, False),
    3: (False, True, True),
    4: (False, False, True),
    5: (True, False, False),
    6: (True, True, False),
    7: (True, True, True),
    8: (True, False, True),
}


@dataclass(frozen=True)
class View:
    """The part of a stored picture that is wanted and how it has to be turned.

    ``stored_width_px`` and ``stored_height_px`` as in the file; ``orientation`` 1 to 8, the meaning of EXIF;
    ``crop`` in shares of the upright picture, None for all of it.
    """

    stored_width_px: int
    stored_height_px: int
    orientation: int = 1
    crop: Crop | None = None

    @property
    def swaps_sides(self) -> bool:
        """Whether the upright picture's width is the stored picture's height."""
        return _TURNS[self.orientation][0]

    @property
    def stored_part_px(self) -> tuple[int, int]:
        """Width and height of the wanted part as stored."""
        left, top, right, bottom = self.box_in(self.stored_width_px, self.stored_height_px)
        return right - left, bottom - top

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the upright, cropped picture."""
        across, down = self.stored_part_px
        return (down, across) if self.swaps_sides else (across, down)

    def box_in(self, width_px: int, height_px: int) -> PixelBox:
        """Return the wanted part of the stored picture when it was decoded at ``width_px`` x ``height_px``."""
        left, top, right, bottom = self._stored_crop()
        x0, x1 = _span(left, right, width_px)
        y0, y1 = _span(top, bottom, height_px)
        return x0, y0, x1, y1

    def turned(self, values: AnySamples) -> AnySamples:
        """Return stored pixels, shape (h, w, ...), upright."""
        swap, mirror_x, mirror_y = _TURNS[self.orientation]
        pixels = values.swapaxes(0, 1) if swap else values
        pixels = pixels[:: -1 if mirror_y else 1, :: -1 if mirror_x else 1]
        return cast(AnySamples, np.ascontiguousarray(pixels))

    def _stored_crop(self) -> Crop:
        swap, mirror_x, mirror_y = _TURNS[self.orientation]
        left, top, right, bottom = self.crop or (0.0, 0.0, 1.0, 1.0)
        if mirror_x:
            left, right = 1 - right, 1 - left
        if mirror_y:
            top, bottom = 1 - bottom, 1 - top
        return (top, left, bottom, right) if swap else (left, top, right, bottom)


def _span(start: float, end: float, length_px: int) -> tuple[int, int]:
    """Return whole pixels nearest to the shares, at least one of them."""
    first = min(max(round(start * length_px), 0), length_px - 1)
    return first, max(first + 1, min(round(end * length_px), length_px))
