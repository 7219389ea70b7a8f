"""The command line as its user meets it: results, messages, exit codes, and nothing half-written."""

from __future__ import annotations

import json
import os
import pty
import re
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data

from shadowrout.cli import main
from shadowrout.job import job_file

SMALL = ["--size", "100x80mm"]


@pytest.fixture(scope="module")
def photo(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("in") / "cup.jpg"
    Image.fromarray(data.coffee()).save(path, quality=90)
    return path


@pytest.fixture(scope="module")
def made(photo, tmp_path_factory) -> Path:
    out = tmp_path_factory.mktemp("out")
    assert main(["make", str(photo), *SMALL, "--size", "6x5in", "--out", str(out)]) == 0
    return out


def run(*arguments: str, **settings) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "shadowrout", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, **settings)


class TestMake:
    def test_writes_a_folder_a_plaque_and_the_jobs_files(self, made):
        found = sorted(str(path.relative_to(made)) for path in made.rglob("*") if path.is_file())
        files = ["carve.dxf", "carve.svg", "design.wkb.gz", "pattern.pdf", "preview-sanding.png", "preview.png"]
        plaques = [f"{name}/{file}" for name in ("100x80mm", "6x5in") for file in files]
        assert found == [*plaques, "job.toml", "jobsheet.html", "numbers.json"]

    def test_numbers_say_what_was_made(self, made):
        figures = json.loads((made / "numbers.json").read_text(encoding="utf-8"))
        assert figures["method"] == "keep-lines"
        first, second = figures["plaques"]
        assert (first["name"], first["size_mm"]) == ("100x80mm", [100, 80])
        assert (second["name"], second["size_mm"]) == ("6x5in", [152.4, 127])
        x0, y0, x1, y1 = first["picture_box_mm"]
        assert (x0 + x1, y0 + y1) == pytest.approx((100, 80))
        assert (x1 - x0) / (y1 - y0) == pytest.approx(600 / 400, rel=1e-4)
        assert first["shadows"] > 5
        assert 0.05 < first["dark_share"] < 0.6
        assert first["outlines"]["largest_deviation_mm"] <= figures["tolerance_mm"]

    def test_the_job_as_used_makes_the_same_files_again(self, made, tmp_path):
        assert main(["make", str(made / "job.toml"), "--out", str(tmp_path / "again")]) == 0
        for path in made.rglob("*"):
            if path.is_file() and path.name != "job.toml":  # which names the picture from its own folder
                assert (tmp_path / "again" / path.relative_to(made)).read_bytes() == path.read_bytes()
        first, second = job_file.read(made / "job.toml"), job_file.read(tmp_path / "again" / "job.toml")
        assert first.picture.file.resolve() == second.picture.file.resolve()
        assert first.plaques == second.plaques

    def test_every_setting_stands_in_the_job_as_used(self, made):
        job = job_file.read(made / "job.toml")
        assert job.tone.method
        assert job.tone.dark
        assert job.tone.detail
        assert all(cutter.depth and cutter.depth_per_pass and cutter.least_pocket for cutter in job.cutters)

    def test_quiet_in_a_pipe_and_a_table_at_the_end(self, photo, tmp_path):
        done = run("make", photo, *SMALL, "--out", tmp_path)
        assert done.returncode == 0
        assert done.stderr == ""
        assert re.search(r"plaque +size +shadows +pockets", done.stdout)
        assert re.search(r"100x80mm +100 x 80 mm +\d+ +\d+", done.stdout)

    def test_json_for_programs(self, photo, tmp_path):
        done = run("make", photo, *SMALL, "--out", tmp_path, "--json")
        assert json.loads(done.stdout) == json.loads((tmp_path / "numbers.json").read_text(encoding="utf-8"))

    def test_progress_on_a_terminal(self, photo, tmp_path):
        screen, terminal = pty.openpty()
        command = [sys.executable, "-m", "shadowrout", "make", str(photo), *SMALL, "--out", str(tmp_path)]
        done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=terminal, check=False)
        os.close(terminal)
        shown = os.read(screen, 65536).decode()
        assert done.returncode == 0
        assert "0%  reading the picture" in shown
        assert "100x80mm: outlines" in shown

    @pytest.mark.parametrize("method", ["single-level", "uneven-light", "two-tone"])
    def test_other_methods(self, photo, tmp_path, method):
        assert main(["make", str(photo), *SMALL, "--only", "carve", "--out", str(tmp_path), "--method", method]) == 0

    def test_inches(self, photo, tmp_path):
        out = ["--out", str(tmp_path), "--unit", "in", "--dxf", "R12"]
        assert main(["make", str(photo), "--size", '4 1/2 x 4"', *out]) == 0
        svg = (tmp_path / "4.5x4in" / "carve.svg").read_text(encoding="utf-8")
        assert 'width="4.5in"' in svg

    def test_without_a_size_the_board_takes_the_pictures_proportions(self, photo, tmp_path):
        assert main(["make", str(photo), "--out", str(tmp_path), "--only", "carve"]) == 0
        assert (tmp_path / "200x139mm" / "carve.svg").exists()  # 184 / 1.5 + 16

    def test_what_was_assumed_of_the_picture_is_said(self, tmp_path, capsys):
        y, x = np.mgrid[:200, :300]
        disc = Image.fromarray(np.where(np.hypot(x - 150, y - 100) < 70, 0, 255).astype(np.uint8))
        disc.save(tmp_path / "disc.png", icc_profile=b"no profile at all")
        assert (
            main(["make", str(tmp_path / "disc.png"), *SMALL, "--only", "carve", "--out", str(tmp_path / "out")]) == 0
        )
        (note,) = json.loads((tmp_path / "out" / "numbers.json").read_text(encoding="utf-8"))["notes"]
        assert "colour profile" in note
        assert f"Note: {note}\n" in capsys.readouterr().out

    def test_a_picture_with_an_odd_name(self, photo, tmp_path):
        odd = tmp_path / "größe <1> & \u201cRex\u201d\n\x01.jpg"
        odd.write_bytes(photo.read_bytes())
        assert main(["make", str(odd), *SMALL, "--out", str(tmp_path / "out")]) == 0
        assert main(["make", str(tmp_path / "out" / "job.toml"), "--out", str(tmp_path / "again")]) == 0


