"""The unit of a job's files, and lengths that somebody wrote without one in a job in inches."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_jobs import disc, order

from shadowrout.cli import main
from shadowrout.job.flags import with_flags
from shadowrout.job.job_file import from_text, written
from shadowrout.job.job_unit import bare_lengths, unit_of
from shadowrout.job.options import Job, Picture
from shadowrout.job.settled_boards import settled_boards

PLAQUE = '[picture]\nfile = "cat.jpg"\n[[plaque]]\nsize = "{size}"\n{more}\n'
SMALL = '[picture]\nfile = "disc.png"\n[[plaque]]\nsize = "2x2in"\nmargin = 2.5\n[output]\nfiles = ["carve"]\n'


def job(size: str, more: str = "") -> Job:
    return from_text(PLAQUE.format(size=size, more=more), name="job.toml")


@pytest.mark.parametrize(
    ("size", "more", "keys"),
    [
        ("8x6in", "margin = 0.25", ["plaque.margin"]),
        ("8x6in", 'margin = "0.25"', ["plaque.margin"]),
        ("200x150mm", 'margin = 0.25\n[output]\nunit = "in"', ["plaque.margin"]),
        ("8x6in", "thickness = 19\n[[cutter]]\ndiameter = 3", ["plaque.thickness", "cutter.diameter"]),
        ("8x6in", 'margin = "0.25in"\nthickness = "19mm"', []),
        ("8x6in", "margin = 0\n[finish]\ncoats = 3", []),
        ("200x150mm", "margin = 0.25", []),
        ("8x6in", 'margin = 0.25\n[output]\nunit = "mm"', []),
    ],
)
def test_bare_lengths_of_a_job_in_inches_are_found(size, more, keys):
    assert [bare.key for bare in bare_lengths(job(size, more))] == keys


def test_each_is_told_once_however_many_plaques_have_it():
    two = with_flags(job("8x6in"), {"--size": ["8x6in", "4x3in"], "--margin": "0.25"})
    assert [bare.told("--margin ") for bare in bare_lengths(two)] == [
        '--margin 0.25 was read as 0.25 mm; write "0.25in" for inches, "0.25mm" for millimetres'
    ]


def test_what_the_program_chose_and_what_it_wrote_has_units():
    settled = settled_boards(job("8x6in", "margin = 0.25"), aspect=4 / 3)
    again = from_text(written(settled, folder=None), name="job.toml")
    assert (unit_of(again), again.plaques[0].margin) == ("in", 0.25)
    assert bare_lengths(again) == ()
    assert bare_lengths(with_flags(Job(Picture(Path("cat.jpg"))), {"--size": ["8x6in"]})) == ()


def test_make_tells_beside_the_result_by_what_was_given(tmp_path, capsys):
    picture = disc(tmp_path / "disc.png")
    given = [str(picture), "--size", "2x2in", "--only", "carve", "--margin", "2.5", "--out", str(tmp_path / "out")]
    assert main(["make", *given]) == 0
    told = capsys.readouterr()
    assert 'shadowrout: --margin 2.5 was read as 2.5 mm; write "2.5in"' in told.err
    assert "was read as" not in told.out


def test_a_batch_tells_of_which_order(tmp_path, capsys):
    order(tmp_path / "anna.toml", SMALL)
    for _ in range(2):  # made, and left alone as before
        assert main(["batch", str(tmp_path / "anna.toml"), "--out", str(tmp_path / "out")]) == 0
        assert "shadowrout: anna: plaque.margin = 2.5 was read as 2.5 mm" in capsys.readouterr().err
