"""How deep the board lies below its unsanded face after all cuts, on a grid finer than any stroke."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.fragile_light import Grain
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_lines import VLine
from shadowrout.design.board import Layout
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region, union_all

Field = NDArray[np.float32]

FINEST_PIXEL_MM = 0.1
"""Finer would show more than is promised: outlines lie within 0.1 mm of the design by default."""

COARSEST_PIXEL_MM = 0.3
"""Half the width of the finest class of strokes, 0.6 mm, so that none falls between the pixels."""

_PIXELS_A_SIDE = 1500
"""Along a board's longer side, between those two: more than a page's width is printed with."""

_PARING_SLACK_MM = 0.1
"""How much further than the allowance a gouge follows the shadow's edge, so that no rim of a hair is left."""

_RADIUS_CLASSES = 12
"""By how far they reach; a groove reaches a few dozen pixels at most, so that windows differ by a few."""

_BEYOND_PX = 1.5
"""How far a groove's walls are followed above the face: past the middle of the next pixel, which its edge may cross."""


@dataclass(frozen=True, eq=False)
class HeightField:
    """A board as it comes from the carver's bench; all arrays (height, width), rows downwards.

    ``grooves_mm`` is the depth that the V tool cut, continued above the face as far as a pixel beyond a groove's
    edge (negative there, and far below zero elsewhere), so that its level at any sanding loss is the groove's edge
    at that loss, finer than the pixels. ``pocket_cover`` is the share of each pixel that lies in a pocket, 0 to 1, and
    ``pockets_mm`` how deep. ``board_cover`` is the share of each pixel on the board, ``hole_cover`` in a dowel hole.
    """

    grooves_mm: Field
    pockets_mm: Field
    pocket_cover: Field
    board_cover: Field
    hole_cover: Field
    pixel_mm: float
    v_slope: float
    """Depth that a groove's wall gains for each millimetre towards its middle, 1 / tan(A/2)."""
    grain: Grain = "along-width"

    def of_rows(self, rows: slice) -> HeightField:
        """Return some rows of the board; nothing is copied."""
        return replace(
            self,
            grooves_mm=self.grooves_mm[rows],
            pockets_mm=self.pockets_mm[rows],
            pocket_cover=self.pocket_cover[rows],
            board_cover=self.board_cover[rows],
            hole_cover=self.hole_cover[rows],
        )

    def depth_mm(self) -> Field:
        """Return the depth below the unsanded face, 0 on it."""
        pockets = np.where(self.pocket_cover >= 0.5, self.pockets_mm, np.float32(0))
        deepest: Field = np.maximum(np.maximum(self.grooves_mm, 0), pockets)
        return deepest

    def dark_cover(self, sanding_mm: float) -> Field:
        """Return the share of each pixel that stays painted when the face is sanded down by ``sanding_mm``.

        Paint stays wherever the wood lies deeper than that. A groove's wall crosses a pixel in
        pixel x slope of depth, which turns its depth at the middle into the share of the pixel beyond the edge.
        """
        rise = self.v_slope * self.pixel_mm
        grooves = np.clip(0.5 + (self.grooves_mm - np.float32(sanding_mm)) / np.float32(rise), 0, 1)
        pockets = np.where(self.pockets_mm > sanding_mm, self.pocket_cover, np.float32(0))
        dark: Field = np.minimum(np.maximum(grooves, pockets), self.board_cover)
        return dark


def pixel_mm_for(board: Box) -> float:
    """Return the grid's spacing for a board: fine on a small one, and never too coarse for a stroke."""
    side = max(board[2] - board[0], board[3] - board[1])
    return min(max(side / _PIXELS_A_SIDE, FINEST_PIXEL_MM), COARSEST_PIXEL_MM)


def carved(
    plan: Plan, shadow: Region, layout: Layout, *, holes: Region, v_angle_deg: float, pixel_mm: float
) -> HeightField:
    """Return the board after drilling, roughing, paring and the V tool; a plan without cuts gives a plain board.

    Paring takes the finishing allowance off a pocket's wall, to the edge of ``shadow`` and no further.
    """
    grid = Grid(layout.board_mm, pixel_mm)
    cover, depth = np.zeros(grid.shape, np.float32), np.zeros(grid.shape, np.float32)
    for (depth_mm, allowance_mm), pockets in _alike(plan.pockets):
        share = grid.covered(_pared(pockets, allowance_mm, shadow))
        np.maximum(cover, share, out=cover)
        np.maximum(depth, np.float32(depth_mm), out=depth, where=share > 0)
    slope = 1 / math.tan(math.radians(v_angle_deg) / 2)
    if plan.flow_lines:
        below = np.maximum(_grooves([_on_the_floor(line) for line in plan.flow_lines], grid, slope), np.float32(0))
        depth += np.where(depth > 0, below, np.float32(0))
    grooves = _grooves(plan.v_lines, grid, slope)
    board = grid.covered(Region.of_polygons([(layout.edge.flattened(pixel_mm / 20), [])]))
    return HeightField(grooves, depth, cover, board, grid.covered(holes), pixel_mm, slope, plan.grain)


