"""What can't be made is refused before the long work: as soon as the settings, the board or the design show it."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_jobs import disc

from shadowrout.errors import SettingError
from shadowrout.job.options import Cutter, Job, Output, Pattern, Picture, Plaque, Register, Stencil, Stock, ToneOptions
from shadowrout.make import pipeline, plaque


def job(folder: Path, *, files: tuple[str, ...] = ("carve",), **settings) -> Job:
    """Return a job for the smallest board, its design the disc of ``small_jobs`` within a margin of 8 mm."""
    settings = {"plaques": (Plaque("p", size=(40.0, 40.0)),), "output": Output(files=files)} | settings
    return Job(Picture(disc(folder / "disc.png")), **settings)


def too_late(*arguments, **keywords):
    pytest.fail("the work was done before the setting was refused")


@pytest.mark.parametrize(
    ("settings", "key"),
    [
        ({"register": Register(dowel=30.0)}, "register.dowel"),
        ({"register": Register(inset=1.0)}, "register.inset"),
        ({"register": Register(inset=60.0)}, "register.inset"),
        ({"files": ("pattern",), "pattern": Pattern(printer_margin=40.0)}, "pattern.printer_margin"),
        ({"files": ("stencil",), "stencil": Stencil(sheet=(42.0, 42.0))}, "stencil.sheet"),
        ({"files": ("stencil",), "stock": Stock(stencil=(61.0, 61.0))}, "stock.stencil"),
        ({"files": ("template",), "stock": Stock(template=(49.0, 49.0))}, "stock.template"),
        ({"cutters": (Cutter(3.0), Cutter(3.05))}, "cutter.diameter"),
    ],
)
def test_what_the_board_rules_out_is_refused_before_the_picture_is_read(tmp_path, monkeypatch, settings, key):
    monkeypatch.setattr(pipeline, "read_pictures", too_late)
    with pytest.raises(SettingError) as refused:
        pipeline.make(job(tmp_path, **settings), tmp_path / "out")
    assert refused.value.key == key


def test_marks_on_the_design_are_refused_before_lines_and_arcs(tmp_path, monkeypatch):
    """The disc is 16 mm wide on the board of 40 mm: marks 13 mm from its edge fall on it."""
    monkeypatch.setattr(plaque, "carve_plaque", too_late)
    with pytest.raises(SettingError) as refused:
        pipeline.make(job(tmp_path, register=Register(dowel=2.0, inset=13.0)), tmp_path / "out")
    assert refused.value.key == "register.inset"


def test_a_web_too_wide_for_the_design_is_refused_before_the_plaque_is_planned(tmp_path, monkeypatch):
    """The disc is 16 mm wide, the field of the board of 40 mm 24 mm: a web of 11 mm is for a coarser design.

    Of clip art, in two tones anyway, the disc would be kept.
    """
    photo = ToneOptions(method="keep-lines")
    monkeypatch.setattr(plaque, "design_plaque", too_late)
    with pytest.raises(SettingError) as refused:
        asked = job(tmp_path, files=("stencil",), tone=photo, stencil=Stencil(web=11.9, margin=11.9))
        pipeline.make(asked, tmp_path / "out")
    assert refused.value.key == "stencil.web"


@pytest.mark.parametrize("web", [3.0, 8.0])
@pytest.mark.parametrize("shape", ["rectangle", "oval"])
def test_a_sheet_that_fits_leaves_a_web_beside_its_holes(tmp_path, web, shape):
    board = Plaque("p", size=(80.0, 80.0), shape=shape)
    asked = job(tmp_path, files=("stencil",), plaques=(board,), stencil=Stencil(web=web))
    made = pipeline.make(asked, tmp_path / "out")
    (plaque,) = made.figures["plaques"]
    x0, y0, x1, y1 = plaque["stencil"]["sheet_mm"]
    assert (x1 - x0 == 92) == (web == 3)
    for mark in plaque["register"]["marks"]:
        edge = min(mark["x_mm"] - x0, x1 - mark["x_mm"], mark["y_mm"] - y0, y1 - mark["y_mm"])
        assert edge - plaque["register"]["dowel_mm"] / 2 >= web


def test_what_can_be_made_is_not_refused(tmp_path):
    assert pipeline.make(job(tmp_path, register=Register(dowel=2.0, inset=4.0)), tmp_path / "out").verdict.holds
