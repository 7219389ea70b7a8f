"""A pocket is told twice, by its wall and by its cutter's path: both enclose the same wood, at the same depth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples, sampled
from shadowrout.check.distances import Nearest, worst_places
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.check.findings import Finding, Place
from shadowrout.check.raster import Raster, distance_px
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.001
"""What the files' decimals and the sampling of arcs may add."""
_STEP_MM = 0.1
_PIXEL_MM = 0.2
"""Twice the usual tolerance, as far as walls may lie off: what is nearer than that is measured along the walls."""
_MOST_PIXELS = 16_000_000
_NEAR_PX = 1.5
"""Half a diagonal, 0.71, from an edge to the middle of its pixel and again from a place to the middle of its own."""
_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""
_MOST_FINDINGS = 10

_ADVICE = "don't cut this file; make the plaque again, and report the fault with the picture if it comes again"
_AGAIN = "make the plaque again; don't cut this file, its depths contradict each other"


def off_their_paths(file: DrawingFile, tolerance_mm: float) -> Iterator[Finding]:
    """Yield where a wall isn't a cutter's radius from the paths of its own cutter, or encloses other wood than they do.

    A wall and a path may each lie off by nearly the tolerance.
    """
    for cutter_mm in _cutters(file, "pocket", "cutter-path"):
        walls, paths = (_samples(file, role, cutter_mm) for role in ("pocket", "cutter-path"))
        if not len(paths.points) or not len(walls.points):
            yield _lacking(walls, paths, cutter_mm)
            continue
        off = np.abs(Nearest(paths).distances(walls.points) - cutter_mm / 2)
        off[off <= 2 * tolerance_mm + _ROUNDING_MM] = 0.0
        for index in worst_places(walls.points, off, apart_mm=_APART_MM, most=_MOST_FINDINGS):
            told = Sentence(
                "the wall is {error:.3f mm} off where the {cutter:g mm} cutter's edge ends",
                error=Mm(off[index]),
                cutter=Mm(cutter_mm),
            )
            yield Finding(_place(walls.points[index]), told, _ADVICE)
        yield from _not_the_same_wood(walls, paths, cutter_mm, 2 * tolerance_mm + _ROUNDING_MM)


def at_another_depth(file: DrawingFile) -> Iterator[Finding]:
    """Yield the places where a cutter's path lies in a wall that tells another depth than the path."""
    for cutter_mm in _cutters(file, "pocket", "cutter-path"):
        depths = {s.marks["depth_mm"] for s in _shapes(file, "pocket", cutter_mm) if "depth_mm" in s.marks}
        path_depths = {s.marks["depth_mm"] for s in _shapes(file, "cutter-path", cutter_mm) if "depth_mm" in s.marks}
        if len(depths | path_depths) < 2 or not depths or not path_depths:
            continue
        raster = _raster(_samples(file, "pocket", cutter_mm), _samples(file, "cutter-path", cutter_mm), cutter_mm)
        walls = {depth: raster.enclosed(_samples(file, "pocket", cutter_mm, depth)) for depth in sorted(depths)}
        for path_depth in sorted(path_depths):
            paths = raster.enclosed(_samples(file, "cutter-path", cutter_mm, path_depth))
            for depth, wall in walls.items():
                if depth != path_depth and (wrong := wall & paths).any():
                    told = Sentence(
                        "a pocket's wall is {depth:g mm} deep, the path of its {cutter:g mm} cutter {path:g mm}",
                        depth=Mm(depth),
                        cutter=Mm(cutter_mm),
                        path=Mm(path_depth),
                    )
                    yield from (Finding(place, told, _AGAIN) for place in _places(raster, wrong, wrong * 1.0))


@dataclass(frozen=True)
class Widest:
    """One pocket's depth and the largest circle that fits inside its wall: its middle and its diameter."""

    cutter_mm: float
    depth_mm: float
    place: Place
    across_mm: float


def widest_circles(file: DrawingFile) -> Iterator[Widest]:
    """Yield the largest circle within each pocket's wall, to half a millimetre."""
    for cutter_mm in _cutters(file, "pocket"):
        depths = {s.marks["depth_mm"] for s in _shapes(file, "pocket", cutter_mm) if "depth_mm" in s.marks}
        for depth_mm in sorted(depths):
            walls = _samples(file, "pocket", cutter_mm, depth_mm)
            for place, across_mm in _widest_of_each(_raster(walls, walls, cutter_mm), walls):
                yield Widest(cutter_mm, depth_mm, place, across_mm)


