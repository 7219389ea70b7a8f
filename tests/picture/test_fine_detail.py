"""Where fine detail stays: boxes of a person, and faces."""

from __future__ import annotations

import numpy as np
import pytest
import skimage.data
from scipy.special import erf

from shadowrout.picture.faces import faces_in
from shadowrout.picture.fine_detail import SOFT_EDGE, fine_detail, in_crop


def test_no_box_keeps_nothing():
    assert fine_detail([], (30, 40)) is None


def test_a_box_keeps_its_inside_and_fades_as_a_blurred_edge_does():
    """A step blurred by a Gaussian is (1 + erf(x / (sigma sqrt 2))) / 2."""
    kept = fine_detail([(0.25, 0, 0.75, 1)], (60, 400))
    x = np.arange(400) + 0.5
    sigma = SOFT_EDGE * 200
    expected = (erf((x - 100) / (sigma * 2**0.5)) - erf((x - 300) / (sigma * 2**0.5))) / 2
    assert kept[30] == pytest.approx(expected, abs=0.01)


def test_the_most_of_several_boxes_counts():
    one, other = (0.1, 0.1, 0.4, 0.4), (0.3, 0.3, 0.9, 0.9)
    both = fine_detail([one, other], (50, 50))
    assert both == pytest.approx(np.maximum(fine_detail([one], (50, 50)), fine_detail([other], (50, 50))))


def test_a_box_of_the_whole_picture_in_shares_of_its_crop():
    assert in_crop((0.5, 0.5, 0.75, 0.75), (0.5, 0.25, 1, 0.75)) == pytest.approx((0, 0.5, 0.5, 1))


def test_a_box_outside_the_picture_keeps_nothing_of_it():
    assert fine_detail([(1.5, 1.5, 1.8, 1.8)], (20, 30)).max() == 0


def test_the_face_of_a_portrait_is_found():
    """The astronaut of scikit-image looks at the camera; her eyes are near (.40, .20) and (.48, .20) of it."""
    (box,) = faces_in(skimage.data.astronaut())
    left, top, right, bottom = box
    assert left < 0.40 < 0.48 < right < left + 0.3
    assert top < 0.20 < bottom < top + 0.3


@pytest.mark.parametrize("name", ["chelsea", "coffee", "rocket"])
def test_where_nobody_looks_at_the_camera_no_face_is_found(name):
    assert faces_in(getattr(skimage.data, name)()) == ()
