"""Keys: the bit stays off light however narrow, at little loss, judged by shapely's offsets and by closed formulas."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from paper_pictures import page_text
from PIL import Image
from raster_judge import holds
from stencil_masks import random_design
from template_light import beyond_mm, judged, rolled_by_shapely, unkeyed_opening, wedge, wedge_gouge_mm

from shadowrout.check.checking import check_folder
from shadowrout.check.findings import Promise
from shadowrout.drawing.template_drawing import stack_lines
from shadowrout.errors import PromiseError, SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.discs import disc, halves, joined, places_within
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.job.sheet_options import TemplateOptions
from shadowrout.make.pipeline import make
from shadowrout.sheets.router import router_template
from shadowrout.sheets.router.keys import TIP_MM, Bush, keyed
from shadowrout.sheets.router.router_template import RouterTemplate, drawn_within_mm, make_router_template
from shadowrout.words.units import Unit

TOLERANCE_MM = 0.1
EVERYWHERE = Region.box((-300, -300, 300, 300))


def may_cut(shadow: Region) -> Region:
    return shadow.offset(TOLERANCE_MM - 0.008, error=0.004)


def template_of(shadow: Region, *, bush: float, bit: float, pockets: Region | None = None) -> RouterTemplate:
    x0, y0, x1, y1 = shadow.bounds
    return make_router_template(
        [*(pockets or shadow).parts()],
        depth_mm=5.0,
        plaque=(x0 - 30, y0 - 30, x1 + 30, y1 + 30),
        options=TemplateOptions(bush=bush, bit=bit),
        tolerance_mm=TOLERANCE_MM,
        may_cut=may_cut(shadow),
    )


def as_drawn(template: RouterTemplate):
    return [fit_region(opening, tolerance=drawn_within_mm(TOLERANCE_MM)).paths for opening in template.openings]


def regions(paths) -> Region:
    return Region.of_polygons([(path.flattened(0.0005), []) for path in paths])


class TestKeyed:
    """Where the bit's middle may go, without what a template makes of it."""

    BUSH = Bush(8.0, 4.0, 0.0)

    def test_where_nothing_is_narrow_nothing_changes(self):
        centres = Region.box((0, 0, 60, 40))
        assert keyed(centres, EVERYWHERE, self.BUSH).shape == centres.shape

    def test_a_bearing_needs_no_key(self):
        shadow = wedge(30.0)
        centres = shadow.offset(-4.0, error=0.004)
        assert keyed(centres, may_cut(shadow), Bush(4.0, 4.0, 0.0)).shape == centres.shape

    @pytest.mark.parametrize("half_angle", [20.0, 30.0, 45.0, 60.0])
    def test_a_wedge_of_light_is_kept(self, half_angle):
        shadow = wedge(half_angle)
        centres = shadow.offset(-4.0, error=0.004)
        before = beyond_mm(rolled_by_shapely([unkeyed_opening(shadow, 16, 8)], 16, 8), shadow)
        assert before == pytest.approx(wedge_gouge_mm(half_angle, 4.0), abs=0.02)
        kept = keyed(centres, may_cut(shadow), self.BUSH)
        assert beyond_mm(kept.shape.buffer(4.0, quad_segs=128), shadow) <= TOLERANCE_MM
        assert kept.difference(centres).area < 1e-6

    def test_a_key_costs_a_wedge_no_more_than_its_tip_keeps_the_bush_off(self):
        """The light at a right angle's corner lies within o of one place; its tip takes a disc of R + 0.3 there."""
        shadow = wedge(45.0)
        centres = shadow.offset(-4.0, error=0.004)
        lost = centres.area - keyed(centres, may_cut(shadow), self.BUSH).area
        assert 0 < lost < 0.1 * math.pi * (8 + TIP_MM) ** 2

    @pytest.mark.parametrize("radius", [0.5, 1.5, 3.0])
    def test_a_disc_of_light_far_from_all_material_is_kept(self, radius):
        dark = Region.box((0, 0, 120, 100)).difference(disc((60.0, 50.0), radius))
        kept = keyed(Region.box((4, 4, 116, 96)), may_cut(dark), self.BUSH)
        assert beyond_mm(kept.shape.buffer(4.0, quad_segs=128), dark) <= TOLERANCE_MM
        assert kept.area > 0.5 * 112 * 92

    @pytest.mark.parametrize("length", [15.0, 40.0])
    def test_light_too_long_for_one_key_gets_several(self, length):
        dark = Region.box((0, 0, 120, 100)).difference(Region.box((59, 40, 61, 40 + length)))
        kept = keyed(Region.box((4, 4, 116, 96)), may_cut(dark), self.BUSH)
        assert beyond_mm(kept.shape.buffer(4.0, quad_segs=128), dark) <= TOLERANCE_MM

    def test_an_opening_drawn_larger_is_allowed_for(self):
        shadow = wedge(45.0)
        kept = keyed(shadow.offset(-4.1, error=0.004), may_cut(shadow), Bush(8.0, 4.0, 0.05))
        larger = Region.of_shape(kept.shape.buffer(8.0, quad_segs=128).buffer(0.05, quad_segs=128))
        assert beyond_mm(rolled_by_shapely([larger], 16, 8), shadow) <= TOLERANCE_MM

    def test_where_light_is_everywhere_nothing_is_left(self):
        assert keyed(Region.box((0, 0, 6, 6)), Region.box((-90, -90, -80, -80)), self.BUSH).is_empty


