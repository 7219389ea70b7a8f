"""Amounts and times against formulas of plane and solid geometry, and against the Wood Handbook's table."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.sanding import forecast
from shadowrout.carving.v_lines import VLine
from shadowrout.design.board import lay_out
from shadowrout.geometry.region import Region
from shadowrout.job.options import WOODS, Cutter, Finish, Job, Output, Picture, Plaque
from shadowrout.job.sheet_options import TemplateOptions
from shadowrout.job.shop import Shop
from shadowrout.report.figures.amounts import Surface, amounts_of, surface_of
from shadowrout.report.figures.boards import Blank, by_wood, materials
from shadowrout.report.figures.stroke_figures import first_to_go, width_classes
from shadowrout.report.figures.times import clearing_mm, roughing_minutes, routing_mm, strokes_for, tasks_of
from shadowrout.report.figures.woods import SPECIFIC_GRAVITY, density_kg_per_m3
from shadowrout.report.look.height_field import carved
from shadowrout.sheets.router.router_template import make_router_template
from shadowrout.sheets.stencil.cut_stencil import CutStencil

BOARD = Plaque("test", (100.0, 80.0), margin=5.0)
TOLD_KG = 5e-5
"""Weights are told to 0.1 g."""
PLAIN = Surface(face_mm2=8000.0, flat_mm2=8000.0, groove_walls_mm2=0.0, pocket_walls_mm2=0.0, removed_mm3=0.0)


def plan_of(pockets=(), v_lines=(), *, angle_deg=60.0):
    lines = tuple(v_lines)
    sanding = forecast(lines, planned_mm=0.5, angle_deg=angle_deg)
    return Plan(tuple(pockets), Region.empty(), lines, sanding)


def pocket(wall, *, depth=3.0, cutter=3.0, passes=2, allowance=0.0):
    path = wall.offset(-cutter / 2, error=0.001)
    return Pocket(1, wall, path, depth, cutter, allowance, passes)


def line(*points, depth=2.0, width=1.0):
    n = len(points)
    return VLine(np.array(points, dtype=float), np.full(n, float(width)), np.full(n, float(depth)), closed=False)


def surface(plan, *, angle_deg=60.0, plaque=BOARD, pixel_mm=0.1):
    layout = lay_out(plaque, aspect=1.25, origin="corner")
    return surface_of(
        carved(plan, Region.empty(), layout, holes=Region.empty(), v_angle_deg=angle_deg, pixel_mm=pixel_mm)
    )


def turned_box(width, height, degrees):
    turn = np.radians(degrees)
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * [width / 2, height / 2]
    ring = corners @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]) + [50, 40]
    return Region.of_polygons([(ring, [])])


def disc(radius):
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    return Region.of_polygons([(np.column_stack([50 + radius * np.cos(angle), 40 + radius * np.sin(angle)]), [])])


@pytest.mark.parametrize("degrees", [0, 20, 45])
def test_a_box_pocket_adds_its_four_walls(degrees):
    """Walls: perimeter times depth; volume: floor times depth (solid geometry)."""
    found = surface(plan_of([pocket(turned_box(40, 25, degrees))]))
    assert found.pocket_walls_mm2 == pytest.approx(130 * 3, rel=0.005)
    assert found.flat_mm2 == pytest.approx(8000, rel=1e-3)
    assert found.removed_mm3 == pytest.approx(40 * 25 * 3, rel=0.01)


def test_a_round_pocket_adds_the_side_of_a_cylinder():
    """Side 2 pi r h, volume pi r^2 h (solid geometry)."""
    found = surface(plan_of([pocket(disc(15))]))
    assert found.pocket_walls_mm2 == pytest.approx(2 * math.pi * 15 * 3, rel=0.005)
    assert found.removed_mm3 == pytest.approx(math.pi * 15**2 * 3, rel=0.01)


@pytest.mark.parametrize("angle_deg", [45, 60, 90])
def test_a_groove_adds_two_slopes_and_a_cone(angle_deg):
    """Two slopes of depth / cos(A/2) along the line; its two round ends are a cone's side, pi r s (solid geometry)."""
    depth, length = 2.0, 60.0
    radius, slope = depth * math.tan(math.radians(angle_deg) / 2), depth / math.cos(math.radians(angle_deg) / 2)
    plan = plan_of(v_lines=[line((20, 15), (20 + length, 15), depth=depth)], angle_deg=angle_deg)
    found = surface(plan, angle_deg=angle_deg)
    assert found.groove_walls_mm2 == pytest.approx(2 * slope * length + math.pi * radius * slope, rel=0.01)
    assert found.flat_mm2 == pytest.approx(8000 - 2 * radius * length - math.pi * radius**2, rel=1e-3)
    assert found.removed_mm3 == pytest.approx(radius * depth * length + math.pi * radius**2 * depth / 3, rel=0.01)


