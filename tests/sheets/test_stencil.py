"""Stencils as they are cut: drawn, fitted with arcs, followed by a beam that takes its kerf."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import raster_judge
import shapely
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab
from skimage.measure import euler_number, label
from stencil_masks import KINDS, letters, photo_design, random_design, sheet_around

from shadowrout.design.tone.choosing import tone_of
from shadowrout.errors import PromiseError, SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.job import sheet_options
from shadowrout.picture import reading
from shadowrout.report.look.stencil_picture import (
    BRIDGE,
    DARK_LOST,
    ISLAND,
    LIGHT_LOST,
    OPENING,
    SHEET,
    WEB,
    stencil_picture,
)
from shadowrout.sheets.criterion import holds
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.making import make_stencil

TOLERANCE_MM = 0.1
WEB_MM = 3.0

COUNTERS = {"A": 1, "B": 2, "D": 1, "O": 1, "P": 1, "Q": 1, "R": 1, "0": 1, "4": 1, "6": 1, "8": 2}
"""Holes of DejaVu Sans (read off matplotlib's rasterised letters)."""


def stencil_of(design: Region, *, border_mm: float = 12.0, **changes: object) -> CutStencil:
    calls = {k: changes.pop(k) for k in ("drop_islands", "plaque", "sheet", "holes") if k in changes}
    sheet = calls.pop("sheet", None) or sheet_around(design, border_mm)
    settings = replace(sheet_options.StencilOptions(), **changes)
    return make_stencil(design, sheet=sheet, options=settings, tolerance_mm=TOLERANCE_MM, **calls)


def as_cut(stencil: CutStencil) -> Region:
    paths = fit_region(stencil.drawn, tolerance=TOLERANCE_MM).paths
    drawn = Region.of_polygons([(path.flattened(0.005), []) for path in paths])
    return drawn.offset(stencil.kerf_mm / 2, error=0.003)


def annulus(outer: float, inner: float, at: tuple[float, float] = (50.0, 50.0)) -> Region:
    disc = shapely.Point(at)
    return Region.of_shape(disc.buffer(outer, quad_segs=64).difference(disc.buffer(inner, quad_segs=64)))


def assert_one_piece(cut: Region, sheet: tuple[float, float, float, float]) -> None:
    """Four judges: the check's and the stencil's own, labels by scikit-image at 0.1 mm, polygons by shapely."""
    assert raster_judge.holds(cut, sheet=sheet, web=WEB_MM).faults == ()
    assert holds(cut, sheet=sheet, web=WEB_MM).faults == ()
    solid = Grid(sheet, 0.1).covered(cut) < 0.5
    assert label(solid, connectivity=1).max() == 1
    assert len(shapely.get_parts(shapely.box(*sheet).difference(cut.shape))) == 1


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(1000, 1004))
def test_random_designs_stay_in_one_piece_as_cut(kind, seed):
    design = random_design(kind, seed, side_mm=60)
    stencil = stencil_of(design)
    assert_one_piece(as_cut(stencil), stencil.sheet)
    assert not stencil.openings.is_empty


@pytest.mark.parametrize(
    ("kind", "seed", "web", "least_opening"),
    [("field", 2, 1.75, 1.95), ("field", 7, 1.2, 1.2), ("two-scale", 4, 1.75, 1.95), ("field", 2, 2.0, 3.0)],
)
def test_slits_are_closed_by_webs_where_openings_must_be_wide(kind, seed, web, least_opening):
    """A strip across a slit as wide as the least opening would be a web too thin: both judges refused it."""
    stencil = stencil_of(random_design(kind, seed, side_mm=60), web=web, least_opening=least_opening)
    cut = as_cut(stencil)
    assert raster_judge.holds(cut, sheet=stencil.sheet, web=web).faults == ()
    assert len(shapely.get_parts(shapely.box(*stencil.sheet).difference(cut.shape))) == 1


def test_the_designs_would_fall_apart_as_they_are():
    apart = [holds(d, sheet=sheet_around(d), web=WEB_MM).holds for d in map(_design, range(8))]
    assert sum(apart) <= 1


def _design(seed: int) -> Region:
    return random_design(KINDS[seed % 4], 1000 + seed, side_mm=60)