class TestTemplates:
    @pytest.mark.parametrize(("bush", "bit"), [(16.0, 8.0), (10.0, 6.0), (8.0, 3.0)])
    def test_a_wedge_is_kept_as_drawn_and_the_sheet_holds(self, bush, bit):
        shadow = wedge(45.0)
        template = template_of(shadow, bush=bush, bit=bit)
        drawn = as_drawn(template)
        assert judged(drawn, shadow, bush=bush, bit=bit).worst_mm <= TOLERANCE_MM
        assert 0 < template.under_keys.area < 0.03 * shadow.area
        for paths in drawn:
            assert holds(regions(paths), sheet=template.sheet, web=6.0).holds

    @pytest.mark.parametrize("number", range(12))
    def test_random_designs_are_not_gouged(self, number):
        """More seeds, and how many of them are gouged without keys: tests/benchmarks/template_quality.py."""
        kind = ("field", "two-scale", "rings")[number % 3]
        bush, bit = ((16.0, 8.0), (10.0, 6.0), (8.0, 3.0), (6.0, 6.0))[number % 4]
        shadow = random_design(kind, 900 + number, side_mm=60).offset(-0.2, error=0.01).offset(0.2, error=0.01)
        pockets = shadow.offset(-1.8, error=0.01).offset(1.5, error=0.01)
        try:
            template = template_of(shadow, bush=bush, bit=bit, pockets=pockets)
        except (PromiseError, SettingError):
            pytest.skip("no template for this design, keys or not")
        drawn = as_drawn(template)
        cut = rolled_by_shapely([regions(paths) for paths in drawn], bush, bit)
        assert beyond_mm(cut, shadow) <= TOLERANCE_MM + 0.001
        assert judged(drawn, shadow, bush=bush, bit=bit).worst_mm <= TOLERANCE_MM + 0.001
        assert not judged(drawn, shadow, bush=bush, bit=bit).findings

    def test_the_sheet_says_that_keys_stay_whole(self):
        told = " ".join(stack_lines(template_of(wedge(45.0), bush=16, bit=8), Unit.MM))
        assert "keys, which keep the bit off narrow light: leave them whole" in told
        plain = Region.box((0, 0, 60, 40))
        assert "keys" not in " ".join(stack_lines(template_of(plain, bush=16, bit=8), Unit.MM))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("wedge")
    y, x = np.mgrid[:400, :400] / 400
    light = (np.abs(x - 0.5) < (y - 0.55) * 0.7) | (np.abs(x - 0.5) > 0.45) | (np.abs(y - 0.5) > 0.45)
    Image.fromarray(np.where(light, 255, 0).astype(np.uint8)).save(place / "wedge.png")
    return place


