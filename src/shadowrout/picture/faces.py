"""Faces of people who look at the camera, found by the cascade of classifiers that scikit-image brings along.

Source: Liao, Zhu, Lei, Zhang and Li, Learning Multi-scale Block Local Binary Patterns for Face Recognition,
International Conference on Biometrics, 2007. Profiles and animals aren't found. What is found amiss keeps a little more
detail, and does no other harm.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from shadowrout.picture.photo import resized
from shadowrout.picture.upright import Crop

LOOK_PX = 320
"""Longer side of the picture in which faces are looked for: time goes with its area."""
LEAST_FACE_PX = 24
"""The classifiers' own window; larger ones are tried by SCALE_FACTOR from there on."""
NEIGHBOURS = 16
"""Overlapping finds that make a face. On 38 pictures both portraits were found and nothing else; with 12 came one false
face, with 24 one was missed."""
SCALE_FACTOR = 1.1
"""Each size of window over the one before."""

_CASCADE = "data/lbpcascade_frontalface_opencv.xml"


def faces_in(colour: NDArray[np.uint8]) -> tuple[Crop, ...]:
    """Return the bounds of the faces in an sRGB picture (height, width, 3), in shares of it; from the top down."""
    import skimage
    from skimage.feature import Cascade

    height, width = colour.shape[:2]
    scale = LOOK_PX / max(height, width)
    look = resized(colour, width_px=max(1, round(width * scale)), height_px=max(1, round(height * scale)))
    rows, columns = look.shape[:2]
    if min(rows, columns) < LEAST_FACE_PX:
        return ()
    found = Cascade(str(Path(skimage.__file__).parent / _CASCADE)).detect_multi_scale(
        img=look,
        scale_factor=SCALE_FACTOR,
        step_ratio=1,
        min_size=(LEAST_FACE_PX, LEAST_FACE_PX),
        max_size=(min(rows, columns),) * 2,
        min_neighbor_number=NEIGHBOURS,
    )
    boxes = [
        (f["c"] / columns, f["r"] / rows, (f["c"] + f["width"]) / columns, (f["r"] + f["height"]) / rows) for f in found
    ]
    return tuple(sorted(boxes, key=lambda box: (box[1], box[0])))
