"""The carve drawing's layers: pockets by depth and cutter, each ring apart from all others of its layer."""

from __future__ import annotations

import dataclasses
import itertools
from functools import reduce

import numpy as np
import pytest
import shapely
from plan_designs import random_shadow

from shadowrout.carving.carve_paths import CarvePaths, PocketPaths, pocket_paths
from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.streams import Directions
from shadowrout.design.board import lay_out
from shadowrout.design.tone.flow import Flow
from shadowrout.drawing.carve_drawing import carve_drawing
from shadowrout.drawing.shapes import Drawing, Role, Text
from shadowrout.errors import SettingError
from shadowrout.fit.fitting import fit_open
from shadowrout.geometry.region import Region
from shadowrout.job.options import Cutter, Finish, Plaque, VTool
from shadowrout.report.look.height_field import carved
from shadowrout.words.units import Unit

FINISH = Finish(sanding_loss=0.5, least_depth_left=2.5)


def plan_of(shadow: Region, *cutters: Cutter) -> Plan:
    return plan_carving(shadow, thickness_mm=18, finish=FINISH, cutters=cutters, v_tool=VTool(), tolerance_mm=0.1)


def drawn(pockets: tuple[PocketPaths, ...], plan: Plan, unit: Unit = Unit.MM) -> Drawing:
    layout = lay_out(Plaque(size=(60, 60)), aspect=1.0, origin="corner")
    fragile = fit_open([ridge.points for ridge in plan.fragile_light], tolerance=0.05).paths
    return carve_drawing(
        CarvePaths((), pockets, (), fragile_light=fragile),
        plan,
        layout,
        (),
        unit=unit,
        title="a",
        description="b",
        flat_mm=0.04,
    )


def names(plan: Plan, unit: Unit = Unit.MM) -> list[str]:
    layers = drawn(tuple(pocket_paths(plan.pockets, 0.08)), plan, unit).layers
    return [layer.name(unit) for layer in layers if layer.role in (Role.POCKET, Role.CUTTER_PATH)]


SHADOW = Region.box((5, 5, 40, 30)).union(Region.box((38, 5, 55, 9)))
"""A field for a 6 mm cutter with an arm, 4 mm wide, that only a 3 mm cutter enters."""


def test_one_cutter_is_not_named() -> None:
    assert names(plan_of(SHADOW, Cutter(diameter=3))) == ["pocket-3_00mm", "cutter-path-3_00mm"]


def test_two_cutters_of_one_depth_are_named() -> None:
    plan = plan_of(SHADOW, Cutter(diameter=3), Cutter(diameter=6))
    told = ["pocket-3_00mm-6_00mm", "cutter-path-3_00mm-6_00mm", "pocket-3_00mm-3_00mm", "cutter-path-3_00mm-3_00mm"]
    assert names(plan) == told
    assert names(plan, Unit.INCH)[0] == "pocket-0_118in-0_236in"


def test_two_cutters_of_two_depths_are_told_apart_by_depth() -> None:
    plan = plan_of(SHADOW, Cutter(diameter=6, depth=4), Cutter(diameter=3))
    assert names(plan) == ["pocket-3_00mm", "cutter-path-3_00mm", "pocket-4_00mm", "cutter-path-4_00mm"]


def test_depths_that_read_alike_are_told_apart_by_cutter() -> None:
    plan = plan_of(SHADOW, Cutter(diameter=6, depth=3.001), Cutter(diameter=3, depth=3.002))
    assert names(plan)[::2] == ["pocket-3_00mm-6_00mm", "pocket-3_00mm-3_00mm"]


def test_two_cutters_of_one_size_are_refused() -> None:
    with pytest.raises(SettingError, match="one size"):
        plan_of(SHADOW, Cutter(diameter=3), Cutter(diameter=3.05))


@pytest.mark.parametrize("seed", range(3))
def test_no_ring_crosses_another_of_its_layer(seed: int) -> None:
    plan = plan_of(random_shadow(seed, side_mm=60), Cutter(diameter=6), Cutter(diameter=3), Cutter(diameter=1.5))
    assert len({pocket.cutter_mm for pocket in plan.pockets}) >= 2
    drawing = drawn(tuple(pocket_paths(plan.pockets, 0.08)), plan)
    for layer in drawing.layers:
        if layer.role in (Role.POCKET, Role.CUTTER_PATH):
            assert layer.marks.cutter_mm is not None
            assert not any(shape.marks.items() for shape in layer.shapes)
            rings = [shapely.LinearRing(shape.path.flattened(0.002)) for shape in layer.shapes]
            assert not any(a.crosses(b) for a, b in itertools.combinations(rings, 2))


def test_walls_of_two_cutters_do_overlap() -> None:
    """The reason for the layers: were they one, its rings would cross."""
    plan = plan_of(SHADOW, Cutter(diameter=6), Cutter(diameter=3))
    large, small = (shapely.LinearRing(next(p.wall.polygons())[0]) for p in plan.pockets)
    assert large.crosses(small)


def test_every_pocket_keeps_its_own_rings() -> None:
    plan = plan_of(random_shadow(1, side_mm=60), Cutter(diameter=6), Cutter(diameter=3))
    for member in pocket_paths(plan.pockets, 0.08):
        for paths, region in ((member.wall, member.pocket.wall), (member.cutter_path, member.pocket.cutter_path)):
            assert len(paths) == len(region.rings())
            for path, ring in zip(paths, region.rings(), strict=True):
                fitted = shapely.LinearRing(path.flattened(0.002))
                assert shapely.hausdorff_distance(fitted, shapely.LinearRing(ring)) < 0.2
                assert np.sign(path.area) == np.sign(shapely.Polygon(ring).exterior.is_ccw - 0.5)


