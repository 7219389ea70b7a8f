"""How a picture's header is read and its pixels are decoded, whichever library knows its kind."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import cv2
import numpy as np
from PIL import Image, UnidentifiedImageError

from shadowrout.picture.floats import FloatPicture, float_picture
from shadowrout.picture.picture_files import PictureKind

BROKEN_EXIF = "the picture's EXIF data are damaged, so it was not turned upright"

_ORIENTATION_TAG = 0x0112  # EXIF, CIPA DC-008


@dataclass(frozen=True, eq=False)
class PillowPicture:
    """A picture that Pillow knows, its header read and its pixels not.

    ``orientation``: EXIF's, 1 to 8, of the pixels as ``decoded`` gives them. ``notes``: what was assumed.
    """

    file: BinaryIO
    image: Image.Image
    orientation: int
    notes: tuple[str, ...]

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height as stored."""
        return self.image.size

    @property
    def profile(self) -> bytes | None:
        """The embedded ICC profile."""
        return self.image.info.get("icc_profile")

    def decoded(self, share: float) -> tuple[Image.Image, tuple[str, ...]]:
        """Decode at no less than ``share`` of the size: a JPEG costs less at 1/2, 1/4 or 1/8 of its size."""
        if self.image.format == "WEBP" and not getattr(self.image, "is_animated", False):
            return _still_webp(self.file), self.notes
        width_px, height_px = self.image.size
        self.image.draft(None, (max(1, int(width_px * share)), max(1, int(height_px * share))))
        with _quiet_libtiff(self.image):
            self.image.load()
        return self.image, self.notes


def header_of(file: BinaryIO, kind: PictureKind) -> PillowPicture | FloatPicture:
    """Read a picture's header; raises whatever the decoders raise on a damaged one."""
    if kind.pillow == "HEIF":
        import pillow_heif  # costs 60 ms, and few pictures need it

        pillow_heif.register_heif_opener()
    try:
        image = Image.open(file, formats=[kind.pillow])
    except UnidentifiedImageError:
        picture = float_picture(file) if kind.pillow == "TIFF" else None
        if picture is None:
            raise
        return picture
    orientation, notes = _orientation_of(image)
    return PillowPicture(file, image, orientation, notes)


def _orientation_of(image: Image.Image) -> tuple[int, tuple[str, ...]]:
    if image.format == "TIFF":
        return 1, ()  # Pillow turns these upright itself, and gives the upright size
    try:
        value = image.getexif().get(_ORIENTATION_TAG, 1)
    except Exception:  # damaged EXIF data raise almost anything; the pixels are unharmed
        return 1, (BROKEN_EXIF,)
    return (value if value in range(1, 9) else 1), ()


def _still_webp(file: BinaryIO) -> Image.Image:
    """Decode by OpenCV, which took 0.6 GB for 100 megapixels where Pillow took 1.6 GB and far longer."""
    file.seek(0)
    pixels = cv2.imdecode(np.frombuffer(file.read(), dtype=np.uint8), cv2.IMREAD_UNCHANGED)
    if pixels is None or pixels.ndim != 3:
        raise OSError("its pixels can't be decoded")
    order = cv2.COLOR_BGRA2RGBA if pixels.shape[2] == 4 else cv2.COLOR_BGR2RGB
    return Image.fromarray(cv2.cvtColor(pixels, order, dst=pixels))


@contextmanager
def _quiet_libtiff(image: Image.Image) -> Iterator[None]:
    """Keep libtiff's own remarks on damaged data, which it writes to file descriptor 2, out of the user's sight."""
    if image.format != "TIFF":
        yield
        return
    with Path(os.devnull).open("wb") as nowhere:
        kept = os.dup(2)
        try:
            os.dup2(nowhere.fileno(), 2)
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