def test_an_uncut_round_board_is_painted_once_over():
    found = surface(plan_of(), plaque=Plaque("round", (80.0, 80.0), shape="round", margin=5.0))
    assert found.painted_mm2 == pytest.approx(math.pi * 40**2, rel=1e-3)
    assert found.removed_mm3 == 0


def test_bands_of_rows_join_without_a_seam():
    """A pocket across the seam between bands has the walls of one that lies within a band."""
    plaque = Plaque("tall", (100.0, 125.0), margin=5.0)  # at 0.1 mm: 1250 rows
    boxes = [Region.box((30, y, 70, y + 20)) for y in (60, 64, 85)]
    walls = [surface(plan_of([pocket(box)]), plaque=plaque).pocket_walls_mm2 for box in boxes]
    assert walls == pytest.approx([120 * 3] * 3, rel=0.005)


# USDA Wood Handbook (FPL-GTR-190), table 5-3a, specific gravity at 12 % moisture content.
HANDBOOK = {
    "basswood": 0.37,
    "black cherry": 0.50,
    "black walnut": 0.55,
    "eastern white pine": 0.35,
    "northern red oak": 0.63,
    "red maple": 0.54,
    "sugar maple": 0.63,
    "white oak": 0.68,
    "yellow-poplar": 0.42,
}


def test_woods_are_those_of_the_options_and_of_the_handbook():
    assert tuple(SPECIFIC_GRAVITY) == WOODS
    assert SPECIFIC_GRAVITY == HANDBOOK


@pytest.mark.parametrize("wood", WOODS)
def test_density_at_12_percent_moisture(wood):
    """Density = 1000 G (1 + M/100) kg/m3 (Wood Handbook, chapter 4)."""
    assert density_kg_per_m3(wood) == pytest.approx(HANDBOOK[wood] * 1120)


def test_a_board_weighs_its_volume_by_its_density():
    amounts = amounts_of(
        Plaque("x", (254.0, 203.2), thickness=19.05), PLAIN, finish=Finish(wood="sugar maple"), shop=Shop()
    )
    assert amounts.blank_mm3 == pytest.approx(10 * 8 * 0.75 * 25.4**3)  # inch = 25.4 mm exactly (NIST SP 811)
    assert amounts.blank_kg == pytest.approx(10 * 8 * 0.75 * 25.4**3 * 1e-9 * 705.6, abs=TOLD_KG)


def test_a_carved_plaque_weighs_less_by_what_was_taken():
    cut = Surface(
        face_mm2=8000.0, flat_mm2=7000.0, groove_walls_mm2=500.0, pocket_walls_mm2=500.0, removed_mm3=24_000.0
    )
    amounts = amounts_of(BOARD, cut, finish=Finish(wood="white oak"), shop=Shop())
    assert amounts.plaque_kg == pytest.approx((8000 * 18 - 24_000) * 1e-9 * 0.68 * 1120, abs=TOLD_KG)


def test_a_plaque_has_a_wood_and_coats_of_its_own():
    """10 x 8 x 1.8 cm of white oak at 0.68 x 1120 kg/m3 (Wood Handbook, table 5-3a); three coats of 8000 mm2."""
    own = dataclasses.replace(BOARD, wood="white oak", coats=3.0)
    amounts = amounts_of(own, PLAIN, finish=Finish(wood="basswood", coats=2), shop=Shop(paint_coverage=10.0))
    assert (amounts.wood, amounts.coats) == ("white oak", 3)
    assert amounts.blank_kg == pytest.approx(144e-6 * 0.68 * 1120, abs=TOLD_KG)
    assert amounts.paint_litres == pytest.approx(8000e-6 * 3 / 10)
    others = amounts_of(BOARD, PLAIN, finish=Finish(wood="basswood", coats=2), shop=Shop())
    assert (others.wood, others.coats) == ("basswood", 2)