def test_a_deeper_level_has_layers_of_its_own() -> None:
    finish = dataclasses.replace(FINISH, deeper_from=20.0, deeper_by=2.0)
    fields = Region.box((5, 5, 35, 35)).union(Region.box((42, 5, 55, 55)))
    plan = plan_carving(
        fields, thickness_mm=18, finish=finish, cutters=[Cutter(diameter=3)], v_tool=VTool(), tolerance_mm=0.1
    )
    drawing = drawn(tuple(pocket_paths(plan.pockets, 0.08)), plan)
    told = {layer.name(Unit.MM): layer for layer in drawing.layers}
    for role in ("pocket", "cutter-path"):
        for depth, left_mm in (("3_00mm", 42), ("5_00mm", 5)):
            [shape] = told[f"{role}-{depth}"].shapes
            assert shape.path.bounds[0] == pytest.approx(left_mm, abs=2)
    texts = [shape.text for shape in told["note"].shapes if isinstance(shape, Text)]
    said = " ".join(texts)
    assert "1: wall, depth 5 mm" in said
    assert "2: wall, depth 3 mm" in said


def crowd(side_mm: float, gap_mm: float) -> Plan:
    """Return the plan of small pockets in rows and columns, all over a board of 60 x 60 mm."""
    corners = np.arange(4.0, 54.0, side_mm + gap_mm)
    boxes = [Region.box((x, y, x + side_mm, y + side_mm)) for x in corners for y in corners]
    return plan_of(reduce(Region.union, boxes), Cutter(diameter=3))


def note_lines(plan: Plan) -> list[str]:
    layers = drawn(tuple(pocket_paths(plan.pockets, 0.08)), plan).layers
    return [s.text for layer in layers if layer.role is Role.NOTE for s in layer.shapes if isinstance(s, Text)]


def test_one_note_speaks_for_all_where_some_are_cut_down() -> None:
    """Every pocket is told apart from its cutter's path, by its own note or by that for all."""
    plan = crowd(6.0, 1.0)
    said = " ".join(note_lines(plan))
    assert len(plan.pockets) > 30
    assert said.count("centre, cutter") - 1 < len(plan.pockets)
    assert said.count("pocket lines: wall, cutter-path lines: centre, cutter 3 mm") == 1


def test_the_note_for_all_says_which_pocket_takes_which_cutter() -> None:
    columns = {7.0: (4, 12), 4.0: (20, 25, 30, 35, 40, 45, 50)}
    boxes = [
        Region.box((x, y, x + side, y + side))
        for side, places in columns.items()
        for x in places
        for y in np.arange(4.0, 50.0, side + 1)
    ]
    plan = plan_of(
        reduce(Region.union, boxes), Cutter(diameter=6, least_pocket=10), Cutter(diameter=3, least_pocket=10)
    )
    taken = {size: [p.number for p in plan.pockets if p.cutter_mm == size] for size in (6, 3)}
    assert taken[3] == list(range(len(taken[6]) + 1, len(plan.pockets) + 1))
    first, last = (f"{numbers[0]} to {numbers[-1]}" for numbers in taken.values())
    said = " ".join(note_lines(plan))
    assert f"cutter-path lines: centre, cutter 6 mm in {first}; 3 mm in {last}" in said


def test_pockets_with_room_have_whole_notes_and_need_none_for_all() -> None:
    said = " ".join(note_lines(crowd(20.0, 10.0)))
    assert "lines" not in said
    assert [said.count(f"{n}: wall, depth 3 mm") for n in (1, 2, 3, 4)] == [1] * 4
    assert [said.count(f"{n}: centre, cutter 3 mm") for n in (1, 2, 3, 4)] == [1] * 4


def test_a_deeper_level_is_carved_deeper_and_its_flow_lines_below_it() -> None:
    finish = dataclasses.replace(FINISH, deeper_from=20.0, deeper_by=2.0)
    fields = Region.box((5, 5, 35, 35)).union(Region.box((42, 5, 55, 55)))
    straight = Flow(np.ones((60, 60), np.float32), np.zeros((60, 60), np.float32))
    plan = plan_carving(
        fields,
        thickness_mm=18,
        finish=finish,
        cutters=[Cutter(diameter=3)],
        v_tool=VTool(flow=True),
        tolerance_mm=0.1,
        directions=Directions(straight, (0.0, 0.0, 60.0, 60.0), 1.0),
    )
    assert {line.floor_mm for line in plan.flow_lines} == {3.0, 5.0}
    layout = lay_out(Plaque(size=(60, 60)), aspect=1.0, origin="corner")
    depth = carved(plan, fields, layout, holes=Region.empty(), v_angle_deg=60, pixel_mm=0.1).depth_mm()
    for line in plan.flow_lines:
        x, y = line.points[len(line.points) // 2]
        column, row = int(x / 0.1), int((60 - y) / 0.1)
        near = depth[row - 20 : row + 20, column]
        assert near.min() == pytest.approx(line.floor_mm)
        assert near.max() == pytest.approx(line.depth_mm, abs=0.15)  # a pixel's middle lies off the tip
