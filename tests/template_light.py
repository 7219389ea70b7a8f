"""Light that a router's bit could cut, with closed formulas for how far it would, and drawings to judge them on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import SimpleNamespace

import numpy as np
import shapely

from shadowrout.check.bush import Rolled, rolled
from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

QUAD_SEGS = 128


def wedge(half_angle_deg: float, *, deep: float = 40.0) -> Region:
    """Return a shadow of 120 x 100 mm into which a wedge of light stands from below, its point at (60, ``deep``)."""
    half = deep * math.tan(math.radians(half_angle_deg))
    light = shapely.Polygon([(60 - half, 0), (60 + half, 0), (60, deep)])
    return Region.of_shape(shapely.box(0, 0, 120, 100).difference(light))


def wedge_gouge_mm(half_angle_deg: float, offset_mm: float) -> float:
    """Return how far from the shadow the bit comes at a wedge's point.

    The template's own point lies o / sin a behind it, and the bit keeps o away from that: it comes to the axis
    o / sin a - o behind the point, and that place lies sin a times as far from both walls.
    """
    return offset_mm * (1 - math.sin(math.radians(half_angle_deg)))


def rolled_by_shapely(openings: Sequence[Region], bush: float, bit: float, *, play: float = 1e-6) -> shapely.Geometry:
    """Return all that a bit takes whose bush, smaller by its play all round, goes round in each of the openings."""
    return shapely.union_all(
        [
            opening.shape.buffer(play - bush / 2, quad_segs=QUAD_SEGS).buffer(bit / 2, quad_segs=QUAD_SEGS)
            for opening in openings
        ]
    )


def beyond_mm(cut: shapely.Geometry, shadow: Region) -> float:
    """Return how far the cut comes from the shadow, at its edge and within, where all of some light is taken."""
    taken = shapely.get_parts(cut.segmentize(0.005).difference(shadow.shape))
    places = [shapely.get_coordinates(taken), *map(_places_in, taken[~shapely.is_empty(taken)])]
    away = shapely.distance(shadow.shape, shapely.points(np.concatenate(places)))
    return float(away.max(initial=0.0))


def _places_in(area: shapely.Geometry) -> np.ndarray:
    x0, y0, x1, y1 = area.bounds
    x, y = (grid.ravel() for grid in np.meshgrid(np.arange(x0, x1, 0.03), np.arange(y0, y1, 0.03)))
    inside = shapely.contains_xy(area, x, y)
    return np.column_stack([x[inside], y[inside]])


def unkeyed_opening(shadow: Region, bush: float, bit: float) -> Region:
    """Return the opening of a pocket as large as its shadow: all places of the bit's middle, grown by the bush."""
    centres = shadow.shape.buffer(-bit / 2, quad_segs=QUAD_SEGS)
    return Region.of_shape(centres.buffer(bush / 2, quad_segs=QUAD_SEGS))


def judged(openings: Sequence[Sequence[ArcPath]], shadow: Region, *, bush: float, bit: float) -> Rolled:
    """Return what the check makes of template sheets with these openings."""
    drawings = {}
    for number, paths in enumerate(openings, start=1):
        file = DrawingFile(f"template-{number}.svg")
        file.shapes = [Shape("opening", "opening", {}, Curve(p.vertices, p.bulges, closed=True)) for p in paths]
        drawings[file.name] = file
    plaque = SimpleNamespace(
        drawings=drawings,
        drawing=lambda stem: iter(()),
        design=shadow.shape,
        tolerance_mm=0.1,
        job=SimpleNamespace(template=SimpleNamespace(bush=bush, bit=bit)),
    )
    found = rolled(plaque)
    assert found is not None
    return found
