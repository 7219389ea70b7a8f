"""A job in inches is told of lengths in inches: what can't be made, what was made, what checking found.

One inch is 25.4 mm exactly (NIST SP 811, appendix B).
"""

from __future__ import annotations

import json
import re

import pytest
from check_plaque import write_folder
from small_jobs import disc
from spoil import DAMAGES

from shadowrout.check.checking import check_folder
from shadowrout.cli import main
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.geometry.region import Region
from shadowrout.report.look.stroke_picture import stroke_picture

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
    told = verdict.as_text()
    assert not IN_MM.search(told), told
    assert re.search(r"^- .*\d in\b", told, re.MULTILINE)


def test_the_checks_figures_are_the_same_in_inches(tmp_path):
    write_folder(tmp_path, unit="in")
    verdict = check_folder(tmp_path)
    rows = dict(re.split(r"  +", line)[:2] for line in verdict.as_text().splitlines()[2:12])
    for promise in ("no gouge", "faithful", "stays dark"):
        measured = verdict.plaques[0].result(promise).measured
        if promise == "stays dark":  # the least depth left, then the share of the shadow left uncut
            measured = float(str(measured).partition(" mm left, ")[0])
        assert float(rows[promise].partition(" in")[0]) * 25.4 == pytest.approx(measured, abs=0.0003)
    (faithful,) = [p for p in json.loads(verdict.as_json())["plaques"][0]["promises"] if p["promise"] == "faithful"]
    assert faithful["limit"] == 0.1  # for programs, which are told in mm whatever the unit
