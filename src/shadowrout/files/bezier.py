"""Circular arcs as cubic Bezier curves, for formats that have no arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from shadowrout.geometry.arcs import ArcPath

ARC_ERROR_MM = 0.0001
"""How far a curve may leave its arc."""

_QUARTER_ERROR = 2.73e-4
"""Greatest error of the curve for a quarter turn over its radius; it falls with the sixth power of the angle
(Goldapp 1991, approximation of circular arcs by cubic polynomials)."""


def bezier_pieces(path: ArcPath, *, unit_mm: float) -> Iterator[tuple[float, ...]]:
    """Yield each piece of the path from its first vertex on: (x, y) for a line, six numbers for a curve.

    A curve is its two control points and its end. For an arc of angle t and radius r they lie 4/3 tan(t/4) r from
    its ends along the tangents, so that the curve meets the arc at its middle too.
    """
    counts = _counts(path, unit_mm)
    points = np.vstack([path.points_along(counts), path.ends[-1:]])
    angles = np.repeat(path.angles_rad / counts, counts)
    starts, ends = points[:-1], points[1:]
    chord = ends - starts
    # Over the chord 2 r sin(t/2), 4/3 tan(t/4) r is 1 / (3 cos(t/4)^2); tangents are the chord turned by t/2.
    reach = 1 / (3 * np.cos(angles / 4) ** 2)
    cos, sin = np.cos(angles / 2), np.sin(angles / 2)
    first = np.column_stack([chord[:, 0] * cos + chord[:, 1] * sin, chord[:, 1] * cos - chord[:, 0] * sin])
    last = np.column_stack([chord[:, 0] * cos - chord[:, 1] * sin, chord[:, 1] * cos + chord[:, 0] * sin])
    curves = np.column_stack([starts + reach[:, None] * first, ends - reach[:, None] * last, ends])
    for curve, angle in zip(curves.tolist(), angles.tolist(), strict=True):
        yield tuple(curve[4:]) if angle == 0 else tuple(curve)


def _counts(path: ArcPath, unit_mm: float) -> np.ndarray:
    """Return into how many curves each piece is cut, shape (pieces,)."""
    angles = np.abs(path.angles_rad)
    radii = np.where(angles > 0, path.radii, 0.0) * unit_mm
    radii = np.where(np.isfinite(radii), radii, 0.0)
    most = math.pi / 2 * (ARC_ERROR_MM / (_QUARTER_ERROR * np.maximum(radii, 1e-9))) ** (1 / 6)
    counts: np.ndarray = np.maximum(1, np.ceil(angles / np.minimum(most, math.pi / 2) - 1e-9)).astype(np.intp)
    return counts
