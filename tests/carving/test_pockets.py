"""Pockets against formulas for what a round cutter can't reach, against a raster, and against Clipper."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pyclipper
import pytest
import shapely
from plan_designs import circle_ring, farthest_outside_mm, random_shadow, regular_polygon

from shadowrout.carving.plan import plan_carving
from shadowrout.carving.pockets import Pocket, find_pockets, find_rest, least_pocket_mm2
from shadowrout.geometry.region import Region, union_all
from shadowrout.job.options import Cutter, Finish, VTool

FINISH = Finish(sanding_loss=0.5, least_depth_left=2.5)
TOLERANCE_MM = 0.1


def pockets_of(shadow: Region, *cutters: Cutter, tolerance_mm: float = TOLERANCE_MM) -> tuple[Pocket, ...]:
    return find_pockets(shadow, cutters=cutters, finish=FINISH, thickness_mm=18, tolerance_mm=tolerance_mm)


@pytest.mark.parametrize("seed", range(24))
def test_a_cutter_never_leaves_the_shadow(seed: int) -> None:
    shadow = random_shadow(seed, side_mm=22)
    pockets = pockets_of(shadow, *(Cutter(diameter=d, finishing_allowance=0) for d in (3, 1.5)))
    for diameter in {p.cutter_mm for p in pockets}:
        paths = union_all(p.cutter_path for p in pockets if p.cutter_mm == diameter)
        # Beside the tolerance, a pixel's centre may lie up to a pixel's diagonal from the wood it stands for.
        assert farthest_outside_mm(shadow, paths, diameter / 2) <= TOLERANCE_MM + 0.05 * math.sqrt(2)


@pytest.mark.parametrize("seed", range(40))
def test_room_is_left_for_fitting_arcs(seed: int) -> None:
    # By shapely's distances: the path may still be moved by 0.8 x tolerance and keep within it, although the
    # plan is made for an outline that is itself simplified a little.
    shadow, cutter = random_shadow(seed, side_mm=20), Cutter(diameter=4, finishing_allowance=0)
    for tolerance in (0.1, 0.02):
        plan = plan_carving(
            shadow, thickness_mm=18, finish=FINISH, cutters=[cutter], v_tool=VTool(), tolerance_mm=tolerance
        )
        for pocket in plan.pockets:
            reach = pocket.cutter_path.shape.buffer(2.0 + 0.8 * tolerance, quad_segs=64)
            allowed = shadow.shape.buffer(tolerance, quad_segs=64)
            assert reach.difference(allowed).area == pytest.approx(0, abs=1e-9)


def test_the_raster_sweep_sees_a_gouge() -> None:
    shadow = Region.box((0, 0, 20, 20))
    [pocket] = pockets_of(shadow, Cutter(diameter=4, finishing_allowance=0))
    spoiled = pocket.cutter_path.offset(0.3, error=0.01)
    assert farthest_outside_mm(shadow, spoiled, 2.0) > TOLERANCE_MM + 0.05 * math.sqrt(2)


def unreachable_mm2(radius_mm: float, angle_rad: float) -> float:
    """Return what a round cutter leaves in a corner: the kite of the tangents less the circle's sector."""
    return radius_mm**2 * (1 / math.tan(angle_rad / 2) - (math.pi - angle_rad) / 2)


@pytest.mark.parametrize(
    ("angle_deg", "over_square"),
    [(30, 2.42305), (45, 1.23612), (60, 0.684853), (90, 0.214602), (120, 0.0537515), (135, 0.0215145)],
)
def test_unreachable_corner_formula(angle_deg: float, over_square: float) -> None:
    # 0.2146 r^2 at 90 degrees is the fillet's area in Machinery's Handbook, 31st ed., p. 80 (r 3 gives 1.9314).
    assert unreachable_mm2(1, math.radians(angle_deg)) == pytest.approx(over_square, rel=1e-5)
    assert unreachable_mm2(3, math.pi / 2) == pytest.approx(1.9314, abs=2e-4)


