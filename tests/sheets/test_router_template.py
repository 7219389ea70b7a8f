"""Templates for a guide bush, against worked examples and against a bush rolled round by shapely."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import shapely
from raster_judge import holds
from stencil_masks import random_design

from shadowrout.design.board import lay_out
from shadowrout.drawing.shapes import Circle, Drawing, Path, Role, Text
from shadowrout.drawing.sheet_words import text_box
from shadowrout.drawing.template_drawing import placing_line, stack_lines, template_drawing
from shadowrout.errors import PromiseError, SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.outlines import ellipse
from shadowrout.geometry.outlines import rectangle as outline
from shadowrout.geometry.region import Region, union_all
from shadowrout.job.options import Plaque
from shadowrout.job.sheet_options import TemplateOptions
from shadowrout.sheets.register import RegisterMark, holes_of, register_marks
from shadowrout.sheets.router.placing import kept_for_openings
from shadowrout.sheets.router.router_template import RouterTemplate, bit_centres, make_router_template
from shadowrout.words.units import Unit, length_mm

INCH = 25.4
TOLERANCE_MM = 0.1
PLAQUE = (-50.0, -50.0, 110.0, 90.0)
CORNERS = tuple(
    RegisterMark(n, at, 4.0) for n, at in (("A", (-46.0, -46.0)), ("B", (106.0, -46.0)), ("C", (-46.0, 86.0)))
)


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Region:
    return Region.box((x, y, x + width, y + height))


def ring() -> Region:
    """Return a pocket 40 mm wide round an island of 60 x 40."""
    return Region.of_shape(shapely.box(-40, -40, 100, 80).difference(shapely.box(0, 0, 60, 40)))


EVERYWHERE = Region.box((-300, -300, 300, 300))
"""Where a bit may cut that nothing has to be kept from."""


def template_of(
    *pockets: Region, islands: str = "second", marks=(), may_cut: Region | None = None, **changes: float
) -> RouterTemplate:
    """Return a template for pockets in a shadow that is no larger than they are, unless what may be cut is given."""
    settings = replace(TemplateOptions(), **changes)
    return make_router_template(
        pockets,
        depth_mm=5.0,
        plaque=PLAQUE,
        options=settings,
        tolerance_mm=TOLERANCE_MM,
        may_cut=may_cut or union_all(pockets).offset(TOLERANCE_MM, error=0.004),
        islands=islands,
        marks=marks,
    )


@pytest.mark.parametrize(
    ("bush", "bit", "offset"),
    [
        (
            length_mm("3/4in"),
            length_mm("1/2in"),
            length_mm("1/8in"),
        ),  # a woodworking magazine's article on guide bushes
        (15.0, 9.0, 3.0),  # a woodworking forum's worked example
        (30.0, 10.0, 10.0),  # a question and answer page's worked example
        (12.0, 12.0, 0.0),  # a bearing of the bit's own size
    ],
)
def test_the_offset_is_half_the_difference(bush, bit, offset):
    template = template_of(rectangle(100, 70), bush=bush, bit=bit)
    assert template.offset_mm == pytest.approx(offset)
    x0, y0, x1, y1 = template.openings[0].bounds
    assert (x0, y0, x1, y1) == pytest.approx((-offset, -offset, 100 + offset, 70 + offset), abs=0.02)


def test_an_inch_recess_gets_the_opening_of_a_worked_example():
    """A router forum's worked example: an 8 x 4 in recess, 3/4 in bush, 1/4 in bit: opening 8 1/2 x 4 1/2 in."""
    (opening,) = template_of(rectangle(8 * INCH, 4 * INCH), bush=0.75 * INCH, bit=0.25 * INCH).openings
    x0, y0, x1, y1 = opening.bounds
    assert ((x1 - x0) / INCH, (y1 - y0) / INCH) == pytest.approx((8.5, 4.5), abs=0.001)


def test_openings_grow_and_islands_shrink():
    x0, y0, x1, y1 = template_of(rectangle(60, 40), bush=16, bit=8).openings[0].bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((68, 48), abs=0.02)
    island = rectangle(60, 40)
    for opening in template_of(ring(), bush=16, bit=8, may_cut=EVERYWHERE).openings:
        island = island.difference(opening)
    assert island.bounds == pytest.approx((4, 4, 56, 36), abs=0.02)


def test_what_a_bit_leaves_in_the_corners_is_reported():
    """A rectangle's corners keep (4 - pi) r^2, r the bit's radius; the router's fillet formula, recomputed."""
    template = template_of(rectangle(60, 40))
    assert template.unreached.area == pytest.approx((4 - math.pi) * 16, abs=0.15)
    assert template.under_bridges.is_empty
    assert template.rounded_off.is_empty


