"""The parts a stencil is made with: pixels, thinning, ties, ordering, packing and the sheet's edge."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from cutting_way import travel_mm
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from skimage.measure import euler_number, label
from stencil_masks import random_design

from shadowrout.errors import SettingError
from shadowrout.geometry.contacts import clearance, contacts, standing_out
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.lines import chords_through
from shadowrout.geometry.region import Region
from shadowrout.geometry.sweeps import band_between
from shadowrout.sheets.cutting_order import TIE_MM, cutting_order, sheet_edge
from shadowrout.sheets.packing import packed
from shadowrout.sheets.stencil.bodies import Bodies
from shadowrout.sheets.stencil.rasters import deep, depth_px
from shadowrout.sheets.stencil.stiffness import MOST_FREED_MM2, Ties, hanging
from shadowrout.sheets.stencil.thinning import thinned

# Pixels


@pytest.mark.parametrize("kind", ["field", "rings"])
def test_coverage_sums_to_the_area(kind):
    design = random_design(kind, 7, side_mm=60)
    grid = Grid((-5.3, -4.1, 70.0, 66.6), 0.37)
    cover = grid.covered(design)
    assert cover.min() >= 0
    assert cover.max() <= 1
    assert cover.sum() * grid.pixel_mm**2 == pytest.approx(design.area, rel=1e-3)


def test_coverage_of_half_pixels_is_exact():
    grid = Grid((0.0, 0.0, 4.0, 3.0), 1.0)
    cover = grid.covered(Region.box((0.5, 0.0, 2.25, 1.5)))
    expected = np.array([[0, 0, 0, 0], [0.25, 0.5, 0.125, 0], [0.5, 1, 0.25, 0]])
    np.testing.assert_allclose(cover, expected, atol=1e-6)


def test_coverage_agrees_with_shapely_pixel_by_pixel():
    triangle = shapely.Polygon([(0.3, 0.2), (5.6, 1.1), (2.2, 4.7)])
    grid = Grid((0.0, 0.0, 6.0, 5.0), 1.0)
    cover = grid.covered(Region.of_shape(triangle))
    for row, column in itertools.product(range(5), range(6)):
        x, y = grid.place(row, column)
        pixel = shapely.box(x - 0.5, y - 0.5, x + 0.5, y + 0.5)
        assert cover[row, column] == pytest.approx(pixel.intersection(triangle).area, abs=0.02)


def test_coverage_is_cut_off_at_the_box_and_empty_for_nothing():
    grid = Grid((0.0, 0.0, 2.0, 2.0), 0.5)
    assert grid.covered(Region.box((-9.0, -9.0, 9.0, 9.0))).min() == 1
    assert grid.covered(Region.empty()).max() == 0


def test_places_and_pixels_are_inverse():
    grid = Grid((-3.0, 2.0, 7.1, 9.0), 0.25)
    assert grid.pixel(*grid.place(11, 17)) == (11, 17)
    assert grid.place(0, 0) == pytest.approx((-2.875, 8.875))


@pytest.mark.parametrize(("box", "pixel"), [((0, 0, 0, 1), 1.0), ((0, 0, 1, 1), 0.0)])
def test_a_grid_needs_a_box_and_a_pixel(box, pixel):
    with pytest.raises(ValueError, match="expected a box"):
        Grid(box, pixel)


# Thinning, judged by scikit-image


def noise(seed: int, size: int = 160) -> np.ndarray:
    return ndimage.gaussian_filter(np.random.default_rng(seed).normal(size=(size, size)), 3) > 0.0


@pytest.mark.parametrize("least_px", [0.5, 1.0, 2.5, 3.0, 4.5, 7.2, 15.99, 16.5, 30.0])
def test_depths_agree_with_scipy(least_px):
    """scipy.ndimage's exact Euclidean distances, less the half pixel to the edge; beyond the array is outside."""
    mask = np.random.default_rng(5).random((80, 120)) > 0.0005
    assert not mask.all()
    expected = ndimage.distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1] - 0.5
    assert np.abs(depth_px(mask) - np.maximum(expected, 0)).max() < 1e-5
    assert (deep(mask, least_px) == (expected >= least_px)).all()


