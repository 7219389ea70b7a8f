"""EXIF orientation and crop, against the standard's own table."""

from __future__ import annotations

import numpy as np
import pytest
from photo_files import sample
from PIL import Image

from shadowrout.picture.decoders import BROKEN_EXIF
from shadowrout.picture.reading import read, size_of

# CIPA DC-008 (EXIF 2.32), tag 0x0112: which visual side of the scene the stored 0th row and 0th column are.
_SIDES = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}

_SCENE = np.zeros((48, 80), np.uint8)
_SCENE[:24, :40], _SCENE[:24, 40:], _SCENE[24:, :40], _SCENE[24:, 40:] = 0, 80, 160, 240


def _stored(orientation: int) -> np.ndarray:
    """Return the scene as a camera stores it: row 0 and column 0 lie at the sides that the table names."""
    row0, column0 = _SIDES[orientation]
    rows_first = row0 in ("top", "bottom")
    scene = _SCENE if rows_first else _SCENE.T
    if row0 in ("bottom", "right"):
        scene = scene[::-1]
    if column0 in ("bottom", "right"):
        scene = scene[:, ::-1]
    return np.ascontiguousarray(scene)


def _file(folder, orientation: int, kind: str):
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = folder / f"{orientation}.{kind}"
    options = {"jpg": {"quality": 95}, "webp": {"lossless": True}}.get(kind, {})
    Image.fromarray(_stored(orientation)).convert("RGB").save(path, exif=exif, **options)
    return path


@pytest.mark.parametrize("kind", ["jpg", "png", "webp", "tif"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_out_upright(tmp_path, orientation, kind):
    path = _file(tmp_path, orientation, kind)
    photo = read(path, long_side_px=80)
    assert size_of(path) == (photo.full_width_px, photo.full_height_px) == (80, 48)
    assert np.abs(photo.colour[:, :, 0].astype(int) - _SCENE).max() <= 3


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_reduced(tmp_path, orientation):
    photo = read(_file(tmp_path, orientation, "jpg"), long_side_px=20)
    assert photo.colour.shape == (12, 20, 3)
    assert np.abs(photo.colour[::6, ::10, 0].astype(int) - [[0, 80], [160, 240]]).max() <= 3


@pytest.mark.parametrize("kind", ["jpg", "tif"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_crop_is_of_the_upright_picture(tmp_path, orientation, kind):
    crop = (0.25, 0.4375, 1.0, 1.0)  # columns 20 to 80, rows 21 to 48
    path = _file(tmp_path, orientation, kind)
    photo = read(path, crop=crop, long_side_px=100)
    assert size_of(path, crop=crop) == (photo.full_width_px, photo.full_height_px) == (60, 27)
    assert np.abs(photo.colour[:, :, 0].astype(int) - _SCENE[21:, 20:]).max() <= 3


def test_a_crop_of_a_reduced_jpeg_keeps_its_own_resolution(tmp_path):
    path = tmp_path / "a.jpg"
    Image.fromarray(sample(1024)).save(path, quality=95)
    photo = read(path, crop=(0.5, 0.5, 1, 1), long_side_px=256)
    quarter = sample(1024)[384:, 512:].reshape(192, 2, 256, 2, 3).mean(axis=(1, 3))
    assert photo.colour.shape == (192, 256, 3)
    assert (photo.full_width_px, photo.full_height_px) == (512, 384)
    assert np.abs(photo.colour - quarter).mean() < 3


def test_heic_is_turned_once(tmp_path):
    """HEIF turns pixels by its own property and keeps EXIF beside it: both must not be applied."""
    import pillow_heif

    exif = Image.Exif()
    exif[0x0112] = 6
    path = tmp_path / "a.heic"
    pillow_heif.register_heif_opener()
    Image.fromarray(_stored(6)).convert("RGB").save(path, exif=exif.tobytes(), quality=95)
    assert b"irot" in path.read_bytes()  # else this would test nothing
    photo = read(path, long_side_px=80)
    assert photo.colour.shape == (48, 80, 3)
    assert np.abs(photo.colour[::24, ::40, 0].astype(int) - [[0, 80], [160, 240]]).max() <= 6


@pytest.mark.parametrize("value", [0, 9, 250])
def test_an_orientation_beyond_the_table_is_none(tmp_path, value):
    exif = Image.Exif()
    exif[0x0112] = value
    path = tmp_path / "a.jpg"
    Image.fromarray(_SCENE).save(path, exif=exif)
    assert read(path, long_side_px=80).colour.shape == (48, 80, 3)


def test_broken_exif_is_said(tmp_path):
    path = tmp_path / "a.png"
    Image.fromarray(_SCENE).save(path, exif=b"Exif\0\0not TIFF at all")
    photo = read(path, long_side_px=80)
    assert photo.notes == (BROKEN_EXIF,)
    assert photo.colour.shape == (48, 80, 3)
