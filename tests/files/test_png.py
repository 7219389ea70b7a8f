"""The PNG writer against two readers of others: Pillow and OpenCV."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from PIL import Image

from shadowrout.files.png import png_bytes


@pytest.mark.parametrize("shape", [(1, 1), (1, 700), (300, 2), (37, 41)])
def test_every_pixel_is_read_back_by_pillow_and_opencv(shape):
    picture = np.random.default_rng(0).integers(0, 256, (*shape, 3), dtype=np.uint8)
    content = png_bytes(picture)
    Image.open(io.BytesIO(content)).verify()  # every chunk's checksum
    read = Image.open(io.BytesIO(content))
    assert (read.format, read.mode) == ("PNG", "RGB")
    assert (np.asarray(read) == picture).all()
    read_bgr = cv2.imdecode(np.frombuffer(content, np.uint8), cv2.IMREAD_UNCHANGED)
    assert (read_bgr[..., ::-1] == picture).all()


def test_a_part_of_a_larger_picture_is_written_as_it_looks():
    large = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    part = large[3:15:2, 25:5:-1]
    assert (np.asarray(Image.open(io.BytesIO(png_bytes(part)))) == part).all()
