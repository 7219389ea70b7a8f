"""Random masks and settings through the whole job: every promise holds on the files, or one line says why not.

SHADOWROUT_EXAMPLES=500 tries so many at random; without it a few fixed ones are tried.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy.ndimage import gaussian_filter

from shadowrout.design import plaque_design
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.drawing.paper.pattern import _v_line_layers
from shadowrout.drawing.paper.stroke_runs import Run
from shadowrout.errors import ShadowroutError
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job import job_file
from shadowrout.make import pipeline
from shadowrout.words.units import Unit

EXAMPLES = int(os.environ.get("SHADOWROUT_EXAMPLES", "0"))


@st.composite
def masks(draw) -> np.ndarray:
    """Black and white pictures: noise of any grain, or a few rectangles, discs and lines over one another."""
    height, width = draw(st.integers(20, 120)), draw(st.integers(20, 120))
    if draw(st.booleans()):
        rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
        field = gaussian_filter(rng.standard_normal((height, width)), draw(st.sampled_from([0, 0.7, 1.5, 3, 8])))
        dark = field < np.quantile(field, draw(st.floats(0.03, 0.95)))
    else:
        dark = np.zeros((height, width), dtype=bool)
        y, x = np.mgrid[:height, :width]
        for _ in range(draw(st.integers(1, 6))):
            cx, cy, r = draw(st.integers(-5, 125)), draw(st.integers(-5, 125)), draw(st.integers(0, 60))
            shape = draw(st.sampled_from(["disc", "box", "across", "up", "slanting"]))
            dark ^= {
                "disc": np.hypot(x - cx, y - cy) <= r,
                "box": (abs(x - cx) <= r) & (abs(y - cy) <= r // 2),
                "across": abs(y - cy) <= r // 15,
                "up": abs(x - cx) <= r // 15,
                "slanting": abs(x - y + cx - cy) <= r // 15,
            }[shape]
    return np.where(dark, 0, 255).astype(np.uint8)


def lengths(least: float, greatest: float) -> st.SearchStrategy[float]:
    return st.floats(least, greatest).map(lambda value: round(value, 2))


@st.composite
def job_texts(draw) -> str:
    """Job files with a few settings of each section, each within what the setting allows."""
    files = {"carve"} | draw(st.sampled_from([set(), {"preview"}, {"stencil"}, {"template"}, {"pattern"}]))
    plaque = {
        "name": "p",
        "size": f"{draw(lengths(40, 120))}x{draw(lengths(40, 120))}mm",
        "shape": draw(st.sampled_from(["rectangle", "rounded", "oval", "arch"])),
        "margin": draw(lengths(0, 15)),
        "thickness": draw(lengths(6, 30)),
        "fit": draw(st.sampled_from(["inside", "fill"])),
    }
    sections = {
        "[picture]": {"file": "mask.png"},
        "[tone]": {
            "method": draw(st.sampled_from(["two-tone", "keep-lines", "single-level", "uneven-light"])),
            "detail": draw(lengths(0.3, 4)),
        },
        "[[plaque]]": plaque,
        "[finish]": {"sanding_loss": draw(lengths(0, 0.8)), "least_depth_left": draw(lengths(0.2, 3))},
        "[[cutter]]": {"diameter": draw(lengths(0.5, 12)), "finishing_allowance": draw(lengths(0, 1))},
        "[v_tool]": {
            "angle": draw(st.integers(40, 120)),
            "greatest_depth": draw(lengths(1.5, 6)),
            "flow": draw(st.sampled_from([False, False, True])),
        },
        "[stencil]": {"web": draw(lengths(0.5, 6)), "kerf": draw(lengths(0, 1))},
        "[template]": {"bush": draw(lengths(6, 16)), "bit": draw(lengths(1, 6))},
        "[output]": {
            "files": sorted(files),
            "unit": draw(st.sampled_from(["mm", "in"])),
            "dxf": draw(st.sampled_from(["R2010", "R2000", "R12"])),
            "origin": draw(st.sampled_from(["corner", "centre"])),
            "tolerance": draw(lengths(0.01, 0.5)),
            "smooth": draw(st.sampled_from([False, False, True])),
        },
    }
    lines = [[head, *(f"{key} = {toml(value)}" for key, value in keys.items())] for head, keys in sections.items()]
    return "\n".join(line for section in lines for line in section)


def toml(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else repr(value).replace("'", '"')


def problem(mask: np.ndarray, text: str) -> str:
    """Return what is wrong with the files of a job, or with the line that tells why there are none."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        Image.fromarray(mask).save(place / "mask.png")
        (place / "order.toml").write_text(text)
        try:
            made = pipeline.make(job_file.read(place / "order.toml"), place / "out")
        except ShadowroutError as error:
            known = error.exit_code in (2, 3, 4) and "\n" not in str(error) and not (place / "out").exists()
            return "" if known else f"{error!r}"
        return "; ".join(f"{promise}: {finding.what}" for _, promise, finding in made.verdict.findings)


