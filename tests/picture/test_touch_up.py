"""Touch-ups: what their pixels say, what is refused, and shapes of known area on designs at two sizes."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from photo_files import read_and_settle
from PIL import Image, ImageOps

from shadowrout.carving.settled_tools import settled_tools
from shadowrout.design import trace
from shadowrout.design.board import lay_out, resolution_of, sized
from shadowrout.design.two_tone import least_shadow_mm2, two_tone_design
from shadowrout.errors import InputError
from shadowrout.job import job_file
from shadowrout.job.options import Job, Picture, Plaque, ToneOptions
from shadowrout.job.settled_boards import settled_boards
from shadowrout.picture.touch_up import read_touch_up

WIDTH, HEIGHT = 300, 200
Y, X = np.mgrid[:HEIGHT, :WIDTH] + 0.5


def rgba(dark: np.ndarray | float = 0, light: np.ndarray | float = 0) -> Image.Image:
    """Return black and white strokes of the given opaqueness, 0 to 1, on a transparent ground that is red."""
    alpha = np.clip(np.maximum(dark, light) * np.ones((HEIGHT, WIDTH)), 0, 1)
    side = np.where(dark * np.ones_like(alpha) >= light, 0, 255)
    colour = np.where((alpha > 0)[:, :, None], side[:, :, None], (255, 0, 0))
    return Image.fromarray(np.dstack([colour, np.rint(255 * alpha)]).astype(np.uint8))


def disc(x: float, y: float, radius: float, softness: float = 1.0) -> np.ndarray:
    """Return 1 inside a disc and 0 outside, one half at its radius, over ``softness`` pixels."""
    return np.clip((radius - np.hypot(X - x, Y - y)) / softness + 0.5, 0, 1)


def square(x: float, y: float, side: float) -> np.ndarray:
    return np.clip(side / 2 + 0.5 - np.maximum(np.abs(X - x), np.abs(Y - y)), 0, 1)


def saved(image: Image.Image, path: Path, **options) -> Path:
    image.save(path, **options)
    return path


def read(path: Path, *, crop=None, of=(WIDTH, HEIGHT), long_side_px: int = WIDTH) -> np.ndarray:
    return read_touch_up(path, crop=crop, proportions_of=of, long_side_px=long_side_px).amount


class TestPixels:
    def test_dark_adds_light_removes_and_alpha_is_the_amount(self, tmp_path):
        image = rgba(dark=np.where(X < 100, 1, np.where(X < 150, 0.4, 0)), light=np.where(X > 250, 0.8, 0))
        amount = read(saved(image, tmp_path / "t.png"))
        assert amount.shape == (HEIGHT, WIDTH)
        assert amount.dtype == np.float32
        for x, wanted in ((50, 1), (120, 0.4), (200, 0), (280, -0.8)):
            assert amount[:, x] == pytest.approx(wanted, abs=1 / 255)

    def test_colours_under_transparent_pixels_do_not_leak(self, tmp_path):
        amount = read(saved(rgba(dark=disc(150, 100, 60)), tmp_path / "t.png"), long_side_px=60)
        assert amount.min() >= 0
        assert amount.sum() * 25 == pytest.approx(math.pi * 60**2, rel=1e-3)  # disc's area, in pixels of the file

    @pytest.mark.parametrize("colour", [(0, 0, 255), (139, 0, 0), (40, 40, 40)])
    def test_any_dark_colour_is_dark(self, tmp_path, colour):
        """CIE L* of sRGB's blue is 32, of dark red 28 (IEC 61966-2-1, CIE 15)."""
        image = Image.new("RGBA", (WIDTH, HEIGHT), (*colour, 0))
        image.paste((*colour, 255), (10, 10, 50, 50))
        assert read(saved(image, tmp_path / "t.png"))[30, 30] == 1

    @pytest.mark.parametrize("name", ["t.png", "t.webp", "t.tif", "t.gif"])
    @pytest.mark.parametrize("mode", ["RGBA", "LA", "P"])
    def test_every_kind_that_can_be_transparent(self, tmp_path, name, mode):
        image = rgba(dark=(X < 100) * 1.0, light=(X > 200) * 1.0)
        if mode == "P":
            indices = np.where(X < 100, 0, np.where(X > 200, 1, 2)).astype(np.uint8)
            image = Image.frombytes("P", (WIDTH, HEIGHT), indices.tobytes())
            image.putpalette([0, 0, 0, 255, 255, 255, 9, 9, 9])
            image.info["transparency"] = 2
        elif mode == "LA":
            image = image.convert("LA")
        if (mode, name) in (("P", "t.tif"), ("P", "t.webp"), ("LA", "t.gif")):
            image = image.convert("RGBA")
        options = {"lossless": True} if name == "t.webp" else {}
        amount = read(saved(image, tmp_path / name, **options))
        assert [amount[100, x] for x in (50, 150, 250)] == [1, 0, -1]

    @pytest.mark.parametrize("orientation", range(1, 9))
    def test_it_is_turned_upright_and_cropped_as_the_picture_is(self, tmp_path, orientation):
        """Pillow's exif_transpose is the reference (EXIF orientation, CIPA DC-008)."""
        image = rgba(dark=disc(80, 60, 30), light=square(220, 120, 40))
        exif = Image.Exif()
        exif[0x0112] = orientation
        path = saved(image, tmp_path / "t.png", exif=exif)
        with Image.open(path) as stored:
            upright = ImageOps.exif_transpose(stored)
        width, height = upright.size
        left, top, right, bottom = (
            round(s * side) for s, side in zip((0.1, 0.2, 0.9, 1), (width, height) * 2, strict=True)
        )
        wanted = np.asarray(upright, dtype=float)[top:bottom, left:right]
        sign = np.where(wanted[:, :, 0] < 128, 1, -1)
        amount = read(path, crop=(0.1, 0.2, 0.9, 1.0), of=upright.size)
        assert np.abs(amount - sign * wanted[:, :, 3] / 255).max() < 1e-5


