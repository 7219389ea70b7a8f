"""The simulated piece against plane geometry: grooves, gratings, cones and pockets of known size."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.sanding import forecast
from shadowrout.carving.v_lines import VLine
from shadowrout.design.board import lay_out
from shadowrout.design.widths.stretch import Stretch, WidthReport
from shadowrout.geometry.region import Region
from shadowrout.job.options import WOODS, Plaque
from shadowrout.report.look.finished_look import finished, what_sanding_takes
from shadowrout.report.look.height_field import HeightField, carved, pixel_mm_for
from shadowrout.report.look.stroke_picture import stroke_picture
from shadowrout.report.look.wood_colours import WOOD_COLOURS

SHADOW = Region.box((0, 0, 100, 80))
BOARD = Plaque("test", (100.0, 80.0), margin=5.0)


def plan_of(pockets=(), v_lines=(), *, angle_deg=60.0) -> Plan:
    return Plan(
        pockets=tuple(pockets),
        rest=Region.empty(),
        v_lines=tuple(v_lines),
        sanding=forecast(tuple(v_lines), planned_mm=0.5, angle_deg=angle_deg),
    )


def groove(x0, y0, x1, y1, *, depth, angle_deg=60.0) -> VLine:
    points = np.array([[x0, y0], [x1, y1]], dtype=float)
    width = 2 * depth * math.tan(math.radians(angle_deg) / 2)
    return VLine(points=points, width_mm=np.full(2, width), depth_mm=np.full(2, float(depth)), closed=False)


def field_of(plan: Plan, *, angle_deg=60.0, pixel_mm=0.1, plaque=BOARD) -> HeightField:
    layout = lay_out(plaque, aspect=1.25, origin="corner")
    return carved(plan, SHADOW, layout, holes=Region.empty(), v_angle_deg=angle_deg, pixel_mm=pixel_mm)


def area(cover, field: HeightField) -> float:
    return float(cover.sum(dtype=np.float64)) * field.pixel_mm**2


def pocket(box, depth) -> Pocket:
    wall = Region.box(box)
    return Pocket(
        number=1,
        wall=wall,
        cutter_path=wall.offset(-1.5, error=0.01),
        depth_mm=depth,
        cutter_mm=3.0,
        allowance_mm=0.0,
        passes=1,
    )


# V groove of included angle A: d = w / (2 tan(A/2)), and w' = w - 2 s tan(A/2) after sanding by s (plane geometry).
@pytest.mark.parametrize(
    ("angle_deg", "depth", "sanding", "width_left"),
    [(60, 1.732051, 0.3, 1.653590), (90, 1.0, 0.3, 1.4), (45, 2.414214, 0.3, 1.751472), (30, 3.732051, 0.3, 1.839230)],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_grating_of_v_grooves_keeps_its_share_of_dark(angle_deg, depth, sanding, width_left, turned):
    """Ten grooves 60 mm long; their round ends add a disc of the groove's width each."""
    ends = [(20.0 + 5 * i, 10.0, 20.0 + 5 * i + (3.3 if turned else 0.0), 70.0) for i in range(10)]
    lines = [groove(*end, depth=depth, angle_deg=angle_deg) for end in ends]
    field = field_of(plan_of(v_lines=lines, angle_deg=angle_deg), angle_deg=angle_deg)
    length = math.dist(ends[0][:2], ends[0][2:])
    expected = 10 * (length * width_left + math.pi * width_left**2 / 4)
    assert area(field.dark_cover(sanding), field) == pytest.approx(expected, rel=0.005)


def test_a_grating_of_square_grooves_loses_nothing_until_its_floor():
    walls = [pocket((10.0 + 6 * i, 10.0, 12.35 + 6 * i, 70.0), 3.0) for i in range(12)]
    field = field_of(plan_of(pockets=walls))
    for sanding in (0.0, 0.5, 2.9):
        assert area(field.dark_cover(sanding), field) == pytest.approx(12 * 2.35 * 60, rel=0.005)
    assert area(field.dark_cover(3.1), field) == 0


def test_the_volume_of_a_cone():
    """Volume pi r^2 h / 3 (Machinery's Handbook, 31st ed., volumes of solids; from memory)."""
    line = groove(50, 40, 50 + 1e-6, 40, depth=5.0, angle_deg=90)
    field = field_of(plan_of(v_lines=[line], angle_deg=90), angle_deg=90)
    assert area(field.depth_mm(), field) == pytest.approx(math.pi * 5**2 * 5 / 3, rel=0.01)