@pytest.mark.parametrize(("text", "height"), [("ABDOPQR0468", 20), ("ABDOPQR0468", 30), ("ABQ8", 60)])
def test_every_counter_of_text_is_held(text, height):
    design = letters(text, height)
    stencil = stencil_of(design, drop_islands=False)
    assert stencil.islands_dropped == 0
    assert len(stencil.bridges) >= sum(COUNTERS[sign] for sign in text)
    assert all(not holes for _, holes in stencil.openings.polygons())
    for _, holes in design.polygons():
        for hole in holes:
            inside = Region.of_polygons([(hole, [])])
            assert inside.intersection(stencil.openings).area < 0.1 * inside.area
    assert_one_piece(as_cut(stencil), stencil.sheet)


@pytest.mark.parametrize(("sign", "counters"), COUNTERS.items())
def test_each_letter_gets_bridges_for_its_holes_and_few_more(sign, counters):
    design = letters(sign, 40)
    dark = Grid(sheet_around(design), 0.2).covered(design) > 0.5
    assert label(dark).max() - euler_number(dark, connectivity=2) == counters
    stencil = stencil_of(design, drop_islands=False)
    assert counters <= len(stencil.bridges) <= 2 * counters


def test_letters_without_holes_need_no_bridge():
    stencil = stencil_of(letters("CEFHIKLMNSTUVWXYZ", 30), drop_islands=False)
    assert stencil.bridges == ()
    assert stencil.dark_lost_share < 0.02


def test_bridges_of_an_o_stand_upright_or_level_through_its_middle():
    for bridge in stencil_of(annulus(20, 14), drop_islands=False).bridges:
        dx, dy = bridge.end[0] - bridge.start[0], bridge.end[1] - bridge.start[1]
        lean_deg = math.degrees(math.atan2(min(abs(dx), abs(dy)), max(abs(dx), abs(dy))))
        middle = ((bridge.start[0] + bridge.end[0]) / 2, (bridge.start[1] + bridge.end[1]) / 2)
        assert lean_deg < 4
        assert min(abs(middle[0] - 50), abs(middle[1] - 50)) < 1


def test_text_too_small_is_refused_with_the_least_height_that_works():
    small = letters("ABO", 9)
    with pytest.raises(PromiseError, match=r"web of 3mm .* works from a height of (\d+)mm") as refusal:
        stencil_of(small, drop_islands=False)
    least = int(str(refusal.value).split("height of ")[1].split("mm")[0])
    height = small.bounds[3] - small.bounds[1]

    def scaled(to_height: float) -> Region:
        return small.mapped((to_height / height,) * 2, (0.0, 0.0))

    assert stencil_of(scaled(least), drop_islands=False).islands_dropped == 0
    with pytest.raises(PromiseError):
        stencil_of(scaled(0.85 * least), drop_islands=False)


def test_strokes_that_would_vanish_are_refused():
    thin = Region.of_shape(shapely.union_all([shapely.box(0, 0, 1, 30), shapely.box(10, 0, 14, 30)]))
    with pytest.raises(PromiseError, match="stroke"):
        stencil_of(thin, drop_islands=False)


def test_photos_may_lose_small_islands_but_say_so():
    speckled = shapely.box(0, 0, 60, 60).difference(
        shapely.union_all([shapely.Point(x, 30).buffer(1.2) for x in (15, 45)])
    )
    stencil = stencil_of(Region.of_shape(speckled))
    assert stencil.islands_dropped == 2
    assert [island.area_mm2 for island in stencil.islands] == pytest.approx([math.pi * 1.44] * 2, rel=0.1)
    assert sorted(round(island.place[0]) for island in stencil.islands) == [15, 45]
    assert stencil.bridges == ()


def test_photos_keep_the_counter_of_a_letter():
    stencil = stencil_of(letters("O", 14, weight="bold"))
    assert stencil.islands_dropped == 0
    assert stencil.bridges


def test_a_large_island_hangs_on_two_bridges_far_apart():
    small, large = stencil_of(annulus(9, 6)), stencil_of(annulus(40, 30))
    assert len(small.bridges) == 1
    assert len(large.bridges) == 2
    first, second = (np.mean([b.start, b.end], axis=0) - 50 for b in large.bridges)
    assert first @ second < 0


def test_a_thin_web_is_widened_and_a_thinner_one_given_up():
    def gap(width: float) -> Region:
        return Region.of_shape(shapely.union_all([shapely.box(0, 0, 30, 30), shapely.box(30 + width, 0, 60, 30)]))

    widened, merged = stencil_of(gap(2.2)), stencil_of(gap(0.6))
    assert (len(widened.openings), widened.openings_merged) == (2, 0)
    left, right = sorted(part.bounds for part in widened.openings.parts())
    assert WEB_MM < right[0] - left[2] < WEB_MM + 0.6
    assert (len(merged.openings), merged.openings_merged) == (1, 1)


