"""Broad areas without chips: lone small shadows in the light, lone small lights in the shadow, lights that would break.

A photo's design has bits that stand alone and tell nothing: a glint, a pebble, a crumb of a cloud. A carver leaves
them out. Bits in a face or another place that must stay fine stay, and so do those with others near by: there
they make a shape together.
"""

from __future__ import annotations

import dataclasses
import math

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.mask import Mask

CHIP_MM = 2.0
"""A shadow or light that is smaller along and across is a chip (a judgement, by eye from arm's length)."""
CHIP_OF_SIDE = 1 / 100
"""Greatest size of a chip over the picture's longer side: an eye on a small plaque is no chip (a judgement)."""
POST_OF_DETAIL = 1.0
"""Width of a light speck over the finest line's, below which it is a post that breaks off in sanding (a judgement)."""
KEPT_FINE = 0.5
"""How fine a place must stay for its chips to stay, 0 to 1: half-way across a box's soft edge."""

_Pixels = NDArray[np.bool_]


@dataclasses.dataclass(frozen=True, eq=False)
class _Parts:
    """The connected parts of one tone: ``labels`` (height, width), 0 elsewhere, and OpenCV's ``boxes`` of each."""

    labels: NDArray[np.int32]
    boxes: NDArray[np.int32]

    @classmethod
    def of(cls, pixels: _Pixels, *, connectivity: int) -> _Parts:
        _, labels, boxes, _ = cv2.connectedComponentsWithStats(pixels.view(np.uint8), connectivity=connectivity)
        return cls(labels.astype(np.int32, copy=False), boxes.astype(np.int32, copy=False))

    def lone_chips(self, chip_px: float) -> set[int]:
        """Return the parts smaller than ``chip_px`` with nothing of their tone within it of their box."""
        sizes = self.boxes[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]]
        small = 1 + np.flatnonzero((sizes < chip_px).all(axis=1))
        return {part for part in small.tolist() if self._is_lone(part, math.ceil(chip_px))}

    def _is_lone(self, part: int, around_px: int) -> bool:
        left, top, width, height = self.boxes[part, :4].tolist()
        near = self.labels[
            max(top - around_px, 0) : top + height + around_px, max(left - around_px, 0) : left + width + around_px
        ]
        return bool(((near == 0) | (near == part)).all())

    def narrow(self, width_px: float) -> set[int]:
        """Return the parts that are nowhere as wide as ``width_px`` and don't touch the picture's border."""
        inside = np.pad((self.labels > 0).view(np.uint8), 1)
        deep = cv2.distanceTransform(inside, cv2.DIST_L2, 5)[1:-1, 1:-1] >= (width_px + 1) / 2
        border = np.concatenate([self.labels[[0, -1]].ravel(), self.labels[:, [0, -1]].ravel()])
        return set(range(1, len(self.boxes))) - set(np.unique(self.labels[deep]).tolist()) - set(border.tolist())


def without_chips(mask: Mask, *, detail_mm: float, keep: _Pixels) -> Mask:
    """Return the design without lone chips of shadow and light, and without light specks that would break off.

    What ``keep`` (the field's shape) touches stays. Chips of shadow count as specks removed, lights as pinholes filled.
    Shadow pixels that meet at a corner are one shadow, light ones are not. Removing is a change of sign. A design of
    one tone stays as it is.
    """
    chip_px = min(CHIP_MM / mask.pixel_mm, CHIP_OF_SIDE * max(mask.field.shape))
    shadows = _Parts.of(mask.field > 0, connectivity=8)
    field, specks = _turned(mask.field, shadows, shadows.lone_chips(chip_px), keep)
    lights = _Parts.of(field <= 0, connectivity=4)
    gone = lights.lone_chips(chip_px) | lights.narrow(POST_OF_DETAIL * detail_mm / mask.pixel_mm)
    field, filled = _turned(field, lights, gone, keep)
    return Mask(field, mask.pixel_mm, mask.specks_removed + specks, mask.pinholes_filled + filled)


def _turned(
    field: NDArray[np.float32], parts: _Parts, gone: set[int], keep: _Pixels
) -> tuple[NDArray[np.float32], int]:
    """Return the field with the parts ``gone`` of the other sign, but for those that are kept, and their count."""
    turned = np.zeros(len(parts.boxes), bool)
    turned[sorted(gone)] = True
    turned[np.unique(parts.labels[keep])] = False
    turned[0] = False
    return np.where(turned[parts.labels], -field, field), int(np.count_nonzero(turned))
