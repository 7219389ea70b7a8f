"""The pictures of a plaque: the preview has the board's proportions, and none of them is blank."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles

PICTURES = {"preview": ("preview.png", "preview-sanding.png"), "stencil": ("stencil.png",)}
"""The pictures that belong to each kind of file."""

_OF_BOARD = "preview.png"
"""The others have captions or a legend beside the board or the sheet."""
_CHANNELS = {0: 1, 2: 3, 4: 2, 6: 4}
"""By colour type (PNG, 11.2.1); a palette's pictures aren't looked into."""
_MOST_PIXELS = 40_000_000
"""Several times the largest picture that is made."""
_BYTES_AT_ONCE = 300_000
"""Some rows, the first of which tell of most pictures that they aren't blank."""
_AGAIN = "make the plaque again"


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield the pictures that are blank or of other proportions; whether they are there and whole is told elsewhere."""
    for kind, names in PICTURES.items():
        for name in names if kind in plaque.job.output.files else ():
            path = plaque.folder / name
            if path.is_file():
                yield from (
                    (Promise.COMPLETE, Finding(None, f"{name}: {what}", _AGAIN)) for what in _faults(path, plaque)
                )


def _faults(path: Path, plaque: PlaqueFiles) -> Iterator[str]:
    content = path.read_bytes()
    if len(content) < 33 or content[12:16] != b"IHDR":
        return
    width, height, bits, colours = struct.unpack(">IIBB", content[16:26])
    board_width, board_height = plaque.settings.size or (0.0, 0.0)
    # Rounded to whole pixels, neither side is more than one off.
    if path.name == _OF_BOARD and abs(width * board_height - height * board_width) > board_width + board_height:
        yield f"its {width} x {height} pixels haven't the board's proportions"
    if (
        0 < width * height <= _MOST_PIXELS
        and bits == 8
        and colours in _CHANNELS
        and _is_blank(content, width, height, colours)
    ):
        yield "is blank"


def _is_blank(content: bytes, width: int, height: int, colours: int) -> bool:
    """Return whether all pixels are alike: each row repeats its first pixel, or, as a difference, is nothing after it.

    Stops at the first row that doesn't; what can't be unpacked isn't called blank here.
    """
    channels = _CHANNELS[colours]
    stride, first, left = 1 + width * channels, b"", height
    unpacking, packed = zlib.decompressobj(), b"".join(_data(content))
    try:
        while left > 0 and (rows := unpacking.decompress(packed, stride * max(1, _BYTES_AT_ONCE // stride))):
            packed, left = unpacking.unconsumed_tail, left - max(1, len(rows) // stride)
            whole = np.frombuffer(rows, np.uint8, len(rows) // stride * stride).reshape(-1, width * channels + 1)[:, 1:]
            pixels = whole.reshape(len(whole), width, channels)
            alike = (pixels == pixels[:, :1]).all(axis=(1, 2)) | (pixels[:, 1:] == 0).all(axis=(1, 2))
            first = first or pixels[:1, 0].tobytes()
            if not alike.all() or any(pixel.tobytes() not in (first, bytes(channels)) for pixel in pixels[:, 0]):
                return False
    except zlib.error:
        return False
    return bool(first)


def _data(content: bytes) -> Iterator[bytes]:
    """Yield what the IDAT chunks hold (PNG, 5.3)."""
    at = 8
    while at + 12 <= len(content):
        (length,) = struct.unpack(">I", content[at : at + 4])
        if content[at + 4 : at + 8] == b"IDAT":
            yield content[at + 8 : at + 8 + length]
        at += 12 + length