def test_the_volume_of_a_pocket_and_a_groove():
    both = plan_of(pockets=[pocket((10, 10, 40, 30), 3.0)], v_lines=[groove(60, 10, 60, 70, depth=2.0)])
    field = field_of(both)
    half = 2.0 * math.tan(math.radians(30))
    groove_volume = 60 * half * 2.0 + math.pi * half**2 * 2.0 / 3
    assert area(field.depth_mm(), field) == pytest.approx(30 * 20 * 3 + groove_volume, rel=0.005)


def test_paring_takes_the_allowance_to_the_shadows_edge_and_no_further():
    rough = pocket((10, 10, 40, 30), 3.0)
    left = Pocket(**{**vars(rough), "allowance_mm": 0.4})
    layout = lay_out(BOARD, aspect=1.25, origin="corner")
    shadow = Region.box((9.6, 9.6, 40.4, 60))
    field = carved(plan_of(pockets=[left]), shadow, layout, holes=Region.empty(), v_angle_deg=60, pixel_mm=0.1)
    assert area(field.dark_cover(0.5), field) == pytest.approx(30.8 * 20.9, rel=0.002)


def test_a_groove_is_gone_when_sanding_reaches_its_depth():
    field = field_of(plan_of(v_lines=[groove(20, 20, 60, 20, depth=1.0)]))
    assert field.dark_cover(0.9).max() > 0.5
    assert area(field.dark_cover(1.2), field) == 0


def test_the_board_keeps_its_shape():
    plaque = Plaque("test", (80.0, 80.0), shape="round", margin=5.0)
    field = field_of(plan_of(), plaque=plaque)
    assert area(field.board_cover, field) == pytest.approx(math.pi * 40**2, rel=1e-3)


def test_an_uncut_board_has_no_dark():
    field = field_of(plan_of())
    assert not field.dark_cover(0.0).any()
    assert not field.depth_mm().any()


def test_more_sanding_never_adds_dark():
    lines = [groove(20, 20, 70, 60, depth=1.5), groove(20, 60, 70, 25, depth=0.8)]
    field = field_of(plan_of(pockets=[pocket((10, 10, 40, 30), 1.0)], v_lines=lines))
    covers = [field.dark_cover(s) for s in (0.0, 0.3, 0.6, 1.2, 2.0)]
    assert all((more <= less + 1e-6).all() for less, more in zip(covers, covers[1:], strict=False))


# The pictures of it: ``lightness`` is the mean of red, green and blue, 0 to 255.


def lightness(picture) -> np.ndarray:
    return picture.astype(float).mean(axis=2)


def test_pockets_are_dark_wood_is_light_and_the_table_white():
    plaque = Plaque("test", (80.0, 80.0), shape="round", margin=5.0)
    field = field_of(plan_of(pockets=[pocket((25, 25, 55, 55), 3.0)]), plaque=plaque)
    look = lightness(finished(field, sanding_mm=0.5))
    assert look[300:500, 300:500].max() < 70
    assert look[100:200, 300:500].min() > 120
    assert (look[:20, :20] == 255).all()


def test_dowel_holes_are_plugged_and_take_no_paint():
    """Two plugs of 6 mm: nothing is as dark as paint, and the joint round each is a ring 6 mm across."""
    at = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    centres = [(10.0, 8.0), (80.0, 8.0)]
    holes = Region.of_polygons([(np.column_stack([x + 3 * np.cos(at), y + 3 * np.sin(at)]), []) for x, y in centres])
    layout = lay_out(BOARD, aspect=1.25, origin="corner")
    field = carved(plan_of(), SHADOW, layout, holes=holes, v_angle_deg=60, pixel_mm=0.1)
    plugged, plain = (lightness(finished(f, sanding_mm=0.5)) for f in (field, field_of(plan_of())))
    assert plugged.min() > 90
    assert not field.dark_cover(0.0).any()
    changed = abs(plugged - plain) > 0.5
    joint = plugged < 0.85 * plain
    assert area(changed, field) == pytest.approx(2 * math.pi * 9, rel=0.05)
    rows, columns = np.nonzero(joint)
    places = (np.column_stack([columns, 800 - rows]) - [0.5, -0.5]) / 10
    for centre in centres:
        away = np.hypot(*(places - centre).T)
        assert np.histogram(away, [0, 2.5, 3.1])[0][0] == 0
        assert np.histogram(away, [0, 2.5, 3.1])[0][1] > 2 * math.pi * 3 * 0.15 / 0.1**2