def test_no_bridge_falls_into_a_box_that_keeps_them_out():
    design = annulus(20, 14)
    free = stencil_of(design)
    box = (40.0, 60.0, 60.0, 75.0)
    above = [b for b in free.bridges if b.start[1] > 60 and 40 < b.start[0] < 60]
    left_alone = stencil_of(design, keep_out=(box,), bridges=())
    assert above or len(free.bridges) == 2
    lost = design.difference(left_alone.openings).intersection(Region.box(box))
    assert lost.offset(-0.3, error=0.01).is_empty
    assert left_alone.bridges


def test_an_island_kept_out_on_all_sides_is_refused_in_text_and_noticed_in_photos():
    design, everywhere = annulus(20, 14), ((25.0, 25.0, 75.0, 75.0),)
    with pytest.raises(PromiseError):
        stencil_of(design, keep_out=everywhere, drop_islands=False)
    stencil = stencil_of(design, keep_out=everywhere)
    assert stencil.islands_dropped == 1
    assert "keep_out" in str(stencil.notices[0].sentence)
    assert stencil.notices[0].place == pytest.approx((50, 50), abs=1)


def test_a_bridge_by_hand_stands_where_it_was_asked_for():
    turned = (50 + 17 * math.cos(math.radians(30)), 50 + 17 * math.sin(math.radians(30)), 30.0)
    stencil = stencil_of(annulus(20, 14), bridges=(turned,))
    (bridge,) = [b for b in stencil.bridges if b.by_hand]
    assert math.dist(bridge.start, bridge.end) == pytest.approx(6, abs=0.5)
    assert not stencil.openings.within(np.array([turned[:2]]))[0]
    assert_one_piece(as_cut(stencil), stencil.sheet)


def test_dark_lost_is_what_shapely_finds():
    design = letters("BOB", 30)
    stencil = stencil_of(design)
    kept = design.shape.intersection(stencil.openings.shape).area / design.shape.area
    assert stencil.dark_lost_share == pytest.approx(1 - kept, abs=0.004)
    assert 0.01 < stencil.dark_lost_share < 0.2


def test_light_lost_is_what_shapely_finds():
    design = random_design("two-scale", 4, side_mm=60)
    stencil = stencil_of(design)
    gained = stencil.openings.shape.difference(design.shape).area / design.shape.area
    assert stencil.light_lost_share == pytest.approx(gained, abs=0.006)
    assert stencil.light_lost_share > 0.01


def test_a_design_too_fine_for_the_web_is_noticed_and_one_that_vanishes_refused():
    stripes = Region.of_shape(shapely.union_all([shapely.box(0, y, 60, y + 4) for y in range(0, 60, 6)]))
    stencil = stencil_of(stripes)
    assert stencil.dark_lost_share > 0.1
    assert "coarser or larger design" in str(stencil.notices[-1].sentence)
    specks = Region.of_shape(shapely.union_all([shapely.Point(x, 5).buffer(0.9) for x in range(0, 60, 5)]))
    with pytest.raises(
        SettingError, match=r"stencil.least_opening: 2mm: no opening is left, since .* 1.7mm across; give less"
    ):
        stencil_of(specks, web=1.0, least_opening=2.0)
    with pytest.raises(PromiseError, match="no opening is left.*smaller stencil.web and stencil.least_opening"):
        stencil_of(specks, web=1.5)


def test_openings_are_drawn_smaller_by_half_the_kerf():
    """A workshop's page on laser kerf: half of it goes on each side; an opening drawn 2 x 4 comes out 2.2 x 4.2."""
    stencil = stencil_of(Region.box((0.0, 0.0, 40.0, 20.0)), kerf=0.2)
    x0, y0, x1, y1 = stencil.drawn.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((39.8, 19.8), abs=0.02)
    x0, y0, x1, y1 = stencil.drawn.offset(0.1, error=0.001).bounds
    assert (x0, y0, x1, y1) == pytest.approx((0, 0, 40, 20), abs=0.02)


def test_no_opening_is_narrower_than_the_least():
    stencil = stencil_of(random_design("field", 3, side_mm=60))
    narrow = stencil.openings.difference(stencil.openings.offset(-0.5, error=0.01).offset(0.75, error=0.01))
    assert narrow.area < 1e-3 * stencil.openings.area


