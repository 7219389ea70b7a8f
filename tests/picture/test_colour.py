"""Lightness and colour against the standards that define them."""

from __future__ import annotations

import struct

import cv2
import numpy as np
import pytest
from photo_files import sample
from PIL import Image, ImageCms
from skimage.color import rgb2lab

from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.reading import read
from shadowrout.picture.srgb import BROKEN_PROFILE
from shadowrout.picture.touch_up import read_touch_up


def _uniform(value, dtype) -> np.ndarray:
    return np.full((2, 3, 3), value, dtype=dtype)


def _encoded(light: float) -> float:
    """Return sRGB's encoded value of a linear one, 0..1 (IEC 61966-2-1, 4.2)."""
    return 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055


class TestLightness:
    @pytest.mark.parametrize(
        ("light", "lightness"),
        # CIE 15, L* = 116 Y^(1/3) - 16 for Y > 216/24389, where it is 8; values computed from it
        [(0.0, 0.0), (216 / 24389, 8.0), (0.18, 49.4961), (0.5, 76.0693), (1.0, 100.0)],
    )
    def test_cie_1976_of_known_luminance(self, light, lightness):
        assert lightness_of(_uniform(_encoded(light), np.float64)) == pytest.approx(lightness, abs=2e-3)

    def test_below_the_knee_it_is_the_line_of_cie_1976(self):
        light = 0.004
        expected = 24389 / 27 * light
        assert lightness_of(_uniform(_encoded(light), np.float64)) == pytest.approx(expected, abs=2e-3)

    @pytest.mark.parametrize(("grey", "lightness"), [(119, 50.034), (128, 53.585)])
    def test_greys_as_scikit_image_gives_them(self, grey, lightness):
        assert lightness_of(_uniform(grey, np.uint8)) == pytest.approx(lightness, abs=1e-3)

    @pytest.mark.parametrize(
        ("rgb", "luminance"),
        # IEC 61966-2-1: the primaries' luminance
        [((255, 0, 0), 0.2126), ((0, 255, 0), 0.7152), ((0, 0, 255), 0.0722)],
    )
    def test_primaries(self, rgb, luminance):
        expected = 116 * np.cbrt(luminance) - 16
        assert lightness_of(np.array([[rgb]], np.uint8)) == pytest.approx(expected, abs=2e-3)

    def test_every_colour_agrees_with_scikit_image(self):
        levels = np.arange(0, 256, 15, dtype=np.uint8)
        rgb = np.stack(np.meshgrid(levels, levels, levels), axis=-1).reshape(-1, levels.size, 3)
        # its matrix has more digits than the standard's, which makes 0.0085 of difference
        assert np.abs(lightness_of(rgb) - rgb2lab(rgb)[..., 0]).max() < 0.01

    def test_deeper_types_mean_the_same_colours(self):
        rgb = sample()
        by_bytes = lightness_of(rgb)
        assert np.abs(lightness_of(rgb.astype(np.uint16) * 257) - by_bytes).max() < 1e-3
        assert np.abs(lightness_of(rgb / 255) - by_bytes).max() < 1e-3

    def test_a_picture_of_many_bands_has_no_seams(self):
        rgb = np.repeat(np.repeat(np.arange(250, dtype=np.uint8)[:, None, None], 9000, axis=1), 3, axis=2)
        lightness = lightness_of(rgb)
        assert np.ptp(lightness, axis=1).max() == 0
        assert np.all(np.diff(lightness[:, 0]) > 0)

    def test_an_empty_picture_gives_an_empty_one(self):
        assert lightness_of(np.zeros((0, 5, 3), np.uint8)).shape == (0, 5)

    @pytest.mark.parametrize(
        "rgb", [np.zeros((4, 4), np.uint8), np.zeros((4, 4, 4), np.uint8), np.zeros((4, 4, 3), int)]
    )
    def test_other_arrays_are_refused(self, rgb):
        with pytest.raises(ValueError, match="expected colours"):
            lightness_of(rgb)


