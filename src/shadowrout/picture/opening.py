"""A picture file opened: its kind, its header and its size judged, its pixels not decoded."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from shadowrout.picture.decoders import PillowPicture, header_of
from shadowrout.picture.floats import FloatPicture
from shadowrout.picture.picture_files import PROGRESSIVE_JPEG, PictureKind, check_pixels, decoding, picture_file
from shadowrout.picture.upright import Crop, View


@dataclass(frozen=True, eq=False)
class Header:
    """What is known of a picture before it is decoded, and the wanted part of it."""

    picture: PillowPicture | FloatPicture
    kind: PictureKind
    view: View


@contextmanager
def opened(path: Path, crop: Crop | None) -> Iterator[Header]:
    """Open a picture file; its pixels can be decoded while it is open.

    ``crop`` is in shares of the upright picture. Raises InputError for a file that is missing, no picture, damaged in
    its header, or too large.
    """
    with picture_file(path) as (file, kind):
        with decoding(path, kind):
            picture = header_of(file, kind)
            view = View(*picture.size_px, picture.orientation, crop)
        progressive = isinstance(picture, PillowPicture) and picture.image.info.get("progressive")
        check_pixels(path, PROGRESSIVE_JPEG if progressive else kind, view.stored_width_px, view.stored_height_px)
        yield Header(picture, kind, view)
