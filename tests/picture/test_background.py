"""Backgrounds that are dropped or faded: shapes known by formula, and packaged pictures as a job asks for them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from photo_files import PACKAGED, read_and_settle
from PIL import Image

from shadowrout.design.mask import clean
from shadowrout.design.tone.choosing import tone_of
from shadowrout.design.tone.settled_tone import SettledTone, settled_tone, tone_for
from shadowrout.errors import InputError, SettingError
from shadowrout.job.options import METHODS, Job, Picture, Plaque, ToneOptions
from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.photo import Photo
from shadowrout.picture.pictures import Pictures, read_pictures
from shadowrout.picture.reading import read
from shadowrout.picture.subject import Subject, background_as_asked, subject_mask, with_background

SIDE_PX = 500
_ROWS, _COLUMNS = np.mgrid[:SIDE_PX, :SIDE_PX] + 0.5
FROM_MIDDLE_PX = np.hypot(_COLUMNS - SIDE_PX / 2, _ROWS - SIDE_PX / 2)
RADIUS_PX = 150
DISC = (FROM_MIDDLE_PX < RADIUS_PX).astype(np.float32)


def _grey_picture(level: np.ndarray) -> Photo:
    """Return a picture of sRGB greys from 0 to 255."""
    rgb = np.repeat(np.clip(level, 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)
    return Photo(lightness_of(rgb), rgb, SIDE_PX, SIDE_PX)


def _disc_with_a_spot(disc: int, ground: np.ndarray | int) -> Photo:
    """Return a disc with a black spot in its middle, of 40 pixels' radius."""
    return _grey_picture(np.where(FROM_MIDDLE_PX < 40, 0, np.where(DISC > 0, disc, ground)))


def _stripes() -> np.ndarray:
    return np.where(_COLUMNS % 60 < 30, 20, 110)


def _design(photo: Photo, method: str, dark: float | None = None) -> np.ndarray:
    """Return where shadow is at 0.2 mm a pixel, 100 mm in all."""
    tone = tone_of(photo, pixel_mm=0.2, method=method, dark=dark, detail_mm=0.8, smoothing_mm=None)
    return clean(tone, least_speck_mm2=1.3, least_pinhole_mm2=1.3).field > 0