@settings(
    max_examples=EXAMPLES or 4,
    derandomize=not EXAMPLES,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)
@given(mask=masks(), text=job_texts())
def test_every_promise_holds_or_one_line_says_why_not(mask, text):
    assert problem(mask, text) == ""


class TestFoundAtRandom:
    def test_an_outline_off_by_the_tolerance_at_the_edge_of_the_board(self):
        mask = np.zeros((60, 80), np.uint8)
        mask[28:32, 30:50] = 255
        text = '[picture]\nfile = "mask.png"\n[tone]\nmethod = "two-tone"\ndetail = 1.9\n'
        text += '[[plaque]]\nsize = "99x81mm"\nshape = "oval"\nmargin = 0\nfit = "fill"\n[register]\ndowel = 0\n'
        assert problem(mask, text + '[output]\nfiles = ["carve"]\ntolerance = 0.44\n') == ""

    def test_a_line_widened_past_the_edge_of_the_board(self):
        mask = np.full((40, 60), 255, np.uint8)
        mask[:1] = mask[10:30, 20:40] = 0
        text = '[picture]\nfile = "mask.png"\n[tone]\nmethod = "two-tone"\ndetail = 3\n'
        text += '[[plaque]]\nsize = "60x40mm"\nmargin = 0\n[register]\ndowel = 0\n[output]\nfiles = ["carve"]\n'
        assert problem(mask, text) == ""

    def test_a_pocket_without_allowance_at_the_tightest_tolerance(self):
        y, x = np.mgrid[:100, :100]
        mask = np.where(np.hypot(x - 50, y - 45) + 3 * np.sin(x / 6) < 35, 0, 255).astype(np.uint8)
        text = '[picture]\nfile = "mask.png"\n[tone]\nmethod = "two-tone"\ndetail = 3.3\n[[plaque]]\n'
        text += 'size = "60x60mm"\n[[cutter]]\ndiameter = 6.7\nfinishing_allowance = 0\n'
        assert problem(mask, text + '[output]\nfiles = ["carve"]\ntolerance = 0.01\n') == ""

    def test_a_sliver_left_over_from_widening_lines(self, monkeypatch, tmp_path):
        """One of 1e-8 mm2, as a photo of 209 x 126 mm and a checkerboard had, would be too small to write."""
        sliver = Region.of_polygons([(np.array([(30, 20), (30.0004, 20.0004), (30.0004, 20.00042)]), [])])

        def with_sliver(shadow, **settings):
            grown, report = right_for_size(shadow, **settings)
            return grown.union(sliver), report

        monkeypatch.setattr(plaque_design, "right_for_size", with_sliver)
        mask = np.full((40, 60), 255, np.uint8)
        mask[5:15, 5:55] = 0
        Image.fromarray(mask).save(tmp_path / "mask.png")
        text = '[picture]\nfile = "mask.png"\n[tone]\nmethod = "two-tone"\n[[plaque]]\nsize = "60x40mm"\n'
        (tmp_path / "order.toml").write_text(text + '[output]\nfiles = ["carve"]\n')
        assert pipeline.make(job_file.read(tmp_path / "order.toml"), tmp_path / "out").verdict.findings == ()

    def test_depth_classes_of_the_pattern_that_a_name_cannot_tell_apart(self):
        path = ArcPath.circle((5.0, 5.0), 2.0)
        runs = [Run(path, depth, depth, 1.0) for depth in (5.003, 4.5, 5.0)]
        shallow, deep = _v_line_layers(runs, Unit.MM)
        assert (shallow.marks.depth_mm, deep.marks.depth_mm) == (4.5, 5.003)
        assert [shape.marks.depth_mm for shape in deep.shapes] == [5.0, 5.003]

    def test_a_pocket_further_past_the_edge_of_the_board_than_its_shadow(self):
        mask, rng = np.zeros((110, 111), np.uint8), np.random.default_rng(0)
        for _ in range(6):
            y, x = rng.integers(0, 100, 2)
            mask[y : y + 10, x : x + 10] = 255
        text = '[picture]\nfile = "mask.png"\n[tone]\nmethod = "two-tone"\ndetail = 1.5\n'
        text += '[[plaque]]\nsize = "69x53mm"\nshape = "oval"\nmargin = 0\nfit = "fill"\n[register]\ndowel = 0\n'
        text += "[[cutter]]\ndiameter = 2\nfinishing_allowance = 0\n"
        assert problem(mask, text + '[output]\nfiles = ["carve"]\ntolerance = 0.47\n') == ""