def test_inside_corners_are_no_tighter_than_the_bush():
    l_shape = Region.of_shape(shapely.box(0, 0, 80, 30).union(shapely.box(0, 0, 30, 80)))
    (opening,) = template_of(l_shape).openings
    rolled = opening.offset(-8.0, error=0.001).offset(8.0, error=0.001)
    assert opening.difference(rolled.offset(0.03, error=0.001)).is_empty


@pytest.mark.parametrize("pocket", [rectangle(60, 40), ring()], ids=["rectangle", "ring"])
def test_a_bush_that_goes_everywhere_cuts_the_pocket_and_nothing_else(pocket):
    template = template_of(pocket, may_cut=EVERYWHERE)
    swept = shapely.union_all(
        [opening.shape.buffer(-8, quad_segs=64).buffer(4, quad_segs=64) for opening in template.openings]
    )
    beyond = swept.difference(pocket.shape)
    left = pocket.shape.difference(swept.buffer(0.05))
    assert beyond.area == pytest.approx(template.rounded_off.area, abs=1.0)
    assert left.area == pytest.approx(template.unreached.area, abs=1.5)


def test_an_island_takes_two_templates_whose_bridges_lie_apart():
    template = template_of(ring(), islands="second")
    assert len(template.openings) == 2
    assert template.under_bridges.is_empty
    for opening in template.openings:
        assert all(not holes for _, holes in opening.polygons())
        assert holds(opening, sheet=template.sheet, web=6.0).holds


def test_an_islands_corners_come_out_round():
    """Outside corners of an island lose (4 - pi) o^2 for the offset o: 13.73 for o = 4, where they may be cut."""
    template = template_of(ring(), may_cut=EVERYWHERE)
    assert template.rounded_off.area == pytest.approx((4 - math.pi) * 16, rel=0.03)


def test_bridges_alone_leave_wood_that_is_reported():
    template = template_of(ring(), islands="bridge")
    assert len(template.openings) == 1
    width = 6 + 16 - 8  # the web, and on both sides what the bush keeps the bit away from it
    assert template.under_bridges.area == pytest.approx(2 * 40 * width, rel=0.05)


def test_an_island_is_refused_when_asked():
    with pytest.raises(PromiseError, match="fall out"):
        template_of(ring(), islands="refuse")


@pytest.mark.parametrize(("gap", "sheets"), [(10.0, 2), (14.1, 2), (14.3, 1)])
def test_openings_with_a_thin_web_between_go_onto_two_templates(gap, sheets):
    """The web left is the gap less twice the offset of 4: 14.2 leaves the 6 asked for and twice the tolerance."""
    template = template_of(rectangle(40, 40), rectangle(40, 40, x=40 + gap))
    assert len(template.openings) == sheets
    assert template.under_bridges.is_empty


def thin_island() -> Region:
    return Region.of_shape(shapely.box(-40, -40, 60, 60).difference(shapely.box(0, 0, 7, 40)))


def narrow_wall() -> Region:
    return Region.of_shape(shapely.box(0, 0, 80, 60).difference(shapely.box(37, 0, 43, 30)))


@pytest.mark.parametrize("pocket", [thin_island(), narrow_wall()], ids=["island", "wall"])
def test_pockets_stay_away_from_wood_too_thin_to_guard(pocket):
    template = template_of(pocket)
    swept = shapely.union_all([o.shape.buffer(-8, quad_segs=64).buffer(4, quad_segs=64) for o in template.openings])
    assert swept.difference(pocket.shape.buffer(0.05)).area == pytest.approx(template.rounded_off.area, abs=0.5)
    assert template.rounded_off.area < 1
    assert template.unreached.area > 100
    assert template.cleared.area > 0.4 * pocket.area
    for opening in template.openings:
        assert holds(opening, sheet=template.sheet, web=6.0).holds


@pytest.mark.parametrize("pocket", [thin_island(), narrow_wall()], ids=["island", "wall"])
def test_a_bearing_guards_what_a_bush_cannot(pocket):
    template = template_of(pocket, bush=8.0, web=5.0)
    assert template.offset_mm == 0
    assert template.unreached.area < 120