@pytest.mark.parametrize("seed", range(6))
def test_thinning_keeps_pieces_gaps_and_what_is_kept(seed):
    mask = noise(seed)
    kept = mask & (ndimage.distance_transform_edt(mask) >= 5)
    lines = np.pad(thinned(mask, kept), 1)
    whole = np.pad(mask, 1)
    assert (lines[1:-1, 1:-1] | kept == lines[1:-1, 1:-1]).all()
    assert not (lines & ~whole).any()
    assert label(lines, connectivity=2).max() == label(whole, connectivity=2).max()
    assert euler_number(lines, connectivity=2) == euler_number(whole, connectivity=2)
    assert 0 < (lines[1:-1, 1:-1] & ~kept).sum() < 0.2 * mask.sum()


def test_thinning_leaves_one_pixel_of_a_disc_and_a_ring_of_a_ring():
    rows, columns = np.mgrid[-20:21, -20:21]
    radius = np.hypot(rows, columns)
    nothing = np.zeros(radius.shape, dtype=bool)
    assert thinned(radius < 15, nothing).sum() == 1
    ring = thinned((radius < 15) & (radius > 9), nothing)
    assert euler_number(ring, connectivity=2) == 0
    assert abs(radius[ring] - 12).max() < 1.5


# Touching


def test_contacts_are_counted():
    body = Region.of_shape(shapely.union_all([shapely.box(0, 0, 10, 10), shapely.box(20, 0, 30, 10)]))
    assert contacts(Region.box((10, 4, 20, 6)), body, within=0.01) == 2
    assert contacts(Region.box((10, 4, 15, 6)), body, within=0.01) == 1
    assert contacts(Region.box((12, 4, 15, 6)), body, within=0.01) == 0
    assert contacts(Region.empty(), body, within=0.01) == 0


def test_parts_that_stand_out_are_found():
    body = Region.box((0, 0, 10, 10))
    rest = Region.of_shape(shapely.union_all([shapely.box(10, 2, 12, 3), shapely.box(10, 6, 14, 7)]))
    (found,) = [part for part, _ in standing_out(rest, body, by=3.0)]
    assert found.bounds == (10, 6, 14, 7)
    assert clearance(body, Region.box((13, 14, 20, 20))) == 5
    assert clearance(body, Region.empty()) == math.inf


def test_bands_cross_what_lies_beside_a_point():
    ring = Region.of_shape(shapely.box(0, 0, 30, 30).difference(shapely.box(10, 10, 20, 20)))
    right, left = chords_through(ring, (15, 15), 0.0)
    np.testing.assert_allclose(right, [(20, 15), (30, 15)])
    np.testing.assert_allclose(left, [(10, 15), (0, 15)])
    assert ring.intersection(band_between(*right, width=4.0)).area == pytest.approx(40)


# Ties: a set hangs on a tie if the sheet falls apart without it


@pytest.mark.parametrize("seed", range(8))
def test_hanging_sets_are_those_that_fall_off_when_one_tie_is_cut(seed):
    generator = np.random.default_rng(seed)
    count = 14
    one = np.concatenate([np.arange(2, count + 1), generator.integers(1, count + 1, 6)])
    other = np.concatenate(
        [[generator.integers(1, n) for n in range(2, count + 1)], generator.integers(1, count + 1, 6)]
    )
    area = np.concatenate([[0.0], generator.uniform(20, 400, count)])
    ties = Ties(one, other, np.zeros((len(one), 2)))
    found = {(h.tie, h.nodes) for h in hanging(bodies_of(area), ties, pixel_mm=1.0)}
    assert found == set(by_cutting_each(one, other, area))


def bodies_of(area: np.ndarray) -> Bodies:
    blank = np.zeros((1, 1), dtype=np.int32)
    numbers = np.arange(len(area))
    none = np.zeros(len(area), dtype=bool)
    return Bodies(blank, len(area) - 1, 1, numbers, area, np.zeros((len(area), 2)), none, blank, numbers[:1])


