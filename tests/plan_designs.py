"""Shadows to plan carvings for, and second opinions on what a plan cuts."""

from __future__ import annotations

import contourpy
import numpy as np
import shapely
from scipy import ndimage

from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.region import Region


def level_set(field: np.ndarray, pixel_mm: float) -> Region:
    """Return where a field is positive, rows from the top, as a region in mm with y up; specks under 0.3 mm2 go."""
    padded = np.pad(field, 1, constant_values=-float(np.abs(field).max()))[::-1]
    tracer = contourpy.contour_generator(z=padded, fill_type="OuterOffset")
    polygons = []
    for points, offsets in zip(*tracer.filled(0.0, np.inf), strict=True):
        rings = [points[a : b - 1] * pixel_mm for a, b in zip(offsets[:-1], offsets[1:], strict=True)]
        polygons.append((rings[0], rings[1:]))
    return Region.of_polygons(polygons).keeping(0.3).holes_filled(0.3)


def random_shadow(seed: int, *, side_mm: float = 40.0, pixel_mm: float = 0.2) -> Region:
    """Return blobs and strokes from smoothed noise; coarseness and darkness change with the seed."""
    rng = np.random.default_rng(seed)
    count = round(side_mm / pixel_mm)
    field = ndimage.gaussian_filter(rng.standard_normal((count, count)), rng.uniform(3, 14))
    return level_set(field - np.quantile(field, rng.uniform(0.3, 0.8)), pixel_mm)


def swept(lines: list[VLine] | tuple[VLine, ...]) -> shapely.Geometry:
    """Return what V lines cut at the sanded face: the hull of the discs at both ends of every piece, united."""
    hulls = []
    for line in lines:
        discs = shapely.buffer(shapely.points(line.points), line.width_mm / 2, quad_segs=16)
        count = len(discs) if line.closed else len(discs) - 1
        pairs = [shapely.union(discs[i], discs[(i + 1) % len(discs)]) for i in range(count)]
        hulls += [pair.convex_hull for pair in pairs]
    return shapely.union_all(hulls)


def regular_polygon(sides: int, radius: float) -> Region:
    """Return the regular polygon inscribed in a circle about the origin."""
    turn = 2 * np.pi * np.arange(sides) / sides
    return Region.of_polygons([(radius * np.column_stack([np.cos(turn), np.sin(turn)]), [])])


def circle_ring(radius: float, count: int = 720) -> np.ndarray:
    turn = 2 * np.pi * np.arange(count) / count
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def farthest_outside_mm(shadow: Region, path: Region, radius_mm: float, *, pixel_mm: float = 0.05) -> float:
    """Return how far from the shadow a disc swept over all of a path removes wood, by scipy's exact distances.

    Pixel centres stand for the wood; a pixel is in a region if shapely says that its centre is.
    """
    x0, y0, x1, y1 = shadow.bounds
    x, y = np.meshgrid(np.arange(x0 - 2, x1 + 2, pixel_mm), np.arange(y0 - 2, y1 + 2, pixel_mm))
    centres = shapely.contains_xy(path.shape, x, y)
    if not centres.any():
        return 0.0
    inside = shapely.contains_xy(shadow.shape, x, y)
    removed = ndimage.distance_transform_edt(~centres, sampling=pixel_mm) <= radius_mm
    from_shadow = ndimage.distance_transform_edt(~inside, sampling=pixel_mm)
    return float(from_shadow[removed].max())