def png_header(width: int, height: int) -> bytes:
    """Return a PNG that declares a size and holds no more than an empty data chunk (PNG specification, 3rd ed.)."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def grey_png(path: Path, shape: tuple[int, int], level: int) -> None:
    Image.fromarray(np.full(shape, level, np.uint8)).save(path)


class TestWhatGoesWrong:
    """Each gives one line on standard error, its exit code, and leaves no file."""

    def fails(self, capsys, out: Path, code: int, *arguments: str, says: str) -> None:
        existed = out.exists()
        before = sorted(out.rglob("*")) if out.is_dir() else []
        assert main([*map(str, arguments), "--out", str(out)]) == code
        shown = capsys.readouterr()
        assert shown.out == ""
        assert shown.err.count("\n") == 1
        assert re.search(says, shown.err), shown.err
        assert [path for path in out.rglob("*") if path.is_file()] == [path for path in before if path.is_file()]
        assert out.exists() == existed

    @pytest.mark.parametrize(
        ("name", "content", "says"),
        [
            ("none.jpg", None, "no such file"),
            ("empty.jpg", b"", "empty"),
            ("text.jpg", b"Dear Sir, here is my dog.", "not a picture|no picture"),
            ("bomb.png", png_header(60_000, 60_000), "pixels"),
            ("half.jpg", "half", "cut short|truncated|incomplete|damaged"),
            ("dot.png", (1, 1, 0), "small"),
            ("white.png", (60, 80, 255), "."),
            ("black.png", (60, 80, 0), "."),
        ],
    )
    def test_pictures(self, capsys, tmp_path, photo, name, content, says):
        path = tmp_path / name
        if content == "half":
            content = photo.read_bytes()[:20_000]
        if isinstance(content, tuple):
            grey_png(path, content[:2], content[2])
        elif content is not None:
            path.write_bytes(content)
        self.fails(capsys, tmp_path / "out", 3, "make", path, *SMALL, says=f"{re.escape(name)}.*({says})|the picture: ")

    @pytest.mark.parametrize(
        ("files", "says"),
        [
            ((), "is a folder; name one picture in it"),
            (("rex.toml",), "is a folder; to make the job file in it: shadowrout batch "),
            (("rex.toml", "kim.toml"), "all 2 job files in it: shadowrout batch .*; to make one: .*kim.toml"),
            (("job.toml",), "is a folder; to make the job file in it: shadowrout batch "),
            (("job.toml", "numbers.json"), "to make its results again: shadowrout make .*job.toml --out "),
        ],
    )
    def test_a_folder(self, capsys, tmp_path, files, says):
        for name in files:
            (tmp_path / name).write_text("", encoding="utf-8")
        for command in ("make", "preview-tone"):
            self.fails(capsys, tmp_path / "out", 3, command, tmp_path, says=says)

    @pytest.mark.parametrize(
        ("size", "says"),
        [
            ("0x0mm", "too small.*from 40mm to 1200mm"),
            ("-200x250mm", "too small"),
            ("x", "not a size|not a length"),
            ("big", "width and a height"),
            ("8x10", "read as millimetres: for inches write 8x10in"),
            ("5x5m", "too large.*1200mm"),
            ("1e9x1e9mm", "can't be used"),
        ],
    )
    def test_sizes(self, capsys, tmp_path, photo, size, says):
        self.fails(capsys, tmp_path / "out", 2, "make", photo, f"--size={size}", says=f"--size: .*({says})")

    def test_an_output_folder_that_is_a_file(self, capsys, tmp_path, photo):
        (tmp_path / "out").write_text("mine", encoding="utf-8")
        for out in (tmp_path / "out", tmp_path / "out" / "deeper"):
            self.fails(capsys, out, 2, "make", photo, *SMALL, says="--out: ")
        assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("[picture]\nfile = 'cup.jpg'\n[output]\ntolerence = 1", "output.tolerence: .*did you mean tolerance"),
            ("[picture]\nfile = 'cup.jpg'\n[output]\ntolerance = []", "output.tolerance"),
            ("Dear Sir", r"job.toml: line 1 \(Dear Sir\): a line is a heading"),
            ("", "picture.file: is missing"),
        ],
    )
    def test_job_files(self, capsys, tmp_path, text, says):
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        self.fails(capsys, tmp_path / "out", 2, "make", tmp_path / "job.toml", says=says)

    def test_a_picture_of_few_pixels_is_told(self, capsys, tmp_path):
        Image.fromarray(np.random.default_rng(3).integers(0, 256, (40, 40), dtype=np.uint8)).save(tmp_path / "few.png")
        out = ["--out", str(tmp_path / "out"), "--only", "carve"]
        assert main(["make", str(tmp_path / "few.png"), *SMALL, *out]) == 0
        assert "Note: the picture has 40 x 40 pixels" in capsys.readouterr().out

    def test_two_plaques_of_one_name(self, capsys, tmp_path, photo):
        self.fails(capsys, tmp_path / "out", 2, "make", photo, *SMALL, *SMALL, says="two plaques are called")

    def test_a_depth_through_the_board(self, capsys, tmp_path, photo):
        self.fails(capsys, tmp_path / "out", 2, "make", photo, *SMALL, "--depth", "17", says="--depth: 17 mm leaves")

    def test_a_depth_that_sanding_takes(self, capsys, tmp_path, photo):
        self.fails(capsys, tmp_path / "out", 2, "make", photo, *SMALL, "--depth", "0.5", says="--depth: .*least")

    @pytest.mark.parametrize(
        ("arguments", "says"),
        [
            (["make", "a.jpg", "--sise", "8x10in"], "--sise: there is no such flag; did you mean --size"),
            (["make", "a.jpg", "b.jpg"], "b.jpg: is one argument too many"),
            (["make"], "is missing"),
            (["bake"], "bake"),
            ([], "say what to do"),
        ],
    )
    def test_usage(self, capsys, arguments, says):
        assert main(arguments) == 2
        shown = capsys.readouterr()
        assert shown.out == ""
        assert re.search(says, shown.err)
        assert shown.err.count("\n") == 1

    def test_no_traceback_for_the_unforeseen(self, capsys, tmp_path, photo, monkeypatch):
        monkeypatch.setattr("shadowrout.make.pipeline.make", lambda *_, **__: 1 / 0)
        assert main(["make", str(photo), "--out", str(tmp_path)]) == 1
        assert "a fault of the program" in capsys.readouterr().err


class TestStart:
    def test_its_job_just_works(self, photo, tmp_path):
        job = tmp_path / "order.toml"
        assert main(["start", str(photo), "--out", str(job)]) == 0
        text = job.read_text(encoding="utf-8")
        assert 'size = "200x139mm"' in text
        assert 'method = "keep-lines"' in text
        assert text.count("\n# ") > 20
        assert main(["make", str(job), "--out", str(tmp_path / "out"), "--only", "carve", "--detail", "1.6mm"]) == 0

    def test_it_does_not_write_over_a_job(self, capsys, photo, tmp_path):
        job = tmp_path / "order.toml"
        job.write_text("mine", encoding="utf-8")
        assert main(["start", str(photo), "--out", str(job)]) == 2
        assert "--replace" in capsys.readouterr().err
        assert job.read_text(encoding="utf-8") == "mine"
        assert main(["start", str(photo), "--out", str(job), "--replace"]) == 0

    def test_a_picture_that_is_none(self, capsys, tmp_path):
        assert main(["start", str(tmp_path / "none.jpg"), "--out", str(tmp_path / "x.toml")]) == 3
        assert not (tmp_path / "x.toml").exists()


class TestDemo:
    def test_it_needs_nothing_and_warns(self, tmp_path, capsys):
        assert main(["demo", "--out", str(tmp_path)]) == 0
        assert (tmp_path / "over the fireplace" / "carve.svg").exists()
        assert (tmp_path / "for the sister" / "carve.dxf").exists()
        shown = capsys.readouterr().out
        assert "hearing protection" in shown
        assert "manual" in shown

    def test_its_job_stands_among_the_examples(self):
        root = Path(__file__).parents[2]
        example = root / "examples" / "winter-fair" / "job.toml"
        packaged = root / "src" / "shadowrout" / "make" / "example" / "job.toml"
        assert example.read_text(encoding="utf-8") == packaged.read_text(encoding="utf-8")