@pytest.mark.parametrize("seed", range(3))
def test_pockets_of_random_designs_are_cut_and_nothing_else(seed):
    walls = (
        random_design("field", 2000 + seed, side_mm=80)
        .offset(-3.0, error=0.05)
        .offset(3.0, error=0.05)
        .mapped((2.5, 2.5), (0, 0))
    )
    template = template_of(*walls.parts())
    swept = shapely.union_all([o.shape.buffer(-8, quad_segs=32).buffer(4, quad_segs=32) for o in template.openings])
    beyond = swept.difference(walls.shape.buffer(0.05))
    corner = 4 * (2 - 1)  # how far the tip of a 60 degree corner stands out from a disc of the offset's radius
    assert (
        beyond.difference(shapely.unary_union(shapely.box(*template.sheet).difference(swept)).buffer(corner + 0.2)).area
        < 0.5
    )
    assert template.cleared.area > 0.2 * walls.area
    for opening in template.openings:
        cut = Region.of_polygons([(p.flattened(0.005), []) for p in fit_region(opening, tolerance=TOLERANCE_MM).paths])
        assert holds(cut, sheet=template.sheet, web=6.0).holds


def test_pockets_too_small_for_the_bit():
    with pytest.raises(
        SettingError, match="template.bit: 8mm goes into no pocket, whatever the bush; the widest is 6.0"
    ):
        template_of(rectangle(6, 6))
    template = template_of(rectangle(40, 40), rectangle(6, 6, x=60))
    assert template.unreached.area == pytest.approx(36 + (4 - math.pi) * 16, abs=0.1)


@pytest.mark.parametrize(
    ("changes", "key"),
    [({"bit": 17.0}, "template.bit"), ({"bush_length": 6.0}, "template.bush_length")],
)
def test_settings_that_cannot_work_are_named(changes, key):
    with pytest.raises(SettingError) as error:
        template_of(rectangle(60, 40), **changes)
    assert error.value.key == key


def test_an_unknown_word_for_islands_is_refused():
    with pytest.raises(SettingError, match="second, bridge, refuse"):
        template_of(rectangle(60, 40), islands="float")


def test_the_sheet_covers_plaque_openings_and_margin():
    """Right of the plaque, which ends at 110, 150 + 4 + 20 mm are needed; the other sides get as much."""
    template = template_of(rectangle(150, 40))
    assert template.sheet == (-114, -114, 174, 154)
    assert template.overhang_mm == (64, 64)


def test_the_stack_says_how_far_the_bit_sticks_out():
    """Bit below the base = template + depth: 6 + 5 = 11 mm (common practice, no source)."""
    template = template_of(rectangle(60, 40))
    assert template.stack.bit_below_base == 11
    assert any("11.0 mm below the base" in line for line in stack_lines(template, Unit.MM))
    assert any("4.0 mm larger all round" in line for line in stack_lines(template, Unit.MM))


def test_the_drawing_cuts_openings_before_the_edge_and_says_the_stack():
    template = template_of(ring())
    for number, opening in enumerate(template.openings, start=1):
        drawing = template_drawing(
            fit_region(opening, tolerance=0.1).paths,
            template,
            number=number,
            board=outline(PLAQUE),
            rim_mm=20.0,
            unit=Unit.MM,
            title="ROSIE",
            description="for the test",
        )
        assert [layer.role for layer in drawing.layers] == [Role.NOTE, Role.OPENING, Role.SHEET_EDGE]
        texts = [shape.text for shape in drawing.layers[0].shapes if isinstance(shape, Text)]
        assert f"template {number} of 2" in texts[0]
        assert any("11.0 mm below the base" in text for text in texts)
        assert drawing.box_mm == template.sheet


def test_no_pocket_at_all_is_refused():
    with pytest.raises(SettingError, match="there is none at all"):
        template_of(Region.empty())
    assert bit_centres(Region.empty(), bit_mm=8.0).is_empty


def test_a_sheet_of_a_set_size_lies_around_the_plaques_middle():
    made = template_of(rectangle(60, 40), sheet=(200.0, 180.0))
    assert made.sheet == (-70.0, -70.0, 130.0, 110.0)


def test_a_sheet_too_small_for_the_openings_says_what_works():
    with pytest.raises(SettingError, match="template.sheet: 90x90mm is too small.*at least 108x88mm"):
        template_of(rectangle(60, 40), sheet=(90.0, 90.0))


def drawn(template: RouterTemplate, *, number: int = 1, board=None, unit: Unit = Unit.MM) -> Drawing:
    return template_drawing(
        fit_region(template.openings[number - 1], tolerance=TOLERANCE_MM).paths,
        template,
        number=number,
        board=outline(PLAQUE) if board is None else board,
        rim_mm=20.0,
        unit=unit,
        title="ROSIE",
        description="for the test",
    )


