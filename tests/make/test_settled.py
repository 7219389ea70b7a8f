"""What the program chooses where the job says nothing."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from shadowrout.carving.settled_tools import LEAST_VISIBLE_MM, finest_line_mm, settled_tools
from shadowrout.errors import SettingError
from shadowrout.job.options import Cutter, Finish, Job, Output, Pattern, Picture, Plaque, ToneOptions, VTool
from shadowrout.job.settled_boards import settled_boards
from shadowrout.words.units import size_mm


def job(**settings) -> Job:
    return Job(Picture(Path("cat.jpg")), **settings)


@pytest.mark.parametrize("aspect", [0.4, 0.75, 1.0, 1.5, 3.0])
def test_a_board_in_the_pictures_proportions(aspect):
    (plaque,) = settled_boards(job(), aspect=aspect).plaques
    width, height = plaque.size
    assert max(width, height) == 200
    assert (width - 16) / (height - 16) == pytest.approx(aspect, rel=0.02)
    assert plaque.name == f"{width:g}x{height:g}mm"


def test_a_plaque_is_named_by_its_size_as_it_was_written():
    sizes = ("10x5in", '8 1/2 x 11"', "254x127mm", "203.2x254mm", "20x25cm")
    settled = settled_boards(job(plaques=tuple(Plaque(size=size_mm(size)) for size in sizes)), aspect=1)
    names = ["10x5in", "8.5x11in", "254x127mm", "203.2x254mm", "200x250mm"]
    assert [plaque.name for plaque in settled.plaques] == names


@pytest.mark.parametrize(
    ("sizes", "asked", "unit"),
    [
        (("10x5in", "200x250mm"), None, "in"),
        (("200x250mm", "10x5in"), None, "mm"),
        (("10x5in",), "mm", "mm"),
        (("200x250mm",), "in", "in"),
        ((None,), None, "mm"),
    ],
)
def test_the_first_size_written_in_inches_asks_for_files_in_inches(sizes, asked, unit):
    plaques = tuple(Plaque(size=size and size_mm(size)) for size in sizes)
    assert settled_boards(job(plaques=plaques, output=Output(unit=asked)), aspect=1).output.unit == unit


@pytest.mark.parametrize(
    ("size", "unit", "asked", "paper"),
    [
        ("10x5in", None, None, "letter"),
        ("200x250mm", None, None, "A4"),
        ("200x250mm", "in", None, "letter"),
        ("10x5in", "mm", None, "A4"),
        ("10x5in", None, "A4", "A4"),
    ],
)
def test_a_shop_that_works_in_inches_prints_on_letter(size, unit, asked, paper):
    plaques, output = (Plaque(size=size_mm(size)),), Output(unit=unit)
    settled = settled_boards(job(plaques=plaques, output=output, pattern=Pattern(paper=asked)), aspect=1)
    assert settled.pattern.paper == paper


@pytest.mark.parametrize(
    ("unit", "margin", "dowel"),
    [("mm", 12.0, 6.0), ("mm", 8.0, 4.0), ("mm", 5.9, 0.0), ("in", 12.0, 6.35), ("in", 9.0, 4.7625), ("in", 8.0, 3.175),
     ("in", 7.1, 0.0)],
)  # fmt: skip
def test_dowels_come_in_sizes_of_the_shops_unit(unit, margin, dowel):
    """1/4, 3/16 and 1/8 in are 6.35, 4.7625 and 3.175 mm (an inch is 25.4 mm, NIST SP 811)."""
    settled = settled_boards(job(plaques=(Plaque(margin=margin),), output=Output(unit=unit)), aspect=1)
    assert settled.register.dowel == pytest.approx(dowel)
    assert settled_boards(settled, aspect=1).register == settled.register


def test_two_folders_of_one_name_are_refused_even_where_only_the_case_differs():
    with pytest.raises(SettingError, match="two plaques are called"):
        settled_boards(job(plaques=(Plaque("Hall"), Plaque("hall"))), aspect=1)


@pytest.mark.parametrize(("angle", "loss"), [(60.0, 0.5), (90.0, 0.3), (30.0, 0.0)])
def test_the_finest_line_still_shows_when_sanded_half_as_much_again(angle, loss):
    """A V groove loses 2 tan(A/2) of width a millimetre sanded (plane geometry)."""
    finest = finest_line_mm(VTool(angle), Finish(loss))
    left = finest - 2 * math.tan(math.radians(angle) / 2) * loss / 2
    assert LEAST_VISIBLE_MM <= left < LEAST_VISIBLE_MM + 0.05 + 1e-9


def test_tools_are_settled_for_the_thinnest_board():
    settled = settled_tools(job(plaques=(Plaque(thickness=30.0), Plaque(thickness=6.0)), cutters=(Cutter(6.0),)))
    (cutter,) = settled.cutters
    assert cutter.depth <= 4
    assert cutter.depth_per_pass == 3
    assert cutter.least_pocket == pytest.approx(3 * math.pi * 9, abs=0.01)
    assert settled.tone.detail == finest_line_mm(VTool(), Finish())


@pytest.mark.parametrize("smaller", [6.0, 5.95])
def test_two_cutters_of_one_size_are_refused(smaller):
    with pytest.raises(SettingError, match="one size") as error:
        settled_tools(job(cutters=(Cutter(6.0), Cutter(3.0), Cutter(smaller))))
    assert error.value.key == "cutter.diameter"


def test_cutters_a_step_apart_are_two_sizes():
    """Subtracted in floating point 4.6 and 4.5 are a hair less than 0.1 apart."""
    assert len(settled_tools(job(cutters=(Cutter(4.6), Cutter(4.5)))).cutters) == 2


def test_what_is_set_stays():
    given = job(tone=ToneOptions(detail=1.5), cutters=(Cutter(6.0, depth=4.0, depth_per_pass=1.0, least_pocket=50.0),))
    settled = settled_tools(given)
    assert settled.tone == given.tone
    assert settled.cutters == given.cutters


def test_the_unit_is_told_once_it_is_settled():
    assert settled_boards(job(plaques=(Plaque(size=(100.0, 80.0)),)), aspect=1).output.settled_unit == "mm"
    with pytest.raises(ValueError, match="unit"):
        _ = Output().settled_unit