def test_design_in_the_margin_stays_uncut_and_is_noticed():
    stencil = stencil_of(Region.box((0.0, 0.0, 60.0, 60.0)), border_mm=5.0)
    assert stencil.openings.bounds == pytest.approx((5, 5, 55, 55), abs=0.2)
    assert "edge" in str(stencil.notices[0].sentence)
    assert stencil.dark_lost_share == pytest.approx(1 - 50**2 / 60**2, abs=0.01)


def test_openings_keep_a_web_away_from_dowel_holes():
    holes = Region.of_shape(
        shapely.union_all([shapely.Point(x, y).buffer(2) for x, y in ((-4, 30), (58, 30), (30, 30))])
    )
    stencil = stencil_of(Region.box((0.0, 0.0, 60.0, 60.0)), holes=holes)
    cut = as_cut(stencil)
    assert cut.shape.distance(holes.shape) >= WEB_MM
    assert cut.shape.distance(holes.shape) < WEB_MM + 0.5
    assert_one_piece(cut.union(holes), stencil.sheet)
    with pytest.raises(SettingError, match="dowel hole at -8.0, 30.0mm lies 2.0mm from the sheet's edge"):
        stencil_of(Region.box((0.0, 0.0, 60.0, 60.0)), holes=holes.mapped((1.0, 1.0), (-4.0, 0.0)))


@pytest.mark.parametrize("name", ["chelsea", "coffee"])
def test_photos_lose_little(name):
    """scikit-image's pictures at 200 mm, their designs as coarse as a web of 3 mm asks for."""
    stencil = stencil_of(photo_design(name))
    assert stencil.dark_lost_share < 0.08
    assert stencil.light_lost_share < 0.1
    assert_one_piece(as_cut(stencil), stencil.sheet)


def test_a_slit_no_disc_passes_parts_two_openings():
    """A random design whose fitted outlines met at such a slit, so that a crumb of the sheet came loose."""
    stencil = stencil_of(random_design("two-scale", 5003))
    assert_one_piece(as_cut(stencil), stencil.sheet)


def test_an_empty_design_gives_a_plain_sheet():
    stencil = stencil_of(Region.empty(), sheet=(0.0, 0.0, 100.0, 80.0))
    assert stencil.openings.is_empty
    assert stencil.drawn.is_empty
    assert (stencil.bridges, stencil.dark_lost_share, stencil.islands_dropped) == ((), 0.0, 0)


def test_the_same_design_gives_the_same_stencil():
    design = random_design("two-scale", 5, side_mm=60)
    first, second = stencil_of(design), stencil_of(design)
    assert shapely.to_wkb(first.openings.shape) == shapely.to_wkb(second.openings.shape)
    assert first.bridges == second.bridges


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"web": 25.0, "margin": 30.0, "border_mm": 40.0}, "stencil.web"),
        ({"kerf": 1.2}, "stencil.kerf"),
        ({"margin": 2.0}, "stencil.margin"),
        ({"margin": 60.0}, "stencil.margin"),
        ({"sheet": (0.0, 0.0, 50.0, 50.0)}, "stencil.sheet"),
        ({"plaque": (-20.0, 0.0, 60.0, 40.0)}, "stencil.sheet"),
        ({"bridges": ((500.0, 10.0, 0.0),)}, "stencil.bridges"),
        ({"keep_out": ((30.0, 0.0, 10.0, 10.0),)}, "stencil.keep_out"),
    ],
)
def test_settings_that_cannot_go_together_are_named(changes, key):
    with pytest.raises(SettingError) as error:
        stencil_of(Region.box((0.0, 0.0, 60.0, 20.0)), **changes)
    assert error.value.key == key


def picture_of(stencil: CutStencil, design: Region) -> tuple[np.ndarray, np.ndarray]:
    """Return the picture of the sheet and the legend below it, at half a millimetre a pixel."""
    picture = stencil_picture(stencil, design, pixel_mm=0.5)
    rows = math.ceil((stencil.sheet[3] - stencil.sheet[1]) / 0.5)
    return picture[:rows], picture[rows:]


def area_of(picture: np.ndarray, colour: tuple[int, int, int]) -> float:
    return float((picture == np.array(colour)).all(axis=2).sum()) * 0.25


def test_the_picture_shows_what_bridges_take():
    design = annulus(20, 14)
    stencil = stencil_of(design)
    picture, _ = picture_of(stencil, design)
    assert area_of(picture, BRIDGE) == pytest.approx(stencil.dark_lost_share * design.area, rel=0.3)
    assert area_of(picture, WEB) == area_of(picture, ISLAND) == 0
    assert area_of(picture, OPENING) == pytest.approx(stencil.openings.area, rel=0.15)  # whole pixels alone
    assert area_of(picture, SHEET) > 0


