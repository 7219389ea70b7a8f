"""Fragile light: ridges of known width, height and length between grooves, and the switched-off layer they are on."""

from __future__ import annotations

import io
import math
import re
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdfium2
import pytest
from sheet_figures import plaque

from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.check.dxf_reader import read_dxf
from shadowrout.check.svg_reader import read_svg
from shadowrout.drawing.paper.pages import Page, Window
from shadowrout.drawing.shapes import Drawing, Layer, Marks, Path, Role, Text
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.pdf import pdf_bytes
from shadowrout.files.svg import svg_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job.options import WOODS, Cutter, Finish, VTool
from shadowrout.report.figures.fragile_figures import FragileFigures, fragile_figures
from shadowrout.report.figures.woods import SIDE_HARDNESS_N
from shadowrout.report.jobsheet.fragile_section import fragile_section, told_of_fragile
from shadowrout.words.wording import Words

SANDING_MM = 0.5
LENGTH_MM, GROOVE_MM, GAP_MM = 40.0, 1.0, 0.8


def planned(shadow: Region, *cutters: Cutter, grain: str = "along-width", sanding_mm: float = SANDING_MM) -> Plan:
    return plan_carving(
        shadow,
        thickness_mm=18,
        finish=Finish(sanding_loss=sanding_mm),
        cutters=cutters,
        v_tool=VTool(angle=60),
        tolerance_mm=0.05,
        grain=grain,
    )


def two_bars(*, gap_mm: float = GAP_MM, bar_mm: float = GROOVE_MM, turned: bool = False) -> Region:
    """Return two bars, LENGTH_MM long, side by side along x or, turned, along y."""
    boxes = [(0, 0, LENGTH_MM, bar_mm), (0, bar_mm + gap_mm, LENGTH_MM, 2 * bar_mm + gap_mm)]
    if turned:
        boxes = [(y0, x0, y1, x1) for x0, y0, x1, y1 in boxes]
    return Region.box(boxes[0]).union(Region.box(boxes[1]))


def u_shape() -> Region:
    """Return the two bars joined on the left: the light between them ends there."""
    return two_bars().union(Region.box((-2, 0, 0, 2 * GROOVE_MM + GAP_MM)))


def by_hand(*, length_mm: float, across: float, sanding_mm: float = SANDING_MM) -> float:
    """Return the ranking's sum for the light between two straight V grooves of 60 degrees."""
    tan = math.tan(math.radians(30))
    depth = GROOVE_MM / 2 / tan + sanding_mm  # V-groove: d = w / (2 tan(A/2)), cut for the sanded face
    at_half_depth = depth / 2 * tan  # half the groove's width half-way down
    base = GAP_MM + GROOVE_MM - 2 * at_half_depth
    return length_mm * (depth / base) ** 2 * (0.15 + 0.85 * across)


@pytest.mark.parametrize("sanding_mm", [0.0, 0.5])
@pytest.mark.parametrize(("turned", "grain", "across"), [
    (False, "along-width", 0.0),
    (False, "along-height", 1.0),
    (True, "along-width", 1.0),
    (True, "along-height", 0.0),
])  # fmt: skip
def test_a_ridge_between_two_grooves(turned: bool, grain: str, across: float, sanding_mm: float) -> None:
    [ridge] = planned(two_bars(turned=turned), grain=grain, sanding_mm=sanding_mm).fragile_light
    assert ridge.length == pytest.approx(LENGTH_MM, abs=1.0)
    assert np.median(ridge.width_mm) == pytest.approx(GAP_MM, abs=0.01)
    assert ridge.across == pytest.approx(across, abs=0.01)
    assert not ridge.free_end
    wanted = by_hand(length_mm=LENGTH_MM, across=across, sanding_mm=sanding_mm)
    assert ridge.risk == pytest.approx(wanted, rel=0.07)  # towards the grooves' ends they are shallower
    x, y = reversed(ridge.middle) if turned else ridge.middle
    assert (x, y) == pytest.approx((LENGTH_MM / 2, GROOVE_MM + GAP_MM / 2), abs=0.3)


