"""Plaques within their hours: kept, never above, told, the same again, and refused where out of reach."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data
from small_jobs import content

from shadowrout.errors import SettingError
from shadowrout.job.options import Job, Output, Picture, Plaque, ToneOptions
from shadowrout.job.shop import Shop
from shadowrout.make.budget import LEAST_MET, levels_of, plaque_within_hours
from shadowrout.make.pipeline import Made, laid_out, make, read_and_settled
from shadowrout.make.plaque import MadePlaque, PlaqueToMake
from shadowrout.report.figures.times import line_minutes

PICTURES = {"astronaut": data.astronaut, "coffee": data.coffee}
SIZES = {"astronaut": (70.0, 70.0), "coffee": (80.0, 60.0)}
BUDGETS_MIN = (20, 7, 4)
"""From what a picture's finest lines take to what only its main shapes do."""


def picture(folder: Path, name: str) -> Path:
    path = folder / f"{name}.png"
    Image.fromarray(PICTURES[name]()).save(path)
    return path


def job(path: Path, **plaque: object) -> Job:
    return Job(Picture(path), plaques=(Plaque(name="p", **plaque),), output=Output(files=("carve",)))


@pytest.fixture(scope="module", params=sorted(PICTURES))
def by_budget(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[int, Made]:
    """One picture made within each budget, by its minutes."""
    folder, name = tmp_path_factory.mktemp("hours"), request.param
    path = picture(folder, name)
    return {
        minutes: make(job(path, size=SIZES[name], hours=minutes / 60), folder / str(minutes)) for minutes in BUDGETS_MIN
    }


def test_hours_are_kept_to_and_used(by_budget: dict[int, Made]) -> None:
    trimmed = 0
    for minutes, made in by_budget.items():
        (plaque,) = made.figures.plaques
        assert plaque.hours.by_hand <= minutes / 60
        assert plaque.hours.asked == pytest.approx(minutes / 60, abs=1e-6)
        if plaque.hours.left_out.any:
            trimmed += 1
            assert plaque.hours.by_hand >= LEAST_MET * minutes / 60 - 0.0005  # as it is rounded
        assert ("left-out.png" in plaque.files) == plaque.hours.left_out.any
    assert trimmed


def test_less_hours_never_give_more_cuts(by_budget: dict[int, Made]) -> None:
    plaques = [made.figures.plaques[0] for made in by_budget.values()]
    lengths = [plaque.v_lines.length_mm for plaque in plaques]
    assert lengths == sorted(lengths, reverse=True)
    assert [p.v_lines.count for p in plaques] == sorted((p.v_lines.count for p in plaques), reverse=True)
    assert plaques[0].v_lines.count > 2 * plaques[-1].v_lines.count


def test_what_is_left_out_leaves_sound_and_faithful_drawings(by_budget: dict[int, Made]) -> None:
    for made in by_budget.values():
        (plaque,) = made.verdict.plaques
        for promise in ("sound", "no gouge", "faithful"):
            assert plaque.result(promise).holds


def test_the_closing_words_tell_it_and_what_brings_it_back(by_budget: dict[int, Made]) -> None:
    words = by_budget[BUDGETS_MIN[-1]].closing_words
    assert "by hand" in words
    assert "left out" in words
    for way in ("--hours", "--lines all", "picture.fine", "left-out.png"):
        assert way in words


def test_the_settings_as_used_give_the_same_bytes(tmp_path: Path) -> None:
    asked = job(picture(tmp_path, "astronaut"), size=(60.0, 60.0), hours=0.08)
    first = make(asked, tmp_path / "out")
    assert first.figures.plaques[0].hours.left_out.any
    before = content(tmp_path / "out")
    make(Job.from_file(tmp_path / "out" / "job.toml"), tmp_path / "out")
    after = content(tmp_path / "out")
    assert {name for name in before if before[name] != after[name] and name.startswith("p/")} == set()


def test_hours_out_of_reach_are_refused_with_those_of_the_plainest_design(tmp_path: Path) -> None:
    asked = job(picture(tmp_path, "coffee"), size=(80.0, 60.0), hours=0.05)
    slow = dataclasses.replace(asked, shop=Shop(paring=2))
    with pytest.raises(
        SettingError, match=r"plaque\.hours: 3min is out of reach: the plainest design takes \d+"
    ) as told:
        make(slow, tmp_path / "out")
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())
    assert "by hand" in str(told.value)


def bars(folder: Path) -> Path:
    """Write a picture of eight like bars, four in each half, and return its path."""
    canvas = np.full((400, 800), 255, np.uint8)
    for half in (0, 400):
        for number in range(4):
            canvas[40 + 90 * number : 52 + 90 * number, half + 60 : half + 340] = 0
    Image.fromarray(canvas).save(folder / "bars.png")
    return folder / "bars.png"


def made_within(asked: Job) -> MadePlaque:
    settled, boards = laid_out(asked)
    told, pictures = read_and_settled(settled, boards)
    return plaque_within_hours(PlaqueToMake(told.job, *boards[0], pictures, levels_of(told.job, asked.tone.lines)))


@pytest.mark.parametrize("share", [0.8, 0.55, 0.3])
def test_nothing_in_a_fine_box_goes_before_what_lies_outside(tmp_path: Path, share: float) -> None:
    path = bars(tmp_path)
    tone = ToneOptions(method="single-level")
    plain = job(path, size=(80.0, 50.0), hours=5.0)
    shop = Shop(strokes_per_minute=1)
    plain = dataclasses.replace(plain, tone=tone, picture=Picture(path, fine=((0.5, 0, 1, 1),)), shop=shop)
    whole = made_within(plain)
    assert len(whole.carving.plan.v_lines) == 8
    budget = share * sum(line_minutes(line, shop) for line in whole.carving.plan.v_lines) / 60
    made = made_within(dataclasses.replace(plain, plaques=(dataclasses.replace(plain.plaques[0], hours=budget),)))
    inside = [line.points[:, 0].mean() > 40 for line in made.carving.plan.v_lines]
    assert 0 < len(inside) < 8
    assert sum(inside) == min(4, len(inside))


def test_the_rates_follow_from_what_a_plaque_took(tmp_path: Path) -> None:
    path = picture(tmp_path, "coffee")
    asked = job(path, size=(80.0, 60.0))
    planned = make(asked, tmp_path / "plain").figures.plaques[0].hours.by_hand
    took = make(dataclasses.replace(asked, shop=Shop(took=2 * planned)), tmp_path / "took").figures
    assert took.plaques[0].hours.by_hand == pytest.approx(2 * planned, rel=0.02)
    (rates,) = (note for note in took.notes if "strokes_per_minute" in note)
    found = dict(re.findall(r"(\w+) = ([\d.]+)", rates))
    plain = Shop()
    assert set(found) == {"strokes_per_minute", "paring", "clearing"}
    for name, rate in found.items():
        assert float(rate) == pytest.approx(getattr(plain, name) / 2, rel=0.02)
    limited = dataclasses.replace(asked, shop=Shop(took=1), plaques=(dataclasses.replace(asked.plaques[0], hours=1),))
    with pytest.raises(SettingError, match=r"shop\.took: .*plaque\.hours"):
        make(limited, tmp_path / "both")
