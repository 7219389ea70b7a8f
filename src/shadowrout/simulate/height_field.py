"""How deep the board lies below its unsanded face after all cuts, on a grid finer than any stroke."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.region import Box, Region
from shadowrout.plan import FlowLine, Plan, Pocket, VLine
from shadowrout.size import Layout

Field = NDArray[np.float32]

FINEST_PIXEL_MM = 0.1
COARSEST_PIXEL_MM = 0.3
_PIXELS_A_SIDE = 1500

_PARING_SLACK_MM = 0.1
"""How much further than the allowance a gouge follows the shadow's edge, so that no rim of a hair is left."""

_SUBPIXELS = 4
_RADIUS_CLASSES = 6
_BEYOND_PX = 1.5


@dataclass(frozen=True, eq=False)
class HeightField:
    """A board as it comes from the carver's bench; all arrays (height, width), rows downwards.

    ``grooves_mm`` is the depth that the V tool cut, continued above the face as far as a pixel beyond a groove's
    edge (negative there, and far below zero elsewhere), so that its level at any sanding loss is the groove's edge
    at that loss, finer than the pixels. ``pocket_cover`` is the share of each pixel that lies in a pocket, 0 to 1, and
    ``pockets_mm`` how deep. ``board_cover`` is the share of each pixel on the board.
    """

    grooves_mm: Field
    pockets_mm: Field
    pocket_cover: Field
    board_cover: Field
    pixel_mm: float
    v_slope: float
    """Depth that a groove's wall gains for each millimetre towards its middle, 1 / tan(A/2)."""

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


def carved(plan: Plan, shadow: Region, layout: Layout, *, v_angle_deg: float, pixel_mm: float) -> HeightField:
    """Return the board after roughing, paring and the V tool; a plan without cuts gives a plain board.

    Paring takes the finishing allowance off a pocket's wall, to the edge of ``shadow`` and no further.
    """
    grid = _Grid(layout.board_mm, pixel_mm)
    cover, depth = np.zeros(grid.shape, np.float32), np.zeros(grid.shape, np.float32)
    for pocket in plan.pockets:
        window, share = grid.cover(_pared(pocket, shadow))
        cover[window] = np.maximum(cover[window], share)
        depth[window] = np.maximum(depth[window], np.where(share > 0, np.float32(pocket.depth_mm), np.float32(0)))
    slope = 1 / math.tan(math.radians(v_angle_deg) / 2)
    below = np.maximum(_grooves([_on_the_floor(line) for line in plan.flow_lines], grid, slope), np.float32(0))
    depth += np.where(depth > 0, below, np.float32(0))
    grooves = _grooves(plan.v_lines, grid, slope)
    board = np.zeros(grid.shape, np.float32)
    window, share = grid.cover(Region.of_polygons([(layout.edge.flattened(pixel_mm / 20), [])]))
    board[window] = share
    return HeightField(grooves, depth, cover, board, pixel_mm, slope)


def _on_the_floor(line: FlowLine) -> VLine:
    """Return a flow line with its depth measured from the pocket's floor."""
    count = len(line.points)
    return VLine(line.points, np.full(count, line.width_mm), np.full(count, line.below_floor_mm), closed=False)


def _pared(pocket: Pocket, shadow: Region) -> Region:
    if pocket.allowance_mm == 0:
        return pocket.wall
    reach = pocket.wall.offset(pocket.allowance_mm + _PARING_SLACK_MM, error=_PARING_SLACK_MM / 10)
    return reach.intersection(shadow).union(pocket.wall)


class _Grid:
    """Pixels over a box of millimetres; row 0 is its upper edge."""

    def __init__(self, box: Box, pixel_mm: float) -> None:
        x0, y0, x1, y1 = box
        self.left, self.top, self.pixel_mm = x0, y1, pixel_mm
        self.shape = (math.ceil((y1 - y0) / pixel_mm - 1e-9), math.ceil((x1 - x0) / pixel_mm - 1e-9))

    def pixels(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points in mm, shape (n, 2), as (column, row) with pixel centres at halves."""
        placed: NDArray[np.float64] = (points - [self.left, self.top]) / [self.pixel_mm, -self.pixel_mm]
        return placed

    def cover(self, region: Region) -> tuple[tuple[slice, slice], Field]:
        """Return the window of pixels around a region and the share of each that lies in it, by subpixels.

        OpenCV fills every subpixel that an outline touches, half a subpixel too much all around, so the region
        is shrunk by that much first.
        """
        half = self.pixel_mm / _SUBPIXELS / 2
        rings = [self.pixels(ring) for ring in region.offset(-half, error=half / 10).rings()]
        if not rings:
            return (slice(0, 0), slice(0, 0)), np.zeros((0, 0), np.float32)
        every = np.vstack(rings)
        column, row = np.maximum(np.floor(every.min(axis=0)).astype(int), 0)
        right, bottom = np.minimum(np.ceil(every.max(axis=0)).astype(int), self.shape[::-1])
        fine = np.zeros(((bottom - row) * _SUBPIXELS, (right - column) * _SUBPIXELS), np.uint8)
        shift = 8  # fillPoly takes fixed-point numbers, measured from the middle of the first subpixel
        corners = [((ring - [column, row]) * _SUBPIXELS - 0.5) * (1 << shift) for ring in rings]
        cv2.fillPoly(fine, [np.round(c).astype(np.int32) for c in corners], (255,), lineType=cv2.LINE_8, shift=shift)
        share = cv2.resize(fine, (right - column, bottom - row), interpolation=cv2.INTER_AREA)
        cover: Field = share.astype(np.float32) / np.float32(255)
        return (slice(row, bottom), slice(column, right)), cover


def _grooves(lines: Sequence[VLine], grid: _Grid, slope: float) -> Field:
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


def _samples(line: VLine, grid: _Grid) -> NDArray[np.float64]:
    """Return (column, row, depth) every half pixel along a line, shape (n, 3)."""
    table = np.column_stack([grid.pixels(line.points), line.depth_mm])
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
    inner = samples[:, :2] - whole - 0.5
    flat = padded.reshape(-1)
    start = (whole[:, 1] + margin) * padded.shape[1] + whole[:, 0] + margin
    for dy in range(-reach, reach + 1):
        for dx in range(-reach, reach + 1):
            if math.hypot(dx, dy) > reach + 1:
                continue
            away = np.hypot(dx - inner[:, 0], dy - inner[:, 1])
            depth = (samples[:, 2] - away * rise).astype(np.float32)
            np.maximum.at(flat, start + dy * padded.shape[1] + dx, depth)
