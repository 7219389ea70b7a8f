"""The subject's mask: shapes known by formula, and packaged pictures where anyone can say what the subject is."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from photo_files import PACKAGED

from shadowrout.errors import InputError
from shadowrout.picture.lightness import lightness_of
from shadowrout.picture.photo import Photo, resampled
from shadowrout.picture.reading import read
from shadowrout.picture.subject import Subject, subject_mask


def _photo(rgb: np.ndarray) -> Photo:
    return Photo(lightness_of(rgb), rgb, rgb.shape[1], rgb.shape[0])


def _disc_on_ground(side_px: int = 400, *, seed: int = 3) -> tuple[Photo, np.ndarray]:
    """Return a grainy orange disc on grainy blue, and where the disc is."""
    noise = np.random.default_rng(seed).normal(0, 12, (side_px, side_px, 3))
    y, x = np.mgrid[:side_px, :side_px] + 0.5
    disc = np.hypot(x - 0.52 * side_px, y - 0.48 * side_px) < 0.3 * side_px
    rgb = np.where(disc[:, :, None], (200, 120, 40), (60, 90, 150)) + noise
    return _photo(np.clip(rgb, 0, 255).astype(np.uint8)), disc


def _agreement(mask: np.ndarray, truth: np.ndarray) -> float:
    """Return intersection over union."""
    found = mask > 0.5
    return float((found & truth).sum() / (found | truth).sum())


ROUND_IT = Subject("rectangle", (0.15, 0.1, 0.9, 0.85))


class TestPlainShape:
    def test_a_rectangle(self):
        photo = _photo(np.zeros((100, 200, 3), np.uint8))
        mask = subject_mask(photo, Subject("rectangle", (0.25, 0.2, 0.75, 0.8)), cut_out=False)
        assert mask.shape == (100, 200)
        assert mask.dtype == np.float32
        assert mask[20:80, 50:150].mean() > 0.97
        assert mask.sum() == pytest.approx(100 * 60, rel=1e-3)

    def test_an_ellipse_has_the_area_of_its_formula(self):
        photo = _photo(np.zeros((300, 500, 3), np.uint8))
        mask = subject_mask(photo, Subject("ellipse", (0.1, 0.2, 0.9, 0.8)), cut_out=False)
        assert mask.sum() == pytest.approx(math.pi * 200 * 90, rel=2e-3)

    def test_its_edge_is_a_few_pixels_soft(self):
        photo = _photo(np.zeros((100, 100, 3), np.uint8))
        row = subject_mask(photo, Subject("rectangle", (0.5, 0, 1, 1)), cut_out=False)[50]
        assert np.all(np.diff(row) >= 0)
        assert 2 <= np.count_nonzero((row > 0.02) & (row < 0.98)) <= 4
        assert (row[0], row[-1]) == (0, 1)

    def test_a_shape_reaching_past_the_picture_is_cut_by_it(self):
        photo = _photo(np.zeros((50, 50, 3), np.uint8))
        mask = subject_mask(photo, Subject("ellipse", (-1, -1, 2, 2)), cut_out=False)
        assert mask.min() == 1

    def test_a_shape_beside_the_picture_is_refused(self):
        photo = _photo(np.zeros((50, 50, 3), np.uint8))
        with pytest.raises(InputError, match="holds nothing of the picture"):
            subject_mask(photo, Subject("ellipse", (1.2, 0, 1.5, 1)), cut_out=False)


class TestCutOut:
    def test_a_disc_is_found_as_it_was_drawn(self):
        photo, disc = _disc_on_ground()
        mask = subject_mask(photo, ROUND_IT)
        assert mask.shape == disc.shape
        assert mask.dtype == np.float32
        assert 0 <= mask.min() <= mask.max() <= 1
        assert _agreement(mask, disc) > 0.98

    def test_the_outline_is_smooth(self):
        photo, _ = _disc_on_ground()
        outlines, _ = cv2.findContours(
            (subject_mask(photo, ROUND_IT) > 0.5).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE
        )
        assert len(outlines) == 1  # one piece, no holes
        points = outlines[0][:, 0] + 0.5
        assert np.abs(np.hypot(*(points - (208, 192)).T) - 120).max() < 3

    def test_the_same_picture_gives_the_same_mask(self):
        """GrabCut starts from random clusters: on this picture other seeds move hundreds of pixels."""
        photo = read(PACKAGED / "chelsea.png", long_side_px=200)
        masks = []
        for seed in (5, 6):
            cv2.setRNGSeed(seed)
            masks.append(subject_mask(photo, Subject("ellipse", (0.1, 0, 0.9, 1))))
        assert np.array_equal(masks[0], masks[1])

    def test_half_and_double_size_give_the_same_outline(self):
        photo, disc = _disc_on_ground(400)
        half = resampled(photo, width_px=200, height_px=200)
        large = resampled(photo, width_px=800, height_px=800)
        masks = [subject_mask(each, ROUND_IT) > 0.5 for each in (half, photo, large)]
        assert _agreement(masks[0].astype(np.float32), masks[1][::2, ::2]) > 0.98
        assert _agreement(masks[2][::2, ::2].astype(np.float32), masks[1]) > 0.98
        assert _agreement(masks[1].astype(np.float32), disc) > 0.98

    def test_the_edge_is_as_sharp_on_a_large_picture(self):
        photo, _ = _disc_on_ground(900)
        row = subject_mask(photo, ROUND_IT)[432]
        assert 4 <= np.count_nonzero((row > 0.02) & (row < 0.98)) <= 10  # two edges

    def test_nothing_outside_the_shape_is_taken(self):
        photo, _ = _disc_on_ground(250)
        subject = Subject("ellipse", (0.3, 0.2, 0.7, 0.8))
        plain = subject_mask(photo, subject, cut_out=False)
        assert not np.any((subject_mask(photo, subject) > 0.5) & (cv2.dilate(plain, np.ones((5, 5))) < 0.1))

    def test_holes_are_filled_and_crumbs_dropped(self):
        photo, disc = _disc_on_ground()
        rgb = photo.colour.copy()
        rgb[150:165, 200:215] = (60, 90, 150)  # ground inside the disc
        rgb[50:60, 330:340] = (200, 120, 40)  # disc's colour apart from it
        mask = subject_mask(_photo(rgb), ROUND_IT)
        assert mask[157, 207] == 1
        assert mask[55, 335] == 0
        assert _agreement(mask, disc) > 0.98


class TestPackagedPictures:
    """Points that a look at the picture puts inside or outside, in shares; `astronaut` public domain, others CC0."""

    @pytest.mark.parametrize(
        ("name", "subject", "inside", "outside"),
        [
            (
                "coffee.png",
                Subject("rectangle", (0.12, 0.02, 0.83, 0.97)),
                [(0.5, 0.3), (0.25, 0.6), (0.7, 0.7)],
                [(0.03, 0.1), (0.14, 0.1), (0.14, 0.9), (0.8, 0.93), (0.95, 0.5)],
            ),
            (
                "astronaut.png",
                Subject("ellipse", (0.02, -0.05, 0.9, 1.3)),
                [(0.45, 0.2), (0.45, 0.35), (0.35, 0.6), (0.2, 0.9)],
                [(0.1, 0.1), (0.2, 0.2), (0.75, 0.2), (0.95, 0.5)],
            ),
            (
                "chelsea.png",
                Subject("ellipse", (-0.1, -0.2, 0.9, 1.2)),
                [(0.4, 0.4), (0.57, 0.8), (0.2, 0.8), (0.5, 0.15)],
                [(0.9, 0.3), (0.95, 0.8), (0.8, 0.85)],
            ),
        ],
    )
    def test_what_anyone_sees(self, name, subject, inside, outside):
        photo = read(PACKAGED / name, long_side_px=300)
        mask = subject_mask(photo, subject)
        height, width = mask.shape
        assert [mask[int(y * height), int(x * width)] for x, y in inside] == [1] * len(inside)
        assert [mask[int(y * height), int(x * width)] for x, y in outside] == [0] * len(outside)

    def test_the_horse_is_found_to_the_pixel_but_for_narrow_bays(self):
        photo = read(PACKAGED / "horse.png", long_side_px=400)
        mask = subject_mask(photo, Subject("rectangle", (0.02, 0.02, 0.98, 0.98)))
        horse = photo.lightness < 50
        assert (horse & (mask > 0.5)).sum() > 0.99 * horse.sum()
        assert max(mask[:8].max(), mask[-4:].max()) < 0.01


class TestNoSubject:
    def _problem(self, photo: Photo, subject: Subject) -> str:
        with pytest.raises(InputError) as caught:
            subject_mask(photo, subject)
        return str(caught.value)

    def test_an_even_picture(self):
        photo = _photo(np.full((200, 200, 3), 128, np.uint8))
        assert "no subject stands out" in self._problem(photo, ROUND_IT)

    def test_blank_paper(self):
        grain = np.random.default_rng(1).normal(245, 4, (150, 150, 3))
        assert "no subject stands out" in self._problem(_photo(np.clip(grain, 0, 255).astype(np.uint8)), ROUND_IT)

    def test_noise(self):
        rgb = np.random.default_rng(1).integers(0, 255, (150, 150, 3), dtype=np.uint8)
        assert "no subject stands out" in self._problem(_photo(rgb), ROUND_IT)

    @pytest.mark.parametrize("box", [(0, 0, 1, 1), (-1, -1, 2, 2), (0.5, 0.5, 0.501, 0.501), (1.2, 1.2, 1.4, 1.4)])
    def test_a_shape_with_nothing_inside_or_outside(self, box):
        photo, _ = _disc_on_ground()
        assert "background outside" in self._problem(photo, Subject("rectangle", box))

    def test_the_smallest_picture_gives_a_mask_or_an_error(self):
        rgb = np.random.default_rng(1).integers(0, 255, (16, 16, 3), dtype=np.uint8)
        try:
            assert subject_mask(_photo(rgb), ROUND_IT).shape == (16, 16)
        except InputError as error:
            assert "subject" in str(error)
