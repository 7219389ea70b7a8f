"""The direction of edges, and means along it, on fields whose directions are known by formula."""

from __future__ import annotations

import numpy as np
import pytest

from shadowrout.design.tone.flow import flow_of, mean_along
from shadowrout.design.tone.keep_lines import sigma_of, surroundings, without_faint


def waves(angle_deg: float, side: int = 120) -> np.ndarray:
    """Return straight waves, 12 px long, that run along ``angle_deg`` (x right, y down)."""
    rows, columns = np.indices((side, side))
    across = -np.sin(np.radians(angle_deg)) * columns + np.cos(np.radians(angle_deg)) * rows
    return (50 + 20 * np.sin(2 * np.pi * across / 12)).astype(np.float32)


@pytest.mark.parametrize("angle_deg", [0, 17, 45, 90, 120, 179])
def test_flow_runs_along_straight_waves(angle_deg: float):
    flow = flow_of(waves(angle_deg), sigma_px=4)
    found_deg = np.degrees(np.arctan2(flow.sin2, flow.cos2)) / 2
    off_deg = (found_deg - angle_deg + 90) % 180 - 90
    assert np.abs(off_deg[20:-20, 20:-20]).max() < 1.0


def test_flow_runs_round_a_centre():
    rows, columns = np.indices((161, 161)) - 80
    radius = np.hypot(rows, columns)
    flow = flow_of((50 + 20 * np.sin(radius / 2)).astype(np.float32), sigma_px=3)
    ring = (radius > 30) & (radius < 60)
    expected = 2 * (np.arctan2(rows, columns) + np.pi / 2)
    agreement = flow.cos2 * np.cos(expected) + flow.sin2 * np.sin(expected)
    assert agreement[ring].min() > 0.995


@pytest.mark.parametrize("angle_deg", [0, 30, 90, 135])
def test_mean_along_leaves_what_doesnt_change_along_the_flow(angle_deg: float):
    values = waves(angle_deg)
    along = mean_along(values, flow_of(values, sigma_px=4), sigma_px=5)
    assert np.abs(along - values)[25:-25, 25:-25].max() < 1.0


def test_mean_along_joins_a_dashed_line():
    """Dashes 6 px long with gaps of 4 px: the mean along an even direction closes them, the plain line doesn't."""
    rows, columns = np.indices((80, 160))
    values = np.where((np.abs(rows - 40) <= 1) & (columns % 10 < 6), 1.0, 0.0).astype(np.float32)
    along = mean_along(values, flow_of(waves(0, 160)[:80], sigma_px=4), sigma_px=6)
    assert values[40, 40:120].min() == 0
    assert along[40, 40:120].min() > 0.5


def test_surroundings_of_a_slope_are_the_slope():
    slope = np.tile(np.linspace(0, 100, 300, dtype=np.float32), (200, 1))
    mean = surroundings(slope)
    assert mean[:, 80:220] == pytest.approx(slope[:, 80:220], abs=1.0)


@pytest.mark.parametrize(
    ("width_px", "expected_px"),
    [(3000, 2.0), (1200, 2.0), (720, 1.5), (576, 1.2), (300, 1.2)],
)
def test_sigma_follows_the_finest_line_and_small_pictures(width_px: int, expected_px: float):
    """At a finest line of 4 px: half of it, a 600th of the diagonal (here 5/4 of the width), but 0.3 of it."""
    assert sigma_of((width_px * 3 // 4, width_px), detail_px=4) == pytest.approx(expected_px)


def test_faint_strokes_go_and_strong_ones_stay():
    """At a sigma of 2 px a stroke needs 1800 x 4 of darkness times area: 120 px at 60, 720 px at 10."""
    field = np.full((60, 100), -10, dtype=np.float32)
    field[5:10, 5:35] = 60  # 150 px, strong
    field[20:25, 5:35] = 10  # 150 px, faint
    field[40:58, 5:50] = 10  # 810 px, faint but large
    field[5:8, 60:66] = 60  # 18 px, strong but small
    kept = without_faint(field, sigma_px=2)
    assert (kept[5:10, 5:35] == 60).all()
    assert (kept[20:25, 5:35] == -10).all()
    assert (kept[40:58, 5:50] == 10).all()
    assert (kept[5:8, 60:66] == -60).all()
    assert (kept[field < 0] == field[field < 0]).all()