# --- colour profiles, written by hand from the ICC's own layout (ICC.1:2022, 7 and 10) ---


def _s15fixed16(*numbers: float) -> bytes:
    return b"".join(struct.pack(">i", round(number * 65536)) for number in numbers)


def _xyz(*numbers: float) -> bytes:
    return b"XYZ \0\0\0\0" + _s15fixed16(*numbers)


def _gamma(exponent: float) -> bytes:
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(exponent * 256)) + b"\0\0"


def _text(words: str) -> bytes:
    content = words.encode() + b"\0"
    return b"desc\0\0\0\0" + struct.pack(">I", len(content)) + content + b"\0" * (4 + 4 + 2 + 1 + 67)


def _profile(space: bytes, tags: dict[bytes, bytes]) -> bytes:
    """Return a version 2 display profile: 128 bytes of header, the table of tags, their data at multiples of 4."""
    tags = {b"desc": _text("test"), b"cprt": b"text\0\0\0\0none\0", b"wtpt": _xyz(0.9642, 1, 0.8249), **tags}
    table, data = struct.pack(">I", len(tags)), b""
    start = 128 + 4 + 12 * len(tags)
    for name, content in tags.items():
        table += name + struct.pack(">II", start + len(data), len(content))
        data += content + b"\0" * (-len(content) % 4)
    size = start + len(data)
    header = struct.pack(">I4sI4s4s4s12s4s", size, b"\0" * 4, 0x02400000, b"mntr", space, b"XYZ ", b"\0" * 12, b"acsp")
    return (header + b"\0" * 28 + _s15fixed16(0.9642, 1, 0.8249)).ljust(128, b"\0") + table + data


# sRGB's primaries adapted to D50 (IEC 61966-2-1, Bradford; as in published sRGB profiles)
_PRIMARIES = {"r": (0.4361, 0.2225, 0.0139), "g": (0.3851, 0.7169, 0.0971), "b": (0.1431, 0.0606, 0.7141)}


def _rgb_profile(order: str = "rgb", exponent: float = 2.2) -> bytes:
    tags = {b"%cXYZ" % name: _xyz(*_PRIMARIES[other]) for name, other in zip(b"rgb", order, strict=True)}
    return _profile(b"RGB ", tags | {b"%cTRC" % name: _gamma(exponent) for name in b"rgb"})


def _saved(folder, image: Image.Image, profile: bytes, name: str = "a.png"):
    path = folder / name
    image.save(path, icc_profile=profile)
    return path