def test_a_slanting_ridge_lies_between_the_two() -> None:
    turn = math.radians(30)
    c, s = math.cos(turn), math.sin(turn)
    rings = [ring @ np.array([[c, s], [-s, c]]) for ring in two_bars().rings()]
    [ridge] = planned(Region.of_polygons([(ring, []) for ring in rings])).fragile_light
    assert ridge.across == pytest.approx(math.sin(turn) ** 2, abs=0.02)
    assert ridge.risk == pytest.approx(by_hand(length_mm=LENGTH_MM, across=0.25), rel=0.07)


def test_a_free_end_counts_twice() -> None:
    [held], [free] = planned(two_bars()).fragile_light, planned(u_shape()).fragile_light
    assert (held.free_end, free.free_end) == (False, True)
    assert free.risk / free.length == pytest.approx(2 * held.risk / held.length, rel=0.1)


def test_an_upright_wall_does_not_widen_the_base() -> None:
    cutter = Cutter(diameter=3, depth=3.5, finishing_allowance=0.2)
    [ridge] = planned(two_bars(bar_mm=8.0, gap_mm=1.2), cutter).fragile_light
    middle = slice(len(ridge.points) // 4, -len(ridge.points) // 4)
    assert ridge.base_mm[middle] == pytest.approx(1.2, abs=0.02)
    assert ridge.depth_mm[middle] == pytest.approx(3.5)


def test_the_shallower_recess_is_the_ridges_height() -> None:
    bars = Region.box((0, 0, LENGTH_MM, 8)).union(Region.box((0, 9, LENGTH_MM, 10)))
    [ridge] = planned(bars, Cutter(diameter=3, depth=3.5)).fragile_light
    groove = GROOVE_MM / 2 / math.tan(math.radians(30)) + SANDING_MM
    assert np.median(ridge.depth_mm) == pytest.approx(groove, abs=0.03)


@pytest.mark.parametrize("gap_mm", [1.6, 4.0])
def test_wide_light_is_not_fragile(gap_mm: float) -> None:
    assert planned(two_bars(gap_mm=gap_mm)).fragile_light == ()


def test_short_light_is_not_fragile() -> None:
    short = two_bars().intersection(Region.box((0, 0, 1.2, 10)))
    assert planned(short).fragile_light == ()


def test_a_ring_of_light_is_one_ridge_without_an_end() -> None:
    turn = 2 * math.pi * np.arange(360) / 360
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    shadow = Region.of_polygons([(6.8 * circle, [5.8 * circle]), (5.0 * circle, [4.0 * circle])])
    [ridge] = planned(shadow).fragile_light
    assert ridge.length == pytest.approx(2 * math.pi * 5.4, rel=0.01)
    assert not ridge.free_end
    assert ridge.across == pytest.approx(0.5, abs=0.02)  # the mean of sin^2 over a whole turn
    assert ridge.risk == pytest.approx(by_hand(length_mm=ridge.length, across=0.5), rel=0.05)


def test_the_riskiest_comes_first() -> None:
    apart = two_bars().mapped((1, 1), (0, 30))
    plan = planned(two_bars(gap_mm=0.5).union(apart))
    assert [round(float(np.median(ridge.width_mm)), 1) for ridge in plan.fragile_light] == [0.5, 0.8]


def test_an_empty_plan() -> None:
    plan = planned(Region.empty())
    assert plan.fragile_light == ()
    assert fragile_figures(plan) == FragileFigures("along-width", count=0, length_mm=0, worst=())
    assert list(fragile_section("basswood", fragile_figures(plan), Words("mm"), drawn=True)) == []
    assert told_of_fragile([plaque(fragile_light=fragile_figures(plan))], Words("mm")) == []


def test_what_is_told() -> None:
    figures = fragile_figures(planned(u_shape(), grain="along-height"))
    [worst] = figures.worst
    assert worst.free_end is True
    [section] = fragile_section("white oak", figures, Words("mm"), drawn=True)
    [row] = section.tables[0].rows
    assert row[0] == "1"
    assert row[4:] == ("across, end free",)
    assert "ranking, not a strength" in section.remark
    assert "6000 N" in dict(section.facts)["Wood"]
    told = [plaque(fragile_light=figures, files=(name,)) for name in ("carve.svg", "pattern.pdf")]
    drawn, undrawn = told_of_fragile(told, Words("in"))
    assert re.search(r"1 ridge .* at \d\.\d{3} in / \d\.\d{3} in \(layer fragile-light, off\)$", drawn)
    assert "layer" not in undrawn


def test_side_hardness_in_newtons_is_that_in_pounds() -> None:
    """Table 5-3b of the Wood Handbook (FPL-GTR-190) has the same species in pounds-force; these from memory.

    The metric table rounds to 100 N.
    """
    pounds = {"basswood": 410, "black cherry": 950, "black walnut": 1010, "eastern white pine": 380}
    pounds |= {"northern red oak": 1290, "red maple": 950, "sugar maple": 1450, "white oak": 1360, "yellow-poplar": 540}
    assert set(SIDE_HARDNESS_N) == set(WOODS) == set(pounds)
    for wood, newtons in SIDE_HARDNESS_N.items():
        assert newtons == pytest.approx(pounds[wood] * 4.4482216, abs=60)


def drawing() -> Drawing:
    line = ArcPath(np.array([(10.0, 10.0), (30.0, 10.0)]), np.zeros(1), closed=False)
    edge = ArcPath.polygon(np.array([(0, 0), (40, 0), (40, 40), (0, 40)]))
    marks = Marks(width_mm=0.8)
    hidden = Layer(Role.FRAGILE_LIGHT, (Path(line, marks), Text((20.0, 20.0), "1", 2.5, marks=marks)), hidden=True)
    return Drawing("a", "b", (0.0, 0.0, 40.0, 40.0), (Layer(Role.PLAQUE_EDGE, (Path(edge),)), hidden))


@pytest.mark.parametrize("version", ["R2010", "R2000", "R12"])
def test_the_layer_is_off_in_dxf(version, tmp_path) -> None:
    content = dxf_bytes(drawing(), version=version)
    layers = {x.dxf.name.lower(): x for x in ezdxf.read(io.StringIO(content.decode("cp1252"))).layers}
    assert layers["fragile-light"].is_off()
    assert not layers["plaque-edge"].is_off()
    (tmp_path / "carve.dxf").write_bytes(content)
    file = read_dxf(tmp_path / "carve.dxf")
    assert {name.lower() for name in file.hidden} == {"fragile-light"}
    assert [curve.length_mm for curve in file.curves("fragile-light")] == pytest.approx([20])


def test_the_layer_is_not_drawn_from_svg(tmp_path) -> None:
    content = svg_bytes(drawing())
    groups = {g.get("id"): g for g in ElementTree.fromstring(content) if g.tag.endswith("}g")}
    assert groups["fragile-light"].get("display") == "none"
    assert groups["plaque-edge"].get("display") is None
    (tmp_path / "carve.svg").write_bytes(content)
    file = read_svg(tmp_path / "carve.svg")
    assert file.hidden == {"fragile-light"}
    assert [curve.length_mm for curve in file.curves("fragile-light")] == pytest.approx([20])
    assert not file.faults


def test_a_hidden_layer_is_not_printed() -> None:
    shown = drawing()
    pages = [Page(shown, (Window((0.0, 0.0, 40.0, 40.0), (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)),))]
    picture = pypdfium2.PdfDocument(pdf_bytes(shown, pages))[0].render(scale=4).to_numpy()
    inner = picture[20:-20, 20:-20]
    assert (inner == 255).all()
    assert (picture < 200).any()
