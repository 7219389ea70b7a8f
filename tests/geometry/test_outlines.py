"""Board outlines against the formulas for their areas and perimeters."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shadowrout.geometry import outlines
from shadowrout.geometry.arcs import ArcPath

BOX = (10.0, 20.0, 210.0, 140.0)
W, H = 200.0, 120.0


def perimeter(path: ArcPath) -> float:
    return float(path.lengths.sum())


# Plane figures: Machinery's Handbook, 31st ed., areas and dimensions of plane figures (from memory).
@pytest.mark.parametrize(
    ("path", "area", "length"),
    [
        (outlines.rectangle(BOX), W * H, 2 * (W + H)),
        (
            outlines.rounded_rectangle(BOX, 15),
            W * H - (4 - math.pi) * 15**2,
            2 * (W + H) - (8 - 2 * math.pi) * 15,
        ),
        (outlines.arch(BOX), W * (H - W / 2) + math.pi * (W / 2) ** 2 / 2, W + 2 * (H - W / 2) + math.pi * W / 2),
        (outlines.ellipse((0, 0, 150, 150)), math.pi * 75**2, math.pi * 150),
    ],
    ids=["rectangle", "rounded", "arch", "circle"],
)
def test_area_and_perimeter(path, area, length):
    assert path.area == pytest.approx(area, rel=1e-12)
    assert perimeter(path) == pytest.approx(length, rel=1e-12)


@pytest.mark.parametrize("height", [100, 150, 199, 201, 400])
def test_an_ellipse_against_its_area_and_ramanujans_perimeter(height):
    path = outlines.ellipse((0.0, 0.0, 200.0, float(height)))
    a, b = 100.0, height / 2
    h = ((a - b) / (a + b)) ** 2
    ramanujan = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))  # Ramanujan 1914, second formula
    assert path.area == pytest.approx(math.pi * a * b, rel=1e-5)
    assert perimeter(path) == pytest.approx(ramanujan, rel=1e-5)
    assert path.bounds == pytest.approx((0, 0, 200, height), abs=1e-9)


def test_an_ellipses_arcs_meet_without_a_kink():
    path = outlines.ellipse((0.0, 0.0, 200.0, 80.0))
    angles = path.angles_rad
    headings = np.arctan2(*(path.ends - path.starts).T[::-1])
    leaving, arriving = headings - angles / 2, headings + angles / 2
    kinks = np.angle(np.exp(1j * (np.roll(leaving, -1) - arriving)))
    assert np.abs(kinks).max() < 1e-9


def test_points_of_an_ellipse_lie_on_it():
    path = outlines.ellipse((-150.0, -50.0, 150.0, 50.0))
    x, y = path.flattened(1e-3).T
    gradient = np.hypot(x / 150**2, y / 50**2) * 2
    off = ((x / 150) ** 2 + (y / 50) ** 2 - 1) / gradient  # first-order distance
    assert np.abs(off).max() < 3e-5 * 300 + 1e-3
