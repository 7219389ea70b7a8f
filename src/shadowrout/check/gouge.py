"""No gouge: what cutters and the V tool remove stays within the written shadow grown by the tolerance.

A raster sweep with two distance transforms finds every place that a cutter may reach outside the shadow; there,
and only there, the exact distances decide. A V line's groove is measured all along, as wide as it is once sanded.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from shadowrout.check import bush, flow_grooves, pocket_walls
from shadowrout.check.curve_samples import Points, Samples, sampled
from shadowrout.check.distances import Enclosed, Nearest, worst_places
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import NO_CARVE, Finding, Place, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.grooves import Grooves, grooves_of, told_alike
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
_PROBES = 200
"""So many of the furthest places of grooves are measured exactly at once: the largest tells which others matter."""
_OBVIOUS_PX = 10
"""A candidate so far outside is a fault beyond doubt, and its neighbours with it."""
_MOST_OBVIOUS = 5000
"""So many candidates are measured in a moment, and the furthest of them are the worst there are."""

_ADVICE = "don't cut this file; make the plaque again, and report the fault with the picture if it comes again"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the worst reach of any cutter, pocket wall, V groove or router's bit outside the written shadow, in mm."""
    tolerance = plaque.tolerance_mm
    files = list(plaque.drawing("carve"))
    templates = bush.rolled(plaque)
    worst, findings = (templates.worst_mm, [*templates.findings]) if templates else (0.0, [])
    findings += plaque.found(Promise.NO_GOUGE)
    for names, excesses in _measured(plaque, files):
        for place, excess, what in excesses:
            worst = max(worst, excess)
            if excess > tolerance + ROUNDING_MM:
                findings.append(Finding(place, what(excess=Mm(excess)), _ADVICE).within(names))
    for names, file in drawn_alike(files, "shadow", "pocket", "cutter-path", "flow-line"):
        found = [*pocket_walls.off_their_paths(file, tolerance), *_paths_without_cutter(file)]
        findings += [finding.within(names) for finding in [*found, *flow_grooves.outside_pockets(file)]]
    if not templates and not files:
        return untested(Promise.NO_GOUGE, NO_CARVE, tolerance, findings)
    return result(Promise.NO_GOUGE, worst, tolerance, findings)


_Excess = tuple[Place, float, Callable[..., Sentence]]
"""A place, how far it is outside the shadow, and how to say so."""


def _measured(plaque: PlaqueFiles, files: Sequence[DrawingFile]) -> Iterator[tuple[str, Iterable[_Excess]]]:
    """Yield the worst places of each file, within the tolerance or not; of files that agree once, under both names."""
    shadows: dict[str, _Shadow] = {}
    for names, file in drawn_alike(files, "shadow", "pocket", "cutter-path"):
        curves = [curve for curve in file.curves("shadow") if curve.closed]
        if curves:
            shadow = _Shadow(sampled(curves, sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM), plaque.tolerance_mm)
            shadows.update(dict.fromkeys(names.split(" and "), shadow))
            yield names, _of_cutters(file, shadow)
    for held, file in told_alike([file for file in files if file.name in shadows]):
        for shadow in dict.fromkeys(shadows[name] for name in held):
            yield " and ".join(held), _of_grooves(grooves_of(plaque, file), shadow)


def _of_cutters(file: DrawingFile, shadow: _Shadow) -> Iterator[_Excess]:
    for cutter_mm in sorted({s.marks["cutter_mm"] for s in file.of_role("cutter-path") if "cutter_mm" in s.marks}):
        members = (s.curve for s in file.of_role("cutter-path") if s.marks.get("cutter_mm") == cutter_mm)
        paths = sampled([c for c in members if c is not None], sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
        points, excess = shadow.reached_outside(paths, cutter_mm / 2)
        told = "the {cutter:g mm} cutter takes {excess:.3f mm} of wood outside the shadow"
        what = partial(Sentence, told, cutter=Mm(cutter_mm))
        yield from ((place, off, what) for place, off in _worst(points, excess))
    walls = sampled(file.curves("pocket"), sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM).points
    what = partial(Sentence, "a pocket's wall lies {excess:.3f mm} outside the shadow")
    yield from ((place, off, what) for place, off in _worst(walls, shadow.outside_mm(walls)))


def _of_grooves(grooves: Grooves, shadow: _Shadow) -> Iterator[_Excess]:
    points, half = grooves.points, grooves.half_widths_mm
    if not len(points):
        return
    excess = np.maximum(shadow.grooved_outside_mm(points, half), 0.0)
    for index in worst_places(points, excess, apart_mm=_APART_MM, most=_MOST_FINDINGS):
        told = "a V line is {width:.3f mm} wide after sanding and cuts {excess:.3f mm} into the light"
        if excess[index] > 2 * half[index]:
            told = "a V line lies outside the shadow and cuts {excess:.3f mm} into the light"
        what = partial(Sentence, told, width=Mm(2 * half[index]))
        yield (float(points[index, 0]), float(points[index, 1])), float(excess[index]), what


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

    def grooved_outside_mm(self, points: Points, half_widths_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far discs about points reach out of the shadow, shape (n,), below 0 within it.

        The largest is exact, and so is every one above half the tolerance; the others may be given too large.
        """
        inside = self.enclosed.holds(points)
        least = self.nearest.at_least(points, _STEP_MM)
        excess = half_widths_mm + np.where(inside, -least, least + _STEP_MM / 2)
        furthest = np.argsort(-excess, kind="stable")[:_PROBES]
        excess[furthest] = self._grooved(points[furthest], half_widths_mm[furthest], inside[furthest])
        far = np.flatnonzero(excess > min(self.exact_above_mm, float(excess[furthest].max())))
        excess[far] = self._grooved(points[far], half_widths_mm[far], inside[far])
        return excess

    def _grooved(
        self, points: Points, half_widths_mm: NDArray[np.float64], inside: NDArray[np.bool_]
    ) -> NDArray[np.float64]:
        away = np.hypot(*(self.nearest.places(points) - points).T)
        excess: NDArray[np.float64] = half_widths_mm + np.where(inside, -away, away)
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