class TestBackground:
    @pytest.mark.parametrize("method", ["keep-lines", "single-level", "two-tone"])
    @pytest.mark.parametrize("disc", [200, 230, 250])
    def test_the_cut_of_a_light_subject_draws_no_line(self, method, disc):
        """Only the spot is left, pi 40^2 pixels; the ground's stripes would be cut to pieces else."""
        photo = with_background(_disc_with_a_spot(disc, _stripes()), DISC)
        shadow = _design(photo, method, 0.02 if method == "keep-lines" else None)
        assert not shadow[FROM_MIDDLE_PX > 60].any()
        if method != "keep-lines":  # which hollows what is large and even
            assert shadow.sum() == pytest.approx(math.pi * 40**2, rel=0.05)

    def test_the_same_cut_made_white_at_once_would(self):
        photo = _disc_with_a_spot(200, 255)
        assert _design(photo, "keep-lines", 0.06)[np.abs(FROM_MIDDLE_PX - RADIUS_PX) < 10].any()

    @pytest.mark.parametrize("ground", [130, 200, 255])
    def test_a_dark_subject_keeps_its_outline(self, ground):
        photo = with_background(_grey_picture(np.where(DISC > 0, 20, ground)), DISC)
        shadow = _design(photo, "single-level")
        assert shadow.sum() == pytest.approx(math.pi * RADIUS_PX**2, rel=0.01)
        assert shadow[FROM_MIDDLE_PX < RADIUS_PX - 4].all()
        assert not shadow[FROM_MIDDLE_PX > RADIUS_PX + 4].any()

    def test_a_ring_of_background_that_was_let_in_is_not_seen(self):
        """The found outline may lie a little outside the subject: here by 2 of 500 pixels."""
        loose = (FROM_MIDDLE_PX < RADIUS_PX + 2).astype(np.float32)
        photo = with_background(_disc_with_a_spot(220, 10), loose)
        assert not _design(photo, "keep-lines", 0.02)[FROM_MIDDLE_PX > 60].any()

    def test_the_inside_stays_as_it_was(self):
        photo = _disc_with_a_spot(200, _stripes())
        treated = with_background(photo, DISC)
        deep = FROM_MIDDLE_PX < RADIUS_PX - 8
        assert np.array_equal(treated.lightness[deep], photo.lightness[deep])
        assert np.array_equal(treated.colour[deep], photo.colour[deep])
        assert treated.notes == photo.notes

    def test_far_outside_it_is_even_and_its_colour_fits_its_lightness(self):
        treated = with_background(_disc_with_a_spot(200, _stripes()), DISC)
        far = FROM_MIDDLE_PX > RADIUS_PX + 40
        assert np.ptp(treated.lightness[far]) < 0.01
        assert np.abs(lightness_of(treated.colour) - treated.lightness)[far].max() < 0.3

    def test_fading_takes_the_third_power_of_darkness(self):
        """With d the share of the way from the lightest to the darkest, d^3 of that way is left."""
        ground = np.select([_ROWS < 60, _ROWS < 120, _ROWS > 440], [0, 100, 170], 255)
        photo = _grey_picture(np.where(DISC > 0, 255, ground))
        treated = with_background(photo, DISC, treatment="fade")
        lightest, darkest = photo.lightness.max(), photo.lightness.min()
        paper = treated.lightness[200, 5]  # where the ground was white
        for row in (10, 90, 480):
            share = (lightest - photo.lightness[row, 250]) / (lightest - darkest)
            assert treated.lightness[row, 250] == pytest.approx(paper - share**3 * (lightest - darkest), abs=0.6)

    def test_an_empty_subject_is_refused(self):
        with pytest.raises(InputError, match="too small"):
            with_background(_grey_picture(DISC * 200), np.zeros_like(DISC))

    @pytest.mark.parametrize("level", [0, 128, 255])
    def test_pictures_of_one_grey_pass(self, level):
        treated = with_background(_grey_picture(np.full_like(DISC, level)), DISC)
        assert np.isfinite(treated.lightness).all()

    def test_a_subject_that_fills_the_picture_changes_nothing(self):
        photo = _disc_with_a_spot(200, 30)
        treated = with_background(photo, np.ones_like(DISC))
        assert np.abs(treated.lightness - photo.lightness).max() < 1e-4
        assert np.array_equal(treated.colour, photo.colour)


def job_of(name: str, method: str | None = None, dark: float | None = None, **asked) -> Job:
    tone = ToneOptions(method=method, dark=dark, detail=0.8)
    return Job(Picture(PACKAGED / name, **asked), tone=tone, plaques=(Plaque(size=(100.0, 100.0)),))


@pytest.fixture(scope="module")
def coffee() -> tuple[Pictures, np.ndarray]:
    """Return a cup with its background dropped, and where the cup is."""
    job = job_of("coffee.png", subject=(0.1, 0.0, 0.85, 1.0))
    _, pictures = read_and_settle(job, long_side_px=300)
    return pictures, subject_mask(read(job.picture.file, long_side_px=300), Subject("ellipse", job.picture.subject))


