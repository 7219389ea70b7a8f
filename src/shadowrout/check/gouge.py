"""No gouge: what a cutter removes stays within the written shadow grown by the tolerance.

A raster sweep with two distance transforms finds every place that the cutter may reach outside the shadow; there,
and only there, the exact distances decide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray

from shadowrout.check import bush
from shadowrout.check.curve_samples import Points, Samples, sampled
from shadowrout.check.distances import Enclosed, Nearest, worst_places
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import NO_CARVE, Finding, Place, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px, grown_by_one
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

ROUNDING_MM = 0.001
"""What the files' decimals and the sampling of arcs may add."""

_SAGITTA_MM = 0.001
"""As much as ROUNDING_MM allows for."""
_STEP_MM = 0.1
"""As the pixels: between samples the exact distances follow the segments."""
_PIXEL_MM = 0.1
"""The usual tolerance. Pixels only find the candidates, and the slack below makes up for their size."""
_MOST_PIXELS = 16_000_000
"""16 MB for a mask of bytes. On a larger board pixels grow, which only makes more candidates."""
_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""
_MOST_FINDINGS = 10
"""More would not be read; the worst come first."""
_NEAR_PX = 1.5
"""Half a diagonal, 0.71, from a path to the middle of its pixel and again from a place to the middle of its own."""
_OBVIOUS_PX = 10
"""A candidate so far outside is a fault beyond doubt, and its neighbours with it."""
_MOST_OBVIOUS = 5000
"""So many candidates are measured in a moment, and the furthest of them are the worst there are."""

_ADVICE = "don't cut this file; make the plaque again, and report the fault with the picture if it comes again"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the worst reach of any cutter, pocket wall, V line or router's bit outside the shadow, in mm."""
    tolerance = plaque.tolerance_mm
    templates = bush.rolled(plaque)
    worst, findings = (templates.worst_mm, [*templates.findings]) if templates else (0.0, [])
    for names, file in drawn_alike(plaque.drawing("carve"), "shadow", "pocket", "cutter-path", "v-line"):
        found = [*_walls_off_their_paths(file, tolerance), *_paths_without_cutter(file)]
        for place, excess, what in _excesses(file, tolerance):
            worst = max(worst, excess)
            if excess > tolerance + ROUNDING_MM:
                found.append(Finding(place, what(excess=Mm(excess)), _ADVICE))
        findings += [finding.within(names) for finding in found]
    if not templates and not any(plaque.drawing("carve")):
        return untested(Promise.NO_GOUGE, NO_CARVE, tolerance, findings)
    return result(Promise.NO_GOUGE, worst, tolerance, findings)


