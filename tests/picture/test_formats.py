"""Every kind of picture file comes out as the picture that went in."""

from __future__ import annotations

import io

import numpy as np
import pytest
from photo_files import ENCODERS, PACKAGED, encoded, sample, tiff, written
from PIL import Image

from shadowrout.errors import InputError
from shadowrout.picture.decoders import header_of
from shadowrout.picture.photo import Photo, resampled
from shadowrout.picture.picture_files import picture_file
from shadowrout.picture.reading import read, size_of

# Mean absolute difference allowed, of 255: formats that keep every pixel, and those that throw away detail.
_EXACT = {"png", "tiff", "lzw-tiff", "float-tiff", "bmp"}
_LOSSY = {"jpeg": 1.5, "progressive": 4, "webp": 4, "heic": 4, "gif": 6}


def _saved(folder, image: Image.Image, name: str, **options: object):
    path = folder / name
    image.save(path, **options)
    return path


@pytest.mark.parametrize("format_name", ENCODERS)
def test_a_picture_survives_each_format(tmp_path, format_name):
    photo = read(written(tmp_path, format_name), long_side_px=128)
    difference = np.abs(photo.colour.astype(float) - sample()).mean()
    assert difference == 0 if format_name in _EXACT else difference < _LOSSY[format_name]
    assert (photo.full_width_px, photo.full_height_px) == (128, 96)
    assert photo.notes == ()


@pytest.mark.parametrize("format_name", ENCODERS)
def test_the_header_alone_gives_the_size(tmp_path, format_name):
    assert size_of(written(tmp_path, format_name)) == (128, 96)


@pytest.mark.parametrize("name", ["astronaut.png", "chelsea.png", "coffee.png", "horse.png", "camera.png", "brick.png"])
def test_packaged_pictures_read_as_pillow_reads_them(name):
    whole = np.asarray(Image.open(PACKAGED / name).convert("RGB"))
    photo = read(PACKAGED / name, long_side_px=10_000)
    assert np.array_equal(photo.colour, whole)
    assert photo.lightness.shape == whole.shape[:2]
    assert photo.lightness.dtype == np.float32


@pytest.mark.parametrize("format_name", ENCODERS)
def test_a_reduced_picture_is_the_average_of_areas(tmp_path, format_name):
    """Against block means taken by numpy, from the file decoded whole."""
    path = written(tmp_path, format_name)
    whole = read(path, long_side_px=128).colour.astype(float)
    means = whole.reshape(24, 4, 32, 4, 3).mean(axis=(1, 3))
    photo = read(path, long_side_px=32)
    assert photo.colour.shape == (24, 32, 3)
    # JPEG's own reduction drops high frequencies where an average keeps a little of them
    assert np.abs(photo.colour - means).mean() < (4 if "j" in format_name or "prog" in format_name else 0.6)


def test_a_reduction_by_no_whole_number_keeps_the_mean():
    photo = read(PACKAGED / "astronaut.png", long_side_px=301)
    whole = np.asarray(Image.open(PACKAGED / "astronaut.png").convert("RGB"))
    assert photo.colour.shape == (301, 301, 3)
    assert photo.colour.mean() == pytest.approx(whole.mean(), abs=0.3)


def test_a_tall_picture_in_many_bands_has_no_seams(tmp_path):
    ramp = np.repeat(np.linspace(0, 255, 4000).astype(np.uint8)[:, None], 1500, axis=1)
    photo = read(_saved(tmp_path, Image.fromarray(ramp), "ramp.png"), long_side_px=500)
    rows = photo.colour[:, :, 0].astype(float)
    assert np.ptp(rows, axis=1).max() == 0
    assert np.abs(rows[:, 0] - np.linspace(0, 255, 4000).reshape(500, 8).mean(axis=1)).max() < 1.5


def test_nothing_is_enlarged(tmp_path):
    assert read(written(tmp_path, "jpeg"), long_side_px=5000).colour.shape == (96, 128, 3)


