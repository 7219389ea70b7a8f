"""The worth of V lines against the exact answer of a Gaussian blob, and the order in which they go."""

from __future__ import annotations

import numpy as np
import pytest

from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.trimming import kept_within, pieces_of, specks_of, without_pieces
from shadowrout.carving.worth import FINE_FACTOR, SIGMAS_MM, lifetime, worth_of_lines, worth_of_pixels
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region, union_all
from shadowrout.geometry.sweeps import swept_evenly
from shadowrout.job.options import Cutter, Finish, VTool

PIXEL_MM = 0.2


def plan_of(shadow: Region) -> Plan:
    return plan_carving(shadow, thickness_mm=18, finish=Finish(), cutters=(Cutter(),), v_tool=VTool(), tolerance_mm=0.1)


def blob(sigma_mm: float, depth: float) -> np.ndarray:
    """Return a dark Gaussian blob on light ground, 60 mm square, its middle on a pixel's."""
    axis = (np.arange(301) - 150) * PIXEL_MM
    square = axis[:, None] ** 2 + axis[None, :] ** 2
    return (90 - depth * np.exp(-square / (2 * sigma_mm**2))).astype(np.float32)


@pytest.mark.parametrize("sigma_mm", [1.0, 2.0, 3.0])
def test_the_lifetime_of_a_gaussian_blob(sigma_mm):
    # Blurred by sigma its depth falls by t^2 / (t^2 + sigma^2): Gaussians' variances add up (Lindeberg 1993).
    depth, t2 = 40.0, sigma_mm**2
    exact = sum(depth * t2 * (1 / (t2 + s**2) - 1 / (t2 + (1.6 * s) ** 2)) for s in SIGMAS_MM)
    found = lifetime(blob(sigma_mm, depth), pixel_mm=PIXEL_MM)
    assert found[150, 150] == pytest.approx(exact, rel=0.01)


def test_even_ground_and_light_spots_are_worth_nothing():
    assert lifetime(np.full((40, 60), 55, np.float32), pixel_mm=PIXEL_MM).max() < 1e-3
    assert lifetime(180 - blob(2.0, 40.0), pixel_mm=PIXEL_MM)[150, 150] < 1e-3


def test_darkness_counts_seven_times_where_fine_detail_must_stay():
    lightness = blob(2.0, 40.0)
    fine = np.zeros_like(lightness)
    fine[:, :100] = 1
    plain, weighted = (worth_of_pixels(lightness, given, pixel_mm=PIXEL_MM) for given in (None, fine))
    assert weighted[150, 120] == plain[150, 120]
    assert weighted[150, 90] == pytest.approx((1 + FINE_FACTOR) * plain[150, 90])


def test_a_lines_worth_is_the_sum_over_its_pixels():
    bar = swept_evenly([np.array([[5.0, 10.0], [25.0, 10.0]])], 0.5)
    (line,) = plan_of(bar).v_lines
    grid = Grid((0, 0, 30, 20), 0.1)
    (worth,) = worth_of_lines([line], np.full(grid.shape, 3, np.float32), grid)
    width = np.interp(0.5, [0, 1], [line.width_mm.max()] * 2)
    assert worth == pytest.approx(3 * line.length * width, rel=0.05)


def three_bars() -> tuple[Region, Plan]:
    bars = [swept_evenly([np.array([[5.0, y], [45.0, y]])], 0.6) for y in (5.0, 10.0, 15.0)]
    shadow = union_all(bars)
    return shadow, plan_of(shadow)


def test_what_is_worth_least_for_its_minutes_goes_first():
    shadow, plan = three_bars()
    height = [round(float(line.points[:, 1].mean())) for line in plan.v_lines]
    assert sorted(height) == [5, 10, 15]
    worths = [{5: 1.0, 10: 9.0, 15: 4.0}[y] for y in height]
    pieces = pieces_of(shadow, plan, line_minutes=[2.0] * 3, pocket_minutes=[], line_worths=worths)
    assert [height[piece.lines[0]] for piece in pieces] == [10, 15, 5]
    kept = kept_within(pieces, 4.5)
    assert [height[piece.lines[0]] for piece in kept] == [10, 15]
    left = without_pieces(shadow, plan, pieces[2:])
    assert left.bounds[1] > 8
    assert left.area == pytest.approx(shadow.area * 2 / 3, rel=0.01)


def test_of_crossing_lines_the_kept_one_stays_whole():
    across = swept_evenly([np.array([[5.0, 20.0], [45.0, 20.0]])], 0.6)
    upright = swept_evenly([np.array([[25.0, 20.0], [25.0, 40.0]])], 0.6)
    shadow = across.union(upright)
    plan = plan_of(shadow)
    upper = [n for n, line in enumerate(plan.v_lines) if line.points[:, 1].max() > 30]
    pieces = pieces_of(
        shadow, plan, line_minutes=[1.0] * len(plan.v_lines), pocket_minutes=[], line_worths=[1.0] * len(plan.v_lines)
    )
    left = without_pieces(shadow, plan, [piece for piece in pieces if piece.lines[0] in upper])
    assert across.difference(left).area < 0.05
    # Where they met the kept line is wider: half of a disc's bulge, and 0.1 mm around it, 1.2 mm across.
    assert left.difference(across).area < 0.3
    assert len(left) == 1


def test_nothing_stays_where_all_goes():
    shadow, plan = three_bars()
    pieces = pieces_of(shadow, plan, line_minutes=[1.0] * 3, pocket_minutes=[], line_worths=[1.0] * 3)
    assert without_pieces(shadow, plan, pieces).is_empty
    assert kept_within((), 3.0) == ()


def test_light_specks_are_small_holes():
    shadow = Region.box((0, 0, 20, 20)).difference(Region.box((5, 5, 6, 6))).difference(Region.box((10, 10, 14, 14)))
    assert specks_of(shadow, below_mm2=1.5).bounds == (5, 5, 6, 6)