def test_paint_follows_from_surface_coats_and_coverage():
    wide = Surface(1e6, 1e6, 0.0, 0.0, 0.0)
    amounts = amounts_of(BOARD, wide, finish=Finish(coats=3), shop=Shop(paint_coverage=12.0))
    assert amounts.paint_litres == pytest.approx(3 / 12)


def test_boards_of_one_kind_are_counted_together_whichever_way_they_lie():
    def blank(size, kg):
        return Blank("basswood", size, 18.0, math.prod(size) * 18.0, kg)

    boards = materials([blank((100.0, 80.0), 0.1), blank((300.0, 200.0), 0.5), blank((80.0, 100.0), 0.1)])
    assert [(b.count, b.size_mm) for b in boards] == [(1, (300.0, 200.0)), (2, (100.0, 80.0))]
    assert boards[1].volume_mm3 == pytest.approx(2 * 100 * 80 * 18)
    assert boards[1].weight_kg == pytest.approx(0.2)
    assert materials([]) == ()


def test_boards_add_up_by_wood():
    """Three of basswood and two of white oak, of 0.37 and 0.68 x 1120 kg/m3 (Wood Handbook, table 5-3a)."""

    def blank(wood, size, gravity):
        volume = math.prod(size) * 18.0
        return Blank(wood, size, 18.0, volume, volume * 1e-9 * gravity * 1120)

    oak, bass = ("white oak", (100.0, 80.0), 0.68), ("basswood", (100.0, 80.0), 0.37)
    batch = [blank(*some) for some in (oak, bass, oak, bass, ("basswood", (300.0, 200.0), 0.37))]
    found = by_wood(materials(batch))
    assert [(wood.wood, wood.count) for wood in found] == [("basswood", 3), ("white oak", 2)]
    assert found[0].volume_mm3 == pytest.approx((2 * 8000 + 60_000) * 18)
    assert found[0].weight_kg == pytest.approx((2 * 8000 + 60_000) * 18e-9 * 0.37 * 1120)
    assert found[1].weight_kg == pytest.approx(2 * 8000 * 18e-9 * 0.68 * 1120)
    assert by_wood([]) == ()


def test_the_way_over_a_floor_covers_it():
    """Rows of width s over an area of w x h are w h / s long together (plane geometry)."""
    rough = pocket(Region.box((10, 10, 40, 30)))
    assert clearing_mm(rough, stepover=0.5) == pytest.approx(2 * (27 + 17) + 27 * 17 / 1.5)
    assert clearing_mm(rough, stepover=0.25) > clearing_mm(rough, stepover=0.5)


def test_roughing_counts_every_pass_and_every_plunge():
    rough = pocket(Region.box((10, 10, 40, 30)), passes=3)
    minutes = roughing_minutes(rough, Shop(feed=394.0, stepover=0.5, plunge=20.0))
    assert minutes == pytest.approx(3 * (394 / 394 + 20 / 60))


@pytest.mark.parametrize(("length", "depth", "strokes"), [(1, 0.5, 0.2), (25, 1.0, 1), (26, 1.0, 1.04), (60, 2.4, 7.2)])
def test_strokes_of_a_line(length, depth, strokes):
    """Layers times length over a stroke's length, and a nick a fifth of a stroke."""
    assert strokes_for(line((0, 0), (length, 0), depth=depth), Shop()) == pytest.approx(strokes)


def test_a_line_counts_where_it_is_deep_alone():
    """50 mm sloping evenly from the face to 2 mm: the first layer is 50 mm long, the second 25 mm."""
    sloping = dataclasses.replace(line((0, 0), (50, 0), depth=1.0), depth_mm=np.array([0.0, 2.0]))
    assert strokes_for(sloping, Shop()) == pytest.approx(2 + 1)
    assert strokes_for(sloping, Shop(stroke_depth=0.5)) == pytest.approx(2 + 1.5 + 1 + 0.5)


