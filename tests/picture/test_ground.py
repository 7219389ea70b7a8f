"""What stands behind the transparent parts of a picture, and what is said where that hides all of it."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from shadowrout.cli import main
from shadowrout.picture.reading import read

SIDE_PX = 60


def art(path, level: int) -> str:
    """Write a picture of a disc of one grey on a transparent ground, and return its path."""
    y, x = np.mgrid[:SIDE_PX, :SIDE_PX]
    alpha = np.where(np.hypot(x - 30, y - 30) < 20, 255, 0).astype(np.uint8)
    Image.merge("LA", [Image.fromarray(np.full_like(alpha, level)), Image.fromarray(alpha)]).save(path)
    return str(path)


@pytest.mark.parametrize(("ground", "corner", "middle"), [("light", 100, 100), ("dark", 0, 100)])
def test_white_art(tmp_path, ground, corner, middle):
    """CIE L* of white is 100, of black 0 (CIE 15)."""
    photo = read(art(tmp_path / "a.png", 255) and tmp_path / "a.png", long_side_px=SIDE_PX, ground=ground)
    assert (photo.lightness[0, 0], photo.lightness[30, 30]) == pytest.approx((corner, middle), abs=0.01)
    assert photo.ground == ground


def test_a_picture_without_transparency_has_no_ground(tmp_path):
    Image.new("L", (SIDE_PX, SIDE_PX), 255).save(tmp_path / "a.png")
    assert read(tmp_path / "a.png", long_side_px=SIDE_PX, ground="dark").ground == ""
    Image.new("LA", (SIDE_PX, SIDE_PX), (255, 255)).save(tmp_path / "b.png")
    assert read(tmp_path / "b.png", long_side_px=SIDE_PX).ground == ""


@pytest.mark.parametrize(("level", "ground", "other"), [(255, "light", "dark"), (0, "dark", "light")])
def test_art_as_light_or_dark_as_its_ground_is_told_of_the_other_which_works(tmp_path, capsys, level, ground, other):
    make = [
        "make",
        art(tmp_path / "a.png", level),
        "--size",
        "60x60mm",
        "--only",
        "carve",
        "--out",
        str(tmp_path / "o"),
    ]
    assert main([*make, "--ground", ground]) == 3
    said = capsys.readouterr().err
    assert f"is as {ground} as the ground behind its transparent parts" in said
    assert f'give --ground {other}, or ground = "{other}" under [picture], or choose another' in said
    assert not (tmp_path / "o").exists()
    assert main([*make, "--ground", other]) == 0
    assert f'ground = "{other}"' in (tmp_path / "o" / "job.toml").read_text(encoding="utf-8")