def test_the_grain_runs_as_the_plan_takes_it():
    """Wood changes quickly across its grain, whose rings and fibres run along it, and slowly along it."""
    looks = [lightness(finished(field_of(replace(plan_of(), grain=grain)), sanding_mm=0.5))
             for grain in ("along-width", "along-height")]  # fmt: skip
    changes = [[abs(np.diff(look, axis=axis)).mean() for axis in (0, 1)] for look in looks]
    assert changes[0][0] > 3 * changes[0][1]
    assert changes[1][1] > 3 * changes[1][0]


def test_each_wood_has_colours_of_its_own():
    """Basswood, sugar maple and pine are pale, walnut is the darkest (Wood Handbook, FPL-GTR-190, chapter 2)."""
    assert set(WOOD_COLOURS) == set(WOODS)
    field = field_of(plan_of(), pixel_mm=0.5)
    looks = {wood: finished(field, sanding_mm=0.5, wood=wood).reshape(-1, 3).mean(axis=0) for wood in WOODS}
    order = sorted(WOODS, key=lambda wood: looks[wood].mean())
    assert order[:2] == ["black walnut", "black cherry"]
    assert {"basswood", "sugar maple", "eastern white pine"} < set(order[4:])
    assert len({tuple(look.round().tolist()) for look in looks.values()}) == len(WOODS)
    red, green, blue = np.array(list(looks.values())).T
    assert ((red > green) & (green > blue)).all()


def test_flow_lines_are_seen_on_a_pockets_floor():
    line = FlowLine(np.array([[20.0, 20], [60, 20]]), floor_mm=3.0, below_floor_mm=0.6, width_mm=0.7)
    plain = plan_of(pockets=[pocket((10, 10, 70, 30), 3.0)])
    looks = [finished(field_of(p), sanding_mm=0.5) for p in (plain, replace(plain, flow_lines=(line,)))]
    plain_look, lined = (lightness(look)[550:650, 250:550] for look in looks)
    assert np.ptp(plain_look) < 3
    assert np.ptp(lined, axis=0).min() > 12


def test_what_sanding_takes_is_marked_and_grows():
    """Grooves 0.4 to 1.1 mm deep: half of the planned 0.6 mm marks none, all of it and twice mark more and more."""
    lines = [groove(15, 10 + 8 * i, 85, 10 + 8 * i, depth=0.4 + 0.1 * i) for i in range(8)]
    field = field_of(plan_of(v_lines=lines))
    sheet = what_sanding_takes(field, planned_mm=0.6).astype(int)
    width = field.board_cover.shape[1]
    gap = (sheet.shape[1] - 3 * width) // 2
    panels = [sheet[:, i * (width + gap) : i * (width + gap) + width] for i in range(3)]
    marked = [int((np.abs(panel - (213, 94, 0)).max(axis=2) < 20).sum()) for panel in panels]
    assert marked[0] == 0
    assert 0 < marked[1] < marked[2]


@pytest.mark.parametrize(("side", "pixel"), [(40.0, 0.1), (300.0, 0.2), (1200.0, 0.3)])
def test_the_grid_suits_the_board(side, pixel):
    assert pixel_mm_for((0.0, 0.0, side, side / 2)) == pytest.approx(pixel)


def test_the_stroke_picture_shows_what_was_widened_and_dropped():
    """Blue and vermilion cover the area of the strokes, length times width and a disc at the ends."""
    along = np.array([[10.0, 10], [40, 10]])
    widened = Stretch(along, np.array([0.4, 0.4]), True, True)
    dropped = Stretch(along + [0, 30], np.array([0.3, 0.3]), True, True)
    report = WidthReport(1.0, (), (widened,), (dropped,))
    picture = stroke_picture(Region.box((60, 10, 80, 30)), report, (0, 0, 100, 80), pixel_mm=0.1)
    assert picture.shape[1] == 1000
    board = picture[:800].astype(int)
    shares = [area((board == colour).all(axis=2), field_of(plan_of())) for colour in ((0, 114, 178), (213, 94, 0))]
    assert shares[0] == pytest.approx(30 * 0.8 + math.pi * 0.16, rel=0.05)
    assert shares[1] == pytest.approx(30 * 0.6 + math.pi * 0.09, rel=0.05)
    assert (board == 150).all(axis=2).sum() * 0.01 == pytest.approx(400, rel=0.01)
