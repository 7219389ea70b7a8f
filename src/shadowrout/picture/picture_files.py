"""The gate: what kind of picture a file holds and whether it can be read at all, judged before decoding."""

from __future__ import annotations

import logging
import stat
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from PIL import Image, UnidentifiedImageError

from shadowrout.errors import InputError

logging.getLogger("PIL").addHandler(logging.NullHandler())  # else it writes on damaged files to standard error

_READABLE = "JPEG, PNG, WebP, TIFF, BMP, GIF and HEIC pictures can be read"


@dataclass(frozen=True)
class PictureKind:
    """A kind of picture file: its name for people and for Pillow, and the largest that is decoded.

    The limits keep the memory under 2 GB. Measured on 100 megapixels read at 4: JPEG 0.12 GB, progressive 0.65 GB, of
    four inks 0.85 GB; PNG, BMP and TIFF 0.6 GB; TIFF to be turned 0.8 GB; WebP 0.75 GB; GIF 0.3 GB; HEIC at 12
    megapixels 0.14 GB. ``most_megabytes`` bounds the file, since some decoders take it whole into memory.
    """

    name: str
    pillow: str
    signs: Callable[[bytes], bool]
    most_megapixels: int
    most_megabytes: int


def _begins(*heads: bytes) -> Callable[[bytes], bool]:
    return lambda start: start.startswith(heads)


def _is_heif(start: bytes) -> bool:
    brands = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
    return start[4:8] == b"ftyp" and start[8:12] in brands


KINDS = (
    PictureKind("JPEG", "JPEG", _begins(b"\xff\xd8\xff"), 300, 1000),
    PictureKind("PNG", "PNG", _begins(b"\x89PNG\r\n\x1a\n"), 300, 2000),
    PictureKind("TIFF", "TIFF", _begins(b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"), 200, 4000),
    PictureKind("WebP", "WEBP", lambda start: start[:4] == b"RIFF" and start[8:12] == b"WEBP", 150, 200),
    PictureKind("BMP", "BMP", _begins(b"BM"), 300, 2000),
    PictureKind("GIF", "GIF", _begins(b"GIF87a", b"GIF89a"), 300, 1000),
    PictureKind("HEIC", "HEIF", _is_heif, 150, 200),
)

PROGRESSIVE_JPEG = PictureKind("progressive JPEG", "JPEG", KINDS[0].signs, 150, 1000)
"""Its decoder keeps all coefficients at full size."""


@contextmanager
def picture_file(path: Path) -> Iterator[tuple[BinaryIO, PictureKind]]:
    """Open a file that may hold a picture: yields it, at its start, and the kind that its first bytes claim.

    Raises InputError for anything but a regular, readable, non-empty file of a known kind.
    """
    source = source_name(path)
    length = _regular_length(path)
    try:
        file = path.open("rb")
    except OSError as error:
        raise InputError(source, f"can't be opened: {_reason(error)}") from error
    with file:
        kind = _kind_of(file.read(16))
        if kind is None:
            raise InputError(source, f"not a picture of a known kind; {_READABLE}")
        if length > kind.most_megabytes * 10**6:
            raise InputError(
                source, f"{length / 1e6:.0f} MB long; a {kind.name} file may have {kind.most_megabytes} MB"
            )
        file.seek(0)
        yield file, kind


def source_name(path: Path) -> str:
    """Return how messages call the file, on one line whatever characters its name has."""
    return "".join(c if c.isprintable() else "?" for c in path.name or str(path))


@contextmanager
def decoding(path: Path, kind: PictureKind) -> Iterator[None]:
    """Turn whatever a decoder raises inside the block into an InputError, and keep its warnings quiet.

    Decoders raise almost any built-in exception on damaged data, so all are caught; only decoding belongs inside.
    """
    limit = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = None  # the limits of KINDS hold instead
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except InputError:
        raise
    except MemoryError as error:
        raise InputError(source_name(path), "too large for this computer's memory; save it smaller") from error
    except Exception as error:  # decoders raise almost anything on damaged files
        raise InputError(source_name(path), _damage(kind, error)) from error
    finally:
        Image.MAX_IMAGE_PIXELS = limit


def check_pixels(path: Path, kind: PictureKind, width_px: int, height_px: int) -> None:
    """Raise InputError when a picture of this declared size would take too much memory to decode."""
    megapixels = width_px * height_px / 1e6
    if megapixels > kind.most_megapixels:
        size = f"{width_px} x {height_px} pixels ({megapixels:.0f} megapixels)"
        raise InputError(
            source_name(path),
            f"{size} are too many; a {kind.name} file may have {kind.most_megapixels} megapixels: save it smaller",
        )


def _regular_length(path: Path) -> int:
    """Return the length in bytes of a regular, non-empty file; raise InputError for anything else."""
    source = source_name(path)
    try:
        info = path.stat()
    except (FileNotFoundError, NotADirectoryError) as error:
        raise InputError(source, "no such file") from error
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        raise InputError(source, f"can't be opened: {_reason(error)}") from error
    if stat.S_ISDIR(info.st_mode):
        raise InputError(source, "a folder; give a picture file")
    if not stat.S_ISREG(info.st_mode):
        raise InputError(source, "a device or pipe; give a picture file")
    if info.st_size == 0:
        raise InputError(source, "an empty file; give a picture file")
    return info.st_size


def _kind_of(start: bytes) -> PictureKind | None:
    return next((kind for kind in KINDS if kind.signs(start)), None)


def _damage(kind: PictureKind, error: Exception) -> str:
    remedy = "copy it again from where it came from, or save it again as PNG"
    if isinstance(error, UnidentifiedImageError):
        return f"the {kind.name} file is damaged at its beginning: {remedy}"
    if isinstance(error, EOFError) or any(sign in str(error).lower() for sign in ("truncated", "end of file")):
        return f"the {kind.name} file is cut short: {remedy}"
    return f"the {kind.name} file is damaged, cut short or of an unknown sort ({_reason(error)}): {remedy}"


def _reason(error: Exception) -> str:
    """Return the error's own words on one short line, without the file's name that the system puts there."""
    words = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(words).split())[:80]
