"""Depths against the geometry of a V groove and against the bounds that a board sets."""

from __future__ import annotations

import numpy as np
import pytest

from shadowrout.carving.depths import deeper_depth_mm, floor_mm, passes, pocket_depth_mm, v_depth_mm, v_reach_mm
from shadowrout.errors import SettingError
from shadowrout.job.options import Cutter, Finish, VTool

FINISH = Finish(sanding_loss=0.5, least_depth_left=2.5)


@pytest.mark.parametrize(("angle", "depth"), [(30, 3.732051), (45, 2.414214), (60, 1.732051), (90, 1.0)])
def test_v_groove_2_mm_wide(angle: float, depth: float) -> None:
    # d = w / (2 tan(A/2)), plane trigonometry; values by hand to six places.
    assert v_depth_mm(np.array([1.0]), angle_deg=angle, sanding_loss_mm=0)[0] == pytest.approx(depth, abs=1e-6)


def test_sanding_loss_is_added_to_a_v_grooves_depth() -> None:
    deeper = v_depth_mm(np.array([0.0, 1.0]), angle_deg=60, sanding_loss_mm=0.3)
    assert deeper == pytest.approx([0.3, 1.732051 + 0.3], abs=1e-6)


def test_depth_left_open_is_the_least_that_outlasts_the_sanding() -> None:
    assert pocket_depth_mm(Cutter(), finish=FINISH, thickness_mm=18) == pytest.approx(3.0)


@pytest.mark.parametrize(("thickness", "floor"), [(6, 3), (9, 3), (18, 6), (30, 10)])
def test_floor_is_3_mm_or_a_third(thickness: float, floor: float) -> None:
    # Common practice, no source.
    assert floor_mm(thickness) == pytest.approx(floor)


@pytest.mark.parametrize("depth", [3.0, 7.5, 12.0])
def test_depths_within_bounds_are_taken_as_given(depth: float) -> None:
    assert pocket_depth_mm(Cutter(depth=depth), finish=FINISH, thickness_mm=18) == depth


@pytest.mark.parametrize(("depth", "thickness", "nearest"), [(2.9, 18, 3.0), (0.5, 18, 3.0), (12.1, 18, 12.0)])
def test_a_refused_depth_comes_with_the_nearest_that_works(depth: float, thickness: float, nearest: float) -> None:
    with pytest.raises(SettingError) as refused:
        pocket_depth_mm(Cutter(depth=depth), finish=FINISH, thickness_mm=thickness)
    assert refused.value.key == "cutter.depth"
    suggested = float(str(refused.value).split("works is ")[1].removesuffix(" mm"))
    assert suggested == pytest.approx(nearest)
    assert pocket_depth_mm(Cutter(depth=suggested), finish=FINISH, thickness_mm=thickness) == suggested


def test_a_board_too_thin_for_any_depth_is_refused_with_the_thinnest_that_works() -> None:
    with pytest.raises(SettingError, match="thinnest board that works is 6 mm") as refused:
        pocket_depth_mm(Cutter(), finish=FINISH, thickness_mm=5.9)
    assert refused.value.key == "cutter.depth"
    assert pocket_depth_mm(Cutter(), finish=FINISH, thickness_mm=6) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("depth", "thickness", "words"),
    [
        (30.0, 18, "goes through the board of 18 mm"),
        (18.0, 18, "goes through the board of 18 mm"),
        (13.0, 18, "leaves 5 mm of the board of 18 mm"),
        (0.3, 18, "leaves nothing after 0.5 mm of sanding"),
        (1.0, 18, "leaves 0.5 mm after 0.5 mm of sanding"),
    ],
)
def test_a_refusal_says_what_the_depth_would_leave(depth: float, thickness: float, words: str) -> None:
    with pytest.raises(SettingError, match=words) as refused:
        pocket_depth_mm(Cutter(depth=depth), finish=FINISH, thickness_mm=thickness)
    assert " -" not in str(refused.value)


def test_broad_pockets_are_no_deeper_unless_asked() -> None:
    assert deeper_depth_mm(3.0, finish=FINISH, thickness_mm=6) == 3.0


def test_a_deeper_level_keeps_the_floor() -> None:
    # A board of 18 mm keeps a third, 6 mm: 9 mm are left below a pocket of 3 mm.
    for by in (2.0, 9.0):
        assert deeper_depth_mm(3.0, finish=_deeper(by), thickness_mm=18) == pytest.approx(3.0 + by)
    with pytest.raises(SettingError, match="the most that works is 9 mm") as refused:
        deeper_depth_mm(3.0, finish=_deeper(9.1), thickness_mm=18)
    assert refused.value.key == "finish.deeper_by"
    with pytest.raises(SettingError, match=r"finish\.deeper_from unset"):
        deeper_depth_mm(3.0, finish=_deeper(2.0), thickness_mm=6)


def _deeper(by: float) -> Finish:
    return Finish(sanding_loss=0.5, least_depth_left=2.5, deeper_from=25.0, deeper_by=by)


@pytest.mark.parametrize(
    ("depth", "per_pass", "expected"), [(3, 1.5, 2), (3, 1, 3), (3.1, 1, 4), (0.9, 3, 1), (0.3, 0.1, 3), (3, 0.7, 5)]
)
def test_passes(depth: float, per_pass: float, expected: int) -> None:
    # The smallest whole n with n x depth per pass >= depth; 0.3 / 0.1 is a little more than 3 in binary.
    assert passes(depth, Cutter(depth_per_pass=per_pass)) == expected


def test_a_pass_is_half_the_diameter_unless_set() -> None:
    # Depth a pass of half to one cutter diameter: common practice, no source.
    assert passes(3.0, Cutter(diameter=6)) == 1
    assert passes(3.1, Cutter(diameter=6)) == 2


def test_reach_of_a_v_tool() -> None:
    # 2 mm are left of 2.5 mm; 60 degrees make them 2 x 2 tan(30 degrees) = 2.309401 mm wide.
    reach = v_reach_mm(VTool(angle=60, greatest_depth=2.5), finish=FINISH, thickness_mm=18)
    assert 2 * reach == pytest.approx(2.309401, abs=1e-6)


@pytest.mark.parametrize(
    ("greatest", "thickness", "nearest"), [(0.5, 18, 0.674), (0.67, 18, 0.674), (3.1, 6, 3.0), (13, 18, 12.0)]
)
def test_v_tool_depths_have_bounds_too(greatest: float, thickness: float, nearest: float) -> None:
    with pytest.raises(SettingError) as refused:
        v_reach_mm(VTool(greatest_depth=greatest), finish=FINISH, thickness_mm=thickness)
    assert refused.value.key == "v_tool.greatest_depth"
    assert float(str(refused.value).split("works is ")[1].removesuffix(" mm")) == pytest.approx(nearest)
    assert v_reach_mm(VTool(greatest_depth=nearest), finish=FINISH, thickness_mm=thickness) > 0
