"""Flow lines: evenly spaced, along the picture, on broad floors and never near a wall."""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np
import pytest
import shapely
from plan_designs import circle_ring, random_shadow
from readers import read_svg

from shadowrout.carving.carve_paths import CarvePaths
from shadowrout.carving.flow_lines import MARGIN_MM
from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.streams import LEAST_LENGTH_SHARE, NEAREST_SHARE, Directions, stream_lines
from shadowrout.design.board import lay_out
from shadowrout.design.tone.flow import Flow, flow_of
from shadowrout.drawing.carve_drawing import carve_drawing
from shadowrout.drawing.shapes import Role
from shadowrout.errors import SettingError
from shadowrout.files.svg import svg_bytes
from shadowrout.fit.fitting import fit_open
from shadowrout.geometry.region import Region
from shadowrout.job.options import Cutter, Finish, Plaque, VTool
from shadowrout.report.look.height_field import carved
from shadowrout.words.units import Unit

PIXEL_MM = 0.25
SPACING = 3.0
FINISH = Finish(sanding_loss=0.5, least_depth_left=2.5)


def directions_of(angle_at, side_mm: float = 60.0) -> Directions:
    """Return the field whose angle, counter-clockwise with y up, is ``angle_at(x, y)``."""
    count = round(side_mm / PIXEL_MM)
    column, row = np.meshgrid(np.arange(count) + 0.5, np.arange(count) + 0.5)
    angle = angle_at(column * PIXEL_MM, side_mm - row * PIXEL_MM)
    flow = Flow(np.cos(2 * angle).astype(np.float32), np.sin(-2 * angle).astype(np.float32))
    return Directions(flow, (0.0, 0.0, side_mm, side_mm), PIXEL_MM)


def even(angle_deg: float) -> Directions:
    return directions_of(lambda x, y: np.full(x.shape, np.radians(angle_deg)))


ROUND = directions_of(lambda x, y: np.arctan2(y - 30, x - 30) + np.pi / 2)


def planned(shadow: Region, directions: Directions | None, *cutters: Cutter, **tool) -> Plan:
    return plan_carving(
        shadow,
        thickness_mm=tool.pop("thickness_mm", 18),
        finish=FINISH,
        cutters=cutters or (Cutter(diameter=3),),
        v_tool=VTool(flow=True, **tool),
        tolerance_mm=0.1,
        directions=directions,
    )


@pytest.mark.parametrize("angle", [0, 30, 90, 135])
def test_lines_run_the_way_of_an_even_field(angle: float) -> None:
    lines = list(stream_lines(Region.box((5, 5, 55, 55)), even(angle), spacing_mm=SPACING))
    assert lines
    for line in lines:
        way = np.degrees(np.arctan2(*(line[-1] - line[0])[::-1])) % 180
        assert min(abs(way - angle), 180 - abs(way - angle)) < 0.01


def test_lines_about_a_point_are_circles() -> None:
    lines = list(stream_lines(Region.of_polygons([(circle_ring(25) + 30, [])]), ROUND, spacing_mm=SPACING))
    for line in lines:
        radii = np.hypot(*(line - 30).T)
        assert np.ptp(radii) < 0.15
    # A line that has gone round stops where it would meet itself: near the whole turn of each circle is covered.
    assert sum(np.hypot(*np.diff(line, axis=0).T).sum() for line in lines) > 0.75 * np.pi * 25**2 / SPACING


@pytest.mark.parametrize("directions", [even(20), ROUND], ids=["even", "round"])
@pytest.mark.parametrize("spacing", [2.0, 5.0])
def test_lines_are_evenly_spaced(directions: Directions, spacing: float) -> None:
    """The two properties of Jobard and Lefer (1997): nowhere too near, and no room left for another line."""
    area = Region.box((3, 3, 57, 57))
    lines = [shapely.LineString(line) for line in stream_lines(area, directions, spacing_mm=spacing)]
    assert all(a.distance(b) >= NEAREST_SHARE * spacing - 0.15 for a, b in itertools.combinations(lines, 2))
    assert all(line.length >= LEAST_LENGTH_SHARE * spacing - 1e-6 for line in lines)
    spots = shapely.points(np.random.default_rng(0).uniform(5, 55, (2000, 2)))
    far = shapely.distance(spots, shapely.union_all(lines))
    assert np.quantile(far, 0.97) < spacing


def test_directions_of_a_picture_are_upright_on_the_plaque() -> None:
    """Stripes that rise to the right in the picture as seen do so on the plaque, whose y runs up."""
    rows, columns = np.mgrid[0:160, 0:160].astype(np.float32)
    rising = np.radians(25)
    across = columns * np.sin(rising) + rows * np.cos(rising)  # rows run down
    stripes = (50 + 40 * np.sin(across * 0.8)).astype(np.float32)
    directions = Directions(flow_of(stripes, sigma_px=6), (10.0, 10.0, 50.0, 50.0), 0.25)
    dx, dy = directions.at(30, 30)
    assert np.degrees(np.arctan2(dy, dx)) % 180 == pytest.approx(25, abs=1)
    assert np.hypot(*directions.at(-100, 900)) == pytest.approx(1)


@lru_cache
def blobs(seed: int) -> Plan:
    return planned(random_shadow(seed, side_mm=60), even(40), flow_spacing=2.0)


