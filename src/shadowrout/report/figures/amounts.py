"""How much board and paint a plaque takes, measured on the carved surface."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.job.options import Finish, Plaque
from shadowrout.job.shop import Shop
from shadowrout.report.figures.precision import fine, tenth
from shadowrout.report.figures.woods import density_kg_per_m3
from shadowrout.report.look.height_field import HeightField

_ROWS = 512
"""Rows of the grid looked at in one go, so that a large board needs little memory."""

_HALO_ROWS = 6
"""Rows beyond them that the blur and the gradient reach."""

_LEAST_GRADIENT_MM = 1e-3
"""Where a pocket's depth changes by less from pixel to pixel there is no rim: only what rounding leaves of the blur."""


@dataclass(frozen=True)
class Surface:
    """What a brush has to cover, and what the tools took away; square and cubic millimetres."""

    face_mm2: float
    """The board's face before anything is cut, inside its outline."""
    flat_mm2: float
    """What stays of the face, and the pockets' floors."""
    groove_walls_mm2: float
    pocket_walls_mm2: float
    """Upright walls, and the sides of flow lines on a floor, which count a little too much."""
    removed_mm3: float

    @property
    def painted_mm2(self) -> float:
        """Everything that a brush reaches on the carved face; the board's sides and back are left out."""
        return self.flat_mm2 + self.groove_walls_mm2 + self.pocket_walls_mm2


@dataclass(frozen=True)
class Amounts:
    """What one plaque takes, as it is told."""

    wood: str
    coats: float
    blank_mm3: float
    """The rectangular board that the plaque is cut from, without waste around it."""
    blank_kg: float
    plaque_kg: float
    """The plaque as carved: cut to its outline, before paint."""
    face_mm2: float
    painted_mm2: float
    """Everything that a brush reaches on the carved face."""
    removed_mm3: float
    paint_litres: float


def surface_of(field: HeightField) -> Surface:
    """Return the areas of a carved board; a board without cuts has only its face.

    A groove's wall is steeper than the face by 1 / sin(A/2) everywhere, so its area is that of its outline on the
    face times that. A pocket's wall is upright: its area is the sum, over all depths, of the length of the wall's
    line at that depth, which is the sum of the depth's gradient over the pocket's rim (coarea formula, Federer 1969).
    """
    face = flat = groove_plan = walls = removed = 0.0
    area = field.pixel_mm**2
    for start in range(0, len(field.board_cover), _ROWS):
        rows = slice(start, min(start + _ROWS, len(field.board_cover)))
        board, pockets = field.board_cover[rows], field.pocket_cover[rows]
        grooves = _groove_cover(field, rows) * (1 - pockets)
        face += float(board.sum(dtype=np.float64)) * area
        groove_plan += float((grooves * board).sum(dtype=np.float64)) * area
        flat += float(((1 - grooves) * board).sum(dtype=np.float64)) * area
        walls += _wall_mm2(field, rows)
        removed += float((_mean_depth(field, rows) * board).sum(dtype=np.float64)) * area
    return Surface(face, flat, groove_plan * math.hypot(1, field.v_slope), walls, removed)


def amounts_of(plaque: Plaque, surface: Surface, *, finish: Finish, shop: Shop) -> Amounts:
    """Return what a plaque of settled size takes, in its own wood and coats where it has such, else in the job's.

    Raises ValueError where its size isn't settled.
    """
    if plaque.size is None:
        raise ValueError("a plaque's size must be settled before its board is measured")
    blank = plaque.size[0] * plaque.size[1] * plaque.thickness
    carved = surface.face_mm2 * plaque.thickness - surface.removed_mm3
    wood, coats = plaque.wood or finish.wood, plaque.coats or finish.coats
    density = density_kg_per_m3(wood) / 1e9
    litres = surface.painted_mm2 / 1e6 * coats / shop.paint_coverage
    return Amounts(
        wood=wood,
        coats=coats,
        blank_mm3=tenth(blank),
        blank_kg=fine(blank * density),
        plaque_kg=fine(carved * density),
        face_mm2=tenth(surface.face_mm2),
        painted_mm2=tenth(surface.painted_mm2),
        removed_mm3=tenth(surface.removed_mm3),
        paint_litres=fine(litres),
    )


def _groove_cover(field: HeightField, rows: slice) -> NDArray[np.float32]:
    """Return the share of each pixel that the V tool has cut, by how deep the groove lies at its middle."""
    rise = np.float32(field.v_slope * field.pixel_mm)
    cover: NDArray[np.float32] = np.clip(0.5 + field.grooves_mm[rows] / rise, 0, 1)
    return cover


def _mean_depth(field: HeightField, rows: slice) -> NDArray[np.float32]:
    """Return each pixel's mean depth, by the share of it that lies in a pocket."""
    grooves = np.maximum(field.grooves_mm[rows], 0)
    share = field.pocket_cover[rows]
    depth: NDArray[np.float32] = share * np.maximum(field.pockets_mm[rows], grooves) + (1 - share) * grooves
    return depth


def _wall_mm2(field: HeightField, rows: slice) -> float:
    """Return the area of the pockets' walls in some rows, each as high as the pocket is deeper than what it meets.

    Depths are blurred by a pixel first, which evens out the steps of a slanting wall and leaves its area.
    """
    wide = slice(max(rows.start - _HALO_ROWS, 0), rows.stop + _HALO_ROWS)
    own = slice(rows.start - wide.start, rows.stop - wide.start)
    pockets = field.pocket_cover[wide] * field.pockets_mm[wide]
    deeper = field.pocket_cover[wide] * np.maximum(field.pockets_mm[wide] - np.maximum(field.grooves_mm[wide], 0), 0)
    rim = _gradient(_blurred(pockets)) > _LEAST_GRADIENT_MM
    return float((_gradient(_blurred(deeper)) * rim)[own].sum(dtype=np.float64)) * field.pixel_mm


def _blurred(depth: NDArray[np.float32]) -> NDArray[np.float32]:
    blurred: NDArray[np.float32] = cv2.GaussianBlur(depth, (7, 7), 1.0, borderType=cv2.BORDER_REPLICATE).astype(
        np.float32
    )
    return blurred


def _gradient(depth: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return how much the depth changes from each pixel to the next, in the direction where it changes most."""
    padded = np.pad(depth, 1, mode="edge")
    down = padded[2:, 1:-1] - padded[:-2, 1:-1]
    right = padded[1:-1, 2:] - padded[1:-1, :-2]
    gradient: NDArray[np.float32] = np.hypot(down, right) / np.float32(2)
    return gradient
