"""No false alarm on what the main job writes; more pictures and 200 masks in benchmarks/check_quality.py."""

from __future__ import annotations

import pytest
from check_pictures import made, mask_settings, picture, random_mask

from shadowrout.check import check_folder
from shadowrout.check.table import verdict_text


@pytest.mark.parametrize("name", ["horse", "coffee"])
def test_no_alarm_on_a_picture(name, tmp_path):
    made(picture(name), tmp_path / "out", long_side_mm=100, settings='[output]\nfiles = ["carve"]')
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict_text(verdict)


@pytest.mark.parametrize("seed", range(4))
def test_no_alarm_on_a_random_mask(seed, tmp_path):
    settings, plaque = mask_settings(seed)
    made(random_mask(seed), tmp_path / "out", long_side_mm=80, settings=settings, plaque=plaque)
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict_text(verdict)
