"""What sanding leaves, against the geometry of a V groove and against lines counted piece by piece."""

from __future__ import annotations

import json
import math
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image, ImageDraw
from plan_designs import random_shadow

from shadowrout.carving.plan import plan_carving
from shadowrout.carving.sanding import forecast, loss_that_takes
from shadowrout.carving.v_lines import VLine
from shadowrout.cli import main
from shadowrout.job.options import Finish, VTool


def line(length_mm: float, depths_mm: list[float], *, angle_deg: float = 60, planned_mm: float = 0.0) -> VLine:
    depth = np.array(depths_mm)
    points = np.column_stack([np.linspace(0, length_mm, len(depth)), np.zeros(len(depth))])
    return VLine(points, 2 * (depth - planned_mm) * math.tan(math.radians(angle_deg) / 2), depth, closed=False)


@pytest.mark.parametrize(
    ("angle", "depth", "left"),
    [(30, 3.732051, 1.839230), (45, 2.414214, 1.751472), (60, 1.732051, 1.653590), (90, 1, 1.4)],
)
def test_width_after_0_3_mm_of_a_groove_2_mm_wide(angle: float, depth: float, left: float) -> None:
    # w' = w - 2 s tan(A/2), plane trigonometry; values by hand to six places.
    result = forecast([line(10, [depth, depth], angle_deg=angle)], planned_mm=0.3, angle_deg=angle)
    assert result.losses_mm[0] == 0.3
    assert result.width_left_mm[0, 0] == pytest.approx(left, abs=1e-5)
    assert result.length_left_mm[0, 0] == pytest.approx(10)


def test_a_groove_is_gone_when_sanded_to_its_depth() -> None:
    result = forecast([line(10, [1.0, 1.0])], planned_mm=0.5, angle_deg=60)
    assert result.losses_mm == pytest.approx([0.5, 0.625, 0.75, 1.0, 1.5])
    assert result.gone_at_mm == pytest.approx([1.0])
    assert result.length_left_mm[0] == pytest.approx([10, 10, 10, 0, 0])
    assert result.width_left_mm[0, 3:] == pytest.approx([0, 0])
    assert result.share_left == pytest.approx([1, 1, 1, 0, 0])


def test_a_tapered_line_is_lost_from_its_thin_end() -> None:
    # Depth rises evenly from 0.5 to 2.5 over 20 mm: at a loss of 1 mm a quarter is gone, the rest is on average
    # (0 + 1.5) / 2 deep.
    tapered = line(20, [0.5, 2.5])
    result = forecast([tapered], planned_mm=1.0, angle_deg=90)
    assert result.length_left_mm[0, 0] == pytest.approx(15)
    assert result.width_left_mm[0, 0] == pytest.approx(2 * 0.75 * math.tan(math.pi / 4))
    # 5 % of 20 mm is 1 mm, whose deep end is 0.6 mm deep.
    assert result.too_much_mm == pytest.approx(0.6)
    assert loss_that_takes(0.5, [tapered]) == pytest.approx(1.5)
    assert loss_that_takes(1.0, [tapered]) == pytest.approx(2.5)


def test_the_shallowest_lines_go_first() -> None:
    lines = [line(10, [2.0, 2.0]), line(10, [0.7, 0.9]), line(10, [1.5, 0.5])]
    result = forecast(lines, planned_mm=0.5, angle_deg=60)
    assert result.first_to_go.tolist() == [1, 2, 0]


def test_even_lines_go_all_at_once() -> None:
    # 1 mm of 100 is shallow, less than 5 %; the next to go are as deep as 1.2 mm.
    lines = [line(1, [0.8, 0.8]), line(99, [1.2, 1.2])]
    assert loss_that_takes(0.05, lines) == pytest.approx(1.2)
    assert loss_that_takes(0.01, lines) == pytest.approx(0.8)