def _widest_of_each(raster: Raster, walls: Samples) -> Iterator[tuple[Place, float]]:
    """Yield the middle and the diameter of the largest circle in each piece of wood that walls enclose."""
    wood = raster.enclosed(walls)
    _, labels = cv2.connectedComponents(wood.view(np.uint8))
    rows, columns = np.nonzero(wood)
    room, piece = distance_px(~wood)[rows, columns], labels[rows, columns]
    order = np.lexsort((room, piece))
    for index in order[np.flatnonzero(np.diff(piece[order], append=0))]:
        place = _place(raster.centres(rows[[index]], columns[[index]])[0])
        yield place, float((2 * room[index] - 1) * raster.pixel_mm)


def _not_the_same_wood(walls: Samples, paths: Samples, cutter_mm: float, slack_mm: float) -> Iterator[Finding]:
    """Yield where a wall encloses wood that no cutter takes, and where a cutter takes wood without a wall around it."""
    raster = _raster(walls, paths, cutter_mm)
    centres = raster.enclosed(paths)
    centres[raster.touched(paths.points)] = True
    away = distance_px(centres) * raster.pixel_mm
    slack = slack_mm + _NEAR_PX * raster.pixel_mm
    walled = raster.enclosed(walls)
    beyond = walled & (away > cutter_mm / 2 + slack)
    for place in _places(raster, beyond, away):
        told = Sentence("a wall encloses wood that the {cutter:g mm} cutter leaves", cutter=Mm(cutter_mm))
        yield Finding(place, told, _ADVICE)
    bare = ~walled & (away <= max(cutter_mm / 2 - slack, 0.0))
    for place in _places(raster, bare, cutter_mm - away):
        told = Sentence("no wall goes round wood that the {cutter:g mm} cutter removes", cutter=Mm(cutter_mm))
        yield Finding(place, told, _ADVICE)


def _lacking(walls: Samples, paths: Samples, cutter_mm: float) -> Finding:
    if len(walls.points):
        told = Sentence("pockets for a {cutter:g mm} cutter have no cutter path of that diameter", cutter=Mm(cutter_mm))
        return Finding(_place(walls.points[0]), told, _ADVICE)
    told = Sentence("paths of a {cutter:g mm} cutter have no pocket's wall around them", cutter=Mm(cutter_mm))
    return Finding(_place(paths.points[0]), told, _ADVICE)


def _places(raster: Raster, mask: NDArray[np.bool_], values: NDArray[np.floating[Any]]) -> list[Place]:
    """Return the middles of the worst pixels of a mask."""
    rows, columns = np.nonzero(mask)
    points = raster.centres(rows, columns)
    worst = worst_places(points, values[rows, columns].astype(np.float64), apart_mm=_APART_MM, most=_MOST_FINDINGS)
    return [_place(points[index]) for index in worst]


def _raster(walls: Samples, paths: Samples, cutter_mm: float) -> Raster:
    points = np.vstack([walls.points, paths.points])
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return Raster.over((x0, y0, x1, y1), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=cutter_mm / 2)


def _cutters(file: DrawingFile, *roles: str) -> list[float]:
    return sorted({shape.marks["cutter_mm"] for shape in file.of_role(*roles) if "cutter_mm" in shape.marks})


def _shapes(file: DrawingFile, role: str, cutter_mm: float) -> Iterator[Shape]:
    return (shape for shape in file.of_role(role) if shape.marks.get("cutter_mm") == cutter_mm)


def _samples(file: DrawingFile, role: str, cutter_mm: float, depth_mm: float | None = None) -> Samples:
    """Return points along the shapes of a role and a cutter, of one depth where it is given."""
    shapes = (s for s in _shapes(file, role, cutter_mm) if depth_mm in (None, s.marks.get("depth_mm")))
    curves = [shape.curve for shape in shapes if shape.curve is not None]
    return sampled(curves, sagitta_mm=_ROUNDING_MM, step_mm=_STEP_MM)


def _place(point: Points) -> Place:
    return float(point[0]), float(point[1])