def tasks(plan, *files, shop=None, unit="mm"):
    output = Output(files=files or ("carve",), unit=unit)
    job = Job(Picture(Path("x.png")), cutters=(Cutter(8.0, depth_per_pass=2.0),), shop=shop or Shop(), output=output)
    stencil = SHEET if "stencil" in files else None
    template = ROUTED if "template" in files else None
    return tasks_of(job, plan, PLAIN, coats=2.0, stencil=stencil, template=template)


BOX = Region.box((10, 10, 40, 30))
SHEET = CutStencil(BOX, BOX, (0.0, 0.0, 100.0, 80.0), 3.0, 0.0, (), 0.0, 0.0, (), 0, np.empty((0, 2)), 0, ())
ROUTED = make_router_template(
    [Region.box((20, 20, 70, 60))],
    depth_mm=3.0,
    plaque=(0.0, 0.0, 100.0, 80.0),
    options=TemplateOptions(bush=16.0, bit=8.0, thickness=6.0),
    tolerance_mm=0.1,
    may_cut=Region.box((20, 20, 70, 60)).offset(0.1, error=0.004),
)

LEFT = ["glue the pattern", "clear what the bit leaves", "cut the V lines", "paint", "sand"]
HAND = ["glue the pattern", "cut the V lines", "paint", "sand"]
BY_HAND = ["glue the pattern", "rough the pockets by hand", "cut the V lines", "paint", "sand"]
MACHINE = ["set up the machine", "rough the pockets"]
ROUTER = ["fix the template", "rout the pockets"]
STENCIL = ["cut the stencil", "mark by the stencil"]


@pytest.mark.parametrize(
    ("files", "wanted"),
    [
        ("carve", MACHINE + HAND),
        ("preview", MACHINE + HAND),
        ("pattern", BY_HAND),
        ("pattern preview", BY_HAND),
        ("carve pattern", MACHINE + HAND),
        ("template", ["cut the template", *ROUTER, *LEFT]),
        ("template pattern", ["cut the template", *ROUTER, *LEFT]),
        ("carve template", ["cut the template", *MACHINE, *HAND]),
        ("stencil", STENCIL),
        ("stencil preview", STENCIL + MACHINE + HAND),
        ("stencil pattern", STENCIL + BY_HAND),
        ("stencil template", [*STENCIL, "cut the template", *ROUTER, *LEFT]),
    ],
)
def test_tasks_are_those_the_files_are_for(files, wanted):
    """Pockets are roughed once: by machine, else by router, else by hand; a stencil alone has no plaque to carve."""
    plan = plan_of([pocket(BOX)], [line((0, 0), (9, 0))])
    assert [t.name for t in tasks(plan, *files.split())] == wanted


def test_sheets_take_the_time_of_their_cuts():
    """Opening 2 (30 + 20) mm and edge 2 (100 + 80) mm at 100 mm a minute (plane geometry)."""
    found = {t.name: t.minutes for t in tasks(plan_of(), "stencil", shop=Shop(sheet_feed=100.0, placing=7.0))}
    assert found["cut the stencil"] == pytest.approx((100 + 360) / 100)
    assert found["mark by the stencil"] == 7


def test_routing_goes_round_and_over_what_the_bit_clears():
    """A bit of 8 mm in a pocket of 50 x 40 mm: its middle goes over 42 x 32 mm, and clears all but the corners.

    Those leave 4 r^2 (1 - pi/4) with r = 4 mm (plane geometry). 3 mm deep at 2 mm a pass are two passes.
    """
    way = routing_mm(ROUTED, stepover=0.5)
    assert way == pytest.approx(2 * (42 + 32) + (50 * 40 - 64 * (1 - math.pi / 4)) / 4, rel=1e-3)
    shop = Shop(router_feed=way, stepover=0.5, placing=6.0, sheet_feed=100.0)
    found = {t.name: t.minutes for t in tasks(plan_of(), "template", shop=shop)}
    assert found["rout the pockets"] == pytest.approx(2)
    assert found["fix the template"] == 6
    opening = 2 * (42 + 32) + 2 * math.pi * 8  # the bit's middle, grown by half the bush
    x0, y0, x1, y1 = ROUTED.sheet
    assert found["cut the template"] == pytest.approx((opening + 2 * (x1 - x0 + y1 - y0)) / 100, rel=1e-3)


