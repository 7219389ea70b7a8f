"""The subject of a picture, told apart from its background so that the background need not be carved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import InputError
from shadowrout.photo import Crop, Photo, resampled
from shadowrout.photo.values import resized

_SOURCE = "picture.subject"

_NOTHING_FOUND = (
    "no subject stands out from its surroundings; draw the shape round all of it with some background inside, or use "
    "the plain shape without cutting out"
)

_WORKING_SIDE_PX = 500

_ROUNDS = 5

_LEAST_SAMPLE_PX = 50  # GrabCut sorts the colours of either side into five clusters

# The middle alone is 0.10 of a rectangle and 0.12 of an ellipse; on noise and even pictures 0.13 was found at most, on
# subjects 0.34 and more. What fills the whole shape was not told from anything either.
_LEAST_SHARE, _GREATEST_SHARE = 0.16, 0.98

_LEAST_SPREAD = 2.0  # standard deviation of a colour channel, of 255; on even pictures GrabCut takes seconds

# Whoever draws a shape round a subject centres it: the middle of the shape, so much smaller, belongs to the subject.
_CORE_SCALE = 0.35

# Bays narrower than twice the first are filled, and then spurs narrower than twice the second cut off, as shares of
# the long side; the outline is smoothed by a Gaussian of the third.
_BAY_SHARE, _SPUR_SHARE, _SMOOTHING_SHARE = 0.016, 0.006, 0.006

_EDGE_SIGMA_PX = 0.8
"""Softness of the plain shape's edge: it goes from 0.02 to 0.98 over about 3 pixels."""


@dataclass(frozen=True)
class Subject:
    """A shape drawn round the subject. ``box``: its bounds, in shares of the upright, cropped picture.

    It may reach past the picture, as when the subject is cut by its border; left < right and top < bottom.
    """

    shape: Literal["rectangle", "ellipse"]
    box: Crop


def subject_mask(photo: Photo, subject: Subject, *, cut_out: bool = True) -> NDArray[np.float32]:
    """Return where the subject is: 1 inside, 0 outside, with an edge a few pixels soft.

    Shape (h, w), float32, as the photo's lightness. With ``cut_out`` the subject's own outline inside the shape is
    found by GrabCut (Rother, Kolmogorov and Blake 2004), as one piece without holes; nothing outside the shape is
    taken. Without it the shape itself is the outline. The same input gives the same mask. Raises InputError when
    no subject can be told from its surroundings, or the shape covers less than a pixel.
    """
    height_px, width_px = photo.lightness.shape
    if not cut_out:
        return _softened(_within_picture(_drawn(subject, width_px, height_px)))
    share = min(1.0, _WORKING_SIDE_PX / max(width_px, height_px))
    small = resampled(photo, width_px=max(1, round(width_px * share)), height_px=max(1, round(height_px * share)))
    rows, columns = small.lightness.shape
    shape = _drawn(subject, columns, rows) > 0
    core = _drawn(_core_of(subject), columns, rows) > 0
    found = _one_piece(_grab_cut(small.colour, shape, core))
    _check_share(found, shape)
    return _enlarged(_smoothed(_one_piece(_cleaned(found))), width_px, height_px)


def _drawn(subject: Subject, width_px: int, height_px: int) -> NDArray[np.float32]:
    """Return the shape, 1 where a pixel's centre lies inside it."""
    left, top, right, bottom = subject.box
    x = (np.arange(width_px, dtype=np.float32) + 0.5) / width_px
    y = (np.arange(height_px, dtype=np.float32)[:, None] + 0.5) / height_px
    if subject.shape == "rectangle":
        inside = (x >= left) & (x < right) & (y >= top) & (y < bottom)
    else:
        across, down = (2 * x - left - right) / (right - left), (2 * y - top - bottom) / (bottom - top)
        inside = across**2 + down**2 < 1
    return inside.astype(np.float32)


def _within_picture(drawn: NDArray[np.float32]) -> NDArray[np.float32]:
    if not drawn.any():
        raise InputError(_SOURCE, "the shape holds nothing of the picture; give it in shares of the picture, 0 to 1")
    return drawn