def test_holes_lie_where_the_boards_are_and_leave_a_web():
    """The edge stands over the plaque's by web + twice the tolerance - 2 mm, the wood beside a hole: 5 whole mm."""
    template = template_of(rectangle(60, 40), marks=CORNERS)
    assert template.holes == (CORNERS,)
    assert template.overhang_mm == (5.0, 5.0)
    (register,) = (layer for layer in drawn(template).layers if layer.role is Role.REGISTER)
    assert [(c.centre, c.radius_mm) for c in register.shapes] == [(m.centre, 2.0) for m in CORNERS]
    holes = shapely.union_all([shapely.Point(m.centre).buffer(2.0) for m in CORNERS])
    assert holes.distance(shapely.box(*template.sheet).exterior) >= 6.0
    assert holds(template.openings[0].union(Region.of_shape(holes)), sheet=template.sheet, web=6.0).holds


def test_a_hole_too_near_an_opening_is_left_out_of_that_sheet():
    """The opening's edge lies at x = -34: 10 mm beside the hole's at -44. One web more and it would be too near."""
    near = rectangle(60, 40, x=-30, y=-50)
    assert [m.name for m in template_of(near, marks=CORNERS).holes[0]] == ["A", "B", "C"]
    template = template_of(near, rectangle(60, 40, x=45, y=40), marks=CORNERS, web=9.9)
    assert [m.name for m in template.holes[0]] == ["B", "C"]
    assert placing_line(template, 1, Unit.MM).startswith("place by dowels B, C; ")


def test_a_set_sheet_without_room_for_holes_is_placed_by_its_lines():
    template = template_of(rectangle(60, 40), marks=CORNERS, sheet=(170.0, 140.0))
    assert template.holes == ((),)
    line = placing_line(template, 1, Unit.MM)
    assert line == "place by the centre lines; board 5.0 mm inside left and right, 0.0 mm above and below"


@pytest.mark.parametrize("sheet", [None, (300.0, 200.0), (160.0, 140.0)], ids=["grown", "large", "flush"])
def test_the_placing_lines_are_the_boards(sheet):
    template = template_of(rectangle(60, 40), marks=CORNERS, sheet=sheet)
    drawing = drawn(template)
    notes = drawing.layers[0].shapes
    x0, y0, x1, y1 = template.sheet
    closed = [s for s in notes if isinstance(s, Path) and s.path.closed]
    assert [s.path.bounds for s in closed] == ([] if sheet == (160.0, 140.0) else [pytest.approx(PLAQUE)])
    lines = [s.path.vertices for s in notes if isinstance(s, Path) and not s.path.closed]
    across = [line for line in lines if line[0][1] == line[1][1]]
    assert [line.tolist() for line in across] == [[[x0, 20.0], [x1, 20.0]]]
    upright = [line for line in lines if line[0][1] != line[1][1]]
    assert {float(x) for line in upright for x in line[:, 0]} == {30.0}
    assert min(line.min() for line in upright if line is not None) <= min(y0, 30.0)
    texts = [s for s in notes if isinstance(s, Text) and len(s.text) > 1]
    for text in texts:
        assert all(abs(text.at[1] - s.path.bounds[1]) > text.height_mm / 2 for s in closed)
        assert all(abs(text.at[1] - s.path.bounds[3]) > text.height_mm / 2 for s in closed)
        assert not any(line[0][1] < text.at[1] < line[1][1] for line in upright)


def test_the_outline_of_a_board_that_is_no_rectangle_is_always_drawn():
    template = template_of(rectangle(60, 40))
    assert template.overhang_mm == (0, 0)
    closed = [s for s in drawn(template, board=ellipse(PLAQUE)).layers[0].shapes if isinstance(s, Path)]
    assert sum(s.path.closed for s in closed) == 1
    assert "flush" in placing_line(template, 1, Unit.MM)


def test_register_marks_keep_clear_of_a_templates_openings():
    """A pocket fills the field's left half: marks that know of it move to where the template has room for holes."""
    layout = lay_out(Plaque(size=(200.0, 140.0), margin=12.0), aspect=4 / 3, origin="corner")
    x0, y0, _, y1 = layout.field.bounds
    pocket = rectangle(60, y1 - y0, x=x0, y=y0)
    kept = kept_for_openings([pocket], TemplateOptions(), tolerance_mm=TOLERANCE_MM)
    marks = register_marks(layout, dowel_mm=4.0, inset_mm=None, keep_clear=pocket.union(kept))
    made = make_router_template(
        [pocket],
        depth_mm=5.0,
        plaque=layout.board_mm,
        options=TemplateOptions(),
        tolerance_mm=TOLERANCE_MM,
        may_cut=EVERYWHERE,
        marks=marks,
    )
    assert made.holes == (marks,)
    without = register_marks(layout, dowel_mm=4.0, inset_mm=None, keep_clear=pocket)
    opened = made.openings[0].shape
    assert any(shapely.Point(m.centre).buffer(2).distance(opened) < 6 for m in without)


