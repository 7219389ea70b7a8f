"""The job sheet in a real browser, Chromium, where it is installed: a phone's width, a screen's, and paper."""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from sheet_figures import AMOUNTS, PATTERN, REGISTER, STENCIL, TEMPLATE, job_figures, plaque

from shadowrout.files.png import png_bytes
from shadowrout.job.options import Cutter, Finish, Job, Output, Picture, Plaque, ToneOptions, VTool
from shadowrout.report.figures.fragile_figures import FragileFigures, RidgeFigures
from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.pocket_figures import PocketFigures
from shadowrout.report.figures.stroke_figures import (
    FlowLineFigures,
    SandingFigures,
    StrokeToGo,
    VLineFigures,
    WidthClass,
)
from shadowrout.report.figures.times import Task
from shadowrout.report.jobsheet.page import job_sheet

CHROMIUM = shutil.which("chromium")
LONG_NAME = "a-very-long-name-without-any-space-in-it-for-a-plaque-" + "x" * 6

pytestmark = pytest.mark.skipif(
    CHROMIUM is None, reason="Chromium isn't installed: apt-get install chromium fonts-dejavu"
)


def browser(*arguments: str, profile: Path) -> str:
    """Run the browser once, without a window, and return what it prints."""
    flags = (
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--hide-scrollbars",
        "--disable-background-networking", "--disable-component-update", "--disable-sync", f"--user-data-dir={profile}",
    )  # fmt: skip
    done = subprocess.run([str(CHROMIUM), *flags, *arguments], capture_output=True, text=True, timeout=120, check=True)
    return done.stdout


def long_figures(name: str) -> PlaqueFigures:
    """Return figures of a plaque with long words and long tables."""
    pocket = PocketFigures(1, 3.0, 3.175, passes=2, area_mm2=12_345.6, volume_mm3=37_036.8, cutter_path_mm=99.5)
    stroke = StrokeToGo((128.6, 76.2), length_mm=24.4, width_mm=0.77, gone_at_mm=1.163)
    sanding = SandingFigures((0.5, 0.625, 1.5), (1.0, 0.999, 0.6), 0.91, (), ())
    width_class = WidthClass(0.6, 0.8, 41, 128.3, depth_mm=(1.1, 1.2))
    ridge = RidgeFigures((128.6, 76.2), 0.512, 12.4, 1.234, across_grain=0.5, free_end=True, rank_by=12.34)
    task = Task("cut the V lines", 275.3, "1628 strokes of at most 25 mm, 1 mm deep, 6 a minute")
    return plaque(
        name,
        size_mm=(1111.125, 215.9),
        thickness_mm=19.05,
        shadows=156,
        pockets=tuple(replace(pocket, number=number) for number in range(1, 41)),
        rest_share=0.62,
        uncut_share=0.004,
        uncut_mm2=4.0,
        dark_left_share=0.95,
        v_lines=VLineFigures(41, 128.3, 1.2, (width_class,), (stroke,) * 10, sanding),
        flow_lines=FlowLineFigures(12, 345.6, greatest_below_floor_mm=0.5),
        fragile_light=FragileFigures("along-width", 230, 774.1, (ridge,) * 8),
        amounts=replace(
            AMOUNTS,
            wood="eastern white pine",
            blank_mm3=4_569_865.0,
            blank_kg=1.7914,
            painted_mm2=298_765.0,
            removed_mm3=34_567.0,
            paint_litres=0.0598,
        ),
        times=(task,) * 7,
        stencil=STENCIL,
        template=TEMPLATE,
        pattern=replace(PATTERN, paper="tabloid", sheets=12, rows=3, columns=4),
        register=REGISTER,
        files=("carve.svg", "carve.dxf", "preview.png", "preview-sanding.png", "design.wkb.gz"),
    )


@pytest.fixture(scope="module")
def page(tmp_path_factory) -> Path:
    """Write a sheet of two plaques in inches, the worst case for width."""
    names = (LONG_NAME, "for the sister")
    job = Job(
        Picture(Path(LONG_NAME + ".png")),
        ToneOptions(detail=0.8),
        tuple(Plaque(name, (1111.125, 215.9), thickness=19.05) for name in names),
        Finish(wood="eastern white pine"),
        cutters=(Cutter(3.175, depth=3.0, depth_per_pass=1.5875),),
        v_tool=VTool(),
        output=Output(unit="in", files=("carve", "pattern", "preview", "stencil", "template")),
    )
    picture = png_bytes(np.full((300, 1500, 3), 200, np.uint8))
    files = {name: {"preview.png": picture, "preview-sanding.png": picture} for name in names}
    figures = job_figures(*map(long_figures, names), picture=LONG_NAME + ".png")
    place = tmp_path_factory.mktemp("sheet") / "jobsheet.html"
    place.write_bytes(job_sheet(job, figures, files=files, settings="[picture]\n" * 60))
    return place


