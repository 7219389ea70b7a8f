"""A judge of fitted outlines that shares no code with the fit: arcs cut up by its own formula, the rest by shapely."""

from __future__ import annotations

import math

import numpy as np
import shapely


def cut_up(path, error):
    """Return points on a path of lines and arcs, by centre and angle, chords within ``error`` of the arcs."""
    count = len(path.vertices)
    points = []
    for k, bulge in enumerate(path.bulges):
        a, b = path.vertices[k], path.vertices[(k + 1) % count]
        points.append(complex(*a))
        if bulge:
            start, end = complex(*a), complex(*b)
            angle = 4 * math.atan(bulge)
            centre = (start + end) / 2 + (end - start) * 1j * (1 - bulge * bulge) / (4 * bulge)
            radius = abs(start - centre)
            steps = max(2, math.ceil(abs(angle) / (2 * math.acos(max(0.0, 1 - error / radius)))))
            points += [centre + (start - centre) * np.exp(1j * angle * s / steps) for s in range(1, steps)]
    if not path.closed:
        points.append(complex(*path.vertices[-1]))
    return np.column_stack([np.real(points), np.imag(points)])


def within(one, other, distance, spacing):
    """Return whether two shapely lines, sampled ``spacing`` apart, lie within ``distance`` of each other, both ways."""
    for line, points in ((one, other), (other, one)):
        shapely.prepare(line)
        samples = shapely.points(shapely.get_coordinates(points.segmentize(spacing)))
        if not shapely.dwithin(line, samples, distance).all():
            return False
    return True


def faults(region, paths, tolerance):
    """Return what is wrong with the paths that are to stand for the region's rings, in words; nothing if sound."""
    error = tolerance / 400
    rings = region.rings()
    if len(rings) != len(paths):
        return [f"{len(paths)} paths for {len(rings)} rings"]
    found = []
    flat = [cut_up(path, error) for path in paths]
    for k, (ring, points, path) in enumerate(zip(rings, flat, paths, strict=True)):
        given = shapely.LinearRing(ring)
        if len(points) < 3:
            found.append(f"ring {k} encloses nothing")
            continue
        fitted = shapely.LinearRing(points)
        if fitted.is_ccw != given.is_ccw:
            found.append(f"ring {k} is turned round")
        if np.abs(path.bulges).max() > 1:
            found.append(f"ring {k} has an arc of more than half a turn")
        if not within(fitted, given, tolerance + error, max(tolerance / 4, fitted.length / 2000)):
            found.append(f"ring {k} is off by {fitted.hausdorff_distance(given)}")
    if not found:
        found += _crossings(region, flat)
    return found


def _crossings(region, flat):
    rest = iter(flat)
    polygons = [shapely.Polygon(next(rest), [next(rest) for _ in part.interiors]) for part in region.shape.geoms]
    found = [shapely.is_valid_reason(polygon) for polygon in polygons if not polygon.is_valid]
    whole = shapely.MultiPolygon(polygons)
    if not found and not whole.is_valid:
        found.append(shapely.is_valid_reason(whole))
    return found
