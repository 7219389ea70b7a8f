"""The pictures of a job, read and made ready for their tone: the customer's, and what was drawn over it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shadowrout.job.options import Picture
from shadowrout.picture import reading, subject
from shadowrout.picture.faces import faces_in
from shadowrout.picture.fine_detail import fine_detail, in_crop
from shadowrout.picture.photo import Photo
from shadowrout.picture.reading import size_of
from shadowrout.picture.touch_up import TouchUp, fitted, read_touch_up

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""


@dataclass(frozen=True, eq=False)
class Pictures:
    """What was read for a job.

    ``given``: the picture as it was given. ``photo``: the same, its background as asked for. ``touch_up``: shape
    (height, width), -1 removes shadow, 1 adds it; None where nothing is touched. What was drawn stands in it, and
    around that a background that was dropped is removed, so that no setting of the tone brings it back. ``left``: the
    share of the picture that may become shadow, 1 unless its background is dropped. ``faces``: how many were
    found, where any were looked for.
    """

    given: Photo
    photo: Photo
    touch_up: Field | None
    left: float
    faces: int = 0


def read_pictures(asked: Picture, *, long_side_px: int) -> Pictures:
    """Return the pictures that a job asks for at ``long_side_px`` or less on the longer side.

    Raises the errors of ``reading``, ``subject`` and ``touch_up``.
    """
    given = reading.read(asked.file, crop=asked.crop, long_side_px=long_side_px, ground=asked.ground)
    drawn = _touch_up(asked, long_side_px)
    treated = subject.background_as_asked(given, asked)
    amount = None if drawn is None else drawn.amount
    touch_up = amount if treated.dropped is None else _over(amount, treated.dropped)
    photo = treated.photo if drawn is None else replace(treated.photo, notes=treated.photo.notes + drawn.notes)
    return Pictures(given, photo, touch_up, treated.left)


def keeping_detail(pictures: Pictures, asked: Picture) -> Pictures:
    """Return the pictures with their photo told where its fine detail must stay: in faces, and where it was asked for.

    A box that lies outside the crop keeps nothing.
    """
    faces = faces_in(pictures.given.colour)
    boxes = [*faces, *(in_crop(box, asked.crop) for box in asked.fine)]
    photo = replace(pictures.photo, fine=fine_detail(boxes, pictures.photo.lightness.shape))
    return replace(pictures, photo=photo, faces=len(faces))


def _over(drawn: Field | None, dropped: Field) -> Field:
    """Return the touch-up over a dropped background, at the finer one's resolution."""
    if drawn is None:
        return -dropped
    height_px, width_px = max(drawn.shape, dropped.shape)
    drawn, dropped = (fitted(each, width_px=width_px, height_px=height_px) for each in (drawn, dropped))
    return drawn - (np.float32(1) - np.abs(drawn)) * dropped


def _touch_up(asked: Picture, long_side_px: int) -> TouchUp | None:
    if asked.touch_up is None:
        return None
    whole_px = size_of(asked.file)
    return read_touch_up(asked.touch_up, crop=asked.crop, proportions_of=whole_px, long_side_px=long_side_px)
