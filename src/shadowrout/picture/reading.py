"""From a picture file to a ``Photo``, decoding no more than the wanted resolution needs."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from shadowrout.errors import InputError
from shadowrout.picture.deep_grey import is_numeric, scale_of
from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.opening import Header, opened
from shadowrout.picture.photo import Photo
from shadowrout.picture.picture_files import decoding, source_name
from shadowrout.picture.pixels import Flat, averaged
from shadowrout.picture.srgb import bytes_of, to_srgb
from shadowrout.picture.upright import Crop, View

LEAST_SIDE_PX = 16
"""A picture or crop with a shorter side holds nothing that could be carved."""


def size_of(path: Path, *, crop: Crop | None = None) -> tuple[int, int]:
    """Return width and height in pixels of the upright, cropped picture, from the file's header alone.

    ``crop`` is in shares of the upright picture and must leave some of it. Raises InputError as ``read`` does, but
    for damage that only decoding finds.
    """
    with opened(path, crop) as header:
        _check_least_side(path, header.view)
        return header.view.size_px


def read(
    path: Path, *, crop: Crop | None = None, long_side_px: int, ground: Literal["light", "dark"] = "light"
) -> Photo:
    """Decode a picture file, upright and cropped, its longer side at most ``long_side_px``; never enlarged.

    Alpha goes over white, or over black for a dark ``ground``. Of an animation the first frame is taken, of a TIFF file
    the first page. Colour deeper than 8 bits is read at 8 bits, grey at its own depth. Areas are averaged in the file's
    own encoding. Raises InputError when the file is missing, no picture, damaged, cut short, too large or too small.
    """
    if long_side_px < 1:
        raise ValueError(f"long_side_px must be at least 1, got {long_side_px}")
    with opened(path, crop) as header:
        _check_least_side(path, header.view)
        with decoding(path, header.kind):
            flat, notes = _decoded(header, long_side_px, "black" if ground == "dark" else "white")
    colours, profile_notes = to_srgb(flat, header.picture.profile)
    upright = header.view.turned(colours)
    full_width_px, full_height_px = header.view.size_px
    return Photo(
        lightness_of(upright),
        bytes_of(upright),
        full_width_px,
        full_height_px,
        notes + profile_notes,
        ground if flat.has_ground else "",
    )


def _check_least_side(path: Path, view: View) -> None:
    width_px, height_px = view.size_px
    if min(width_px, height_px) < LEAST_SIDE_PX:
        what = "the crop leaves" if view.crop else "it has"
        size = f"{width_px} x {height_px} pixels"
        problem = f"too small to carve: {what} {size}; a picture needs {LEAST_SIDE_PX} or more on each side"
        raise InputError(source_name(path), problem)


def _decoded(header: Header, long_side_px: int, ground: str) -> tuple[Flat, tuple[str, ...]]:
    """Return the wanted part as stored, reduced, with notes on what was assumed."""
    view = header.view
    share = min(1.0, long_side_px / max(view.size_px))
    image, notes = header.picture.decoded(share)
    scale = None
    if is_numeric(image):
        scale, scale_notes = scale_of(image)
        notes += scale_notes
    left, top, right, bottom = box = view.box_in(*image.size)
    stored = (right - left, bottom - top)
    wanted = [max(1, round(side * share)) for side in view.stored_part_px]
    width_px, height_px = (min(have, want) for have, want in zip(stored, wanted, strict=True))
    flat = averaged(image, box, width_px=width_px, height_px=height_px, scale=scale, ground=ground)
    return flat, notes
