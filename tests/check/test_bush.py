"""What the check makes of a bush rolled round openings: closed formulas, and shapely's offsets."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from stencil_masks import random_design
from template_light import beyond_mm, judged, rolled_by_shapely, unkeyed_opening, wedge, wedge_gouge_mm

from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region


def found(opening: Region, shadow: Region, bush: float, bit: float):
    return judged([[ArcPath.polygon(ring) for ring in opening.rings()]], shadow, bush=bush, bit=bit)


@pytest.mark.parametrize("half_angle", [20.0, 30.0, 45.0, 60.0])
@pytest.mark.parametrize(("bush", "bit"), [(16.0, 8.0), (10.0, 6.0), (8.0, 3.0)])
def test_the_gouge_at_a_wedge_of_light_is_that_of_the_formula(half_angle, bush, bit):
    shadow = wedge(half_angle)
    told = found(unkeyed_opening(shadow, bush, bit), shadow, bush, bit)
    wanted = wedge_gouge_mm(half_angle, (bush - bit) / 2)
    assert told.worst_mm == pytest.approx(wanted, abs=0.01)
    (finding, *_) = told.findings
    x, y = finding.place_mm
    back = (bush - bit) / 2 * (1 / math.sin(math.radians(half_angle)) - 1)
    assert (x, y) == pytest.approx((60, 40 - back), abs=0.15)


def test_a_bar_of_light_too_thin_for_a_template_is_taken_to_its_middle():
    """No template is left of light thinner than twice the offset: the bit comes as far from the dark as there is."""
    shadow = Region.of_shape(shapely.box(0, 0, 120, 100).difference(shapely.box(57, -1, 63, 50)))
    assert found(unkeyed_opening(shadow, 16, 8), shadow, 16, 8).worst_mm == pytest.approx(3.0, abs=0.01)


def test_a_disc_of_light_too_thin_for_a_template_is_taken_to_its_middle():
    shadow = Region.of_shape(shapely.box(0, 0, 120, 100).difference(shapely.Point(60, 50).buffer(2.5, quad_segs=64)))
    assert found(unkeyed_opening(shadow, 16, 8), shadow, 16, 8).worst_mm == pytest.approx(2.5, abs=0.1)


@pytest.mark.parametrize(("grown", "beyond"), [(0.0, 0.0), (0.3, 0.3), (1.0, 1.0)])
def test_a_larger_opening_lets_the_bit_as_far_out(grown, beyond):
    shadow = Region.box((0, 0, 80, 60))
    opening = Region.box((-4 - grown, -4 - grown, 84 + grown, 64 + grown))
    told = found(opening, shadow, 16, 8)
    assert told.worst_mm == pytest.approx(beyond, abs=0.003)
    assert bool(told.findings) == (beyond > 0.1)


@pytest.mark.parametrize("bush", [15.0, 14.0])
def test_a_smaller_bush_lets_the_bit_out_by_half_of_what_it_lacks(bush):
    told = found(Region.box((-4, -4, 84, 64)), Region.box((0, 0, 80, 60)), bush, 8)
    assert told.worst_mm == pytest.approx((16 - bush) / 2, abs=0.003)


def test_a_bush_as_large_as_the_opening_stands_in_its_middle():
    circle = [[ArcPath.circle((0, 0), 8.0)]]
    shadow = Region.of_shape(shapely.Point(0, 0).buffer(3.5, quad_segs=64))
    assert judged(circle, shadow, bush=16.0, bit=8.0).worst_mm == pytest.approx(0.5, abs=0.05)
    assert judged(circle, shadow, bush=16.2, bit=8.0).worst_mm == 0.0


def test_an_opening_all_in_the_light_is_found_however_large():
    told = found(Region.box((200, 0, 380, 150)), Region.box((0, 0, 80, 60)), 16, 8)
    assert told.worst_mm == pytest.approx(math.hypot(376 - 80, 146 - 60) - 4 * (math.sqrt(2) - 1), abs=4)
    assert len(told.findings) > 1


@pytest.mark.parametrize("seed", range(4))
def test_random_openings_are_judged_as_shapely_does(seed):
    """Between a bush without play and one with 0.004 mm, which gets through where edges as far apart run alongside."""
    shadow = random_design("two-scale", 400 + seed, side_mm=60).offset(-0.3, error=0.01).offset(0.3, error=0.01)
    opening = unkeyed_opening(shadow, 10.0, 6.0)
    least, most = (beyond_mm(rolled_by_shapely([opening], 10.0, 6.0, play=play), shadow) for play in (1e-6, 0.004))
    told = found(opening, shadow, 10.0, 6.0).worst_mm
    assert least - 0.02 <= told <= most + 0.02
    assert least > 0.1


def test_sheets_are_judged_together_and_named():
    shadow = Region.box((0, 0, 80, 60))
    good = [ArcPath.polygon(np.array([(-4, -4), (84, -4), (84, 64), (-4, 64)]))]
    bad = [ArcPath.polygon(np.array([(-4, -4), (84, -4), (84, 66), (-4, 66)]))]
    told = judged([good, bad], shadow, bush=16.0, bit=8.0)
    assert told.worst_mm == pytest.approx(2.0, abs=0.003)
    assert {finding.file for finding in told.findings} == {"template-2.svg"}
