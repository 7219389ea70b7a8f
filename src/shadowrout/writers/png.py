"""PNG pictures, compressed the same way every time."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import OutputError


def png_bytes(picture: NDArray[np.uint8]) -> bytes:
    """Return an sRGB picture of shape (height, width, 3) as a PNG file (PNG specification, 3rd edition)."""
    done, encoded = cv2.imencode(".png", picture[..., ::-1], [cv2.IMWRITE_PNG_COMPRESSION, 6])
    if not done:
        raise OutputError("the picture could not be written as PNG")
    return encoded.tobytes()