def by_cutting_each(one, other, area):
    for tie in range(len(one)):
        rest = np.arange(len(one)) != tie
        graph = coo_matrix((np.ones(rest.sum()), (one[rest], other[rest])), shape=(len(area),) * 2)
        _, part = connected_components(graph, directed=False)
        off = np.flatnonzero((part != part[1]) & (np.arange(len(area)) > 0))
        if area[off].sum() > MOST_FREED_MM2:
            yield tie, frozenset(off.tolist())


# Order


@pytest.mark.parametrize("seed", range(5))
def test_the_way_is_near_the_shortest(seed):
    starts = np.random.default_rng(seed).uniform(0, 100, (7, 2))
    ways = [travel_mm(starts, np.array(p), begin=(0, 0)) for p in itertools.permutations(range(7))]
    order = cutting_order(starts, begin=(0, 0))
    assert sorted(order) == list(range(7))
    assert min(ways) - 1e-9 <= travel_mm(starts, order, begin=(0, 0)) <= 1.15 * min(ways)


def test_a_long_way_is_shortened_much():
    starts = np.random.default_rng(1).uniform(0, 100, (120, 2))
    order = cutting_order(starts, begin=(0, 0))
    assert sorted(order) == list(range(120))
    assert travel_mm(starts, order, begin=(0, 0)) < 0.25 * travel_mm(starts, np.arange(120), begin=(0, 0))


def test_no_place_and_one_place_have_an_order():
    assert len(cutting_order(np.empty((0, 2)), begin=(0, 0))) == 0
    assert cutting_order(np.array([[3.0, 4.0]]), begin=(0, 0)).tolist() == [0]


@pytest.mark.parametrize(("size", "ties"), [((100.0, 80.0), 4), ((600.0, 200.0), 8)])
def test_the_edge_is_cut_but_for_its_ties(size, ties):
    paths = sheet_edge((0.0, 0.0, *size), ties=True)
    assert len(paths) == ties
    assert sum(path.lengths.sum() for path in paths) == pytest.approx(2 * sum(size) - ties * TIE_MM)
    lines = shapely.union_all([shapely.LineString(path.vertices) for path in paths])
    edge = shapely.box(0, 0, *size).exterior
    assert edge.buffer(1e-6).covers(lines)
    gaps = shapely.get_parts(edge.difference(lines.buffer(1e-6)))
    assert [gap.length for gap in gaps if gap.length > 0.01] == pytest.approx([TIE_MM] * ties, abs=1e-4)


def test_the_edge_without_ties_is_one_closed_path():
    (path,) = sheet_edge((0.0, 0.0, 100.0, 80.0), ties=False)
    assert path.closed
    assert path.area == 8000


# Packing


@pytest.mark.parametrize("seed", range(4))
def test_sheets_lie_apart_on_the_stock(seed):
    generator = np.random.default_rng(seed)
    sizes = [tuple(side) for side in np.round(generator.uniform(60, 320, (9, 2)), 3).tolist()]
    stock, gap = (610.0, 406.4), 5.0
    places = packed(sizes, stock=stock, gap_mm=gap)
    boxes = [
        (place.stock, shapely.box(place.x, place.y, place.x + w, place.y + h))
        for place, size in zip(places, sizes, strict=True)
        for w, h in [size[::-1] if place.turned else size]
    ]
    inner = shapely.box(0, 0, *stock).buffer(-gap + 0.011, join_style="mitre")
    assert all(inner.covers(box) for _, box in boxes)
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        assert one != other or a.distance(b) >= gap - 0.011
    assert max(place.stock for place in places) < 8


def test_four_quarters_share_one_stock_in_the_order_given():
    places = packed([(97.0, 97.0)] * 4, stock=(203.0, 203.0), gap_mm=3.0)
    assert {(place.stock, place.x, place.y) for place in places} == {
        (0, x, y) for x in (3.0, 103.0) for y in (3.0, 103.0)
    }


def test_a_sheet_larger_than_the_stock_is_refused():
    with pytest.raises(SettingError, match="300x100mm and doesn't fit"):
        packed([(50.0, 50.0), (300.0, 100.0)], stock=(250.0, 250.0), gap_mm=2.0)
    assert packed([], stock=(250.0, 250.0), gap_mm=2.0) == ()
