"""How much is drawn under a box: what a note's text would cover."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.region import Box

CELL_MM = 0.5
_FLAT_MM = 0.05
_STEP_MM = CELL_MM / 2


class Ink:
    """Paths on a page, as cells of half a millimetre that hold the weight of what passes through them.

    ``paths`` are pairs of a path and its weight; where several pass through one cell the weights add up.
    """

    def __init__(self, paths: Iterable[tuple[ArcPath, float]], page: Box) -> None:
        x0, y0, x1, y1 = page
        self._corner = np.array([x0, y0])
        self._size = np.ceil((np.array([x1, y1]) - self._corner) / CELL_MM).astype(int)
        cells = np.zeros(self._size)
        for path, weight in paths:
            cells[tuple(np.unique(self._cells(_close_points(path)), axis=0).T)] += weight
        self._sums = np.zeros(self._size + 1)
        self._sums[1:, 1:] = cells.cumsum(axis=0).cumsum(axis=1)

    def under(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weight of all cells that each box (n, 4) touches, shape (n,): of each half millimetre of line."""
        low = self._cells(boxes[:, :2])
        high = self._cells(boxes[:, 2:]) + 1
        sums = self._sums
        weights: NDArray[np.float64] = (
            sums[high[:, 0], high[:, 1]] - sums[low[:, 0], high[:, 1]] - sums[high[:, 0], low[:, 1]]
        ) + sums[low[:, 0], low[:, 1]]
        return weights

    def _cells(self, points: Points) -> NDArray[np.intp]:
        """Return the cell of each point (n, 2); that at the page's edge for points beyond it."""
        cells: NDArray[np.intp] = np.floor((points - self._corner) / CELL_MM).astype(np.intp)
        return np.clip(cells, 0, self._size - 1)


def _close_points(path: ArcPath) -> Points:
    """Return points along a path, its end included, no further apart than half a cell."""
    points = path.flattened(_FLAT_MM)
    points = np.vstack([points, points[:1]]) if path.closed else points
    steps = np.hypot(*np.diff(points, axis=0).T)
    counts = np.maximum(1, np.ceil(steps / _STEP_MM)).astype(np.intp)
    line = ArcPath(points, np.zeros(len(points) - 1), closed=False)
    return np.vstack([line.points_along(counts), points[-1:]])
