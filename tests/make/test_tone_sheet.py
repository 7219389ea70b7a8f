"""The sheet of designs: what stands on it, that its flags give what it shows, and what goes wrong."""

from __future__ import annotations

import re
from pathlib import Path

import cv2
import numpy as np
import pytest
from photo_files import read_and_settle
from PIL import Image
from skimage import data

from shadowrout.carving.settled_tools import settled_tools
from shadowrout.cli import main
from shadowrout.design.board import lay_out, resolution_of
from shadowrout.design.two_tone import two_tone_design
from shadowrout.errors import SettingError
from shadowrout.job.options import LINES, Job, Picture, Plaque, ToneOptions
from shadowrout.job.settled_boards import settled_boards
from shadowrout.make import pipeline, tone_sheet
from shadowrout.make.tone_sheet import ROWS, Trial, shares_around, shares_spread, sheet_of

SIZE = "90x90mm"


@pytest.fixture(scope="module")
def photo(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("in") / "cup.png"
    Image.fromarray(data.coffee()).resize((300, 200)).save(path)
    return path


@pytest.fixture(scope="module")
def sheet(photo) -> tuple[list[Trial], np.ndarray]:
    """Return the trials of a sheet and the sheet as written."""
    out = photo.parent / "sheet.png"
    preview = pipeline.preview_tone(Job(Picture(photo), plaques=(Plaque(size=(90.0, 90.0)),)), out)
    with Image.open(out) as picture:
        assert picture.mode == "RGB"
        return list(preview.trials), np.asarray(picture)


def drawn_trials(sheet: np.ndarray) -> list[np.ndarray]:
    """Return what is drawn in pure black and white on the sheet, row by row; labels are neither."""
    pure = (sheet[:, :, 0] == 0) | (sheet[:, :, 0] == 255)
    count, _, boxes, _ = cv2.connectedComponentsWithStats(pure.astype(np.uint8))
    trials = [tuple(box[:4]) for box in boxes[1:count] if box[4] > 1000]
    return [sheet[y : y + h, x : x + w, 0] for x, y, w, h in sorted(trials, key=lambda box: (box[1], box[0]))]


@pytest.mark.parametrize("dark", [0.02, 0.03, 0.1, 0.253, 0.6, 0.7, 0.9])
def test_three_shares_that_differ_and_may_be_given(dark):
    shares = shares_around(dark)
    assert len(set(shares)) == 3
    assert list(shares) == sorted(shares)
    assert dark in shares
    assert 0.02 <= shares[0] < shares[2] <= 0.9


@pytest.mark.parametrize("dark", [0.02, 0.1, 0.253, 0.5, 0.6, 0.9])
def test_shares_are_spread_over_what_is_possible(dark):
    """Wider apart than neighbours where there is room: half-way, by ratio, to 0.1 and to 0.6."""
    shares = shares_spread(dark)
    assert len(set(shares)) == 3
    assert list(shares) == sorted(shares)
    assert dark in shares
    if 0.1 < dark < 0.6:
        assert (shares[0] ** 2 / dark, shares[2] ** 2 / dark) == pytest.approx((0.1, 0.6), rel=0.1)


def test_every_amount_of_lines_and_every_method_at_three_shares(sheet):
    trials, picture = sheet
    assert [(trial.method, trial.lines) for trial in trials] == [row for row in ROWS for _ in range(3)]
    assert tuple(row[1] for row in ROWS[:3]) == LINES
    assert len({trial.dark for trial in trials[:9]}) == len({trial.dark for trial in trials[9:]}) == 3
    assert len(drawn_trials(picture)) == sum(trial.picture is not None for trial in trials) >= 15


def test_what_the_job_makes_is_marked_and_few_lines_take_fewer_strokes(sheet):
    trials, _ = sheet
    (chosen,) = [trial for trial in trials if trial.chosen]
    assert (chosen.method, chosen.lines, chosen.dark) == ("keep-lines", "few", trials[1].dark)
    assert chosen.label.startswith("> keep-lines, few, dark ")
    few, some, most = (np.array([trial.strokes for trial in trials[start : start + 3]]) for start in (0, 3, 6))
    assert (few > 0).all()
    assert (few < some).all()
    assert (some < most).all()
    assert all(trial.strokes == 0 for trial in trials[9:])


def test_trials_have_the_working_resolution_and_the_share_that_is_written_on_them(sheet):
    """74 mm of picture at a quarter of the finest line, 0.2 mm, is 370 pixels."""
    trials, picture = sheet
    made = [trial for trial in trials if trial.picture is not None]
    for trial, drawn in zip(made, drawn_trials(picture), strict=True):
        assert drawn.shape == (247, 370)
        assert np.mean(drawn == 0) == pytest.approx(trial.dark, abs=0.05)  # specks and pinholes come on top
        assert np.array_equal(drawn, trial.picture)


@pytest.mark.parametrize("number", [1, 5, 7, 10])
def test_the_flags_of_a_trial_give_its_design(photo, sheet, number):
    trial = sheet[0][number]
    method, dark = re.fullmatch(r"--method (\S+)(?: --lines \S+)? --dark (\S+)", trial.flags).groups()
    tone = ToneOptions(method=method, dark=float(dark), lines=trial.lines or "few")
    job = settled_tools(settled_boards(Job(Picture(photo), tone, (Plaque(size=(90.0, 90.0)),)), aspect=1.5))
    layout = lay_out(job.plaques[0], aspect=1.5, origin="corner")
    resolution = resolution_of(layout, detail_mm=job.tone.detail)
    job, pictures = read_and_settle(job, long_side_px=370)
    design = two_tone_design(job, pictures.photo, resolution).field > 0
    assert np.array_equal(design, trial.picture == 0)


def test_a_trial_without_a_design_says_why():
    trials = [Trial("keep-lines", 0.2, np.zeros((100, 150), np.uint8)), Trial("two-tone", 0.2, None, "it is too faint")]
    trials += [trials[0]]
    picture = sheet_of(trials, heading="cup")
    assert len(drawn_trials(picture)) == 2
    without = sheet_of([trials[0], Trial("two-tone", 0.2, None, ""), trials[0]], heading="cup")
    assert np.count_nonzero(picture < 128) > np.count_nonzero(without < 128) + 100


def test_long_reasons_stay_within_their_cell():
    """The middle cell's text leaves the frame and the last rows of its cell, and its neighbours, as they are."""
    plain = Trial("keep-lines", 0.2, np.zeros((60, 60), np.uint8))
    reasons = ["".join(["x"] * 10 + [" "]) * lines for lines in (1, 60)]
    pictures = [sheet_of([plain, Trial("two-tone", 0.2, None, reason), plain], heading="cup") for reason in reasons]
    assert pictures[1].shape[0] > pictures[0].shape[0] > 60
    for picture in pictures:
        left, middle, right = np.hsplit(picture[:, :, 0], 3)
        assert np.array_equal(left[60:], right[60:])
        columns = np.flatnonzero((middle == 30).sum(axis=0) > 55)  # the frame's uprights
        assert middle[60:, columns.max() + 1 :].min() > 200
        assert middle[60:, : columns.min()].min() > 200


class TestCommand:
    def test_it_says_what_it_wrote_and_how_to_get_each(self, photo, tmp_path, capsys):
        out = tmp_path / "new" / "tones.png"
        assert main(["preview-tone", str(photo), "--size", SIZE, "--dark", "0.3", "--out", str(out)]) == 0
        shown = capsys.readouterr()
        assert str(out) in shown.out
        assert "> --method keep-lines --lines few --dark 0.3\n" in shown.out
        assert len(re.findall("--method", shown.out)) == 18
        assert shown.err == ""
        assert out.exists()

    def test_a_job_file_and_the_default_name(self, photo, tmp_path, capsys, monkeypatch):
        monkeypatch.chdir(tmp_path)
        job = tmp_path / "job.toml"
        job.write_text(f'[picture]\nfile = "{photo}"\n[[plaque]]\nsize = "60x60mm"\n[[plaque]]\nsize = "70x70mm"\n')
        assert main(["preview-tone", str(job)]) == 0
        assert (tmp_path / "cup-tones.png").exists()
        assert "60x60mm, the first of 2 plaques" in capsys.readouterr().out

    def test_a_share_beyond_the_subject_leaves_a_trial_empty(self, photo, tmp_path, capsys):
        arguments = ["--subject", "-0.1,-0.1,0.35,1.1", "--subject-edge", "plain", "--dark", "0.3", "--size", SIZE]
        assert main(["preview-tone", str(photo), *arguments, "--out", str(tmp_path / "t.png")]) == 0
        shown = capsys.readouterr().out
        assert re.search(r"--dark 0\.42   can't be made: 0\.42 is more than the subject's share", shown)
        assert re.search(r"--dark 0\.21$", shown, flags=re.MULTILINE)

    def test_a_black_and_white_picture(self, tmp_path, capsys):
        """Its ink is an eighth of it, and no other share can be cut."""
        path = tmp_path / "sign.png"
        ink = np.full((200, 300), 255, np.uint8)
        ink[50:100, 75:225] = 0
        Image.fromarray(ink).save(path)
        assert main(["preview-tone", str(path), "--size", SIZE, "--out", str(tmp_path / "t.png")]) == 0
        shown = capsys.readouterr().out
        assert "make takes two-tone, its own share of dark" in shown
        assert "--method two-tone --dark 0.125\n" in shown
        assert re.search(r"--method two-tone --dark 0.17   can't be made: .*nearest share", shown)

    def fails(self, capsys, code: int, *arguments: object) -> str:
        assert main(["preview-tone", *map(str, arguments)]) == code
        shown = capsys.readouterr()
        assert shown.out == ""
        assert shown.err.count("\n") == 1
        return shown.err

    def test_it_never_writes_over_its_picture(self, photo, capsys):
        before = photo.read_bytes()
        assert "is a picture of this job" in self.fails(capsys, 2, photo, "--out", photo)
        assert photo.read_bytes() == before

    def test_other_kinds_of_files(self, photo, tmp_path, capsys):
        assert "ends in .png" in self.fails(capsys, 2, photo, "--out", tmp_path / "t.jpg")
        assert list(tmp_path.iterdir()) == []

    def test_a_sheet_that_is_too_large(self, photo, tmp_path, capsys):
        out = tmp_path / "t.png"
        assert "megapixels" in self.fails(capsys, 2, photo, "--size", "1200x1200mm", "--detail", "1", "--out", out)
        assert not out.exists()

    def test_a_picture_of_one_grey(self, tmp_path, capsys):
        Image.new("RGB", (100, 100), "grey").save(tmp_path / "grey.png")
        assert "all one grey" in self.fails(capsys, 3, tmp_path / "grey.png", "--out", tmp_path / "t.png")

    @pytest.mark.parametrize("flag", ["--only=carve", "--dxf=R12", "--cutter=3mm"])
    def test_flags_that_have_no_say_in_it(self, photo, capsys, flag):
        assert "preview-tone takes no such flag" in self.fails(capsys, 2, photo, flag)


@pytest.mark.parametrize("key", ["tone.dark", "tone.detail"])
def test_when_nothing_can_be_made_or_all_is_wrong_it_is_an_error(photo, tmp_path, monkeypatch, key):
    def refuse(*_, **__):
        raise SettingError(key, "no")

    monkeypatch.setattr(tone_sheet, "two_tone_design", refuse)
    with pytest.raises(SettingError, match=f"{key}: no"):
        pipeline.preview_tone(Job(Picture(photo)), tmp_path / "t.png")
    assert not (tmp_path / "t.png").exists()