@pytest.mark.parametrize("sides", [3, 4, 5, 6])
@pytest.mark.parametrize("allowance_mm", [0.0, 0.2])
def test_rest_of_a_polygon_is_its_corners(sides: int, allowance_mm: float) -> None:
    shadow = regular_polygon(sides, 40)
    pockets = pockets_of(shadow, Cutter(diameter=6, finishing_allowance=allowance_mm))
    assert len(pockets) == 1
    corner = unreachable_mm2(3 + allowance_mm, math.pi * (1 - 2 / sides))
    rest = find_rest(shadow, pockets)
    if corner < 0.6:  # a hexagon's corners are so shallow that they count as slivers
        assert rest.is_empty
        return
    # Tails thinner than 0.04 mm, along the walls, are not counted: 0.6 % of a right angle's corner.
    assert rest.area == pytest.approx(sides * corner, rel=0.015)
    assert len(rest) == sides


def test_wall_and_path_of_a_rectangle() -> None:
    # 40 x 20 with 6 mm cutter and 0.2 mm allowance: the path is 33.6 x 13.6, the wall that with round corners.
    [pocket] = pockets_of(Region.box((0, 0, 40, 20)), Cutter(diameter=6))
    assert pocket.cutter_path.bounds == pytest.approx((3.2, 3.2, 36.8, 16.8))
    assert pocket.cutter_path.area == pytest.approx(33.6 * 13.6)
    assert pocket.wall.area == pytest.approx(33.6 * 13.6 + 2 * 3 * (33.6 + 13.6) + math.pi * 9, rel=1e-3)
    assert (pocket.number, pocket.cutter_mm, pocket.depth_mm, pocket.passes) == (1, 6, 3, 1)
    assert pocket.volume_mm3 == pytest.approx(3 * pocket.wall.area)


ROUND = Region.of_polygons([(circle_ring(10), [])])


@pytest.mark.parametrize(
    ("shadow", "circle_mm"),
    [
        (ROUND, 20.0),
        (Region.box((0, 0, 20, 20)), 20.0),
        (Region.box((0, 0, 70, 20)), 20.0),
        (Region.box((0, 0, 30, 40)), 30.0),
        (Region.of_polygons([(np.array([[0.0, 0], [30, 0], [0, 40]]), [])]), 20.0),
        (Region.of_polygons([(circle_ring(20), [circle_ring(8)])]), 12.0),
    ],
    ids=["disc", "square", "rectangle", "wide rectangle", "right triangle", "ring"],
)
def test_broad_pockets_go_deeper(shadow: Region, circle_mm: float) -> None:
    # The largest circle inside: a disc itself, a rectangle's shorter side, a right triangle's a + b - c (Euclid IV.4
    # with the tangents from a corner), the width of a ring.
    for wider_mm, depth_mm, passes in ((0.2, 3.0, 2), (-0.2, 5.0, 3)):
        finish = dataclasses.replace(FINISH, deeper_from=circle_mm + wider_mm, deeper_by=2)
        cutter = Cutter(diameter=4, finishing_allowance=0, depth_per_pass=2)
        [pocket] = find_pockets(shadow, cutters=[cutter], finish=finish, thickness_mm=18, tolerance_mm=TOLERANCE_MM)
        assert (pocket.depth_mm, pocket.passes) == (depth_mm, passes)
        assert pocket.volume_mm3 == pytest.approx(depth_mm * pocket.wall.area)


def test_the_allowance_makes_the_circle_narrower() -> None:
    # What is deeper is the pocket, not the shadow: a square of 20 mm less 0.5 mm all round.
    for from_mm, depth_mm in ((19.2, 3.0), (18.9, 5.0)):
        finish = dataclasses.replace(FINISH, deeper_from=from_mm, deeper_by=2)
        cutter = Cutter(diameter=4, finishing_allowance=0.5)
        [pocket] = find_pockets(
            Region.box((0, 0, 20, 20)), cutters=[cutter], finish=finish, thickness_mm=18, tolerance_mm=TOLERANCE_MM
        )
        assert pocket.depth_mm == depth_mm


def test_an_island_in_a_pocket_stays_whole() -> None:
    shadow = Region.of_polygons([(circle_ring(20), [circle_ring(5)])])
    [pocket] = pockets_of(shadow, Cutter(diameter=6, finishing_allowance=0))
    assert len(pocket.cutter_path.rings()) == len(pocket.wall.rings()) == 2
    # The cutter's centre keeps its radius from both circles: an annulus from 8 to 17.
    assert pocket.cutter_path.area == pytest.approx(math.pi * (17**2 - 8**2), rel=1e-3)


def test_pieces_are_numbered_by_area() -> None:
    boxes = [(0, 0, 12, 12), (20, 0, 50, 30), (60, 0, 80, 20)]
    shadow = Region.of_polygons([(next(Region.box(box).polygons())) for box in boxes])
    pockets = pockets_of(shadow, Cutter(diameter=4))
    assert [p.number for p in pockets] == [1, 2, 3]
    assert [round(p.wall.bounds[0]) for p in pockets] == [20, 60, 0]