class TestProfiles:
    @pytest.mark.parametrize("name", ["a.png", "a.tif", "a.jpg"])
    @pytest.mark.parametrize("exponent", [1.0, 1.8, 2.2])
    def test_another_gamma(self, tmp_path, exponent, name):
        image = Image.new("RGB", (20, 20), (128, 128, 128))
        photo = read(_saved(tmp_path, image, _rgb_profile(exponent=exponent), name), long_side_px=20)
        expected = 255 * _encoded((128 / 255) ** exponent)
        assert np.abs(photo.colour - expected).max() <= 1.5
        assert photo.notes == ()

    def test_swapped_primaries(self, tmp_path):
        image = Image.new("RGB", (20, 20), (255, 0, 0))
        photo = read(_saved(tmp_path, image, _rgb_profile("bgr")), long_side_px=20)
        assert np.abs(photo.colour[0, 0].astype(int) - [0, 0, 255]).max() <= 3

    def test_webp_and_heic_carry_profiles_too(self, tmp_path):
        import pillow_heif

        pillow_heif.register_heif_opener()
        image = Image.new("RGB", (64, 64), (128, 128, 128))
        for name in ("a.webp", "a.heic"):
            photo = read(_saved(tmp_path, image, _rgb_profile(exponent=1.0), name), long_side_px=64)
            assert np.abs(photo.colour - 255 * _encoded(128 / 255)).max() <= 3, name

    @pytest.mark.parametrize("mode", ["L", "LA", "I;16"])
    def test_grey(self, tmp_path, mode):
        profile = _profile(b"GRAY", {b"kTRC": _gamma(1.0)})
        image = {
            "L": Image.new("L", (20, 20), 128),
            "LA": Image.new("LA", (20, 20), (128, 255)),
            "I;16": Image.fromarray(np.full((20, 20), 128 * 257, np.uint16)),
        }[mode]
        photo = read(_saved(tmp_path, image, profile), long_side_px=20)
        assert np.abs(photo.colour - 255 * _encoded(128 / 255)).max() <= 1.5
        assert photo.notes == ()

    def test_transparent_parts_stay_white_under_a_profile(self, tmp_path):
        image = Image.new("RGBA", (20, 20), (9, 9, 9, 0))
        photo = read(_saved(tmp_path, image, _rgb_profile(exponent=1.0)), long_side_px=20)
        assert photo.colour.min() >= 254

    @pytest.mark.parametrize("mode", ["RGBA", "LA"])
    def test_a_touch_up_is_read_by_its_profile(self, tmp_path, mode):
        """Value 90 of 255 is CIE L* 66, light, where values are light itself, and L* 38, dark, as sRGB (CIE 1976)."""
        image = Image.new(mode, (64, 48), 0)
        image.paste((90,) * (len(mode) - 1) + (255,), (10, 10, 40, 40))
        grey = _profile(b"GRAY", {b"kTRC": _gamma(1.0)})
        fitting, other = (_rgb_profile(exponent=1.0), grey) if mode == "RGBA" else (grey, _rgb_profile(exponent=1.0))
        for profile, wanted, notes in ((fitting, -1, ()), (None, 1, ()), (other, 1, (f"touch-up: {BROKEN_PROFILE}",))):
            path = _saved(tmp_path, image, profile)
            touch_up = read_touch_up(path, proportions_of=(64, 48), long_side_px=64)
            assert touch_up.amount[20, 20] == wanted
            assert touch_up.amount[0, 0] == 0
            assert touch_up.notes == notes

    def test_the_plain_srgb_profile_changes_nothing(self, tmp_path):
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        photo = read(_saved(tmp_path, Image.fromarray(sample()), profile), long_side_px=128)
        assert np.abs(photo.colour.astype(int) - sample()).max() <= 1

    @pytest.mark.parametrize(
        "profile", [b"no profile", _rgb_profile()[:200], _profile(b"GRAY", {b"kTRC": _gamma(1.0)}), b"\0" * 500]
    )
    def test_a_profile_of_no_use_is_left_out_and_said(self, tmp_path, profile):
        photo = read(_saved(tmp_path, Image.fromarray(sample()), profile), long_side_px=128)
        assert np.array_equal(photo.colour, sample())
        assert photo.notes == (BROKEN_PROFILE,)


class TestCmyk:
    """Four inks without a profile: R = 255 - min(255, C + K), the simple complement, near enough for lightness."""

    inks = [((0, 0, 0, 0), 255, 255, 255), ((0, 0, 0, 255), 0, 0, 0), ((255, 0, 0, 0), 0, 255, 255)]

    @pytest.mark.parametrize("ink", inks)
    @pytest.mark.parametrize("name", ["a.tif", "a.jpg"])
    def test_solid_inks(self, tmp_path, name, ink):
        path = tmp_path / name
        Image.new("CMYK", (32, 32), ink[0]).save(path)
        assert np.abs(read(path, long_side_px=32).colour[5, 5].astype(int) - ink[1:]).max() <= 2

    def test_the_inverted_inks_of_adobes_jpeg_as_opencv_reads_them(self, tmp_path):
        """Programs that write Adobe's APP14 marker (Adobe Technical Note 5116) store 255 for no ink."""
        path = tmp_path / "a.jpg"
        Image.fromarray(sample()).convert("CMYK").save(path, quality=95)
        assert b"Adobe" in path.read_bytes()
        other = cv2.imread(str(path))[:, :, ::-1]
        assert np.abs(read(path, long_side_px=128).colour.astype(float) - other).mean() < 3