def width_taken(page: bytes, width_px: int, folder: Path) -> int:
    """Return the width in CSS pixels that the page takes in a frame of ``width_px``, as the browser laid it out."""
    measure = "document.title = document.querySelector('iframe').contentDocument.documentElement.scrollWidth"
    frame = folder / "frame.html"
    frame.write_text(
        f'<!DOCTYPE html><html lang="en"><title>none</title><iframe width={width_px} height=800 style="border:0" '
        f'onload="{measure}" srcdoc="{html.escape(page.decode())}"></iframe></html>',
        encoding="utf-8",
    )
    printed = browser("--dump-dom", "--window-size=1300,900", frame.as_uri(), profile=folder / "profile")
    found = re.search(r"<title>(\d+)</title>", printed)
    assert found, printed[:200]
    return int(found[1])


@pytest.mark.parametrize("width_px", [360, 1200])
def test_the_page_needs_no_sideways_scrolling(page, width_px, tmp_path):
    assert width_taken(page.read_bytes(), width_px, tmp_path) <= width_px


def test_the_measure_sees_a_page_that_is_too_wide(page, tmp_path):
    wide = page.read_bytes().replace(b"</h1>", b'</h1><p style="width: 500px">x</p>', 1)
    assert width_taken(wide, 360, tmp_path) > 360


def printed(page: Path, folder: Path) -> pypdfium2.PdfDocument:
    """Print a page to PDF as the browser does."""
    target = folder / "sheet.pdf"
    browser("--no-pdf-header-footer", f"--print-to-pdf={target}", page.as_uri(), profile=folder / "profile")
    return pypdfium2.PdfDocument(target)


@pytest.fixture(scope="module")
def paper(page, tmp_path_factory):
    with printed(page, tmp_path_factory.mktemp("paper")) as document:
        yield list(document)


@pytest.fixture(scope="module")
def spoiled_paper(page, tmp_path_factory):
    """Print the same sheet on a dark ground, without page breaks and without one of its headings."""
    folder = tmp_path_factory.mktemp("spoiled")
    spoiled = folder / "spoiled.html"
    style = b"body { background: #222; print-color-adjust: exact; } #order { display: none; }"
    style += b".plaque, .settings { break-before: auto !important; }</style>"
    spoiled.write_bytes(page.read_bytes().replace(b"</style>", style, 1))
    with printed(spoiled, folder) as document:
        yield list(document)


def letters(text: str) -> str:
    """Return text without spaces and hyphens: at a line's end the reader gives others, or none."""
    return re.sub(r"[\s\ufffe-]", "", text)


def words_on(sheet) -> str:
    """Return the letters on a printed page."""
    return letters(sheet.get_textpage().get_text_range())


def page_starts(sheets) -> list[bool]:
    """Return whether each plaque's heading, and the settings', stands first on a page."""
    starts = [words_on(sheet) for sheet in sheets]
    headings = (f"Plaque: {LONG_NAME}", "Plaque: for the sister", "Settings used")
    return [any(start.startswith(letters(heading)) for start in starts) for heading in headings]


def dark_share(sheet) -> float:
    """Return the share of a printed page that is darker than mid-grey."""
    return float((sheet.render(scale=1).to_numpy()[..., :3].mean(axis=2) < 128).mean())


def missing(sheets) -> list[str]:
    """Return the headings and the long name, as far as they stand on none of the pages."""
    told = "".join(map(words_on, sheets))
    wanted = ("Before you cut", "Order of work", "Estimated times", "Register marks", LONG_NAME)
    return [words for words in wanted if letters(words) not in told]


def test_on_paper_each_plaque_and_the_settings_begin_a_page(paper, spoiled_paper):
    assert page_starts(paper) == [True, True, True]
    assert not all(page_starts(spoiled_paper))


def test_on_paper_there_is_no_dark_ground(paper, spoiled_paper):
    """The pictures of this sheet are light, so that its ink is text and lines alone."""
    assert max(map(dark_share, paper)) < 0.12
    assert max(map(dark_share, spoiled_paper)) > 0.5


def test_on_paper_nothing_is_missing(paper, spoiled_paper):
    assert missing(paper) == []
    assert missing(spoiled_paper) == ["Order of work"]