def test_nothing_to_rough() -> None:
    assert pockets_of(Region.empty(), Cutter()) == ()
    thin = Region.box((0, 0, 100, 3))
    assert pockets_of(thin, Cutter(diameter=3)) == ()
    assert find_rest(thin, ()).area == thin.area
    assert find_rest(Region.empty(), ()).is_empty


def test_least_pocket_unless_set() -> None:
    assert least_pocket_mm2(Cutter(diameter=6)) == pytest.approx(3 * math.pi * 9)
    assert least_pocket_mm2(Cutter(diameter=6, least_pocket=5)) == 5
    assert len(pockets_of(Region.box((0, 0, 9, 9)), Cutter(diameter=6, least_pocket=5))) == 1
    # 9.61 mm is the side at which a square with corners of 3 mm has three cutter areas.
    for side, count in ((9.5 + 0.4, 0), (9.7 + 0.4, 1)):
        assert len(pockets_of(Region.box((0, 0, side, side)), Cutter(diameter=6))) == count


def test_every_plunge_sweeps_its_worth() -> None:
    # Two rooms and a chamber between them that only just admits the cutter: the chamber is no plunge of its own.
    rooms = Region.box((0, 0, 20, 20)).union(Region.box((30, 0, 50, 20)))
    neck = Region.box((19, 8, 31, 12)).union(Region.box((22.8, 7, 27.2, 13)))
    pockets = pockets_of(rooms.union(neck), Cutter(diameter=5, finishing_allowance=0))
    assert len(pockets) == 2
    assert all(len(p.cutter_path) == 1 for p in pockets)


@pytest.mark.parametrize("seed", range(12))
def test_a_smaller_cutter_takes_what_is_left(seed: int) -> None:
    shadow = random_shadow(seed)
    large, small = Cutter(diameter=5), Cutter(diameter=2.5)
    alone = pockets_of(shadow, large)
    both = pockets_of(shadow, small, large)
    assert [p.cutter_mm for p in both] == sorted([p.cutter_mm for p in both], reverse=True)
    assert [p.wall.area for p in both if p.cutter_mm == 5] == [p.wall.area for p in alone]
    assert find_rest(shadow, both).area <= find_rest(shadow, alone).area + 1e-9
    taken = shapely.union_all([p.wall.shape for p in alone])
    for pocket in both[len(alone) :]:
        assert pocket.wall.area >= 3 * math.pi * 1.25**2
        assert pocket.wall.shape.difference(taken).area >= 2 * math.pi * 1.25**2


@pytest.mark.parametrize("seed", range(12))
def test_clipper_agrees_on_the_path(seed: int) -> None:
    # Clipper's offset, a general-purpose library of its own design, in units of 0.1 um.
    shadow = random_shadow(seed).simplified(0.02)
    offset = pyclipper.PyclipperOffset(arc_tolerance=20)
    for ring in shadow.rings():
        offset.AddPath(np.round(ring * 1e4).astype(int), pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    rings = [np.array(r) / 1e4 for r in offset.Execute(-2.2e4)]
    expected = sum((1 if pyclipper.Orientation(r * 1e4) else -1) * shapely.Polygon(r).area for r in rings)
    cutter = Cutter(diameter=4, finishing_allowance=0.2, least_pocket=0)
    assert sum(p.cutter_path.area for p in pockets_of(shadow, cutter)) == pytest.approx(expected, rel=2e-3, abs=0.02)


@pytest.mark.parametrize("seed", range(12))
def test_rest_has_no_slivers(seed: int) -> None:
    shadow = random_shadow(seed)
    pockets = pockets_of(shadow, Cutter(diameter=4))
    rest = find_rest(shadow, pockets)
    assert all(part.area >= 0.3 for part in rest.parts())
    assert rest.difference(shadow).area == pytest.approx(0, abs=1e-9)
    walls = shapely.union_all([p.wall.shape for p in pockets]).buffer(0.2, quad_segs=64)
    assert rest.shape.intersection(walls).area < 1e-3 * shadow.area
    # What is neither rest nor roughed is slivers along the walls; on shadows this small there are more of them.
    assert shadow.shape.difference(walls).difference(rest.shape).area < 0.01 * shadow.area