def test_what_the_bit_leaves_is_cleared_by_hand():
    """A bit of 8 mm leaves 4 r^2 (1 - pi/4), r = 4 mm, in a box's corners (plane geometry), here 3 mm deep."""
    found = {t.name: t.minutes for t in tasks(plan_of([pocket(BOX)]), "template", shop=Shop(clearing=0.02))}
    assert found["clear what the bit leaves"] == pytest.approx(64 * (1 - math.pi / 4) * 3 / 20, rel=0.02)
    assert "clear what the bit leaves" not in [t.name for t in tasks(plan_of([pocket(BOX)]), "carve", "template")]


def test_roughing_by_hand_goes_by_the_wood_taken_out():
    """30 x 20 x 3 mm are 1.8 cm3 (solid geometry)."""
    found = {t.name: t for t in tasks(plan_of([pocket(BOX)]), "pattern", shop=Shop(clearing=0.5))}
    assert found["rough the pockets by hand"].minutes == pytest.approx(1.8 / 0.5)
    assert found["rough the pockets by hand"].by == "0.5 cm³ a minute"


def test_rates_are_told_in_inches_too():
    """1000 mm a minute are 39.37 in (25.4 mm an inch: NIST SP 811)."""
    plan = plan_of([pocket(Region.box((10, 10, 40, 30)))], [line((0, 0), (9, 0))])
    rates = {task.name: task.by for task in tasks(plan, "carve", unit="in")}
    assert rates["rough the pockets"].startswith("feed 1000 mm/min (39.4 in/min)")
    assert "strokes of 25 mm (63/64 in), 1 mm (0.039 in) deep" in rates["cut the V lines"]


def test_tasks_are_those_the_plan_needs():
    def names(plan):
        return [task.name for task in tasks(plan)]

    box = Region.box((10, 10, 40, 30))
    assert names(plan_of()) == ["glue the pattern", "paint", "sand"]
    assert "pare the pocket walls" not in names(plan_of([pocket(box)]))
    assert names(plan_of([pocket(box, allowance=0.2)], [line((0, 0), (9, 0))])) == [
        "set up the machine",
        "rough the pockets",
        "glue the pattern",
        "pare the pocket walls",
        "cut the V lines",
        "paint",
        "sand",
    ]


def test_flow_lines_are_cut_too():
    flow = FlowLine(np.array([[0.0, 0.0], [30.0, 40.0]]), floor_mm=3.0, below_floor_mm=0.5, width_mm=0.6)
    plan = dataclasses.replace(plan_of([pocket(Region.box((0, 0, 60, 60)))]), flow_lines=(flow,))
    found = {t.name: t.minutes for t in tasks(plan, shop=Shop(strokes_per_minute=8.0))}
    assert found["cut the flow lines"] == pytest.approx(2 / 8)


def test_paring_follows_the_walls():
    plan = plan_of([pocket(Region.box((10, 10, 40, 30)), allowance=0.2)])
    found = {t.name: t.minutes for t in tasks(plan, shop=Shop(paring=50.0))}
    assert found["pare the pocket walls"] == pytest.approx(100 / 50)


def test_every_line_is_in_one_class():
    widths = [0.3, 0.6, 0.61, 1.4, 1.5, 2.0, 2.01, 5.0]
    classes = width_classes([line((0, i), (10, i), width=w) for i, w in enumerate(widths)])
    assert [(c.from_mm, c.to_mm, c.count) for c in classes] == [
        (0.0, 0.6, 2), (0.6, 0.8, 1), (1.0, 1.5, 2), (1.5, 2.0, 1), (2.0, None, 2)
    ]  # fmt: skip
    assert sum(c.length_mm for c in classes) == pytest.approx(80)
    assert width_classes([]) == ()


def test_the_shallowest_strokes_go_first():
    plan = plan_of(v_lines=[line((0, 0), (10, 0), depth=d) for d in (2.0, 0.7, 1.2)])
    assert [stroke.gone_at_mm for stroke in first_to_go(plan)] == [0.7, 1.2, 2.0]
    assert first_to_go(plan)[0].place_mm == (5.0, 0.0)
    assert first_to_go(plan_of()) == ()


def test_dots_are_not_listed():
    dot = line((0, 0), (0.2, 0), depth=0.6)
    assert [s.gone_at_mm for s in first_to_go(plan_of(v_lines=[dot, line((0, 0), (9, 0), depth=1.5)]))] == [1.5]
