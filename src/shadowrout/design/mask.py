"""A tone touched up by hand and cleared of what is too small to make: the two-tone design."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone.choosing import Tone
from shadowrout.design.tone.fields import Field


@dataclass(frozen=True, eq=False)
class Mask:
    """A field of shape (height, width), positive where shadow, whose zero level is the shadow's edge."""

    field: Field
    pixel_mm: float
    specks_removed: int
    pinholes_filled: int

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
) -> Mask:
    """Return the tone with the touch-up laid over it, small shadows removed and pinholes filled.

    ``touch_up`` has the field's shape: -1 removes shadow, 1 adds it, 0 leaves it, and fractions blend at soft edges,
    where the edge comes to lie at one half. What touch-up drew is never removed as a speck or filled as a pinhole,
    however small. Shadow pixels that meet at a corner are one shadow, light ones are not.
    Removing is a change of sign, so the zero level elsewhere stays where it was. Raises ValueError for a touch-up of
    another shape.
    """
    field, drawn = tone.field, None
    if touch_up is not None:
        if touch_up.shape != field.shape:
            raise ValueError(f"touch_up: expected shape {field.shape}, got {touch_up.shape}")
        field, drawn = touched_up(field, touch_up), touch_up
    pixel_mm2 = tone.pixel_mm**2
    keep = None if drawn is None else drawn >= 0.5
    field, specks = _without_small(field, least_speck_mm2 / pixel_mm2, connectivity=8, keep=keep)
    keep = None if drawn is None else drawn <= -0.5
    field, pinholes = _without_small(-field, least_pinhole_mm2 / pixel_mm2, connectivity=4, keep=keep)
    return Mask(-field, tone.pixel_mm, specks, pinholes)


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