class TestAsAsked:
    @pytest.mark.parametrize("share_of_subject", [0.45, 0.7])
    @pytest.mark.parametrize("method", METHODS)
    def test_a_dropped_background_stays_light_however_much_dark_is_asked_for(self, coffee, method, share_of_subject):
        pictures, inside = coffee
        dark = share_of_subject * pictures.left
        tone = tone_of(pictures.photo, pixel_mm=1 / 3, method=method, dark=dark, detail_mm=0.8, smoothing_mm=None)
        shadow = clean(tone, least_speck_mm2=1, least_pinhole_mm2=1, touch_up=pictures.touch_up).field > 0
        assert not shadow[inside < 0.1].any()
        assert np.mean(shadow) == pytest.approx(dark, abs=0.05)

    def test_the_method_follows_from_the_picture_as_given(self):
        """What is left of a photo, a bright rocket on even ground, has two tones; it is a photo still."""
        asked = {"subject": (0.455, 0.22, 0.56, 1.05), "subject_edge": "plain", "subject_shape": "rectangle"}
        job, _ = read_and_settle(job_of("rocket.jpg", **asked), long_side_px=400)
        assert job.tone.method == "keep-lines"

    def test_the_dark_share_fits_into_the_subject(self):
        asked = {"subject": (0.455, 0.22, 0.56, 1.05), "subject_edge": "plain", "subject_shape": "rectangle"}
        job, pictures = read_and_settle(job_of("rocket.jpg", **asked), long_side_px=400)
        assert pictures.left == pytest.approx(0.105 * 0.78, rel=0.05)
        assert job.tone.dark <= pictures.left

    def test_more_dark_than_the_subject_is_refused(self):
        asked = {"subject": (0.4, 0.4, 0.6, 0.6), "subject_edge": "plain", "subject_shape": "rectangle"}
        with pytest.raises(SettingError, match=r"tone\.dark: 0\.3 is more than the subject's share"):
            read_and_settle(job_of("chelsea.png", dark=0.3, **asked), long_side_px=200)
        job, pictures = read_and_settle(job_of("chelsea.png", dark=0.3, background="fade", **asked), long_side_px=200)
        assert (job.tone.dark, pictures.left, pictures.touch_up) == (0.3, 1.0, None)

    @pytest.mark.parametrize(
        "asked", [{"background": "fade"}, {"subject_edge": "plain"}, {"subject_shape": "rectangle"}]
    )
    def test_settings_of_a_subject_need_one(self, asked):
        with pytest.raises(SettingError, match=f"picture.{next(iter(asked))}: needs a subject"):
            background_as_asked(_grey_picture(DISC), Picture(PACKAGED / "chelsea.png", **asked))

    def test_without_a_subject_nothing_changes(self):
        photo = _grey_picture(DISC * 200)
        treated = background_as_asked(photo, Picture(PACKAGED / "chelsea.png"))
        assert treated.photo is photo
        assert treated.left == 1

    def test_a_job_that_is_settled_stays(self):
        job, pictures = read_and_settle(job_of("chelsea.png", subject=(-0.1, -0.2, 0.9, 1.2)), long_side_px=300)
        assert settled_tone(job, pictures.photo, left=pictures.left) == job


class TestFewDarkParts:
    """A light, even disc with a spot of 15 pixels' radius, its background dropped: hardly anything can be dark."""

    SPOT_SHARE = math.pi * 15**2 / SIDE_PX**2

    def made(self, tmp_path, dark: float | None) -> tuple[SettledTone, Pictures]:
        level = np.where(FROM_MIDDLE_PX < 15, 0, np.where(DISC > 0, 230, 20)).astype(np.uint8)
        Image.fromarray(level).save(tmp_path / "plate.png")
        picture = Picture(tmp_path / "plate.png", subject=(0.2, 0.2, 0.8, 0.8), subject_edge="plain")
        job = Job(picture, tone=ToneOptions(method="keep-lines", lines="all", dark=dark, detail=0.8))
        pictures = read_pictures(job.picture, long_side_px=SIDE_PX)
        return tone_for(job, pictures, widths_mm=[200.0, 100.0]), pictures

    @pytest.mark.parametrize("width_mm", [200.0, 100.0])
    def test_the_share_that_is_chosen_is_kept_and_told(self, tmp_path, width_mm):
        settled, pictures = self.made(tmp_path, None)
        pixel_mm, dark = width_mm / SIDE_PX, settled.job.tone.dark
        options = {"method": "keep-lines", "detail_mm": 0.8, "smoothing_mm": None}
        tone = tone_of(pictures.photo, pixel_mm=pixel_mm, dark=dark, **options)
        assert np.mean(tone.field > 0) == pytest.approx(self.SPOT_SHARE, rel=0.2)
        assert any(f"made with {dark:g}" in note for note in settled.notes)

    def test_one_that_is_asked_for_stays_and_is_refused_when_it_is_made(self, tmp_path):
        settled, pictures = self.made(tmp_path, 0.15)
        assert settled.job.tone.dark == 0.15
        assert settled.notes == ()
        with pytest.raises(SettingError, match=r"0\.15; the nearest share that works is 0\.00"):
            tone_of(pictures.photo, pixel_mm=0.2, method="keep-lines", dark=0.15, detail_mm=0.8, smoothing_mm=None)