def test_the_stack_of_inches_tells_the_overhang_in_inches():
    template = template_of(rectangle(60, 40), marks=CORNERS)
    assert "0.197 in (13/64) inside this edge" in placing_line(template, 1, Unit.INCH)
    assert isinstance(drawn(template, unit=Unit.INCH).layers[2].shapes[0], Circle)


def test_the_rims_text_keeps_clear_of_a_hole_in_the_middle_of_a_side():
    """On a round board a hole may lie at the lowest point, where the text would stand."""
    mark = RegisterMark("A", (33.0, -46.0), 4.0)
    drawing = drawn(template_of(rectangle(60, 40), marks=[mark]), board=ellipse(PLAQUE))
    for text in (s for s in drawing.layers[0].shapes if isinstance(s, Text) and len(s.text) > 1):
        half = len(text.text) * text.height_mm * 0.7 / 2
        assert not text.at[0] - half - 2 < mark.centre[0] < text.at[0] + half + 2


def test_on_a_small_template_no_text_stands_on_a_hole_a_name_or_an_opening():
    board = (0.0, 0.0, 60.0, 45.0)
    marks = [RegisterMark(name, at, 4.0) for name, at in (("A", (4.0, 4.0)), ("B", (56.0, 4.0)), ("C", (4.0, 41.0)))]
    template = make_router_template(
        [rectangle(14, 12, 28, 16)],
        depth_mm=3.0,
        plaque=board,
        options=TemplateOptions(),
        tolerance_mm=TOLERANCE_MM,
        may_cut=EVERYWHERE,
        islands="second",
        marks=marks,
    )
    drawing = drawn(template, board=outline(board))
    texts = [shape for shape in drawing.layers[0].shapes if isinstance(shape, Text)]
    boxes = [shapely.box(*text_box(text)) for text in texts]
    cut = shapely.union_all([template.openings[0].shape, holes_of(template.holes[0]).shape])
    assert len(template.holes[0]) == 3
    assert {text.text for text in texts} >= set("ABC")
    assert not any(box.intersects(cut) for box in boxes)
    assert not any(a.intersection(b).area > 1e-9 for a, b in itertools.combinations(boxes, 2))
    assert all(box.within(shapely.box(*template.sheet)) for box in boxes)


@pytest.mark.parametrize(("bush", "web"), [(60.0, 6.0), (30.0, 2.0)])
def test_a_bush_much_larger_than_bit_and_web_is_no_hindrance_by_itself(bush, web):
    """A plain pocket has no thin wood about it, however far the bush keeps off."""
    template = template_of(rectangle(60, 40), bush=bush, bit=8.0, web=web)
    assert template.unreached.area == pytest.approx((4 - math.pi) * 16, abs=0.15)
    assert template.openings[0].bounds == pytest.approx(
        (-(bush - 8) / 2, -(bush - 8) / 2, 60 + (bush - 8) / 2, 40 + (bush - 8) / 2), abs=0.02
    )


def test_a_bit_too_thick_for_any_pocket_is_told_what_fits():
    with pytest.raises(SettingError, match="the widest is 20.0mm across: give a thinner bit than that"):
        template_of(rectangle(60, 20), bush=40.0, bit=30.0)


def test_a_bush_that_no_template_can_have_names_one_that_works():
    """Rows of slots 11 mm apart: with a bush of 30 the webs take more sheets than may be."""
    rows = [rectangle(60, 10, y=12 * number) for number in range(12)]
    with pytest.raises(PromiseError, match=r"with this bit a bush of ([\d.]+)mm works") as refusal:
        template_of(*rows, bush=100.0, bit=8.0)
    works = float(str(refusal.value).split("a bush of ")[1].split("mm")[0])
    assert template_of(*rows, bush=works, bit=8.0).openings


def test_a_margin_narrower_than_the_web_is_refused():
    with pytest.raises(SettingError, match="template.margin: 20mm is less than the web; give 25mm or more"):
        template_of(rectangle(60, 40), web=25.0)
