"""Picture files for tests, made on the spot: one encoder for each format, on pictures that scikit-image packages."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pillow_heif
import skimage.data
import tifffile
from numpy.typing import NDArray
from PIL import Image

from shadowrout.design.tone.settled_tone import tone_for
from shadowrout.job.options import Job
from shadowrout.picture.pictures import Pictures, read_pictures

PACKAGED = Path(skimage.data.__file__).parent

SUFFIXES = {"jpeg": ".jpg", "progressive": ".jpg", "float-tiff": ".tif", "lzw-tiff": ".tif", "tiff": ".tif"}


@cache
def sample(long_side_px: int = 128) -> NDArray[np.uint8]:
    """Return `astronaut`'s head (public domain) as uint8 sRGB, (h, w, 3) with h = 3/4 w."""
    picture = np.asarray(Image.open(PACKAGED / "astronaut.png").convert("RGB"))[0:240, 80:400]
    size = (long_side_px, long_side_px * 3 // 4)
    return cv2.resize(picture, size, interpolation=cv2.INTER_AREA)


def _by_pillow(name: str, **options: object) -> Callable[[NDArray[np.uint8]], bytes]:
    def encode(rgb: NDArray[np.uint8]) -> bytes:
        out = io.BytesIO()
        Image.fromarray(rgb).save(out, name, **options)
        return out.getvalue()

    return encode


def _heic(rgb: NDArray[np.uint8]) -> bytes:
    out = io.BytesIO()
    pillow_heif.from_pillow(Image.fromarray(rgb)).save(out, quality=95)
    return out.getvalue()


def tiff(values: NDArray[np.generic], **options: object) -> bytes:
    """Return a TIFF file of ``values`` as tifffile writes it."""
    out = io.BytesIO()
    tifffile.imwrite(out, values, **options)
    return out.getvalue()


def _float_tiff(rgb: NDArray[np.uint8]) -> bytes:
    return tiff((rgb / 255).astype(np.float32), photometric="rgb", compression="zlib")


ENCODERS: dict[str, Callable[[NDArray[np.uint8]], bytes]] = {
    "jpeg": _by_pillow("JPEG", quality=95, subsampling=0),
    "progressive": _by_pillow("JPEG", quality=95, progressive=True),
    "png": _by_pillow("PNG"),
    "webp": _by_pillow("WEBP", quality=95),
    "tiff": _by_pillow("TIFF"),
    "lzw-tiff": _by_pillow("TIFF", compression="tiff_lzw"),
    "float-tiff": _float_tiff,
    "bmp": _by_pillow("BMP"),
    "gif": _by_pillow("GIF"),
    "heic": _heic,
}


@cache
def encoded(format_name: str, long_side_px: int = 128) -> bytes:
    """Return the sample picture as a file of the format."""
    return ENCODERS[format_name](sample(long_side_px))


def written(folder: Path, format_name: str, content: bytes | None = None) -> Path:
    """Write ``content``, by default the sample picture, under a fitting name into ``folder``."""
    path = folder / ("picture" + SUFFIXES.get(format_name, f".{format_name}"))
    path.write_bytes(encoded(format_name) if content is None else content)
    return path


def read_and_settle(job: Job, *, long_side_px: int, widths_mm: Sequence[float] = ()) -> tuple[Job, Pictures]:
    """Return a job with its tone settled, and its pictures."""
    pictures = read_pictures(job.picture, long_side_px=long_side_px)
    return tone_for(job, pictures, widths_mm=widths_mm).job, pictures