def _excesses(file: DrawingFile, tolerance_mm: float) -> Iterator[tuple[Place, float, Callable[..., Sentence]]]:
    """Yield (place, how far outside the shadow, how to say so) of the worst places, within the tolerance or not."""
    curves = [curve for curve in file.curves("shadow") if curve.closed]
    if not curves:
        return
    shadow = _Shadow(sampled(curves, sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM), tolerance_mm)
    for cutter_mm in sorted({s.marks["cutter_mm"] for s in file.of_role("cutter-path") if "cutter_mm" in s.marks}):
        members = (s.curve for s in file.of_role("cutter-path") if s.marks.get("cutter_mm") == cutter_mm)
        paths = sampled([c for c in members if c is not None], sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
        points, excess = shadow.reached_outside(paths, cutter_mm / 2)
        told = "the {cutter:g mm} cutter takes {excess:.3f mm} of wood outside the shadow"
        what = partial(Sentence, told, cutter=Mm(cutter_mm))
        yield from ((place, off, what) for place, off in _worst(points, excess))
    for role, told in (
        ("pocket", "a pocket's wall lies {excess:.3f mm} outside the shadow"),
        ("v-line", "a V line lies {excess:.3f mm} off"),
    ):
        points = sampled(file.curves(role), sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM).points
        yield from ((place, off, partial(Sentence, told)) for place, off in _worst(points, shadow.outside_mm(points)))


def _worst(points: Points, excess: NDArray[np.float64]) -> Iterator[tuple[Place, float]]:
    for index in worst_places(points, excess, apart_mm=_APART_MM, most=_MOST_FINDINGS):
        yield (float(points[index, 0]), float(points[index, 1])), float(excess[index])


class _Shadow:
    def __init__(self, samples: Samples, tolerance_mm: float) -> None:
        self.samples = samples
        self.nearest = Nearest(samples)
        self.enclosed = Enclosed(samples)
        self.exact_above_mm = 0.5 * tolerance_mm

    def outside_mm(self, points: Points) -> NDArray[np.float64]:
        """Return each point's distance to the shadow, 0 within it."""
        excess = np.zeros(len(points))
        out = np.flatnonzero(~self.enclosed.holds(points)) if len(points) else np.empty(0, np.intp)
        if len(out):
            excess[out] = self.nearest.distances(points[out], exact_above_mm=self.exact_above_mm)
        return excess

    def reached_outside(self, paths: Samples, radius_mm: float) -> tuple[Points, NDArray[np.float64]]:
        """Return places that a disc about any point the paths enclose reaches at the shadow's edge or beyond.

        Every pixel that may be swept and may be outside is a candidate. It is moved straight away from the
        nearest place of the paths to the edge of the disc there, which is as far out as the cutter comes.
        """
        (x0, y0), (x1, y1) = paths.points.min(axis=0), paths.points.max(axis=0)
        raster = Raster.over((x0, y0, x1, y1), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=radius_mm + 0.5)
        centres = raster.enclosed(paths)
        covered = centres.copy()
        covered[raster.touched(paths.points)] = True
        swept = distance_px(covered) * raster.pixel_mm <= radius_mm + _NEAR_PX * raster.pixel_mm
        dark = raster.enclosed(self.samples)
        rows, columns = _without_the_obvious(swept & grown_by_one(~dark), dark)
        points = raster.centres(rows, columns)
        if not len(points):
            return points, np.empty(0)
        return self._excess(points, centres[rows, columns], paths, radius_mm)

    def _excess(
        self, points: Points, within: NDArray[np.bool_], paths: Samples, radius_mm: float
    ) -> tuple[Points, NDArray[np.float64]]:
        away = points - Nearest(paths).places(points)
        distance = np.hypot(*away.T)
        moved = ~within & (distance > 1e-9)
        edge = points.copy()
        edge[moved] += away[moved] * (radius_mm / distance[moved] - 1)[:, None]
        reached = within | (distance <= radius_mm)
        every = np.vstack([edge, points[reached]])
        return every, self.outside_mm(every)


def _without_the_obvious(
    candidates: NDArray[np.bool_], dark: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows and columns of the candidates, of those far outside only the furthest ones.

    Where a whole hole is swept there are very many of them, and each alone would do.
    """
    rows, columns = np.nonzero(candidates)
    if len(rows) <= _MOST_OBVIOUS:
        return rows, columns
    beyond = distance_px(dark)[rows, columns]
    far = np.flatnonzero(beyond > _OBVIOUS_PX)
    if len(far) <= _MOST_OBVIOUS:
        return rows, columns
    dropped = far[np.argpartition(beyond[far], -_MOST_OBVIOUS)[:-_MOST_OBVIOUS]]
    return np.delete(rows, dropped), np.delete(columns, dropped)


def _walls_off_their_paths(file: DrawingFile, tolerance_mm: float) -> Iterator[Finding]:
    """Yield the places where a pocket's wall isn't a cutter's radius from the cutter paths of its own cutter."""
    for cutter_mm in sorted({s.marks["cutter_mm"] for s in file.of_role("pocket") if "cutter_mm" in s.marks}):
        walls, paths = (
            sampled(
                [s.curve for s in file.of_role(role) if s.marks.get("cutter_mm") == cutter_mm and s.curve is not None],
                sagitta_mm=_SAGITTA_MM,
                step_mm=_STEP_MM,
            )
            for role in ("pocket", "cutter-path")
        )
        if not len(paths.points):
            told = Sentence(
                "pockets for a {cutter:g mm} cutter have no cutter path of that diameter", cutter=Mm(cutter_mm)
            )
            yield Finding((float(walls.points[0, 0]), float(walls.points[0, 1])), told, _ADVICE)
            continue
        off = np.abs(Nearest(paths).distances(walls.points) - cutter_mm / 2)
        off[off <= 2 * tolerance_mm + ROUNDING_MM] = 0.0
        for place, error in _worst(walls.points, off):
            told = Sentence(
                "the wall is {error:.3f mm} off where the {cutter:g mm} cutter's edge ends",
                error=Mm(error),
                cutter=Mm(cutter_mm),
            )
            yield Finding(place, told, _ADVICE)


def _paths_without_cutter(file: DrawingFile) -> Iterator[Finding]:
    """Yield what keeps cutter paths from being judged: no shadow around them, no cutter's diameter."""
    paths = file.curves("cutter-path")
    if paths and not any(curve.closed for curve in file.curves("shadow")):
        what = "no closed shadow is there to hold the cutter paths against"
        yield Finding(paths[0].start, what, _ADVICE)
    for shape in file.of_role("cutter-path"):
        if "cutter_mm" not in shape.marks:
            what = "a cutter path doesn't say its cutter's diameter, so what it takes can't be judged"
            yield Finding(shape.place, what, _ADVICE)
