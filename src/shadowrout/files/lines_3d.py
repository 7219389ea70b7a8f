"""A path whose depth changes along it, as straight pieces in space, for formats that have no arcs in space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath


def points_3d(path: ArcPath, depths: Sequence[float], *, flat: float) -> NDArray[np.float64]:
    """Return points (m, 3) along the path, z = -depth, whose chords leave its arcs by ``flat`` at the most.

    ``depths`` has one number a vertex; between two it changes evenly with the length. All is in the path's unit. Every
    vertex is among the points, and a closed path's first point isn't repeated. Raises ValueError where ``depths`` are
    not as many as the vertices.
    """
    if len(depths) != len(path.vertices):
        raise ValueError(f"depths: expected {len(path.vertices)}, one a vertex, got {len(depths)}")
    counts = _counts(path, flat)
    at = np.repeat(np.arange(len(counts)), counts) + _shares(counts)
    known = np.append(depths, depths[:1]) if path.closed else np.asarray(depths)
    flat_points = path.points_along(counts)
    if not path.closed:
        flat_points, at = np.vstack([flat_points, path.vertices[-1:]]), np.append(at, len(counts))
    z = 0.0 - np.interp(at, np.arange(len(known)), known)
    return np.column_stack([flat_points, z])


def _counts(path: ArcPath, flat: float) -> NDArray[np.intp]:
    """Return into how many chords each piece is cut: one of angle t rises r (1 - cos(t / 2)) over its chord."""
    radii = np.maximum(path.radii, flat)
    step = 2 * np.arccos(1 - flat / radii)
    counts = np.ceil(np.abs(path.angles_rad) / np.maximum(step, 1e-9) - 1e-9)
    return np.where(path.bulges == 0, 1, np.maximum(1, counts)).astype(np.intp)


def _shares(counts: NDArray[np.intp]) -> NDArray[np.float64]:
    """Return 0, 1/n, 2/n ... of each piece cut into n, one after the other."""
    heads = np.repeat(np.cumsum(counts) - counts, counts)
    shares: NDArray[np.float64] = (np.arange(int(counts.sum())) - heads) / np.repeat(counts, counts)
    return shares