def test_a_closed_line_counts_its_last_piece() -> None:
    square = VLine(np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float), np.ones(4), np.ones(4), closed=True)
    assert forecast([square], planned_mm=0.5, angle_deg=60).length_left_mm[0, 0] == pytest.approx(4)


def test_no_lines_and_no_sanding() -> None:
    nothing = forecast([], planned_mm=0.5, angle_deg=60)
    assert nothing.too_much_mm is None
    assert nothing.length_left_mm.shape == (0, 5)
    assert nothing.share_left == pytest.approx(np.ones(5))
    unsanded = forecast([line(5, [1, 1])], planned_mm=0.0, angle_deg=60)
    assert unsanded.losses_mm == pytest.approx([0, 0.1, 0.2, 0.3, 0.4])
    assert unsanded.width_left_mm[0, 0] == pytest.approx(2 * math.tan(math.pi / 6))


@pytest.mark.parametrize("seed", range(3))
def test_plans_survive_the_planned_loss_and_agree_with_a_count(seed: int) -> None:
    plan = plan_carving(
        random_shadow(seed),
        thickness_mm=18,
        finish=Finish(sanding_loss=0.4),
        cutters=(),
        v_tool=VTool(),
        tolerance_mm=0.1,
    )
    result = plan.sanding
    assert result.share_left[0] == pytest.approx(1, abs=0.005)
    assert (np.diff(result.length_left_mm, axis=1) <= 1e-9).all()
    assert result.width_left_mm[:, 0].max() <= max(v.width_mm.max() for v in plan.v_lines) + 1e-9
    # Cut every piece into 1000 bits and count those deeper than the loss.
    kept = whole = 0.0
    for v_line in plan.v_lines:
        sizes = v_line.segments_mm
        share = (np.arange(1000) + 0.5) / 1000
        start, end = v_line.depth_mm[: len(sizes)], np.roll(v_line.depth_mm, -1)[: len(sizes)]
        depths = start[:, None] + share * (end - start)[:, None]
        kept += float((sizes * (depths > result.too_much_mm).mean(axis=1)).sum())
        whole += float(sizes.sum())
    assert kept / whole == pytest.approx(0.95, abs=0.002)


def test_the_figures_tell_what_is_left_of_each_line_in_the_order_of_the_drawing(tmp_path) -> None:
    strokes = Image.new("L", (300, 300), 255)
    for x, width in ((60, 12), (150, 24), (240, 18)):
        ImageDraw.Draw(strokes).line((x, 40, x, 260), fill=0, width=width)
    strokes.save(tmp_path / "strokes.png")
    out = tmp_path / "out"
    assert main(["make", str(tmp_path / "strokes.png"), "--size", "40x40mm", "--only", "carve", "--out", str(out)]) == 0
    (plaque,) = json.loads((out / "numbers.json").read_text())["plaques"]
    told = plaque["v_lines"]["sanding"]
    drawn = [
        np.array(path.get("data-width-mm").split(), float)
        for group in ElementTree.parse(out / "40x40mm" / "carve.svg").iter()
        if (group.get("id") or "").startswith("v-line")
        for path in group.iter("{http://www.w3.org/2000/svg}path")
    ]
    widths, lengths = np.array(told["widths_left_mm"]), np.array(told["lengths_left_mm"])
    assert len(drawn) == len(widths) == plaque["v_lines"]["count"] > 2
    long = np.flatnonzero(lengths[:, 0] > 10)
    assert len(long) == 3
    assert widths[long, 0] == pytest.approx([drawn[n].max() for n in long], abs=0.2)
    assert np.ptp(widths[long, 0]) > 0.5
    # A 60 degree groove loses 2 tan(30 degrees) = 1.1547 mm of width for each mm sanded (plane trigonometry).
    sanded = told["loss_mm"][1] - told["loss_mm"][0]
    assert widths[long, 0] - widths[long, 1] == pytest.approx([1.1547 * sanded] * 3, abs=0.02)
