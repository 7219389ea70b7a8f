"""What is drawn on a page and which parts of it are pockets: what a note's text would cover."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region

CELL_MM = 0.5
_STEP_MM = CELL_MM / 2


class _Cells:
    """A page as cells of half a millimetre, each with a weight, shape (columns, rows) from the lower left."""

    def __init__(self, weights: NDArray[np.float64], corner: Points) -> None:
        self._corner = corner
        self._size = weights.shape
        self._sums = np.zeros(np.add(self._size, 1))
        self._sums[1:, 1:] = weights.cumsum(axis=0).cumsum(axis=1)

    def under(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weight of all cells that each box (n, 4) touches, shape (n,)."""
        low = _cells(boxes[:, :2], self._corner, self._size)
        high = _cells(boxes[:, 2:], self._corner, self._size) + 1
        sums = self._sums
        weights: NDArray[np.float64] = (
            sums[high[:, 0], high[:, 1]] - sums[low[:, 0], high[:, 1]] - sums[high[:, 0], low[:, 1]]
        ) + sums[low[:, 0], low[:, 1]]
        return weights


class Ink:
    """Paths on a page, as cells of half a millimetre that hold the weight of what passes through them.

    ``paths`` are pairs of a path and its weight; where several pass through one cell the weights add up.
    """

    def __init__(self, paths: Iterable[tuple[ArcPath, float]], page: Box) -> None:
        corner, size = np.array(page[:2]), _size(page)
        cells = np.zeros(size[0] * size[1])
        for path, weight in paths:
            column, row = _cells(_close_points(path), corner, size).T
            cells[np.unique(column * size[1] + row)] += weight
        self._cells = _Cells(cells.reshape(size), corner)

    def under(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weight of all cells that each box (n, 4) touches, shape (n,): of each half millimetre of line."""
        return self._cells.under(boxes)


class Rooms:
    """Regions on a page, by number, and which boxes touch one that isn't theirs, to within half a millimetre."""

    def __init__(self, regions: Sequence[Region], page: Box) -> None:
        self._regions, self._page = regions, page
        self._all = _Cells(
            sum((self._touched(region) for region in regions), np.zeros(_size(page))), np.array(page[:2])
        )

    def foreign(self, boxes: NDArray[np.float64], *, own: int) -> NDArray[np.bool_]:
        """Return whether each box (n, 4) touches another region than number ``own``, shape (n,)."""
        mine = _Cells(self._touched(self._regions[own]), np.array(self._page[:2]))
        foreign: NDArray[np.bool_] = self._all.under(boxes) > mine.under(boxes) + 0.5
        return foreign

    def _touched(self, region: Region) -> NDArray[np.float64]:
        x0, y0, _, _ = self._page
        columns, rows = _size(self._page)
        grid = Grid((x0, y0, x0 + columns * CELL_MM, y0 + rows * CELL_MM), CELL_MM)  # whole cells from the lower edge
        return (grid.covered(region)[::-1].T > 0).astype(np.float64)


def _size(page: Box) -> tuple[int, int]:
    x0, y0, x1, y1 = page
    columns, rows = np.ceil((np.array([x1 - x0, y1 - y0])) / CELL_MM).astype(int).tolist()
    return columns, rows


def _cells(points: Points, corner: Points, size: tuple[int, ...]) -> NDArray[np.intp]:
    """Return the cell of each point (n, 2); that at the page's edge for points beyond it."""
    cells: NDArray[np.intp] = np.floor((points - corner) / CELL_MM).astype(np.intp)
    return np.clip(cells, 0, np.array(size) - 1)


def _close_points(path: ArcPath) -> Points:
    """Return points along a path, its end included, no further apart than half a cell."""
    counts = np.maximum(1, np.ceil(path.lengths / _STEP_MM)).astype(np.intp)
    return np.vstack([path.points_along(counts), path.vertices[-1:]])