@pytest.mark.parametrize("long_side_px", [17, 100, 150, 256, 300, 511])
def test_a_jpeg_reduced_while_decoding_has_the_wanted_size(tmp_path, long_side_px):
    path = tmp_path / "big.jpg"
    Image.open(PACKAGED / "astronaut.png").save(path)
    assert max(read(path, long_side_px=long_side_px).colour.shape) == long_side_px


@pytest.mark.parametrize(("share", "decoded_at"), [(1, 1), (0.6, 1), (0.5, 2), (0.2, 4), (0.125, 8), (0.01, 8)])
def test_a_jpeg_is_decoded_no_larger_than_needed(tmp_path, share, decoded_at):
    """JPEG's blocks of 8 x 8 can be decoded as 4, 2 or 1 pixels a side (ITU-T T.81, A.3.3)."""
    path = tmp_path / "big.jpg"
    Image.open(PACKAGED / "astronaut.png").save(path)
    with picture_file(path) as (file, kind):
        image, _ = header_of(file, kind).decoded(share)
    assert image.size == (512 // decoded_at, 512 // decoded_at)


class TestModes:
    """Pixel modes, each with a colour known from the way the file was made."""

    def test_one_bit(self, tmp_path):
        page = np.asarray(Image.open(PACKAGED / "horse.png").convert("L")) > 128
        photo = read(_saved(tmp_path, Image.fromarray(page), "a.png"), long_side_px=1000)
        assert np.array_equal(photo.colour[:, :, 1], page * np.uint8(255))

    def test_grey(self, tmp_path):
        photo = read(_saved(tmp_path, Image.fromarray(sample()[:, :, 0]), "a.png"), long_side_px=128)
        assert np.array_equal(photo.colour, np.repeat(sample()[:, :, :1], 3, axis=2))

    @pytest.mark.parametrize("name", ["a.png", "a.tif", "a.webp"])
    def test_alpha_goes_over_white(self, tmp_path, name):
        image = Image.new("RGBA", (32, 32), (0, 0, 0, 255))
        image.paste((200, 0, 0, 51), (16, 0, 32, 32))
        photo = read(_saved(tmp_path, image, name, **({"lossless": True} if name == "a.webp" else {})), long_side_px=32)
        # a fifth of the colour, four fifths of white: 200 / 5 + 204 and 0 + 204
        assert photo.colour[8, 8].tolist() == [0, 0, 0]
        assert np.abs(photo.colour[8, 24].astype(int) - [244, 204, 204]).max() <= 1

    def test_what_hides_under_full_transparency_does_not_leak_into_averages(self, tmp_path):
        image = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
        photo = read(_saved(tmp_path, image, "a.png"), long_side_px=16)
        assert photo.colour.min() == 255

    def test_grey_with_alpha(self, tmp_path):
        photo = read(_saved(tmp_path, Image.new("LA", (20, 20), (0, 51)), "a.png"), long_side_px=20)
        assert np.abs(photo.colour.astype(int) - 204).max() <= 1

    @pytest.mark.parametrize("name", ["a.png", "a.gif"])
    def test_palette_with_transparency(self, tmp_path, name):
        image = Image.new("P", (32, 32), 0)
        image.putpalette([10, 20, 30, 200, 100, 50, 0, 0, 0])
        image.paste(1, (0, 0, 16, 32))
        photo = read(_saved(tmp_path, image, name, transparency=0), long_side_px=32)
        assert photo.colour[5, 5].tolist() == [200, 100, 50]
        assert photo.colour[5, 25].tolist() == [255, 255, 255]

    def test_a_single_transparent_colour(self, tmp_path):
        image = Image.fromarray(np.full((20, 20, 3), 7, np.uint8))
        photo = read(_saved(tmp_path, image, "a.png", transparency=(7, 7, 7)), long_side_px=20)
        assert photo.colour.min() == 255

    def test_gif_gives_its_first_frame(self, tmp_path):
        frames = [Image.new("RGB", (20, 20), colour) for colour in ("red", "blue", "lime")]
        path = _saved(tmp_path, frames[0], "a.gif", save_all=True, append_images=frames[1:])
        assert read(path, long_side_px=20).colour[3, 3].tolist() == [255, 0, 0]

    def test_animated_webp_gives_its_first_frame(self, tmp_path):
        frames = [Image.new("RGB", (20, 20), colour) for colour in ("red", "blue")]
        path = _saved(tmp_path, frames[0], "a.webp", save_all=True, append_images=frames[1:], lossless=True)
        assert read(path, long_side_px=20).colour[3, 3].tolist() == [255, 0, 0]

    def test_tiff_gives_its_first_page(self, tmp_path):
        pages = [Image.new("RGB", (20, 20), colour) for colour in ("red", "blue")]
        path = _saved(tmp_path, pages[0], "a.tif", save_all=True, append_images=pages[1:])
        assert read(path, long_side_px=20).colour[3, 3].tolist() == [255, 0, 0]

    def test_a_phone_jpeg_of_several_pictures_gives_its_first(self, tmp_path):
        first = Image.fromarray(sample())
        path = tmp_path / "a.jpg"
        first.save(path, "MPO", save_all=True, append_images=[Image.new("RGB", (128, 96), "blue")])
        assert np.abs(read(path, long_side_px=128).colour.astype(float) - sample()).mean() < 5


class TestDeepGrey:
    """Grey of 16 and 32 bits and floating point keeps steps that bytes can't hold."""

    ramp = np.linspace(0, 1, 32 * 32).reshape(32, 32)

    def _check_ramp(self, path, darkest=0.0, lightest=100.0):
        photo = read(path, long_side_px=32)
        lightness = photo.lightness.ravel()
        assert lightness[0] == pytest.approx(darkest, abs=1e-3)
        assert lightness[-1] == pytest.approx(lightest, abs=1e-3)
        assert np.unique(lightness).size > 1000  # of 1024; 256 if it went through bytes
        assert np.abs(photo.colour[:, :, 0] - self.ramp * 255).max() <= 0.52
        return photo

    @pytest.mark.parametrize("name", ["a.png", "a.tif"])
    def test_sixteen_bits(self, tmp_path, name):
        values = np.rint(self.ramp * 65535).astype(np.uint16)
        assert self._check_ramp(_saved(tmp_path, Image.fromarray(values), name)).notes == ()

    @pytest.mark.parametrize("byteorder", ["<", ">"])
    def test_sixteen_bits_of_either_byte_order(self, tmp_path, byteorder):
        content = tiff(np.rint(self.ramp * 65535).astype(np.uint16), byteorder=byteorder)
        self._check_ramp(written(tmp_path, "tiff", content))

    def test_sixteen_bits_where_white_is_zero(self, tmp_path):
        """Photometric interpretation 0 of TIFF 6.0."""
        values = np.rint((1 - self.ramp) * 65535).astype(np.uint16)
        self._check_ramp(written(tmp_path, "tiff", tiff(values, photometric="miniswhite")))

    @pytest.mark.parametrize("dtype", [np.float16, np.float32, np.float64])
    def test_floats_from_0_to_1_are_taken_as_they_are(self, tmp_path, dtype):
        values = self.ramp.astype(dtype)
        photo = read(written(tmp_path, "tiff", tiff(values)), long_side_px=32)
        assert photo.notes == ()
        assert np.abs(photo.colour[:, :, 0] - values.astype(float) * 255).max() <= 0.51

    @pytest.mark.parametrize("dtype", [np.int16, np.int32, np.uint32, np.float32, np.float64])
    def test_other_numbers_are_stretched_and_it_is_said(self, tmp_path, dtype):
        values = (self.ramp * 20_000 + 100).astype(dtype)
        photo = self._check_ramp(written(tmp_path, "tiff", tiff(values)))
        assert photo.notes == ("the picture's numbers from 100 to 20100 were stretched to black and white",)

    def test_unsigned_integers_beyond_the_signed_ones(self, tmp_path):
        self._check_ramp(written(tmp_path, "tiff", tiff((self.ramp * 4e9).astype(np.uint32))))

    def test_what_is_no_number_is_light(self, tmp_path):
        values = np.full((32, 32), 0.25, np.float32)
        values[:16] = np.nan
        values[20] = np.inf
        photo = read(written(tmp_path, "tiff", tiff(values)), long_side_px=32)
        assert photo.colour[3, 3].tolist() == [255, 255, 255]
        assert photo.colour[20, 3].tolist() == [255, 255, 255]
        assert photo.colour[30, 3].tolist() == [64, 64, 64]

    @pytest.mark.parametrize("value", [np.nan, 7.0])
    def test_numbers_without_a_range_are_refused(self, tmp_path, value):
        path = written(tmp_path, "tiff", tiff(np.full((32, 32), value, np.float32)))
        with pytest.raises(InputError, match="number"):
            read(path, long_side_px=32)


class TestDeepColour:
    @pytest.mark.parametrize("name", ["tiff", "png"])
    def test_sixteen_bits_within_a_step_of_eight(self, tmp_path, name):
        import cv2

        wide = sample().astype(np.uint16) * 257
        png = cv2.imencode(".png", wide[:, :, ::-1])[1].tobytes()
        path = written(tmp_path, name, tiff(wide, photometric="rgb") if name == "tiff" else png)
        assert np.abs(read(path, long_side_px=128).colour.astype(int) - sample()).max() <= 1

    @pytest.mark.parametrize("planes", ["contig", "separate"])
    @pytest.mark.parametrize("dtype", [np.float32, np.float64])
    def test_floats(self, tmp_path, planes, dtype):
        values = (sample() / 255).astype(dtype)
        values = np.moveaxis(values, 2, 0) if planes == "separate" else values
        path = written(tmp_path, "tiff", tiff(values, photometric="rgb", planarconfig=planes))
        assert np.array_equal(read(path, long_side_px=128).colour, sample())

    def test_floats_beyond_1_are_stretched_by_one_scale(self, tmp_path):
        values = np.zeros((32, 32, 3), np.float32)
        values[:16] = (1, 2, 4)
        photo = read(written(tmp_path, "tiff", tiff(values, photometric="rgb")), long_side_px=32)
        assert photo.colour[0, 0].tolist() == [64, 128, 255]
        assert "from 0 to 4" in photo.notes[0]


def test_resampling_averages_downwards_and_interpolates_upwards():
    photo = read(PACKAGED / "astronaut.png", long_side_px=512)
    small = resampled(photo, width_px=128, height_px=128)
    means = photo.lightness.reshape(128, 4, 128, 4).mean(axis=(1, 3))
    assert np.abs(small.lightness - means).max() < 1e-3
    large = resampled(photo, width_px=1024, height_px=1024)
    assert large.lightness.shape == (1024, 1024)
    assert large.colour.shape == (1024, 1024, 3)
    assert 0 <= large.lightness.min() <= large.lightness.max() <= 100
    again = resampled(large, width_px=512, height_px=512)
    assert np.abs(again.lightness - photo.lightness).mean() < 0.5
    assert (small.full_width_px, small.aspect) == (512, 1.0)


def test_resampling_one_axis_each_way():
    ramp = np.repeat(np.linspace(0, 100, 40, dtype=np.float32)[None], 20, axis=0)
    photo = Photo(ramp, np.zeros((20, 40, 3), np.uint8), 40, 20)
    mixed = resampled(photo, width_px=20, height_px=60)
    assert mixed.lightness.shape == (60, 20)
    assert np.abs(mixed.lightness - ramp[0].reshape(20, 2).mean(axis=1)).max() < 1e-3


def test_resampling_to_nothing_is_refused():
    photo = Photo(np.zeros((4, 4), np.float32), np.zeros((4, 4, 3), np.uint8), 4, 4)
    with pytest.raises(ValueError, match="at least 1 x 1"):
        resampled(photo, width_px=0, height_px=4)


def test_the_same_file_gives_the_same_pixels(tmp_path):
    path = tmp_path / "a.jpg"
    Image.open(io.BytesIO(encoded("png"))).save(path)
    first, second = (read(path, long_side_px=50) for _ in range(2))
    assert np.array_equal(first.lightness, second.lightness)
    assert np.array_equal(first.colour, second.colour)
