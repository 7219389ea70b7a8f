"""All that is cut, taken together: what it leaves of the shadow, and how its edges stand beside the light."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from shadowrout.carving.canvas import PIXEL_MM, Canvas
from shadowrout.carving.cut_pieces import CutPieces
from shadowrout.carving.depths import half_angle_tan
from shadowrout.carving.pockets import Pocket, reached
from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.medial import Boundary
from shadowrout.geometry.region import Region

NEAR_MM = 0.15
"""Shadow this close to a cut counts as cut: less shows on wood."""

_MISFIT_MM = 0.25
"""How far a recess's edge may be from where the light ends and still be what ends it."""

_SAMPLE_MM = 0.2
"""Step between the points that stand for an edge: less than its misfit, so that none is passed over."""


@dataclass(frozen=True)
class CutShadow:
    """What cuts leave of a shadow: how much lies away from them all, and the share that stays dark."""

    uncut_mm2: float
    shadow_mm2: float
    dark_left_share: float
    """1 for an empty shadow, and for one under 0.1 mm wide."""

    @property
    def uncut_share(self) -> float:
        """The share of the shadow that lies further than 0.15 mm from every cut; 0 for an empty one."""
        return self.uncut_mm2 / self.shadow_mm2 if self.shadow_mm2 else 0.0


def cut_shadow(shadow: Region, pockets: Sequence[Pocket], v_lines: Sequence[VLine]) -> CutShadow:
    """Return what the cuts leave of a shadow, as it is after exactly the planned sanding.

    The wood of a pocket's finishing allowance counts as cut.
    """
    core = shadow.offset(-PIXEL_MM / 2, error=PIXEL_MM / 10)  # OpenCV fills half a pixel beyond every edge
    if core.is_empty:
        return CutShadow(0.0, shadow.area, 1.0)
    uncut, light = (_away_mm2(core, pockets, v_lines, beyond_mm=beyond) for beyond in (NEAR_MM, 0.0))
    return CutShadow(uncut, shadow.area, max(0.0, 1 - light / shadow.area))


def _away_mm2(core: Region, pockets: Sequence[Pocket], v_lines: Sequence[VLine], *, beyond_mm: float) -> float:
    """Return the area of a shadow, drawn half a pixel smaller, further than ``beyond_mm`` from all that is cut."""
    canvas, drawn_mm = Canvas(core), beyond_mm - PIXEL_MM / 2
    canvas.paint(core, 1)
    canvas.paint(reached(pockets, beyond_mm=drawn_mm), 0)
    canvas.sweep(v_lines, drawn_mm, 0)
    return float(np.count_nonzero(canvas.pixels)) * PIXEL_MM**2


class Recesses:
    """The edges of what is cut: how deep it is there, and how far its wall slopes back to half that depth.

    A groove w wide on the sanded face, s below the uncut one, is w + 2 s tan(A/2) wide on that and half as wide at half
    its depth: its wall slopes back by (w / 2 - s tan(A/2)) / 2, at least by half of ``lost_mm`` the other way.
    """

    def __init__(
        self, pockets: Sequence[Pocket], v_lines: Sequence[VLine], *, angle_deg: float, sanding_loss_mm: float
    ) -> None:
        walls = Boundary.of(Region.together(pocket.wall for pocket in pockets), step_mm=_SAMPLE_MM)
        grooves, half_widths, depths = _sampled(v_lines)
        pocket_depths = np.array([pocket.depth_mm for pocket in pockets], dtype=np.float64)
        allowances = np.array([pocket.allowance_mm for pocket in pockets], dtype=np.float64)
        self._trees: list[Any] = [cKDTree(walls.points), cKDTree(grooves)]
        self._reach = [allowances[walls.part], half_widths]
        self._depths = [pocket_depths[walls.part], depths]
        self.lost_mm = half_angle_tan(angle_deg) * sanding_loss_mm
        self._slope = [np.zeros(len(walls.points)), (half_widths - self.lost_mm) / 2]

    def beside(self, spots: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return depth and slope (m,) of the recess whose edge each spot (m, 2) is on; depth 0 for none."""
        nearest = np.full(len(spots), _MISFIT_MM)
        depth, slope = np.zeros(len(spots)), np.zeros(len(spots))
        for tree, reach, depths, slopes in zip(self._trees, self._reach, self._depths, self._slope, strict=True):
            if not len(reach):
                continue
            away, index = tree.query(spots, distance_upper_bound=reach.max() + _MISFIT_MM)
            index = np.minimum(index, len(reach) - 1)  # where none is so near, away is infinite
            misfit = np.abs(away - reach[index])
            better = misfit < nearest
            nearest = np.where(better, misfit, nearest)
            depth, slope = np.where(better, depths[index], depth), np.where(better, slopes[index], slope)
        return depth, slope


def _sampled(v_lines: Sequence[VLine]) -> tuple[Points, NDArray[np.float64], NDArray[np.float64]]:
    """Return points along the lines, 0.2 mm apart at the most, with half the width and the depth at each."""
    pieces = CutPieces.of(v_lines)
    counts = np.maximum(1, np.ceil(pieces.length_mm / _SAMPLE_MM)).astype(np.intp) + 1
    piece = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)) / (counts[piece] - 1)
    here, there = pieces.here[piece], pieces.there[piece]
    points = pieces.points[here] + share[:, None] * (pieces.points[there] - pieces.points[here])
    width, depth = (v[here] + share * (v[there] - v[here]) for v in (pieces.width_mm, pieces.depth_mm))
    return points, width / 2, depth