class TestRefused:
    def problem(self, path: Path, **options) -> str:
        with pytest.raises(InputError) as caught:
            read(path, **options)
        return str(caught.value)

    @pytest.mark.parametrize("of", [(200, 300), (300, 210), (1000, 650)])
    def test_other_proportions_name_both(self, tmp_path, of):
        problem = self.problem(saved(rgba(dark=disc(80, 60, 30)), tmp_path / "t.png"), of=of)
        assert "300 x 200" in problem
        assert f"{of[0]} x {of[1]}" in problem

    @pytest.mark.parametrize("of", [(300, 201), (3000, 1985), (151, 100)])
    def test_rounded_proportions_are_the_same(self, tmp_path, of):
        assert read(saved(rgba(dark=disc(80, 60, 30)), tmp_path / "t.png"), of=of).max() == 1

    @pytest.mark.parametrize("name", ["t.jpg", "t.png", "t.bmp", "opaque.png", "deep.png", "float.tif"])
    def test_nothing_transparent(self, tmp_path, name):
        image = Image.new("RGB", (WIDTH, HEIGHT), "white")
        if name == "opaque.png":
            image = image.convert("RGBA")
        elif name == "deep.png":
            image = Image.fromarray(np.full((HEIGHT, WIDTH), 40000, np.uint16))
        elif name == "float.tif":
            image = Image.fromarray(np.full((HEIGHT, WIDTH), 0.5, np.float32))
        problem = self.problem(saved(image, tmp_path / name))
        assert "nothing in it is transparent" in problem
        assert "two-tone" in problem

    def test_colours_between_dark_and_light(self, tmp_path):
        """CIE L* of sRGB's red is 53."""
        image = Image.new("RGBA", (WIDTH, HEIGHT), (0, 0, 0, 0))
        image.paste((255, 0, 0, 255), (10, 10, 50, 50))
        assert "black" in self.problem(saved(image, tmp_path / "t.png"))

    @pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
    def test_a_file_cut_short(self, tmp_path, share):
        path = saved(rgba(dark=np.random.default_rng(1).random((HEIGHT, WIDTH))), tmp_path / "t.png")
        path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])
        assert "t.png: the PNG file is" in self.problem(path)

    def test_no_such_file(self, tmp_path):
        assert "no such file" in self.problem(tmp_path / "t.png")


@pytest.fixture(scope="module")
def half_dark(tmp_path_factory) -> Path:
    """Return a picture whose left half is black and whose right half is white."""
    picture = np.where(X < WIDTH / 2, 0, 255).astype(np.uint8)
    return saved(Image.fromarray(picture), tmp_path_factory.mktemp("in") / "half.png")


