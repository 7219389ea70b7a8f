"""What the written pockets and V lines leave of the shadow: dark that nothing cuts, measured by a raster.

A pocket counts with its finishing allowance, which the hand gouge takes; a V line as wide as it is once sanded.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Samples, sampled
from shadowrout.check.distances import worst_places
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import Place
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.grooves import Grooves, grooves_of, told_alike
from shadowrout.check.raster import Raster, distance_px, within_px
from shadowrout.check.same_curves import drawn_alike

NEAR_MM = 0.15
"""Shadow this close to a cut counts as cut, as docs/files.md says of ``uncut_share``."""

_PIXEL_MM = 0.1
"""Less than what counts as cut."""
_MOST_PIXELS = 16_000_000
_SAGITTA_MM = 0.001
_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""
_MOST_PLACES = 10
_COARSE_PX = 3.0
"""Above twice the half diagonal of a block of two by two pixels, 1.41 each."""
_TO_EDGE_PX = 0.5
"""From an area's edge to the middle of its first pixel, on the average."""


@dataclass(frozen=True, eq=False)
class Uncut:
    """One file's shadow as pixels: what of it is ``cut``, what is ``uncut`` and further than 0.15 mm from every cut."""

    raster: Raster
    shadow: NDArray[np.bool_]
    cut: NDArray[np.bool_]
    uncut: NDArray[np.bool_]

    @cached_property
    def area_mm2(self) -> float:
        """Area of the uncut shadow."""
        return float(np.count_nonzero(self.uncut)) * self.raster.pixel_mm**2

    @cached_property
    def shadow_mm2(self) -> float:
        """Area of the whole shadow."""
        return float(np.count_nonzero(self.shadow)) * self.raster.pixel_mm**2

    @cached_property
    def share(self) -> float:
        """The uncut share of the shadow."""
        return self.area_mm2 / self.shadow_mm2 if self.shadow_mm2 else 0.0

    @cached_property
    def dark_left_share(self) -> float:
        """The share of the shadow that is dark after exactly the planned sanding."""
        left = float(np.count_nonzero(self.shadow & self.cut)) * self.raster.pixel_mm**2
        return left / self.shadow_mm2 if self.shadow_mm2 else 1.0

    def _may_be_far(self, limit_mm: float) -> bool:
        """Return whether uncut shadow may be further from every cut than a limit, by blocks of two by two pixels."""
        cut, uncut = _blocks(self.cut), _blocks(self.uncut)
        if not uncut.any():
            return False
        away = distance_px(cut)[uncut].max() * 2 * self.raster.pixel_mm
        return bool(away > limit_mm - _COARSE_PX * self.raster.pixel_mm)

    def far_from_cuts(self, limit_mm: float) -> Iterator[tuple[Place, float]]:
        """Yield the places in the shadow furthest from every cut, with how far, where that is beyond the limit."""
        if not self._may_be_far(limit_mm):
            return
        rows, columns = np.nonzero(self.uncut)
        away = distance_px(self.cut)[rows, columns].astype(np.float64) * self.raster.pixel_mm
        points = self.raster.centres(rows, columns)
        beyond = np.where(away > limit_mm, away, 0.0)
        for index in worst_places(points, beyond, apart_mm=_APART_MM, most=_MOST_PLACES):
            yield (float(points[index, 0]), float(points[index, 1])), float(away[index])


def cut_alike(plaque: PlaqueFiles) -> list[tuple[str, DrawingFile]]:
    """Return one of the plaque's carve drawings of each set that cuts the same shadow alike, and the set's names."""
    files = list(plaque.drawing("carve"))
    if len(drawn_alike(files, "shadow", "pocket")) < len(files):
        return [(" and ".join(names), file) for names, file in told_alike(files)]
    return [(file.name, file) for file in files]


@lru_cache(maxsize=2)
def uncut_of(plaque: PlaqueFiles, file: DrawingFile) -> Uncut | None:
    """Return what a file's cuts leave of its shadow; None where it has no shadow.

    Two promises ask it of the SVG and the DXF of one plaque, so both are remembered.
    """
    shadow = sampled([c for c in file.curves("shadow") if c.closed], sagitta_mm=_SAGITTA_MM)
    if not len(shadow.points):
        return None
    (x0, y0), (x1, y1) = shadow.points.min(axis=0), shadow.points.max(axis=0)
    raster = Raster.over((x0, y0, x1, y1), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=2 * NEAR_MM)
    dark, grooves = raster.enclosed(shadow), grooves_of(plaque, file)
    cut, near = (_grooved(raster, grooves, beyond_mm=beyond) for beyond in (0.0, NEAR_MM))
    for walls, allowance_mm in _walls(plaque, file):
        wood = raster.enclosed(walls)
        cut |= within_px(wood, allowance_mm / raster.pixel_mm + _TO_EDGE_PX)
        near |= within_px(wood, (allowance_mm + NEAR_MM) / raster.pixel_mm + _TO_EDGE_PX)
    return Uncut(raster, dark, cut, dark & ~near)


def _blocks(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return which blocks of two by two pixels hold any of a mask; a last odd row or column is left out."""
    rows, columns = (size // 2 for size in mask.shape)
    return np.asarray(mask[: 2 * rows, : 2 * columns].reshape(rows, 2, columns, 2).any(axis=(1, 3)), dtype=np.bool_)


def _grooved(raster: Raster, grooves: Grooves, *, beyond_mm: float) -> NDArray[np.bool_]:
    every = 2 if beyond_mm else 1  # discs that much wider overlap as well with half as many
    half, points = grooves.half_widths_mm[::every], grooves.points[::every]
    return raster.discs(points, np.where(half > 0, half + beyond_mm, 0.0))


def _walls(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[tuple[Samples, float]]:
    """Yield the walls of each cutter and depth, with the allowance that is left at them; none for an unknown cutter."""
    kinds = {
        (marks["cutter_mm"], marks["depth_mm"])
        for marks in (shape.marks for shape in file.of_role("pocket"))
        if {"cutter_mm", "depth_mm"} <= marks.keys()
    }
    for cutter_mm, depth_mm in sorted(kinds):
        curves = [
            shape.curve
            for shape in file.of_role("pocket")
            if shape.curve is not None
            and shape.curve.closed
            and (shape.marks.get("cutter_mm"), shape.marks.get("depth_mm")) == (cutter_mm, depth_mm)
        ]
        if curves and depth_mm > plaque.job.finish.sanding_loss:
            cutter = min(plaque.job.cutters, key=lambda cutter: abs(cutter.diameter - cutter_mm))
            yield sampled(curves, sagitta_mm=_SAGITTA_MM), cutter.finishing_allowance