def test_the_picture_tells_webs_islands_and_the_rest_apart():
    """Two blocks 2 mm apart, whose web grows to 3 mm; an island of 3 mm across; a line too thin to open."""
    island = shapely.Point(60, 20).buffer(1.5)
    blocks = shapely.union_all([shapely.box(0, 0, 19, 40), shapely.box(21, 0, 80, 40).difference(island)])
    design = Region.of_shape(shapely.union_all([blocks, shapely.box(0, 50, 80, 50.8)]))
    stencil = stencil_of(design)
    assert stencil.webs_widened >= 1
    assert (stencil.islands_dropped, len(stencil.bridges)) == (1, 0)
    picture, _ = picture_of(stencil, design)
    assert area_of(picture, WEB) == pytest.approx(40 * 1.3, rel=0.35)
    assert area_of(picture, ISLAND) == pytest.approx(island.area, rel=0.5)  # whole pixels alone
    assert area_of(picture, BRIDGE) == 0
    row = round((stencil.sheet[3] - 50.4) / 0.5)
    assert {tuple(c) for c in picture[row - 1 : row + 2].reshape(-1, 3).tolist()} & {DARK_LOST, (51, 177, 143)}


RGB_TO_LMS = np.array([[17.8824, 43.5161, 4.11935], [3.45565, 27.1554, 3.86714], [0.0299566, 0.184309, 1.46709]])
"""Cone responses to linear red, green and blue; Vienot, Brettel and Mollon 1999 (from memory), as what follows."""

SEEN = {
    "normal": np.eye(3),
    "protanopia": np.array([[0, 2.02344, -2.52581], [0, 1, 0], [0, 0, 1]]),
    "deuteranopia": np.array([[1, 0, 0], [0.494207, 0, 1.24827], [0, 0, 1]]),
}


@pytest.mark.parametrize("vision", SEEN)
def test_the_legend_shows_colours_that_differ_for_every_kind_of_colour_vision(vision):
    """A difference of 10 in CIEDE2000 is several times what is just seen (CIE 142; about 1)."""
    design = annulus(20, 14)
    _, legend = picture_of(stencil_of(design), design)
    colours = np.array([BRIDGE, WEB, DARK_LOST, ISLAND, LIGHT_LOST, OPENING, SHEET])
    assert all(area_of(legend, tuple(colour)) > 0 for colour in colours)
    seen = np.linalg.inv(RGB_TO_LMS) @ SEEN[vision] @ RGB_TO_LMS
    linear = np.clip((colours / 255) ** 2.2 @ seen.T, 0, 1)
    lab = rgb2lab(linear[None] ** (1 / 2.2))[0]
    assert min(deltaE_ciede2000(a, b) for a, b in combinations(lab, 2)) > 10


def test_a_box_that_keeps_every_bridge_out_is_named_where_an_island_must_be_held():
    """A larger size, which is the advice for islands too small, would not help here."""
    design = letters("O", 40)
    box = sheet_around(design)
    with pytest.raises(PromiseError, match=r"at x .*, y .*mm an island can't be held, since stencil.keep_out"):
        stencil_of(design, drop_islands=False, keep_out=(box,))
    (notice,) = [n for n in stencil_of(design, keep_out=(box,)).notices if "keep_out" in str(n.sentence)]
    assert design.bounds[0] < notice.place[0] < design.bounds[2]


def test_a_design_that_cannot_be_as_dark_as_asked_takes_the_nearest_share(tmp_path):
    """Black is a third of the picture and the rest is white: no level makes three fifths of it dark."""
    pixels = np.full((60, 60), 255, dtype=np.uint8)
    pixels[:, :20] = 0
    Image.fromarray(pixels).save(tmp_path / "halves.png")
    photo = reading.read(tmp_path / "halves.png", long_side_px=60)
    asked = {"dark": 0.6, "pixel_mm": 1.0, "method": "two-tone", "detail_mm": 2.0, "smoothing_mm": None}
    with pytest.raises(SettingError, match=r"the nearest share that works is (0\.\d+)") as refusal:
        tone_of(photo, **asked)
    share = float((tone_of(photo, **asked, or_nearest=True).field > 0).mean())
    assert f"{share:.3f}" in str(refusal.value)
    assert share == pytest.approx(1 / 3, abs=0.04)  # the edge is as wide as the smoothing
