"""Pictures laid into the sheet itself, at a size that prints well and still mails."""

from __future__ import annotations

import base64
import math
from dataclasses import dataclass

import cv2
import numpy as np

LONG_SIDE_PX = 1100
"""Long side of an embedded picture: about 150 dots an inch over the width of a printed page."""

_JPEG_QUALITY = 85
"""Small, and without blocks that a reader would see (common practice, no source)."""


@dataclass(frozen=True)
class Embedded:
    """A picture inside a page: the address that holds its bytes, and its size in pixels."""

    address: str
    width_px: int
    height_px: int


def embedded(png: bytes) -> Embedded:
    """Return a PNG file as a picture of at most ``LONG_SIDE_PX``, JPEG in a data address (RFC 2397).

    Wood grain takes several times less room as JPEG than as PNG. Raises ValueError for bytes that aren't a picture.
    """
    pixels = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_COLOR) if png else None
    if pixels is None:
        raise ValueError("these bytes are no picture")
    height, width = pixels.shape[:2]
    shrink = min(1.0, LONG_SIDE_PX / max(width, height))
    size = max(1, math.floor(width * shrink + 0.5)), max(1, math.floor(height * shrink + 0.5))
    if shrink < 1:
        pixels = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    _, encoded = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    return Embedded("data:image/jpeg;base64," + base64.b64encode(encoded.tobytes()).decode("ascii"), *size)
