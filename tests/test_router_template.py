"""Templates for a guide bush, against worked examples and against a bush rolled round by shapely."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from stencil_masks import random_design

from shadowrout.drawing.shapes import Role, Text, Unit
from shadowrout.drawing.template import stack_lines, template_drawing
from shadowrout.errors import PromiseError, SettingError
from shadowrout.fit import fit_region
from shadowrout.geometry.region import Region
from shadowrout.options import Template
from shadowrout.templates.criterion import holds
from shadowrout.templates.router import RouterTemplate, bit_centres, make_router_template, template_opening
from shadowrout.units import length_mm

INCH = 25.4
TOLERANCE_MM = 0.1


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Region:
    return Region.box((x, y, x + width, y + height))


def ring() -> Region:
    """Return a pocket 40 mm wide round an island of 60 x 40."""
    return Region.of_shape(shapely.box(-40, -40, 100, 80).difference(shapely.box(0, 0, 60, 40)))


def template_of(*pockets: Region, islands: str = "second", **changes: float) -> RouterTemplate:
    settings = replace(Template(), **changes)
    return make_router_template(
        pockets,
        depth_mm=5.0,
        plaque=(-50.0, -50.0, 110.0, 90.0),
        options=settings,
        tolerance_mm=TOLERANCE_MM,
        islands=islands,
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
    opening = template_opening(rectangle(8 * INCH, 4 * INCH), bush_mm=0.75 * INCH, bit_mm=0.25 * INCH)
    x0, y0, x1, y1 = opening.bounds
    assert ((x1 - x0) / INCH, (y1 - y0) / INCH) == pytest.approx((8.5, 4.5), abs=0.001)


def test_openings_grow_and_islands_shrink():
    x0, y0, x1, y1 = template_opening(rectangle(60, 40), bush_mm=16, bit_mm=8).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((68, 48), abs=0.02)
    ((_, (hole,)),) = template_opening(ring(), bush_mm=16, bit_mm=8).polygons()
    assert Region.of_polygons([(hole, [])]).bounds == pytest.approx((4, 4, 56, 36), abs=0.02)


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
    template = template_of(pocket)
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
    """Outside corners of an island lose (4 - pi) o^2 for the offset o: 13.73 for o = 4."""
    template = template_of(ring())
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
    with pytest.raises(PromiseError, match="no pocket takes a bit of 8mm"):
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
    template = template_of(rectangle(150, 40))
    assert template.sheet == pytest.approx((-50, -50, 174, 90), abs=0.02)


def test_the_stack_says_how_far_the_bit_sticks_out():
    """Bit below the base = template + depth: 6 + 5 = 11 mm (common practice, no source)."""
    template = template_of(rectangle(60, 40))
    assert template.stack.bit_below_base == 11
    assert template.stack.bit_below_bush == 7
    assert any("11.0 mm below the base" in line for line in stack_lines(template, Unit.MM))
    assert any("4.0 mm larger all round" in line for line in stack_lines(template, Unit.MM))


def test_the_drawing_cuts_openings_before_the_edge_and_says_the_stack():
    template = template_of(ring())
    for number, opening in enumerate(template.openings, start=1):
        drawing = template_drawing(
            fit_region(opening, tolerance=0.1).paths,
            template,
            number=number,
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
    with pytest.raises(PromiseError):
        template_of(Region.empty())
    assert bit_centres(Region.empty(), bit_mm=8.0).is_empty


def test_a_sheet_of_a_set_size_lies_around_the_plaques_middle():
    made = template_of(rectangle(60, 40), sheet=(200.0, 180.0))
    assert made.sheet == (-70.0, -70.0, 130.0, 110.0)


def test_a_sheet_too_small_for_the_openings_says_what_works():
    with pytest.raises(SettingError, match="template.sheet: 90x90mm is too small.*at least 108x88mm"):
        template_of(rectangle(60, 40), sheet=(90.0, 90.0))
