"""Evenly spaced stream lines of a field of directions.

Source: Jobard and Lefer, Creating Evenly-Spaced Streamlines of Arbitrary Density, 1997: a line is followed until it
would come too near to another, and new lines start at the wanted spacing beside those there are. Here what lies too
near is painted on two rasters, so that asking costs one look.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.canvas import PIXEL_MM, Canvas
from shadowrout.design.tone.flow import Flow
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Box, Region

NEAREST_SHARE = 0.6
"""How near a line may come to another, as a share of the spacing (0.5 in the paper's figures)."""

LEAST_LENGTH_SHARE = 2.0
"""Lines shorter than this many spacings are left out: they read as dirt."""

_STEPS_A_SPACING = 8
"""Steps to a spacing: a line turns little from one to the next, and can't step over a neighbour."""
_SEEDS_A_SPACING = 2
"""Starting points to a spacing, so that no stretch as wide as a line's own room stays without one."""
_SHARPEST_STEP = math.cos(math.radians(40))
"""A direction that turns by more than 40 degrees in one step is no flow any more: the line ends there."""


@dataclass(frozen=True, eq=False)
class Directions:
    """The flow of a picture that lies in ``box_mm`` on the plaque, y up, with pixels of ``pixel_mm``."""

    flow: Flow
    box_mm: Box
    pixel_mm: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return the unit direction at a point in mm, y up, its sign free; that of the nearest edge outside.

        Twice the angle is interpolated between four pixels; (0, 0) where they cancel out.
        """
        height, width = self.flow.cos2.shape
        column = min(max((x - self.box_mm[0]) / self.pixel_mm - 0.5, 0.0), width - 1.001)
        row = min(max((self.box_mm[3] - y) / self.pixel_mm - 0.5, 0.0), height - 1.001)
        left, top = int(column), int(row)
        across, down = column - left, row - top
        square = (slice(top, top + 2), slice(left, left + 2))
        cos2, sin2 = (_blend(field[square], across, down) for field in (self.flow.cos2, self.flow.sin2))
        if cos2 == sin2 == 0:
            return 0.0, 0.0
        angle = math.atan2(-sin2, cos2) / 2  # rows run down, y runs up
        return math.cos(angle), math.sin(angle)


def _blend(square: NDArray[np.float32], across: float, down: float) -> float:
    (a, b), (c, d) = square.tolist()
    return float((a * (1 - across) + b * across) * (1 - down) + (c * (1 - across) + d * across) * down)


def stream_lines(area: Region, directions: Directions, *, spacing_mm: float) -> Iterator[Points]:
    """Yield lines (n, 2) in mm along the directions, inside ``area``, evenly spaced; none for the empty area.

    No line comes nearer to another than NEAREST_SHARE of the spacing, to within a pixel of 0.1 mm, and none is shorter
    than LEAST_LENGTH_SHARE spacings. The same input gives the same lines.
    """
    if area.is_empty:
        return
    field = _Field(area, directions, spacing_mm)
    for first in field.candidates():
        waiting = [first]
        while waiting:
            seed = waiting.pop(0)
            if not field.free.has(*seed):
                continue
            line = field.followed(seed)
            if len(line) > LEAST_LENGTH_SHARE * _STEPS_A_SPACING:
                field.take(line)
                yield line
                waiting += field.beside(line)


class _Field:
    """What is still free while lines are laid: ``free`` for starting one, ``open`` for following it."""

    def __init__(self, area: Region, directions: Directions, spacing_mm: float) -> None:
        self.directions = directions
        self.spacing_mm = spacing_mm
        self.step_mm = spacing_mm / _STEPS_A_SPACING
        self.free, self.open = Canvas(area), Canvas(area)
        for canvas in (self.free, self.open):
            canvas.paint(area, 1)

    def candidates(self) -> Sequence[tuple[float, float]]:
        """Return starting points on a grid, those furthest from the area's edge first."""
        depth = cv2.distanceTransform(self.free.pixels, cv2.DIST_L2, 5)
        every = max(1, round(self.spacing_mm / _SEEDS_A_SPACING / PIXEL_MM))
        rows, columns = np.nonzero(depth[::every, ::every])
        order = np.argsort(-depth[::every, ::every][rows, columns], kind="stable")
        spots = np.column_stack([columns[order], rows[order]]) * every * PIXEL_MM + self.free.corner
        return [(float(x), float(y)) for x, y in spots]

    def followed(self, seed: tuple[float, float]) -> Points:
        """Return the line through a point, followed both ways."""
        ahead = self.run(seed, 1.0, [])
        back = self.run(seed, -1.0, ahead)
        return np.array([*back[::-1], seed, *ahead])

    def run(
        self, seed: tuple[float, float], sign: float, other_way: list[tuple[float, float]]
    ) -> list[tuple[float, float]]:
        """Return the points after the seed, one way, until the line leaves the area or comes near another or itself."""
        (x, y), (dx, dy) = seed, self.directions.at(*seed)
        dx, dy = sign * dx, sign * dy
        points: list[tuple[float, float]] = []
        while True:
            way = self.turned(x + dx * self.step_mm / 2, y + dy * self.step_mm / 2, dx, dy)
            if way is None:
                return points
            dx, dy = way
            x, y = x + dx * self.step_mm, y + dy * self.step_mm
            if not self.open.has(x, y) or self.meets_itself(x, y, seed, points, other_way):
                return points
            points.append((x, y))

    def turned(self, x: float, y: float, dx: float, dy: float) -> tuple[float, float] | None:
        """Return the direction at a point that leads on as (dx, dy) does; None where it breaks off sharply."""
        u, v = self.directions.at(x, y)
        along = u * dx + v * dy
        if abs(along) < _SHARPEST_STEP:
            return None
        return (u, v) if along > 0 else (-u, -v)

    def meets_itself(
        self,
        x: float,
        y: float,
        seed: tuple[float, float],
        points: list[tuple[float, float]],
        other_way: list[tuple[float, float]],
    ) -> bool:
        """Return whether a point comes too near to the line's own earlier points, but for those just before it."""
        just_before = _STEPS_A_SPACING
        earlier = [*other_way[::-1], seed, *points]
        earlier = earlier[: max(0, len(earlier) - just_before)]
        if not earlier:
            return False
        away = np.hypot(*(np.array(earlier) - (x, y)).T)
        return bool(away.min() < NEAREST_SHARE * self.spacing_mm)

    def take(self, line: Points) -> None:
        """Paint over what lies too near to a new line."""
        self.free.stroke(line, 2 * self.spacing_mm * (1 - 1e-3), 0)
        self.open.stroke(line, 2 * self.spacing_mm * NEAREST_SHARE, 0)

    def beside(self, line: Points) -> list[tuple[float, float]]:
        """Return starting points at the spacing on either side of a line."""
        some = line[:: _STEPS_A_SPACING // 2]
        way = np.gradient(line, axis=0)[:: _STEPS_A_SPACING // 2]
        across = np.column_stack([-way[:, 1], way[:, 0]]) / np.hypot(*way.T)[:, None] * self.spacing_mm * 1.02
        return [(float(x), float(y)) for x, y in np.vstack([some + across, some - across])]
