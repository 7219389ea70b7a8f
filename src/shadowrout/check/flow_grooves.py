"""Flow lines: cut into a pocket's floor, as far below it as they say, and no deeper than the board allows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, sampled
from shadowrout.check.distances import Enclosed, Nearest
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.check.findings import Finding
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

_STEP_MM = 0.2
_SAGITTA_MM = 0.002
_ROUNDING_MM = 0.002
"""Depths and widths are rounded each."""

_ADVICE = "don't cut this file; make the plaque again, and report the fault with the picture if it comes again"
_AGAIN = "make the plaque again; don't cut this file, its depths contradict each other"


def outside_pockets(file: DrawingFile) -> Iterator[Finding]:
    """Yield the flow lines that leave the pockets, and so cut the face, with how far they do."""
    lines = list(file.of_role("flow-line"))
    if not lines:
        return
    walls = sampled([c for c in file.curves("pocket") if c.closed], sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
    floors = _Floors(file)
    for line in lines:
        points = _points(line)
        out = points[np.isnan(floors.depths_mm(points))]
        if len(out) and len(walls.points):
            off = Nearest(walls).distances(out)
            told = Sentence("a flow line runs {off:.3f mm} out of its pocket, over the face", off=Mm(off.max()))
            yield Finding((float(out[off.argmax()][0]), float(out[off.argmax()][1])), told, _ADVICE)
        elif len(out):
            yield Finding(line.place, "a flow line lies in no pocket, so it cuts the face", _ADVICE)


def at_wrong_depths(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding]:
    """Yield the flow lines that aren't below their floor by as much as they say, or not as wide as the V tool makes."""
    floors = _Floors(file)
    for line in file.of_role("flow-line"):
        under = floors.depths_mm(_points(line))
        told = _wrong(plaque, line.marks, under[~np.isnan(under)])
        if told is not None:
            yield Finding(line.place, told, _AGAIN)


def _wrong(plaque: PlaqueFiles, marks: dict[str, float], floors_mm: NDArray[np.float64]) -> Sentence | None:
    """Return what is wrong with the marks of a flow line over these floors."""
    if not {"depth_mm", "below_floor_mm", "width_mm"} <= marks.keys():
        return Sentence("a flow line doesn't say its depth, its width and how far it goes below its floor")
    depth, below, width = marks["depth_mm"], marks["below_floor_mm"], marks["width_mm"]
    if floors_mm.size and depth <= floors_mm.max():
        what = "a flow line is {depth:g mm} deep on a floor of {floor:g mm}: it cuts nothing"
        return Sentence(what, depth=Mm(depth), floor=Mm(floors_mm.max()))
    off = np.abs(depth - below - floors_mm)
    if off.size and off.max() > _ROUNDING_MM:
        what = "a flow line is {depth:g mm} deep and says it goes {below:g mm} below its floor, which is {floor:g mm}"
        return Sentence(what, depth=Mm(depth), below=Mm(below), floor=Mm(floors_mm[off.argmax()]))
    made = 2 * below * math.tan(math.radians(plaque.job.v_tool.angle) / 2)
    if abs(width - made) > _ROUNDING_MM:
        what = "a flow line {below:g mm} below its floor is {made:.3f mm} wide, and says {width:g mm}"
        return Sentence(what, below=Mm(below), made=Mm(made), width=Mm(width))
    return None


class _Floors:
    """The pockets' floors: where walls overlap, the deeper has it."""

    def __init__(self, file: DrawingFile) -> None:
        groups: dict[tuple[float, float], list[Shape]] = {}
        for shape in file.of_role("pocket"):
            marks = shape.marks
            if shape.curve is not None and shape.curve.closed and "depth_mm" in marks:
                groups.setdefault((marks["depth_mm"], marks.get("cutter_mm", 0.0)), []).append(shape)
        self._areas = [
            (depth, Enclosed(sampled([s.curve for s in shapes if s.curve is not None], sagitta_mm=_SAGITTA_MM)))
            for (depth, _), shapes in sorted(groups.items())
        ]

    def depths_mm(self, points: Points) -> NDArray[np.float64]:
        """Return how deep the floor lies at points (n, 2), shape (n,); NaN where there is no pocket."""
        depths = np.full(len(points), np.nan)
        for depth, area in self._areas:
            depths[area.holds(points)] = depth
        return depths


def _points(line: Shape) -> Points:
    curves = [] if line.curve is None else [line.curve]
    return sampled(curves, sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM).points
