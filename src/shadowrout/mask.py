"""The two-tone design: touched up by hand, cleared of what is too small to make."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.tone import Tone

Field = NDArray[np.float32]
"""Array (height, width), rows downwards."""

MOST_WIDENED = 3.0
"""How many times wider a stroke may become: one that tapers to nothing keeps its taper."""
RIDGE_SLOPE = 0.7
"""Slope of the distance from the edge under which a pixel lies on a shadow's axis; 1 elsewhere."""
AXIS_SHORT_PX = 0.2
"""How far the distance of the pixel nearest to an axis falls short of the axis's own, in the mean."""
LEAST_GROWTH_PX = 0.2
"""Growth that is left alone, since distances aren't known better."""
LEAST_GAP = 0.4
"""Light between two widened strokes that stays, over the finest line's width."""


@dataclass(frozen=True, eq=False)
class Mask:
    """A field of shape (height, width), positive where shadow, whose zero level is the shadow's edge.

    ``widened_mm2`` is the shadow that widening thin strokes added.
    """

    field: Field
    pixel_mm: float
    specks_removed: int
    pinholes_filled: int
    widened_mm2: float = 0.0

    @property
    def dark_share(self) -> float:
        """Share of the pixels that are shadow, 0 to 1."""
        return float(np.count_nonzero(self.field > 0) / self.field.size)


def clean(
    tone: Tone,
    *,
    least_speck_mm2: float,
    least_pinhole_mm2: float,
    touch_up: Field | None = None,
    finest_mm: float | None = None,
) -> Mask:
    """Return the tone with the touch-up laid over it, small shadows removed, thin ones widened, pinholes filled.

    ``touch_up`` has the field's shape: -1 removes shadow, 1 adds it, 0 leaves it, and fractions blend at soft edges,
    where the edge comes to lie at one half. What touch-up drew is never removed as a speck or filled as a pinhole,
    however small. Shadow pixels that meet at a corner are one shadow, light ones are not.
    Removing is a change of sign, so the zero level elsewhere stays where it was. ``finest_mm`` widens what is narrower,
    see ``widened``; None leaves widths alone. Raises ValueError for a touch-up of another shape.
    """
    field, drawn = tone.field, None
    if touch_up is not None:
        if touch_up.shape != field.shape:
            raise ValueError(f"touch_up: expected shape {field.shape}, got {touch_up.shape}")
        field, drawn = touched_up(field, touch_up), touch_up
    pixel_mm2 = tone.pixel_mm**2
    keep = None if drawn is None else drawn >= 0.5
    field, specks = _without_small(field, least_speck_mm2 / pixel_mm2, connectivity=8, keep=keep)
    before = np.count_nonzero(field > 0)
    if finest_mm is not None:
        field = widened(field, width_px=finest_mm / tone.pixel_mm)
    added_px = np.count_nonzero(field > 0) - before
    keep = None if drawn is None else drawn <= -0.5
    field, pinholes = _without_small(-field, least_pinhole_mm2 / pixel_mm2, connectivity=4, keep=keep)
    return Mask(-field, tone.pixel_mm, specks, pinholes, float(added_px * pixel_mm2))


def widened(field: Field, *, width_px: float) -> Field:
    """Return the field with shadows narrower than ``width_px`` moved outwards to that width; (height, width).

    A stroke becomes at most MOST_WIDENED times as wide, so that tapered ends stay tapered, and grows only into light
    that leaves a gap of LEAST_GAP finest lines. Elsewhere the zero level stays where it was.
    """
    inside = field > 0
    if inside.all() or not inside.any():
        return field
    distance = signed_distance(field)
    half = width_px / 2
    growth = _growth(distance, inside, half_px=half)
    if not growth.any():
        return field
    # Far from zero only the sign counts, so distances can stand beside the field's own values.
    return np.where(growth > 0.02, distance + growth, field).astype(np.float32)


def signed_distance(field: Field) -> Field:
    """Return the distance from the zero level in pixels, positive in shadow, to about a fifth of a pixel.

    Measured on pixels of half the size, to the middle between the last one inside and the first one outside. The
    picture's border is no edge.
    """
    height, width = field.shape
    fine = cv2.resize(field, (2 * width, 2 * height), interpolation=cv2.INTER_LINEAR) > 0
    inwards, outwards = (
        cv2.distanceTransform(side.view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE) for side in (fine, ~fine)
    )
    halves = np.where(fine, inwards - 0.5, 0.5 - outwards).astype(np.float32)
    return cast(Field, cv2.resize(halves, (width, height), interpolation=cv2.INTER_AREA) / 2)


def _growth(distance: Field, inside: NDArray[np.bool_], *, half_px: float) -> Field:
    """Return how far the edge near each pixel moves outwards, in pixels, 0 or more."""
    dx, dy = (cv2.Sobel(distance, cv2.CV_32F, *order, scale=1 / 8) for order in ((1, 0), (0, 1)))
    axis = cv2.magnitude(dx, dy) < RIDGE_SLOPE
    stroke = cv2.dilate(distance, np.ones((3, 3), np.uint8)) + np.float32(AXIS_SHORT_PX)
    wanted = np.minimum(half_px, MOST_WIDENED * stroke) - stroke
    wanted = np.where(axis & inside & (wanted > LEAST_GROWTH_PX), wanted, 0).astype(np.float32)
    reach = 2 * math.ceil(half_px + 1) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach))
    room = np.where(axis & ~inside, np.clip(-distance - LEAST_GAP * half_px, 0, half_px), half_px)
    growth = np.minimum(cv2.dilate(wanted, disc), cv2.erode(room.astype(np.float32), disc))
    return cast(Field, cv2.GaussianBlur(growth, (0, 0), 1.0))


def touched_up(field: Field, touch_up: Field) -> Field:
    """Return the field with ``touch_up`` (-1 to 1) blended over it; both (height, width).

    Where touched the field is first cut to plus or minus its own median size, so that the zero level of a soft edge
    falls where the touch-up is one half, and not where a strong field would drag it.
    """
    size = np.float32(np.median(np.abs(field)))
    amount = np.clip(touch_up, -1, 1).astype(np.float32)
    blend = np.clip(field, -size, size) * (1 - np.abs(amount)) + size * amount
    return np.where(amount != 0, blend, field)


def _without_small(
    field: NDArray[np.float32], least_px: float, *, connectivity: int, keep: NDArray[np.bool_] | None
) -> tuple[NDArray[np.float32], int]:
    """Return the field with its positive parts under ``least_px`` pixels turned negative, and their count."""
    inside = (field > 0).view(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(inside, connectivity=connectivity)
    small = stats[:, cv2.CC_STAT_AREA] < least_px
    small[0] = False
    if keep is not None:
        small[np.unique(labels[keep])] = False
    if not small.any():
        return field, 0
    return np.where(small[labels], -field, field), int(np.count_nonzero(small))
