"""The choice among shares of dark, against correlations, outlines and counts that are known from geometry."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from skimage import data
from skimage.color import rgb2lab

from shadowrout.design.tone import choosing
from shadowrout.design.tone.share_score import FINE_WEIGHT, Likeness, chips, plainest, strokes
from shadowrout.picture.photo import Photo

SIDE = 200
Y, X = np.mgrid[:SIDE, :SIDE] + 0.5
HALVES = np.where(X < SIDE / 2, 20.0, 80.0).astype(np.float32)


def discs(radius: float, *middles: tuple[float, float]) -> np.ndarray:
    return np.any([np.hypot(X - x, Y - y) < radius for x, y in middles], axis=0)


class TestLikeness:
    """Pearson's correlation is 1 for what rises with the other in a straight line, and -1 for what falls with it."""

    def test_a_picture_in_two_tones_is_wholly_like_itself_and_unlike_its_negative(self):
        """But for the feet of the Gaussians, where so little shows that it counts as nothing."""
        likeness = Likeness(HALVES)
        assert likeness.of(HALVES < 50) == pytest.approx(1, abs=0.01)
        assert likeness.of(HALVES > 50) == pytest.approx(-1, abs=0.01)

    def test_a_design_of_one_tone_has_none(self):
        assert Likeness(HALVES).of(np.zeros((SIDE, SIDE), bool)) == pytest.approx(0, abs=1e-3)
        assert Likeness(HALVES).of(np.ones((SIDE, SIDE), bool)) == pytest.approx(0, abs=1e-3)

    def test_brightness_and_contrast_of_the_picture_dont_count(self):
        dark = discs(30, (60, 60), (150, 120))
        soft = (50 + 30 * np.sin(X / 9) * np.cos(Y / 13)).astype(np.float32)
        assert Likeness(0.5 * soft + 20).of(dark) == pytest.approx(Likeness(soft).of(dark), abs=1e-3)

    def test_a_place_that_must_stay_fine_counts_so_much_more(self):
        """Two discs far apart, one of them drawn: likeness is the drawn one's part of the weight."""
        both, one = discs(10, (50, 100), (150, 100)), discs(10, (50, 100))
        lightness = np.where(both, 20, 80).astype(np.float32)
        fine = (X < SIDE / 2).astype(np.float32)
        assert Likeness(lightness).of(one) == pytest.approx(1 / 2, abs=0.01)
        known = (1 + FINE_WEIGHT) / (2 + FINE_WEIGHT)
        assert Likeness(lightness, fine).of(one) == pytest.approx(known, abs=0.01)
        assert Likeness(lightness, 1 - fine).of(one) == pytest.approx(1 - known, abs=0.01)


class TestStrokes:
    def test_a_discs_wall_is_as_long_as_its_circle(self):
        """Half of 2 pi r in strokes of an eighth of the side."""
        assert strokes(discs(50, (100, 100))) == pytest.approx(math.pi * 50 / (SIDE / 8), rel=0.02)

    def test_a_line_is_as_long_as_it_is_in_any_direction_on_the_average(self):
        """A side of pixels is as long as it is along them and sqrt 2 too long askew; pi / 4 of it is taken."""
        straight = strokes((abs(Y - 100) < 2) & (abs(X - 100) < 50)) * SIDE / 8
        askew = strokes((abs(X - Y) < 2 * math.sqrt(2)) & (abs(X + Y - 200) < 50 * math.sqrt(2))) * SIDE / 8
        assert straight == pytest.approx(math.pi / 4 * 104, rel=0.01)
        assert askew == pytest.approx(math.pi / 4 * math.sqrt(2) * 104, rel=0.04)

    def test_each_chip_is_a_stroke_more(self):
        """A chip is under 2 by 2 of 200 pixels; light at a corner doesn't join, dark does."""
        plain = np.zeros((SIDE, SIDE), bool)
        plain[10:60, 10:60] = True
        spoiled = plain.copy()
        spoiled[100, 100] = spoiled[120, 100:103] = True
        spoiled[30, 30] = spoiled[31, 31] = False
        assert (chips(plain), chips(~plain, connectivity=4)) == (0, 0)
        assert (chips(spoiled), chips(~spoiled, connectivity=4)) == (2, 2)
        sides = 4 + 8 + 4 + 4
        assert strokes(spoiled) - strokes(plain) == pytest.approx(4 + math.pi / 4 * sides / 2 / (SIDE / 8))

    def test_one_tone_takes_none(self):
        assert strokes(np.zeros((SIDE, SIDE), bool)) == strokes(np.ones((SIDE, SIDE), bool)) == 0


class TestPlainest:
    def test_crumbs_that_add_no_likeness_are_left_out(self):
        plain = HALVES < 50
        crumbs = plain.copy()
        crumbs[5::20, 105::20] = True
        assert plainest([crumbs, plain], Likeness(HALVES)) == 1

    def test_what_isnt_like_the_picture_isnt_taken_however_plain(self):
        assert plainest([np.zeros((SIDE, SIDE), bool), HALVES < 50], Likeness(HALVES)) == 1

    def test_the_first_of_several_alike(self):
        assert plainest([HALVES < 50, HALVES < 50], Likeness(HALVES)) == 0


def photo_of(colour: np.ndarray) -> Photo:
    height, width = colour.shape[:2]
    return Photo(rgb2lab(colour)[..., 0].astype(np.float32), colour, width, height)


class TestChosenShare:
    def test_it_lies_between_the_shares_that_both_have_a_claim(self, monkeypatch):
        photo, asked = photo_of(data.coffee()), []
        chosen = choosing._plainest_share

        def noted(field, look, least, most, detail_px):
            asked.append((least, most))
            return chosen(field, look, least, most, detail_px)

        monkeypatch.setattr(choosing, "_plainest_share", noted)
        share = choosing.choose_dark(photo, "keep-lines", "few")
        ((least, most),) = asked
        assert most - least > 0.02
        assert least < share <= most

    def test_it_takes_little_time(self):
        """A tenth of what the tone of a 200 mm plaque takes, in processor time."""
        look = photo_of(data.astronaut()[:400, :400]).lightness
        likeness, designs = Likeness(look), [look < level for level in (30, 35, 40, 45, 50)]
        start = time.process_time()
        plainest(designs, likeness)
        assert time.process_time() - start < 0.15
