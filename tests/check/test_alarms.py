"""No false alarm on what the main job writes; more pictures and 200 masks in benchmarks/check_quality.py."""

from __future__ import annotations

import numpy as np
import pytest
from check_pictures import made, mask_settings, picture, random_mask

from shadowrout.check.checking import check_folder


@pytest.mark.parametrize("name", ["horse", "coffee"])
def test_no_alarm_on_a_picture(name, tmp_path):
    made(picture(name), tmp_path / "out", long_side_mm=100, settings='[output]\nfiles = ["carve"]')
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict.as_text()


@pytest.mark.parametrize("seed", range(4))
def test_no_alarm_on_a_random_mask(seed, tmp_path):
    settings, plaque = mask_settings(seed)
    made(random_mask(seed), tmp_path / "out", long_side_mm=80, settings=settings, plaque=plaque)
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict.as_text()


def test_no_alarm_on_a_note_that_tells_two_cutters_pockets(tmp_path):
    """Blocks of 7 and of 4 mm, 1 mm apart, on a board of 76 mm: too many for whole notes."""
    pixels = np.full((600, 600), 255, np.uint8)
    for side, columns in ((70, (10, 90)), (40, range(180, 570, 50))):
        for left in columns:
            for top in range(10, 600 - side, side + 10):
                pixels[top : top + side, left : left + side] = 0
    cutters = "".join(f'[[cutter]]\ndiameter = "{size}mm"\nleast_pocket = 5\n' for size in (6, 2))
    made(pixels, tmp_path / "out", long_side_mm=76, settings=f'{cutters}[output]\nfiles = ["carve"]')
    assert "; 2 mm in " in next((tmp_path / "out").glob("*/carve.svg")).read_text(encoding="utf-8")
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict.as_text()