def _on_the_floor(line: FlowLine) -> VLine:
    """Return a flow line with its depth measured from the pocket's floor."""
    count = len(line.points)
    return VLine(line.points, np.full(count, line.width_mm), np.full(count, line.below_floor_mm), closed=False)


def _alike(pockets: Sequence[Pocket]) -> Iterator[tuple[tuple[float, float], list[Pocket]]]:
    """Yield the pockets of each depth and finishing allowance."""

    def key(pocket: Pocket) -> tuple[float, float]:
        return pocket.depth_mm, pocket.allowance_mm

    for alike, group in groupby(sorted(pockets, key=key), key=key):
        yield alike, list(group)


def _pared(pockets: Sequence[Pocket], allowance_mm: float, shadow: Region) -> Region:
    walls = union_all(pocket.wall for pocket in pockets)
    if allowance_mm == 0:
        return walls
    reach = walls.offset(allowance_mm + _PARING_SLACK_MM, error=_PARING_SLACK_MM / 10)
    return reach.intersection(shadow).union(walls)


def _grooves(lines: Sequence[VLine], grid: Grid, slope: float) -> Field:
    """Return the depth of all grooves: the deepest of the cones that the tool's tip draws along each line."""
    height, width = grid.shape
    samples = [_samples(line, grid) for line in lines]
    if not samples:
        return np.full(grid.shape, -np.inf, np.float32)
    table = np.vstack(samples)
    rise = slope * grid.pixel_mm
    reach_px = table[:, 2] / rise + _BEYOND_PX
    margin = math.ceil(reach_px.max()) + 1
    padded = np.full((height + 2 * margin, width + 2 * margin), -np.inf, np.float32)
    for members in _by_reach(reach_px):
        _stamp(padded, table[members], math.ceil(reach_px[members].max()), margin, rise)
    return np.ascontiguousarray(padded[margin:-margin, margin:-margin])


def _samples(line: VLine, grid: Grid) -> NDArray[np.float64]:
    """Return (column, row, depth) every half pixel along a line, shape (n, 3)."""
    x0, _, _, y1 = grid.box
    placed = (line.points - [x0, y1]) / [grid.pixel_mm, -grid.pixel_mm]
    table = np.column_stack([placed, line.depth_mm])
    if line.closed:
        table = np.vstack([table, table[:1]])
    along = np.concatenate([[0.0], np.hypot(*np.diff(table[:, :2], axis=0).T).cumsum()])
    at = np.linspace(0, along[-1], max(2, math.ceil(along[-1] * 2) + 1))
    return np.column_stack([np.interp(at, along, column) for column in table.T])


def _by_reach(reach_px: NDArray[np.float64]) -> Iterator[NDArray[np.intp]]:
    """Yield the samples in classes of like reach, so that narrow strokes are not stamped with wide windows."""
    order = np.argsort(reach_px, kind="stable")
    for members in np.array_split(order, _RADIUS_CLASSES):
        if len(members):
            yield members


def _stamp(padded: Field, samples: NDArray[np.float64], reach: int, margin: int, rise: float) -> None:
    """Deepen the field by one cone a sample, offset by offset over the window that the widest of them reaches."""
    whole = np.floor(samples[:, :2]).astype(np.intp)
    inner_x, inner_y = (samples[:, :2] - whole - 0.5).T.astype(np.float32)
    tip = samples[:, 2].astype(np.float32)
    flat, width = padded.reshape(-1), padded.shape[1]
    first = (whole[:, 1] + margin - reach) * width + whole[:, 0] + margin - reach
    steps = range(-reach, reach + 1)
    square_x, square_y = ([(step - inner) ** 2 for step in steps] for inner in (inner_x, inner_y))
    for row, dy in enumerate(steps):
        for column, dx in enumerate(steps):
            if math.hypot(dx, dy) <= reach + 1:
                away = np.sqrt(square_x[column] + square_y[row])
                away *= np.float32(rise)
                np.maximum.at(flat[row * width + column :], first, np.subtract(tip, away, out=away))
