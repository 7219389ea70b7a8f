"""What cutters and depths can be: deep enough to outlast the sanding, never through the board.

A depth is measured from the face as it is before the sanding, so the sanding takes its share first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING

from shadowrout.errors import SettingError
from shadowrout.words.units import rounded_down

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from shadowrout.job.options import Cutter, Finish, VTool

LEAST_FLOOR_MM = 3.0
"""Least wood left under a pocket, on any board (common practice, no source)."""

FLOOR_SHARE = 1 / 3
"""Least wood left under a pocket as a share of the board's thickness (common practice, no source)."""

LEAST_V_WIDTH_MM = 0.2
"""A V tool that can't leave a line this wide draws nothing that one sees (common practice, no source)."""

LEAST_STEP_MM = 0.1
"""The least that ``finish.deeper_by`` may be."""

LEAST_CUTTER_STEP_MM = 0.1
"""Cutters whose diameters differ by less are one size: the smaller reaches nothing that the larger leaves."""

_EQUAL_MM = 1e-9
"""What adding and subtracting lengths may lose: two that differ by less are equal."""


def check_sizes(diameters_mm: Iterable[float]) -> None:
    """Raise SettingError where two cutters, in any order, are of one size."""
    for smaller, larger in pairwise(sorted(diameters_mm)):
        if larger - smaller < LEAST_CUTTER_STEP_MM - _EQUAL_MM:
            raise SettingError(
                "cutter.diameter",
                f"{larger:g} mm and {smaller:g} mm are one size; give cutters {LEAST_CUTTER_STEP_MM:g} mm apart or "
                "more",
            )


def floor_mm(thickness_mm: float) -> float:
    """Return the least wood to leave under a pocket: 3 mm or a third of the board, whichever is more."""
    return max(LEAST_FLOOR_MM, FLOOR_SHARE * thickness_mm)


def pocket_depth_mm(cutter: Cutter, *, finish: Finish, thickness_mm: float) -> float:
    """Return the depth of the cutter's pockets below the unsanded face.

    Without ``cutter.depth``, the least that works: the sanding loss and what must be left after it. Raises
    SettingError where the depth wouldn't outlast the sanding or would leave less than the floor, with the
    nearest depth that works.
    """
    least = finish.sanding_loss + finish.least_depth_left
    deepest = thickness_mm - floor_mm(thickness_mm)
    if least > deepest + _EQUAL_MM:
        raise SettingError("cutter.depth", _board_too_thin(least, thickness_mm))
    if cutter.depth is None:
        return least
    if cutter.depth < least - _EQUAL_MM:
        left = cutter.depth - finish.sanding_loss
        after = f"{left:.4g} mm" if left > 0 else "nothing"
        raise SettingError(
            "cutter.depth",
            f"{cutter.depth:g} mm leaves {after} after {finish.sanding_loss:g} mm of sanding, "
            f"{finish.least_depth_left:g} mm must be left; the least that works is {least:.6g} mm",
        )
    if cutter.depth > deepest + _EQUAL_MM:
        problem = f"{cutter.depth:g} mm {_what_is_left(cutter.depth, thickness_mm)}"
        raise SettingError("cutter.depth", f"{problem}; the most that works is {_rounded_down(deepest)} mm")
    return cutter.depth


def deeper_depth_mm(depth_mm: float, *, finish: Finish, thickness_mm: float) -> float:
    """Return the depth of a cutter's broad pockets, given that of its others; the same where no deeper one is asked.

    Raises SettingError where it would leave less of the board than the floor, with the nearest that works.
    """
    if finish.deeper_from is None:
        return depth_mm
    deeper = depth_mm + finish.deeper_by
    room = thickness_mm - floor_mm(thickness_mm) - depth_mm
    if finish.deeper_by > room + _EQUAL_MM:
        problem = f"{finish.deeper_by:g} mm more than {depth_mm:g} mm {_what_is_left(deeper, thickness_mm)}"
        works = f"the most that works is {_rounded_down(room)} mm"
        if room < LEAST_STEP_MM:
            works = "leave finish.deeper_from unset, or take a thicker board or a shallower cutter.depth"
        raise SettingError("finish.deeper_by", f"{problem}; {works}")
    return deeper


def v_reach_mm(v_tool: VTool, *, finish: Finish, thickness_mm: float) -> float:
    """Return half the width of the widest line that one pass of the V tool leaves on the sanded face.

    Raises SettingError where the greatest depth leaves a line under 0.2 mm, or less of the board than the
    floor.
    """
    greatest, tan = v_tool.greatest_depth, half_angle_tan(v_tool.angle)
    reach = (greatest - finish.sanding_loss) * tan
    if 2 * reach < LEAST_V_WIDTH_MM - _EQUAL_MM:
        needed = math.ceil((finish.sanding_loss + LEAST_V_WIDTH_MM / 2 / tan) * 1000) / 1000
        raise SettingError(
            "v_tool.greatest_depth",
            f"{greatest:g} mm leaves no line after {finish.sanding_loss:g} mm of sanding; the least that works is "
            f"{needed:.6g} mm",
        )
    deepest = thickness_mm - floor_mm(thickness_mm)
    if greatest > deepest + _EQUAL_MM:
        problem = f"{greatest:g} mm {_what_is_left(greatest, thickness_mm)}"
        raise SettingError("v_tool.greatest_depth", f"{problem}; the most that works is {_rounded_down(deepest)} mm")
    return reach


def passes(depth_mm: float, cutter: Cutter) -> int:
    """Return how many equal passes reach the depth, none deeper than ``cutter.depth_per_pass``.

    Half the cutter's diameter where that isn't set (common practice, no source).
    """
    deepest_pass = cutter.diameter / 2 if cutter.depth_per_pass is None else cutter.depth_per_pass
    return max(1, math.ceil(depth_mm / deepest_pass - _EQUAL_MM))


def v_depth_mm(half_width_mm: NDArray[np.float64], *, angle_deg: float, sanding_loss_mm: float) -> NDArray[np.float64]:
    """Return the depth before sanding of V grooves ``2 half_width_mm`` (any shape) wide after it.

    d = r / tan(A/2) + s: a groove of included angle A is 2 d tan(A/2) wide, and sanding lowers d by s.
    """
    return half_width_mm / half_angle_tan(angle_deg) + sanding_loss_mm


def half_angle_tan(angle_deg: float) -> float:
    """Return tan(A/2): half the width that a V groove of included angle A gains a millimetre of depth."""
    return math.tan(math.radians(angle_deg) / 2)


def _what_is_left(depth_mm: float, thickness_mm: float) -> str:
    """Return what a cut that is too deep does to the board, in words that follow the depth."""
    must = f"{floor_mm(thickness_mm):.4g} mm must be left under it"
    left = thickness_mm - depth_mm
    if left < _EQUAL_MM:
        return f"goes through the board of {thickness_mm:g} mm, {must}"
    return f"leaves {left:.4g} mm of the board of {thickness_mm:g} mm, {must}"


def _rounded_down(length_mm: float) -> str:
    return f"{rounded_down(length_mm, 3):.6g}"


def _board_too_thin(least_mm: float, thickness_mm: float) -> str:
    thickness_needed = max(least_mm + LEAST_FLOOR_MM, least_mm / (1 - FLOOR_SHARE))
    return (
        f"no depth works on a board of {thickness_mm:g} mm: {least_mm:.4g} mm are needed to outlast the sanding and "
        f"{floor_mm(thickness_mm):.4g} mm must stay below; the thinnest board that works is {thickness_needed:.4g} mm"
    )
