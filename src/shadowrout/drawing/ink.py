"""What is drawn on a page and which parts of it are pockets: what a note or its leader would cover."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region

CELL_MM = 0.5
"""Side of the cells in which ink is counted: under a third of the smallest letters, 1.8 mm high."""

_STEP_MM = CELL_MM / 2


class _Cells:
    """Square cells of half a millimetre, each with a weight, shape (columns, rows) from the lower left."""

    def __init__(self, weights: NDArray[np.float64], corner: Points) -> None:
        self._corner = corner
        self._size = weights.shape
        self._sums = np.zeros(np.add(self._size, 1))
        self._sums[1:, 1:] = weights.cumsum(axis=0).cumsum(axis=1)

    def under(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weight of all cells that each box (n, 4) touches, shape (n,); of those at the edge beyond it."""
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
        self.page = page
        corner, size = np.array(page[:2]), _size(page)
        drawn, weights = zip(*paths, strict=True) if (paths := list(paths)) else ((), ())
        points, numbers = _close_points(drawn)
        column, row = _cells(points, corner, size).T
        numbers, cells = np.divmod(np.unique((numbers * size[0] + column) * size[1] + row), size[0] * size[1])
        weight = np.bincount(cells, np.array(weights, dtype=float)[numbers], minlength=size[0] * size[1])
        self._cells = _Cells(weight.astype(np.float64).reshape(size), corner)

    def under(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the weight of all cells that each box (n, 4) touches, shape (n,): of each half millimetre of line."""
        return self._cells.under(boxes)


class Rooms:
    """Regions on a page, by number: which boxes and lines touch which, to within half a millimetre.

    Of regions that overlap, the last has what they share, where lines are asked for.
    """

    def __init__(self, regions: Sequence[Region], page: Box) -> None:
        self._corner = np.array(page[:2])
        self._size = _size(page)
        self._owners = np.full(self._size, -1, dtype=np.int32)
        touched = np.zeros(self._size)
        self._each = [self._told_apart(number, region, touched) for number, region in enumerate(regions)]
        self._all = _Cells(touched, self._corner)

    def foreign(self, boxes: NDArray[np.float64], *, own: int) -> NDArray[np.bool_]:
        """Return whether each box (n, 4) touches another region than number ``own``, shape (n,)."""
        foreign: NDArray[np.bool_] = self._all.under(boxes) > self._each[own].under(boxes) + 0.5
        return foreign

    def holds(self, boxes: NDArray[np.float64], *, own: int) -> NDArray[np.bool_]:
        """Return whether each box (n, 4) lies wholly in region number ``own``, shape (n,)."""
        low, high = (_cells(corners, self._corner, self._size) for corners in (boxes[:, :2], boxes[:, 2:]))
        held: NDArray[np.bool_] = self._each[own].under(boxes) > np.prod(high - low + 1, axis=1) - 0.5
        return held

    def strangers(self, points: NDArray[np.float64], *, own: int) -> NDArray[np.bool_]:
        """Return whether each point (..., 2) lies in another region than number ``own``, shape (...)."""
        column, row = _cells(points, self._corner, self._size).T
        owners = self._owners[column, row].T
        strange: NDArray[np.bool_] = (owners >= 0) & (owners != own)
        return strange

    def _told_apart(self, number: int, region: Region, touched: NDArray[np.float64]) -> _Cells:
        """Enter a region, and return its cells with a rim of empty ones, so that nothing counts beyond them."""
        if region.is_empty:
            return _Cells(np.zeros((1, 1)), self._corner)
        bounds = np.array(region.bounds).reshape(2, 2)
        low, high = _cells(bounds, self._corner, self._size)
        corner, size = self._corner + low * CELL_MM, high + 1 - low
        # A hair less than whole cells, since a grid covers its box whole.
        grid = Grid((*corner, *(corner + (size - 1e-6) * CELL_MM)), CELL_MM)
        cells = (grid.covered(region)[::-1].T > 0).astype(np.float64)
        window = tuple(slice(a, b + 1) for a, b in zip(low, high, strict=True))
        self._owners[window][cells > 0] = number
        touched[window] += cells
        return _Cells(np.pad(cells, 1), corner - CELL_MM)


def _size(page: Box) -> tuple[int, int]:
    x0, y0, x1, y1 = page
    columns, rows = np.ceil((np.array([x1 - x0, y1 - y0])) / CELL_MM).astype(int).tolist()
    return columns, rows


def _cells(points: Points, corner: Points, size: tuple[int, ...]) -> NDArray[np.intp]:
    """Return the cell of each point (..., 2); that at the page's edge for points beyond it."""
    cells: NDArray[np.intp] = np.floor((points - corner) / CELL_MM).astype(np.intp)
    return np.clip(cells, 0, np.array(size) - 1)


def _close_points(paths: Sequence[ArcPath]) -> tuple[Points, NDArray[np.intp]]:
    """Return points along paths, their ends included, no further apart than half a cell; and each one's path.

    All paths are looked at as one, joined by pieces that get no points, since there may be thousands.
    """
    if not paths:
        return np.empty((0, 2)), np.empty(0, dtype=np.intp)
    vertices = [np.vstack([path.vertices, path.vertices[:1]]) if path.closed else path.vertices for path in paths]
    bulges = [np.append(path.bulges, 0.0) for path in paths]
    joined = ArcPath(np.vstack(vertices), np.concatenate(bulges)[:-1], closed=False)
    of_piece = np.repeat(np.arange(len(paths)), [len(some) for some in bulges])
    counts = np.maximum(1, np.ceil(joined.lengths / _STEP_MM)).astype(np.intp)
    counts[of_piece[1:] != of_piece[:-1]] = 0
    points = np.vstack([joined.points_along(counts), *(some[-1:] for some in vertices)])
    return points, np.concatenate([np.repeat(of_piece[:-1], counts), np.arange(len(paths))])