class TestAJob:
    """A picture of a wedge of light in a block of dark, made with keys and as if there were none."""

    @staticmethod
    def made(folder: Path, out: str) -> dict[str, Any]:
        text = """
            [picture]
            file = "wedge.png"
            [tone]
            method = "two-tone"
            [[plaque]]
            name = "wedge"
            size = "110x110mm"
            [[cutter]]
            diameter = "8mm"
            finishing_allowance = 0
            [output]
            files = ["template", "pattern"]
        """
        (folder / f"{out}.toml").write_text(text, encoding="utf-8")
        make(Job.from_file(folder / f"{out}.toml"), folder / out)
        return json.loads((folder / out / "numbers.json").read_text(encoding="utf-8"))["plaques"][0]["template"]

    def test_its_template_has_keys_and_nothing_is_gouged(self, folder):
        told = self.made(folder, "keyed")
        assert 0.5 < told["under_keys_mm2"] < 300
        (plaque,) = check_folder(folder / "keyed").plaques
        gouge = plaque.result(Promise.NO_GOUGE)
        assert gouge.holds
        assert gouge.measured <= 0.101
        assert "left by the router's bit" in page_text((folder / "keyed" / "wedge" / "pattern.pdf").read_bytes(), 0)
        assert "keep the bit from, beside narrow light" in (folder / "keyed" / "jobsheet.html").read_text("utf-8")

    def test_without_keys_the_check_finds_the_gouge_of_the_formula(self, folder, monkeypatch):
        monkeypatch.setattr(router_template, "keyed", lambda centres, may_cut, bush: centres)
        assert self.made(folder, "unkeyed")["under_keys_mm2"] == 0
        (plaque,) = check_folder(folder / "unkeyed").plaques
        gouge = plaque.result(Promise.NO_GOUGE)
        assert not gouge.holds
        half_angle = math.degrees(math.atan(0.7))
        assert gouge.measured == pytest.approx(wedge_gouge_mm(half_angle, 4.0), abs=0.35)  # its point comes out round
        assert "the 8 mm bit takes" in str(gouge.findings[0].what)


class TestDiscs:
    def test_places_within_reach_of_a_square(self):
        """All of a square of 2 lies within its half diagonal, the root of 2, of its middle alone."""
        square = Region.box((-1, -1, 1, 1))
        assert len(places_within(square, 1.40)) == 0
        places = places_within(square, 2.0)
        furthest = shapely.distance(
            shapely.points(places)[:, None], shapely.points([(1, 1), (1, -1), (-1, 1), (-1, -1)])
        )
        assert furthest.max() <= 2.0
        assert furthest[:-1].max(axis=1).min() > 1.9
        assert places[-1] == pytest.approx((0, 0), abs=0.01)
        with pytest.raises(ValueError, match="empty"):
            places_within(Region.empty(), 1.0)

    def test_halves_part_the_longer_side(self):
        one, other = halves(Region.box((0, 0, 10, 2)))
        assert sorted([one.bounds, other.bounds]) == [pytest.approx((0, 0, 5, 2)), pytest.approx((5, 0, 10, 2))]

    def test_a_tip_is_joined_to_what_is_nearest(self):
        body = Region.box((5, -10, 20, 10)).union(Region.box((-20, -10, -6, 10)))
        key = joined(disc((0.0, 0.0), 0.3), (0.0, 0.0), body, breadth=1.0)
        x0, y0, x1, y1 = key.bounds
        assert (x0, x1) == pytest.approx((-0.3, 6.0), abs=0.01)
        assert (y0, y1) == pytest.approx((-math.sqrt(11), math.sqrt(11)), abs=0.02)  # 6 from the place, 5 from the edge
        assert np.isclose(joined(disc((7.0, 0.0), 0.3), (7.0, 0.0), body, breadth=1.0).area, math.pi * 0.09, rtol=0.01)