@pytest.mark.parametrize("seed", range(6))
def test_lines_keep_off_the_walls(seed: int) -> None:
    plan = blobs(seed)
    floors = shapely.union_all([pocket.wall.shape for pocket in plan.pockets])
    for line in plan.flow_lines:
        cut = shapely.LineString(line.points).buffer(line.width_mm / 2 + MARGIN_MM - 0.2)
        assert floors.covers(cut)


def test_some_of_the_blobs_are_broad() -> None:
    assert sum(len(blobs(seed).flow_lines) for seed in range(6)) > 20


def test_a_line_is_shallower_below_the_floor_than_the_floor_is_deep() -> None:
    plan = planned(Region.box((5, 5, 55, 55)), even(0))
    assert plan.flow_lines
    for line in plan.flow_lines:
        assert line.floor_mm == 3.0
        # A V of 60 degrees 0.3 x 3 mm wide is 0.45 / tan(30 degrees) deep.
        assert line.below_floor_mm == pytest.approx(0.7794, abs=1e-4)
        assert line.width_mm == pytest.approx(0.9)
        assert line.depth_mm == pytest.approx(3.7794, abs=1e-4)
    shallow = planned(Region.box((5, 5, 55, 55)), even(0), flow_spacing=10.0)
    assert {line.below_floor_mm for line in shallow.flow_lines} == {1.0}


def test_narrow_pockets_stay_plain() -> None:
    assert planned(Region.box((5, 5, 55, 14)), even(0)).flow_lines == ()
    assert planned(Region.box((5, 5, 55, 55)), None).flow_lines == ()
    assert planned(Region.empty(), even(0)).flow_lines == ()


def test_the_deeper_floor_has_the_lines_where_pockets_overlap() -> None:
    shadow = Region.box((4, 4, 56, 40)).union(Region.box((20, 38, 34, 58)))
    plan = planned(shadow, even(70), Cutter(diameter=20, depth=6), Cutter(diameter=6, depth=3, least_pocket=30))
    deep = shapely.union_all([p.wall.shape for p in plan.pockets if p.depth_mm == 6])
    assert {line.floor_mm for line in plan.flow_lines} >= {6.0}
    for line in plan.flow_lines:
        assert deep.intersects(shapely.LineString(line.points)) == (line.floor_mm == 6)


def test_a_floor_too_near_the_back_is_refused() -> None:
    # 9 mm of board keep 3 mm below a pocket: 0.1 mm is left for a line.
    with pytest.raises(SettingError, match="flow_spacing"):
        planned(Region.box((5, 5, 55, 55)), even(0), Cutter(depth=5.9), thickness_mm=9)
    with pytest.raises(SettingError, match=r"could go 0\.17 mm"):
        planned(Region.box((5, 5, 55, 55)), even(0), flow_spacing=1.0, angle=84)


def test_the_same_input_gives_the_same_lines() -> None:
    one, other = (list(stream_lines(Region.box((5, 5, 55, 55)), ROUND, spacing_mm=4.0)) for _ in range(2))
    assert all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


def test_an_empty_area_has_no_lines() -> None:
    assert list(stream_lines(Region.empty(), even(0), spacing_mm=3.0)) == []


def test_a_drawing_tells_how_far_below_the_floor() -> None:
    plan = planned(Region.box((5, 5, 55, 55)), even(0))
    paths = CarvePaths((), (), (), fit_open([line.points for line in plan.flow_lines], tolerance=0.05).paths)
    layout = lay_out(Plaque(size=(60, 60)), aspect=1.0, origin="corner")
    drawing = carve_drawing(paths, plan, layout, (), unit=Unit.MM, title="a", description="b", flat_mm=0.04)
    [layer] = [layer for layer in drawing.layers if layer.role is Role.FLOW_LINE]
    assert layer.name(Unit.MM) == "flow-line-3_78mm"
    assert len(layer.shapes) == len(plan.flow_lines)
    group = next(s for s in read_svg(svg_bytes(drawing)).shapes if s.layer == "flow-line-3_78mm")
    assert float(group.marks["below_floor_mm"]) == pytest.approx(0.7794, abs=1e-4)
    assert float(group.marks["depth_mm"]) == pytest.approx(3.7794, abs=1e-4)
    assert float(group.marks["width_mm"]) == pytest.approx(0.9)


def test_the_simulated_floor_is_deeper_along_the_lines_and_nowhere_else() -> None:
    plan = planned(Region.box((5, 5, 55, 55)), even(0))
    layout = lay_out(Plaque(size=(60, 60)), aspect=1.0, origin="corner")
    board = carved(plan, Region.box((5, 5, 55, 55)), layout, holes=Region.empty(), v_angle_deg=60, pixel_mm=0.1)
    depth = board.depth_mm()[::-1]  # y up
    rows, columns = np.nonzero(depth > 3.01)
    lines = shapely.union_all([shapely.LineString(line.points) for line in plan.flow_lines])
    away = shapely.distance(shapely.points((columns + 0.5) * 0.1, (rows + 0.5) * 0.1), lines)
    assert away.max() <= 0.45 + 0.01
    assert depth.max() == pytest.approx(3.7794, abs=0.1)
    area = lines.buffer(0.45).area
    assert len(rows) * 0.01 == pytest.approx(area, rel=0.05)
