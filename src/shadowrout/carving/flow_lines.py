"""Shallow V lines on the floors of broad pockets that show which way hair, fur or cloth runs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.carving.depths import floor_mm, half_angle_tan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.smoothing import smoothed, thinned
from shadowrout.carving.streams import Directions, stream_lines
from shadowrout.errors import SettingError
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.lines import union_all
from shadowrout.geometry.region import Region
from shadowrout.geometry.strokes import Stroke

WIDTH_SHARE = 0.3
"""Width of a flow line on the pocket's floor as a share of the spacing."""

GREATEST_BELOW_MM = 1.0
"""The deepest a flow line goes below the floor."""

LEAST_BELOW_MM = 0.2
"""A shallower one doesn't show (common practice, no source)."""

FLOOR_SHARE = 0.5
"""A flow line goes no deeper below the floor than this share of the floor's own depth."""

MARGIN_MM = 1.0
"""What stays between a flow line's edge and the pocket's wall."""

BROAD_SPACINGS = 3.0
"""Floors are left plain where they are narrower than this many spacings within the margin."""

_THINNING_MM = 0.02
"""What leaving points out may move a line by: far less than the hand that follows it."""


@dataclass(frozen=True, eq=False)
class FlowLine:
    """One open stroke on a pocket's floor. ``points`` (n, 2) float64 mm, n >= 2.

    ``floor_mm`` is the depth of the floor below the unsanded face, ``below_floor_mm`` how much deeper the line goes and
    ``width_mm`` how wide it is on the floor.
    """

    points: Points
    floor_mm: float
    below_floor_mm: float
    width_mm: float

    @property
    def depth_mm(self) -> float:
        """Depth below the unsanded face."""
        return self.floor_mm + self.below_floor_mm

    @property
    def length(self) -> float:
        """Length along the line, in millimetres."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())


def find_flow_lines(
    pockets: Sequence[Pocket], directions: Directions, *, spacing_mm: float, angle_deg: float, thickness_mm: float
) -> tuple[FlowLine, ...]:
    """Return the flow lines of all broad pockets, the shallower floors first; none without broad pockets.

    Their depth below the floor follows from the spacing, and is the same on one floor: 0.3 spacings wide on the floor,
    1 mm and half the floor's depth at the most. Raises SettingError where so little wood is left under a
    pocket that no line of 0.2 mm may be cut into its floor.
    """
    found: list[FlowLine] = []
    for depth, floor in _floors(pockets):
        below = _below_mm(depth, spacing_mm, angle_deg, thickness_mm)
        width = 2 * below * half_angle_tan(angle_deg)
        area = _broad(floor.offset(-(width / 2 + MARGIN_MM), error=0.01), BROAD_SPACINGS * spacing_mm / 2)
        strokes = [
            Stroke(line, np.full(len(line), width / 2), closed=False)
            for line in stream_lines(area, directions, spacing_mm=spacing_mm)
        ]
        smooth = thinned(smoothed(strokes, sigma_mm=spacing_mm / 6), tolerance_mm=_THINNING_MM)
        found += [FlowLine(stroke.points, depth, below, width) for stroke in smooth]
    return tuple(found)


def _floors(pockets: Sequence[Pocket]) -> Iterator[tuple[float, Region]]:
    """Yield each depth with the floor that lies there: where walls overlap, the deeper pocket has it."""
    by_depth: dict[float, list[Region]] = defaultdict(list)
    for pocket in pockets:
        by_depth[pocket.depth_mm].append(pocket.wall)
    for depth in sorted(by_depth):
        deeper = union_all(wall for other, walls in by_depth.items() if other > depth for wall in walls)
        yield depth, union_all(by_depth[depth]).difference(deeper)


def _below_mm(depth_mm: float, spacing_mm: float, angle_deg: float, thickness_mm: float) -> float:
    wanted = WIDTH_SHARE * spacing_mm / 2 / half_angle_tan(angle_deg)
    room = thickness_mm - floor_mm(thickness_mm) - depth_mm
    below = min(wanted, GREATEST_BELOW_MM, FLOOR_SHARE * depth_mm, room)
    if below < LEAST_BELOW_MM - 1e-9:
        raise SettingError(
            "v_tool.flow",
            f"a line on a floor {depth_mm:g} mm deep in a {thickness_mm:g} mm board, {spacing_mm:g} mm from the next, "
            f"could go {max(below, 0.0):.2f} mm below it, {LEAST_BELOW_MM:g} mm is the least that shows; give a wider "
            "v_tool.flow_spacing, a thicker board, or leave flow off",
        )
    return below


def _broad(area: Region, radius_mm: float) -> Region:
    """Return those parts of an area, cut at its necks, that hold a disc of the radius."""
    return area.offset(-radius_mm, error=0.05).offset(radius_mm, error=0.02).intersection(area)
