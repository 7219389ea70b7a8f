"""What make says of settings that can't do anything on this picture, and in which unit it names and writes."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from check_pictures import random_mask
from PIL import Image
from small_jobs import disc

from shadowrout.cli import main
from shadowrout.job.options import Job


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    """Two thirds of the picture's width: 24 mm across on 40 mm with a margin of 2 mm, less half a pixel's rounding."""
    return disc(tmp_path_factory.mktemp("in") / "disc.png")


def make(picture, out, *arguments):
    fixed = ["--margin", "2mm", "--only", "carve", "--out", str(out)]
    return main(["make", str(picture), *fixed, *map(str, arguments)])


def test_a_cutter_that_no_shadow_takes_is_told_with_what_would_help(picture, tmp_path, capsys):
    assert make(picture, tmp_path, "--size", "40x40mm", "--cutter", "40mm", "--cutter", "3mm") == 0
    (line,) = [line for line in capsys.readouterr().out.splitlines() if "has no pocket" in line]
    assert "40x40mm: the 40.00 mm cutter has no pocket: it needs a shadow 40.40 mm wide" in line
    assert "the widest is 23." in line
    assert "a smaller cutter, a larger plaque" in line
    (idle,) = json.loads((tmp_path / "numbers.json").read_text())["plaques"][0]["idle_cutters"]
    assert idle["widest_shadow_mm"] == pytest.approx(24, abs=0.7)


def test_a_cutter_whose_pockets_are_too_small_to_be_worth_it_is_told_so(picture, tmp_path, capsys):
    assert make(picture, tmp_path, "--size", "40x40mm", "--cutter", "3mm", "--least-pocket", "5000") == 0
    assert "smaller than its least pocket of 5000 mm2" in capsys.readouterr().out


def test_nothing_is_told_of_cutters_that_work(picture, tmp_path, capsys):
    assert make(picture, tmp_path, "--size", "40x40mm") == 0
    assert "has no pocket" not in capsys.readouterr().out


def test_a_plaque_that_loses_dark_is_told_so_under_the_table_and_on_its_sheet(picture, tmp_path, capsys):
    fine = tmp_path / "fine.png"
    Image.fromarray(random_mask(4)).save(fine)
    told, sheets = {}, {}
    for path, size in ((picture, "40x40mm"), (fine, "60x60mm")):
        out = tmp_path / size
        assert make(path, out, "--size", size) == 0
        (plaque,) = json.loads((out / "numbers.json").read_text())["plaques"]
        told[size] = plaque["dark_left_share"], capsys.readouterr().out
        sheets[size] = (out / "jobsheet.html").read_text(encoding="utf-8")
    share, words = told["40x40mm"]
    assert share > 0.99
    assert f"{share:.1%}" in next(line for line in words.splitlines() if line.startswith("40x40mm "))
    assert "of its shadow stays dark" not in words
    assert "stays dark after the planned sanding" not in sheets["40x40mm"]
    share, words = told["60x60mm"]
    assert share < 0.97
    assert f"60x60mm: {share:.1%} of its shadow stays dark after the planned sanding" in words
    number = f"{share:.1%}".rstrip("%")
    assert re.search(rf"{number}\s%\sof it stays dark after the planned sanding", sheets["60x60mm"])


def test_a_size_in_inches_is_enough_for_names_and_files_in_inches(picture, tmp_path, capsys):
    assert make(picture, tmp_path, "--size", '1 3/4 x 2"') == 0
    assert "files in inches" in capsys.readouterr().out
    assert 'width="1.75in"' in (tmp_path / "1.75x2in" / "carve.svg").read_text()
    text = (tmp_path / "job.toml").read_text()
    assert 'unit = "in"' in text
    assert 'size = "1.75x2in"' in text
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    assert main(["make", str(tmp_path / "job.toml"), "--out", str(tmp_path)]) == 0
    assert before == {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}


def test_a_job_file_that_start_wrote_follows_a_size_changed_by_hand(picture, tmp_path):
    job = tmp_path / "disc.toml"
    assert main(["start", str(picture), "--out", str(job)]) == 0
    text = (
        job.read_text().replace('size = "200x200mm"', 'size = "2x2in"').replace('margin = "8mm"', 'margin = "1/8in"', 1)
    )
    job.write_text(text)
    assert main(["make", str(job), "--only", "carve", "--out", str(tmp_path / "out")]) == 0
    made = Job.from_file(tmp_path / "out" / "job.toml")
    assert (made.plaques[0].name, made.output.unit, made.register.dowel) == ("2x2in", "in", 0.0)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--cutter", "3/4"), "--cutter: '3/4' can't be used (a fraction needs its unit: write 3/4in"),
        (("--margin", "8 1/2"), "--margin: '8 1/2' can't be used (a fraction needs its unit: write 8 1/2in"),
        (
            ("--cutter", "0.25"),
            "--cutter: '0.25' can't be used (too small, read as millimetres: for inches write 0.25in)",
        ),
        (("--only", "template", "--cutter", "30mm"), "--cutter: 30mm makes no pocket on 40x40mm"),
        (
            ("--only", "template", "--bit", "26mm", "--bush", "30mm"),
            "--bit: 26mm goes into no pocket, whatever the bush",
        ),
        (("--only", "stencil", "--keep-out=-5,-5,50,50"), "--keep-out: its boxes cover the whole design"),
        (("--only", "stencil", "--keep-out=0,0,20,40;20,0,40,40"), "--keep-out: its boxes cover the whole design"),
        (
            ("--only", "stencil", "--least-opening", "30mm"),
            "--least-opening: 30mm: no opening is left, since the design's",
        ),
    ],
)
def test_settings_that_can_not_work_are_refused_under_their_flag(picture, tmp_path, capsys, arguments, says):
    out = tmp_path / "out"
    assert main(["make", str(picture), "--size", "40x40mm", "--margin", "2mm", "--out", str(out), *arguments]) == 2
    assert capsys.readouterr().err.startswith(f"shadowrout: {says}")
    assert not out.exists()


def test_a_path_whose_backslashes_were_read_as_marks_is_told_how_to_be_written(tmp_path, capsys):
    (tmp_path / "rex.toml").write_text('[picture]\nfile = "C:\\new\\top.png"\n')
    assert main(["make", str(tmp_path / "rex.toml"), "--out", str(tmp_path / "out")]) == 3
    assert "write the path in rex.toml in single quotes" in capsys.readouterr().err


def test_a_batch_says_where_it_looked_for_a_missing_picture(tmp_path, capsys):
    (tmp_path / "zoe.toml").write_text('[picture]\nfile = "zoe.jpg"\n')
    (tmp_path / "zoé.jpg").write_bytes(b"")
    assert main(["batch", str(tmp_path / "zoe.toml"), "--out", str(tmp_path / "out")]) == 3
    assert "zoe.jpg: no such file; did you mean zoé.jpg?; zoe.toml looks for it at" in capsys.readouterr().out


@pytest.mark.parametrize(("method", "gone"), [("two-tone", [7.07]), ("single-level", [7.07, 12.57])])
def test_light_too_small_for_a_stencil_is_counted(tmp_path, capsys, method, gone):
    """A disc with holes of 3, 4 and 14 mm: circles of 7.07, 12.57 and 153.9 mm2.

    In letters and clip art an island stays that is as large as a square of the web, 9 mm2; in a photo one of two
    squares of the finest line for that web, 4 mm: 32 mm2.
    """
    y, x = np.mgrid[:800, :800] / 10.0 + 0.05
    dark = np.hypot(x - 40, y - 40) < 30
    for left, wide in ((22.0, 3.0), (30.0, 4.0), (50.0, 14.0)):
        dark &= np.hypot(x - left, y - 40) > wide / 2
    Image.fromarray(np.where(dark, 0, 255).astype(np.uint8)).save(tmp_path / "rings.png")
    source = str(tmp_path / "rings.png")
    asked = ["--size", "80x80mm", "--margin", "0mm", "--dowel", "0", "--only", "stencil", "--method", method]
    assert main(["make", source, *asked, "--out", str(tmp_path / "out")]) == 0
    (line,) = [line for line in capsys.readouterr().out.splitlines() if "the stencil has" in line]
    assert line.endswith("too small for it and cut out with the dark")
    (plaque,) = json.loads((tmp_path / "out" / "numbers.json").read_text())["plaques"]
    islands = plaque["stencil"]["carved_islands_open"]
    assert islands["count"] == len(gone)
    assert islands["largest_mm2"] == pytest.approx(gone[-1], rel=0.05)


def test_a_letters_counter_is_held_where_it_is_as_wide_as_a_web(tmp_path):
    """A ring as of an o, 10 mm wide, with a counter of 5 mm, 19.6 mm2: its island is bridged and not cut out.

    A dot of 2 mm beside it is smaller than a square of the web, and counted as closed.
    """
    y, x = np.mgrid[:400, :400] / 5.0 + 0.1
    away = np.hypot(x - 40, y - 40)
    dot = (abs(x - 60) < 1) & (abs(y - 40) < 1)
    Image.fromarray(np.where((away < 5) & (away > 2.5) | dot, 0, 255).astype(np.uint8)).save(tmp_path / "o.png")
    asked = ["--size", "80x80mm", "--margin", "0mm", "--dowel", "0", "--only", "stencil"]
    assert main(["make", str(tmp_path / "o.png"), *asked, "--out", str(tmp_path / "out")]) == 0
    (plaque,) = json.loads((tmp_path / "out" / "numbers.json").read_text())["plaques"]
    assert plaque["stencil"]["carved_islands_open"]["count"] == 0
    assert plaque["stencil"]["carved_shadows_closed"]["count"] == 1
    assert plaque["stencil"]["carved_shadows_closed"]["largest_mm2"] == pytest.approx(4, rel=0.1)
    assert plaque["stencil"]["bridges"] >= 1
