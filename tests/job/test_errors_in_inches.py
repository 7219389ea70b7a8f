"""A job in inches is told of lengths in inches: what can't be made, what was made, what checking found.

One inch is 25.4 mm exactly (NIST SP 811, appendix B).
"""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from check_plaque import write_folder
from small_jobs import disc
from spoil import DAMAGES

from shadowrout.check.checking import check_folder
from shadowrout.check.table import verdict_text
from shadowrout.cli import main
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.geometry.region import Region
from shadowrout.report.look.stroke_picture import stroke_picture
from shadowrout.words.units import spoken

TOLD_WITH_LENGTHS = (
    "a_vertex_of_the_svg_moved_by_0_3_mm",
    "the_walls_moved",
    "a_larger_cutter_in_the_marks",
    "a_v_line_moved_into_the_light",
    "a_ring_of_the_svg_opened",
    "a_depth_of_the_svg_halved",
    "a_width_of_a_v_line_doubled",
    "a_pocket_through_the_board",
    "an_elevation_changed",
    "the_board_of_the_dxf_widened",
    "a_shape_off_the_page",
    "a_line_in_space_lifted",
    "another_length_in_the_figures",
)
"""Damages whose findings tell lengths and places."""

IN_MM = re.compile(r"\d ?mm")


def in_inches(text: str) -> float:
    return float(re.search(r"([-\d.]+) ?in", spoken(text, "in"))[1])


@pytest.mark.parametrize("seed", range(5))
def test_a_length_is_the_same_in_both_units(seed):
    for value in np.random.default_rng(seed).uniform(0.01, 600, 50):
        assert in_inches(f"a web of {value:.3f} mm") * 25.4 == pytest.approx(value, abs=0.0006)


@pytest.mark.parametrize("value", [0.1, 1.13, 12.3, 91.6, 101.6, 200.0])
def test_a_bound_stays_a_bound(value):
    assert 0 <= value - in_inches(f"give {value:g}mm or less") * 25.4 < 0.03
    assert 0 <= value - in_inches(f"the most that works is {value:g} mm") * 25.4 < 0.03
    assert 0 <= in_inches(f"give {value:g}mm or more") * 25.4 - value < 0.03
    assert 0 <= in_inches(f"the least that works is {value:g} mm") * 25.4 - value < 0.03


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ("a piece of 12.9 mm2 falls out", "a piece of 0.02 sq in falls out"),
        ("at x 25.4, y -50.8mm; try", "at x 1, y -2in; try"),
        ("layer pocket-3_00mm-6_00mm: 2 shapes", "layer pocket-3_00mm-6_00mm: 2 shapes"),
        ("a/200x250mm/carve.svg is empty", "a/200x250mm/carve.svg is empty"),
        ("200x250mm: 254 x 25.4 mm are asked for", "200x250mm: 10 x 1 in are asked for"),
        ("it spans 0 to 254mm across", "it spans 0 to 10in across"),
        ("under 0.0001 mm", "under 0.000004 in"),
    ],
)
def test_what_is_told_in_inches(told, says):
    assert spoken(told, "in", names=["200x250mm"]) == says
    assert spoken(told, "mm", names=["200x250mm"]) == told


def test_an_advice_in_inches_can_be_followed(tmp_path, capsys):
    picture = disc(tmp_path / "disc.png")
    arguments = ["make", str(picture), "--size", "2x2.1in", "--only", "carve", "--out", str(tmp_path / "out")]
    assert main([*arguments, "--margin", "0.9in"]) == 2
    told = capsys.readouterr().err
    assert "0.9in leaves less than" in told
    assert "a plaque of 2x2.1in" in told
    assert not IN_MM.search(told)
    most = re.search(r"give ([\d.]+in) or less", told)[1]
    assert main([*arguments, "--margin", most]) == 0
    assert not IN_MM.search(capsys.readouterr().out.replace("--unit mm for", ""))


def test_settings_that_dont_go_together_are_told_in_inches(tmp_path, capsys):
    picture = disc(tmp_path / "disc.png")
    arguments = ["make", str(picture), "--size", "2x2in", "--thickness", "1/4in", "--depth", "1/4in"]
    assert main([*arguments, "--out", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "0.25 in goes through the board of 0.25 in" in told
    assert not IN_MM.search(told)


def test_the_caption_of_strokes_is_in_the_jobs_unit():
    report = WidthReport(1.0, (), (), ())
    mm, inches = (
        stroke_picture(Region.empty(), report, (0, 0, 150, 20), pixel_mm=0.2, unit=unit) for unit in ("mm", "in")
    )
    assert mm.shape == inches.shape
    assert (mm[:100] == inches[:100]).all()
    assert (mm[100:] != inches[100:]).any()


@pytest.mark.parametrize("name", TOLD_WITH_LENGTHS)
def test_the_check_tells_damage_in_inches(name, tmp_path):
    (damage,) = [damage for damage in DAMAGES if damage.name == name]
    damage.spoil(write_folder(tmp_path, unit="in"))
    verdict = check_folder(tmp_path)
    assert not verdict.holds
    told = verdict_text(verdict)
    assert not IN_MM.search(told), told
    assert re.search(r"^- .*\d in\b", told, re.MULTILINE)


def test_the_checks_figures_are_the_same_in_inches(tmp_path):
    write_folder(tmp_path, unit="in")
    verdict = check_folder(tmp_path)
    rows = dict(re.split(r"  +", line)[:2] for line in verdict_text(verdict).splitlines()[2:12])
    for promise in ("no gouge", "faithful", "stays dark"):
        measured = verdict.plaques[0].result(promise).measured
        assert float(rows[promise].removesuffix(" in")) * 25.4 == pytest.approx(measured, abs=0.0003)
    (faithful,) = [p for p in json.loads(verdict.as_json())["plaques"][0]["promises"] if p["promise"] == "faithful"]
    assert faithful["limit"] == 0.1  # for programs, which are told in mm whatever the unit
