"""Areas and parts of what curves enclose, worked out from lines and arcs exactly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from shadowrout.check.curve_samples import Curve, Points, sampled
from shadowrout.check.drawing_file import DrawingFile

_SAGITTA_MM = 0.002
"""What chords leave of arcs where only inside and outside count."""


def signed_mm2(curve: Curve) -> float:
    """Return the area that a closed curve encloses, negative where it runs clockwise.

    That of its vertices' polygon and of the segments between chords and arcs: with t the angle of an arc of radius r
    each is r² (t - sin t) / 2, and r = c / (2 sin(t/2)) over a chord c.
    """
    start, end = curve.pieces
    polygon = float((start.conjugate() * end).imag.sum()) / 2
    bent = np.abs(curve.bulges) > 0
    if not bent.any():
        return polygon
    angle = 4 * np.arctan(curve.bulges[bent])
    radius = np.abs(end - start)[bent] / (2 * np.sin(np.abs(angle) / 2))
    return polygon + float((radius**2 * (angle - np.sin(angle))).sum()) / 2


def enclosed_mm2(curves: Sequence[Curve]) -> float:
    """Return the area within rings of which outer ones and holes run against each other; 0 without any."""
    return abs(sum(signed_mm2(curve) for curve in curves if curve.closed))


@dataclass(frozen=True, eq=False)
class EnclosedPart:
    """One part of what rings enclose: its outer ring and its holes."""

    rings: tuple[Curve, ...]
    outer: shapely.Polygon
    """Its outer ring with chords for arcs."""

    @property
    def mm2(self) -> float:
        """Its area, the holes taken off."""
        areas = [abs(signed_mm2(ring)) for ring in self.rings]
        return areas[0] - sum(areas[1:])

    @property
    def perimeter_mm(self) -> float:
        """The length of all its rings."""
        return sum(ring.length_mm for ring in self.rings)

    def holds(self, place: tuple[float, float] | Points) -> bool:
        """Return whether a place lies within its outer ring and in none of its holes."""
        inside = bool(shapely.contains_xy(self.outer, *place))
        return inside and not any(shapely.contains_xy(_polygon(hole), *place) for hole in self.rings[1:])


def parts_of(curves: Sequence[Curve]) -> list[EnclosedPart]:
    """Return the parts that rings enclose, whichever way they run; a ring of fewer than three points is left out."""
    rings = [(curve, _polygon(curve)) for curve in curves if curve.closed]
    rings = [(curve, polygon) for curve, polygon in rings if not polygon.is_empty]
    if not rings:
        return []
    polygons = [polygon for _, polygon in rings]
    starts = shapely.points([curve.vertices[0] for curve, _ in rings])
    inner, around = shapely.STRtree(polygons).query(starts, predicate="within")
    apart = inner != around
    inner, around = inner[apart], around[apart]
    depth = np.bincount(inner, minlength=len(rings))
    holes: dict[int, list[Curve]] = {int(index): [] for index in np.flatnonzero(depth % 2 == 0)}
    for index in np.flatnonzero(depth % 2):
        parents = [int(a) for a in around[inner == index] if depth[a] == depth[index] - 1]
        if parents and parents[0] in holes:
            holes[parents[0]].append(rings[index][0])
    return [EnclosedPart((rings[index][0], *inside), polygons[index]) for index, inside in holes.items()]


def circles_of(file: DrawingFile) -> list[Curve]:
    """Return the circles on the layer of register marks, dowel holes: two half turns, as circles are read."""
    curves = file.curves("register")
    return [c for c in curves if c.closed and len(c.vertices) == 2 and bool((np.abs(c.bulges) == 1).all())]


def _polygon(curve: Curve) -> shapely.Polygon:
    points = sampled([curve], sagitta_mm=_SAGITTA_MM).points
    return shapely.Polygon(points) if len(points) >= 3 else shapely.Polygon()