def _grab_cut(rgb: NDArray[np.uint8], shape: NDArray[np.bool_], core: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return what GrabCut counts to the foreground: all of ``core``, nothing outside ``shape``."""
    if min(np.count_nonzero(~shape), np.count_nonzero(shape)) < _LEAST_SAMPLE_PX:
        raise InputError(_SOURCE, "must leave some of the background outside and hold some of the picture")
    if rgb.std(axis=(0, 1)).max() < _LEAST_SPREAD:
        raise InputError(_SOURCE, _NOTHING_FOUND)
    labels = np.where(shape, cv2.GC_PR_FGD, cv2.GC_BGD).astype(np.uint8)
    labels[core] = cv2.GC_FGD
    background, foreground = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.setRNGSeed(1)  # its colour clusters start from random centres
    cv2.grabCut(rgb[:, :, ::-1].copy(), labels, (0, 0, 1, 1), background, foreground, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    found: NDArray[np.bool_] = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
    return found


def _one_piece(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the largest piece, counted over edges only, with its holes filled."""
    count, labels, figures, _ = cv2.connectedComponentsWithStats(inside.astype(np.uint8), connectivity=4)
    if count < 2:
        return inside
    piece = labels == 1 + int(np.argmax(figures[1:, cv2.CC_STAT_AREA]))
    outlines, _ = cv2.findContours(piece.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = np.zeros(inside.shape, dtype=np.uint8)
    cv2.drawContours(filled, outlines, -1, 1, cv2.FILLED)
    return filled > 0


def _core_of(subject: Subject) -> Subject:
    """Return an ellipse in the middle of the shape."""
    left, top, right, bottom = subject.box
    across, down = (right - left) * (1 - _CORE_SCALE) / 2, (bottom - top) * (1 - _CORE_SCALE) / 2
    return Subject("ellipse", (left + across, top + down, right - across, bottom - down))


def _check_share(inside: NDArray[np.bool_], shape: NDArray[np.bool_]) -> None:
    share = float(inside.sum() / shape.sum())
    if not _LEAST_SHARE <= share <= _GREATEST_SHARE:
        raise InputError(_SOURCE, _NOTHING_FOUND)


def _cleaned(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the piece with narrow bays filled and narrow spurs cut off; the picture's border is no edge."""
    long_side_px = max(inside.shape)
    bay, spur = (max(1, round(share * long_side_px)) for share in (_BAY_SHARE, _SPUR_SHARE))
    framed = cv2.copyMakeBorder(inside.astype(np.uint8), bay, bay, bay, bay, cv2.BORDER_REPLICATE)
    closed = cv2.morphologyEx(framed, cv2.MORPH_CLOSE, _disc(bay))
    opened = cv2.morphologyEx(closed, cv2.MORPH_OPEN, _disc(spur))
    return opened[bay:-bay, bay:-bay] > 0


def _disc(radius_px: int) -> NDArray[np.uint8]:
    side = 2 * radius_px + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), dtype=np.uint8)


def _smoothed(inside: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Return the piece blurred: its outline, free of pixel steps, is the level 0.5."""
    sigma = max(0.5, _SMOOTHING_SHARE * max(inside.shape))
    return _blurred(inside.astype(np.float32), sigma)


def _enlarged(soft: NDArray[np.float32], width_px: int, height_px: int) -> NDArray[np.float32]:
    """Return the mask at the photo's size, its edge as sharp there as a plain shape's."""
    large = resized(soft, width_px=width_px, height_px=height_px)
    return _softened((large > 0.5).astype(np.float32))


def _softened(inside: NDArray[np.float32]) -> NDArray[np.float32]:
    return _blurred(inside, _EDGE_SIGMA_PX)


def _blurred(values: NDArray[np.float32], sigma_px: float) -> NDArray[np.float32]:
    blurred = cv2.GaussianBlur(values, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE)
    return np.clip(np.asarray(blurred, dtype=np.float32), 0, 1)