def shadow_of(picture: Path, side_mm: float, **asked):
    """Return the sized design of a picture, 3 : 2, on a square plaque, and the millimetres a pixel of the file has."""
    tone = ToneOptions(method=asked.pop("method", "two-tone"), dark=asked.pop("dark", None))
    job = Job(Picture(picture, **asked), tone=tone, plaques=(Plaque(size=(side_mm, side_mm)),))
    job = settled_tools(settled_boards(job, aspect=1.5))
    layout = lay_out(job.plaques[0], aspect=1.5, origin="corner")
    resolution = resolution_of(layout, detail_mm=job.tone.detail)
    job, pictures = read_and_settle(job, long_side_px=max(resolution.width_px, resolution.height_px))
    mask = two_tone_design(job, pictures.photo, resolution, touch_up=pictures.touch_up)
    design = sized(trace.outline_of(mask), layout, least_area_mm2=least_shadow_mm2(job))
    x0, _, x1, _ = layout.picture_box_mm
    return design.shadow, (x1 - x0) / WIDTH


SIZES = [80.0, 200.0]


@pytest.mark.parametrize("side_mm", SIZES)
class TestKnownShapes:
    """Plane geometry: a disc of radius r adds pi r^2, a square of side a removes a^2."""

    def added(self, half_dark, tmp_path, side_mm, drawn) -> tuple[float, float]:
        """Return the shadow that the touch-up adds in mm2, and the millimetres of a pixel."""
        before, pixel_mm = shadow_of(half_dark, side_mm)
        after, _ = shadow_of(half_dark, side_mm, touch_up=saved(drawn, tmp_path / "t.png"))
        return after.area - before.area, pixel_mm

    @pytest.mark.parametrize("softness", [1.0, 12.0])
    def test_a_disc_adds_its_area_its_edge_where_it_is_half_transparent(self, half_dark, tmp_path, side_mm, softness):
        drawn = rgba(dark=disc(225, 100, 50, softness))
        added, pixel_mm = self.added(half_dark, tmp_path, side_mm, drawn)
        assert added == pytest.approx(math.pi * (50 * pixel_mm) ** 2, rel=0.005)

    def test_a_square_removes_its_area(self, half_dark, tmp_path, side_mm):
        added, pixel_mm = self.added(half_dark, tmp_path, side_mm, rgba(light=square(75, 100, 80)))
        assert added == pytest.approx(-((80 * pixel_mm) ** 2), rel=0.005)

    def test_dark_on_dark_and_light_on_light_change_nothing(self, half_dark, tmp_path, side_mm):
        drawn = rgba(dark=disc(75, 100, 40), light=disc(225, 100, 40))
        added, pixel_mm = self.added(half_dark, tmp_path, side_mm, drawn)
        assert added == pytest.approx(0, abs=1e-3 * (150 * pixel_mm) ** 2)

    def test_what_is_smaller_than_a_speck_or_a_pinhole_stays(self, half_dark, tmp_path, side_mm):
        _, pixel_mm = shadow_of(half_dark, side_mm)
        radius = 0.45 / pixel_mm  # 0.6 mm2, where a speck is up to twice the finest line squared, 1.3 mm2
        drawn = rgba(dark=disc(225, 100, radius), light=disc(75, 100, radius))
        shadow, _ = shadow_of(half_dark, side_mm, touch_up=saved(drawn, tmp_path / "t.png"))
        assert len(shadow) == 2
        assert sum(1 for _ in shadow.rings()) == 3


def test_what_is_drawn_into_a_dropped_background_stays(half_dark, tmp_path):
    drawn = saved(rgba(dark=disc(225, 50, 30)), tmp_path / "t.png")
    asked = {"subject": (0.1, 0.1, 0.6, 0.9), "subject_edge": "plain", "subject_shape": "rectangle"}
    shadow, pixel_mm = shadow_of(half_dark, 100.0, touch_up=drawn, **asked)
    wanted = (math.pi * 30**2 + (150 - 30) * 160) * pixel_mm**2
    assert len(shadow) == 2
    assert shadow.area == pytest.approx(wanted, rel=0.01)


class TestJobFile:
    def test_its_path_starts_at_the_job_file(self, tmp_path):
        path = tmp_path / "job.toml"
        path.write_text('[picture]\nfile = "a.jpg"\ntouch_up = "drawn/t.png"\n', encoding="utf-8")
        assert job_file.read(path).picture.touch_up == tmp_path / "drawn/t.png"

    def test_it_is_written_from_its_folder(self, tmp_path):
        job = Job(Picture(tmp_path / "a.jpg", touch_up=tmp_path / "t.png"))
        (tmp_path / "out").mkdir()
        written = job_file.written(job, folder=tmp_path / "out")
        assert 'touch_up = "../t.png"' in written
        (tmp_path / "out" / "job.toml").write_text(written, encoding="utf-8")
        again = job_file.read(tmp_path / "out" / "job.toml").picture
        assert again.touch_up.resolve() == tmp_path.resolve() / "t.png"
