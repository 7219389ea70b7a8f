"""A job made again in memory: what differs is told, and why, and nothing in the folder is touched."""

from __future__ import annotations

import json
import shutil

import pytest
from small_jobs import content, disc, job_text

from shadowrout.cli import main


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    place = tmp_path_factory.mktemp("whole")
    disc(place / "disc.png")
    (place / "order.toml").write_text(job_text("disc.png"), encoding="utf-8")
    assert main(["make", str(place / "order.toml"), "--out", str(place / "out"), "--workers", "1"]) == 0
    return place


@pytest.fixture
def job(whole, tmp_path):
    shutil.copytree(whole, tmp_path / "job")
    return tmp_path / "job"


def again(job, capsys, *more: str) -> tuple[int, str]:
    capsys.readouterr()
    code = main(["check", "--made-again", str(job / "out"), "--workers", "1", *more])
    said = capsys.readouterr()
    return code, said.out + said.err


def test_the_same_files_are_made_again_and_none_is_written(job, capsys):
    before = content(job / "out")
    code, told = again(job, capsys)
    assert code == 0
    count = len(before)
    assert told.strip().endswith(f"Made again from job.toml, {count} of {count} files are the same.")
    assert content(job / "out") == before
    assert json.loads(again(job, capsys, "--json")[1])["made_again"]["same"] is True


def test_an_edited_file_differs_though_its_promises_hold(job, capsys):
    (svg,) = (job / "out").glob("*/carve.svg")
    svg.write_text(svg.read_text(encoding="utf-8") + "<!-- mine -->", encoding="utf-8")
    code, told = again(job, capsys)
    assert code == 4
    assert "All promises hold" in told
    assert f"Made again, differs: {svg.parent.name}/carve.svg." in told


def test_another_picture_of_the_same_name_is_said(job, capsys):
    disc(job / "disc.png", radius_px=15)
    code, told = again(job, capsys)
    assert code == 4
    assert "The picture disc.png isn't the one that the files were made of" in told
    assert "carve.dxf" in told


def test_a_picture_that_is_gone_is_said_after_the_verdict(job, capsys):
    (job / "disc.png").unlink()
    code, told = again(job, capsys)
    assert code == 3
    assert "All promises hold" in told
    assert "it can't be made again: disc.png: no such file" in told


def test_other_settings_are_said(job, capsys):
    path = job / "out" / "job.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("feed = 1000", "feed = 1200", 1), encoding="utf-8")
    code, told = again(job, capsys)
    assert code == 4
    assert "job.toml was changed since the files were made" in told


def test_a_missing_file_and_one_of_an_earlier_run(job, capsys):
    (svg,) = (job / "out").glob("*/carve.svg")
    svg.rename(svg.with_name("template.svg"))
    code, told = again(job, capsys)
    assert code == 4
    assert f"Made again, missing: {svg.parent.name}/carve.svg." in told
    assert f"Made again, not of this job: {svg.parent.name}/template.svg." in told
