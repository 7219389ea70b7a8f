"""What cutters and depths can be: deep enough to outlast the sanding, never through the board.

A depth is measured from the face as it is before the sanding, so the sanding takes its share first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING

from shadowrout.errors import SettingError
from shadowrout.words.lengths import rounded_down
from shadowrout.words.sentences import Mm, Sentence

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
                Sentence(
                    "{larger:g mm} and {smaller:g mm} are one size; give cutters {step:g mm} apart or more",
                    larger=Mm(larger),
                    smaller=Mm(smaller),
                    step=Mm(LEAST_CUTTER_STEP_MM),
                ),
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
        raise SettingError(
            "cutter.depth",
            Sentence(
                "{depth:g mm} leaves {after} after {loss:g mm} of sanding, {needed:g mm} must be left; the least that "
                "works is {least:.6g mm}",
                depth=Mm(cutter.depth),
                after=Sentence("{left:.4g mm}", left=Mm(left)) if left > 0 else "nothing",
                loss=Mm(finish.sanding_loss),
                needed=Mm(finish.least_depth_left),
                least=Mm(least, bound="least"),
            ),
        )
    if cutter.depth > deepest + _EQUAL_MM:
        raise SettingError("cutter.depth", _too_deep(cutter.depth, deepest, thickness_mm))
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
        works: str | Sentence = _most_that_works(room)
        if room < LEAST_STEP_MM:
            works = "leave finish.deeper_from unset, or take a thicker board or a shallower cutter.depth"
        raise SettingError(
            "finish.deeper_by",
            Sentence(
                "{more:g mm} more than {depth:g mm} {left}; {works}",
                more=Mm(finish.deeper_by),
                depth=Mm(depth_mm),
                left=_what_is_left(deeper, thickness_mm),
                works=works,
            ),
        )
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
            Sentence(
                "{depth:g mm} leaves no line after {loss:g mm} of sanding; the least that works is {least:.6g mm}",
                depth=Mm(greatest),
                loss=Mm(finish.sanding_loss),
                least=Mm(needed, bound="least"),
            ),
        )
    deepest = thickness_mm - floor_mm(thickness_mm)
    if greatest > deepest + _EQUAL_MM:
        raise SettingError("v_tool.greatest_depth", _too_deep(greatest, deepest, thickness_mm))
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


def _too_deep(depth_mm: float, deepest_mm: float, thickness_mm: float) -> Sentence:
    left, works = _what_is_left(depth_mm, thickness_mm), _most_that_works(deepest_mm)
    return Sentence("{depth:g mm} {left}; {works}", depth=Mm(depth_mm), left=left, works=works)


def _what_is_left(depth_mm: float, thickness_mm: float) -> Sentence:
    """Return what a cut that is too deep does to the board, in words that follow the depth."""
    board, floor, left = Mm(thickness_mm), Mm(floor_mm(thickness_mm)), thickness_mm - depth_mm
    must = Sentence("the board of {board:g mm}, {floor:.4g mm} must be left under it", board=board, floor=floor)
    if left < _EQUAL_MM:
        return Sentence("goes through {must}", must=must)
    return Sentence("leaves {left:.4g mm} of {must}", left=Mm(left), must=must)


def _most_that_works(length_mm: float) -> Sentence:
    return Sentence("the most that works is {most:.6g mm}", most=Mm(rounded_down(length_mm, 3), bound="most"))


def _board_too_thin(least_mm: float, thickness_mm: float) -> Sentence:
    thickness_needed = max(least_mm + LEAST_FLOOR_MM, least_mm / (1 - FLOOR_SHARE))
    return Sentence(
        "no depth works on a board of {board:g mm}: {depth:.4g mm} are needed to outlast the sanding and "
        "{floor:.4g mm} must stay below; the thinnest board that works is {needed:.4g mm}",
        board=Mm(thickness_mm),
        depth=Mm(least_mm),
        floor=Mm(floor_mm(thickness_mm)),
        needed=Mm(thickness_needed, bound="least"),
    )
