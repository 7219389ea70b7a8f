"""Boards, fields, the picture's place on the plaque, and the design at true size."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shadowrout.design.board import MOST_PIXELS, lay_out, resolution_of, sized
from shadowrout.design.trace import Outline
from shadowrout.errors import InputError, SettingError
from shadowrout.geometry.region import Region
from shadowrout.job.options import Plaque


def plaque(size=(200.0, 250.0), **settings) -> Plaque:
    return Plaque("test", size, **{"margin": 10.0, **settings})


def square_outline(width_px: int, height_px: int, box) -> Outline:
    return Outline(region=Region.box(box), width_px=width_px, height_px=height_px)


def test_the_picture_fits_inside_the_margin():
    layout = lay_out(plaque(), aspect=2.0, origin="corner")
    assert layout.board_mm == (0, 0, 200, 250)
    assert layout.field.bounds == pytest.approx((10, 10, 190, 240))
    assert layout.picture_box_mm == pytest.approx((10, 80, 190, 170))


def test_the_picture_fills_the_margin():
    layout = lay_out(plaque(fit="fill"), aspect=2.0, origin="corner")
    assert layout.picture_box_mm == pytest.approx((100 - 230, 10, 100 + 230, 240))


def test_the_origin_at_the_centre():
    layout = lay_out(plaque(), aspect=1.0, origin="centre")
    assert layout.board_mm == (-100, -125, 100, 125)
    assert layout.picture_box_mm == pytest.approx((-90, -90, 90, 90))


@pytest.mark.parametrize("aspect", [451 / 300, 4 / 3, 2 / 3, 1.0, 0.77])
@pytest.mark.parametrize("size", [(250.0, 200.0), (228.6, 304.8), (406.4, 304.8), (406.4, 508.0), (215.9, 279.4)])
def test_the_picture_stands_in_the_middle(size, aspect):
    x0, y0, x1, y1 = lay_out(plaque(size, margin=8.0), aspect=aspect, origin="corner").picture_box_mm
    assert (x0 + x1, y0 + y1) == pytest.approx(size)
    assert max((x1 - x0) / (size[0] - 16), (y1 - y0) / (size[1] - 16)) == pytest.approx(1)


@pytest.mark.parametrize("aspect", [0.5, 1.0, 1.5, 3.0])
def test_the_largest_picture_in_an_oval_touches_it(aspect):
    """A box of half sides p and q touches the ellipse of half axes a and b where (p / a)^2 + (q / b)^2 = 1."""
    layout = lay_out(plaque((300.0, 200.0), shape="oval", margin=0.0), aspect=aspect, origin="centre")
    x0, y0, x1, y1 = layout.picture_box_mm
    assert ((x1 - x0) / 2 / 150) ** 2 + ((y1 - y0) / 2 / 100) ** 2 == pytest.approx(1, abs=2e-3)
    assert (x1 - x0) / (y1 - y0) == pytest.approx(aspect)
    assert (x0 + x1, y0 + y1) == pytest.approx((0, 0), abs=0.01)


def test_the_largest_square_in_a_round_plaque():
    layout = lay_out(plaque((200.0, 200.0), shape="round", margin=10.0), aspect=1.0, origin="centre")
    x0, _, x1, _ = layout.picture_box_mm
    assert x1 - x0 == pytest.approx(90 * math.sqrt(2), abs=0.02)


def test_the_largest_picture_in_an_arch_stands_below_its_middle():
    """A square of side s under a half circle of radius r = w / 2, on the bottom: full width fits when high enough."""
    layout = lay_out(plaque((100.0, 120.0), shape="arch", margin=0.0), aspect=1.0, origin="corner")
    x0, y0, x1, y1 = layout.picture_box_mm
    # The upper corners touch the half circle: (s / 2)^2 + (s - 70)^2 = 50^2, the lower ones the bottom.
    side = (140 + math.sqrt(140**2 - 5 * 2400)) / 2.5
    assert x1 - x0 == pytest.approx(min(side, 100), abs=0.05)
    assert y0 == pytest.approx(0, abs=0.05)
    assert layout.field.covers(Region.box((x0, y0, x1, y1)))


@pytest.mark.parametrize(
    ("settings", "key"),
    [
        ({"size": (200.0, 250.0), "margin": 95.0}, "plaque.margin"),
        ({"size": (40.0, 40.0), "margin": 20.0}, "plaque.margin"),
        ({"size": (200.0, 100.0), "shape": "arch"}, "plaque.size"),
        ({"size": (200.0, 100.0), "shape": "round"}, "plaque.size"),
    ],
)
def test_boards_that_cannot_be(settings, key):
    with pytest.raises(SettingError) as caught:
        lay_out(plaque(**settings), aspect=1.0, origin="corner")
    assert caught.value.key == key


def test_working_pixels_follow_the_finest_line():
    layout = lay_out(plaque(), aspect=1.0, origin="corner")
    found = resolution_of(layout, detail_mm=0.8)
    assert (found.width_px, found.height_px) == (900, 900)
    assert found.pixel_mm == pytest.approx(0.2)


def test_too_many_working_pixels_are_refused_with_the_least_that_works():
    layout = lay_out(plaque((1200.0, 1200.0)), aspect=1.0, origin="corner")
    with pytest.raises(SettingError, match="tone.detail: 0.3mm is too fine") as caught:
        resolution_of(layout, detail_mm=0.3)
    least = float(str(caught.value.problem).split("give ")[1].split("mm")[0])
    found = resolution_of(layout, detail_mm=least)
    assert found.width_px * found.height_px <= MOST_PIXELS * 1.01


def test_pixels_become_millimetres_with_y_up():
    layout = lay_out(plaque(), aspect=2.0, origin="corner")
    design = sized(square_outline(360, 180, (0, 0, 90, 45)), layout, least_area_mm2=1.0)
    assert design.shadow.bounds == pytest.approx((10, 147.5, 55, 170))
    assert design.dark_share == pytest.approx(1 / 16)
    assert design.slivers_dropped == 0
    assert [np.linalg.norm(ring) > 0 for ring in design.shadow.rings()] == [True]


def test_a_filling_picture_is_clipped_to_the_field():
    layout = lay_out(plaque(fit="fill"), aspect=2.0, origin="corner")
    design = sized(square_outline(460, 230, (0, 0, 230, 230)), layout, least_area_mm2=1.0)
    assert design.shadow.bounds == pytest.approx((10, 10, 100, 240))
    assert design.dark_share == pytest.approx(0.5)


def test_a_shadow_outside_the_field_leaves_nothing():
    layout = lay_out(plaque(fit="fill"), aspect=2.0, origin="corner")
    with pytest.raises(InputError, match="no shadow is left"):
        sized(square_outline(460, 230, (0, 0, 50, 50)), layout, least_area_mm2=1.0)


def test_slivers_that_the_edge_cuts_are_dropped_and_counted():
    layout = lay_out(plaque((200.0, 200.0), shape="round", fit="fill", margin=0.0), aspect=1.0, origin="corner")
    outline = Outline(
        region=Region.together([Region.box((80, 80, 120, 120)), Region.box((0, 99, 0.5, 101))]),
        width_px=200,
        height_px=200,
    )
    design = sized(outline, layout, least_area_mm2=2.0)
    assert design.slivers_dropped == 1
    assert len(design.shadow) == 1
