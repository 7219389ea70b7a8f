"""V lines as grooves and the shadow they leave, measured on exact shapes and against brute force and shapely."""

from __future__ import annotations

import json
import math
import re
import shutil

import numpy as np
import pytest
import shapely
from check_plaque import BAR_WIDTH, BARS, NAME, SANDING_MM, V_DEPTH_MM, design, write_folder
from spoil.handles import dxf, entities, group, moved, svg

from shadowrout.check.checking import check_folder
from shadowrout.check.curve_samples import Curve, sampled_with
from shadowrout.check.findings import Promise
from shadowrout.check.folder import read_folder, read_plaque
from shadowrout.check.grooves import grooves_of, told_alike
from shadowrout.check.pocket_places import compared
from shadowrout.check.raster import Raster
from shadowrout.check.told_values import lists_of, number_of, numbers_of, tables_of
from shadowrout.check.uncut import uncut_of


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return write_folder(tmp_path_factory.mktemp("drawn") / "out")


@pytest.fixture
def place(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    return tmp_path / "out" / NAME


def read(place):
    folder = read_folder(place.parent)
    plaque = read_plaque(place.parent, folder, folder.job.plaques[0])
    return plaque, plaque.drawings["carve.svg"], plaque.drawings["carve.dxf"]


# Measures


@pytest.mark.parametrize("seed", range(3))
def test_discs_hold_the_pixels_that_brute_force_finds(seed):
    rng = np.random.default_rng(seed)
    raster = Raster.over((0.0, 0.0, 6.0, 4.0), pixel_mm=0.1, most_pixels=10**6)
    points, radii = rng.uniform(-1, 7, (30, 2)), np.append(rng.uniform(0, 1.5, 28), [0.0, -1.0])
    rows, columns = np.indices((raster.rows, raster.columns)).reshape(2, -1)
    centres = raster.centres(rows, columns)
    away = np.hypot(*(centres[:, None] - points[None]).transpose(2, 0, 1))
    expected = (away <= np.where(radii > 0, radii, -1.0)).any(axis=1).reshape(raster.rows, raster.columns)
    assert (raster.discs(points, radii) == expected).all()
    assert not raster.discs(np.empty((0, 2)), np.empty(0)).any()


def test_what_stands_at_vertices_changes_evenly_with_the_length_of_an_arc():
    """A half circle of radius 5 from 1 to 3 and straight back to 1: at an angle t it is 1 + 2 t / pi."""
    curve = Curve(np.array([[5.0, 0], [-5, 0]]), np.array([1.0, 0]), closed=True)
    points, values = sampled_with([curve], [np.array([1.0, 3.0])], sagitta_mm=0.001, step_mm=0.1)
    on_arc = points[:, 1] > 1e-9
    angles = np.arctan2(points[on_arc, 1], points[on_arc, 0])
    assert values[on_arc] == pytest.approx(1 + 2 * angles / math.pi)
    straight = (np.abs(points[:, 1]) <= 1e-9) & (points[:, 0] < 4.9)
    assert values[straight] == pytest.approx(1 + 2 * (5 - points[straight, 0]) / 10)
    assert [len(part) for part in sampled_with([], [], sagitta_mm=0.001, step_mm=0.1)] == [0, 0]


def test_grooves_are_as_wide_as_the_bars_in_both_files(whole):
    plaque, *files = read(whole)
    for file in files:
        grooves = grooves_of(plaque, file)
        assert 2 * grooves.half_widths_mm == pytest.approx(BAR_WIDTH, abs=0.001)
        assert len(grooves.points) > sum(math.dist(*ends) for ends in BARS) / 0.1
    assert told_alike(files) == [(["carve.svg", "carve.dxf"], files[0])]


def test_files_that_tell_other_depths_are_judged_one_by_one(place):
    with dxf(place) as document:
        vertex = entities(document, "v-line-3d")[0].vertices[0]
        vertex.dxf.location += (0, 0, 0.01)
    _, *files = read(place)
    assert [names for names, _ in told_alike(files)] == [["carve.svg"], ["carve.dxf"]]


@pytest.mark.parametrize("shift", [0.06, 0.3, 1.0])
def test_a_groove_is_measured_by_how_far_it_reaches_into_the_light(shift, place):
    """A bar and its groove are equally wide, so a line moved across is out by as much as it moved."""
    with svg(place) as root:
        level = next(path for path in group(root, "v-line") if re.fullmatch(r"M \S+ (\S+) L \S+ \1", path.get("d")))
        level.set("d", moved(level.get("d"), shift * 1j))
    result = check_folder(place.parent).plaques[0].result(Promise.NO_GOUGE)
    assert result.measured == pytest.approx(shift, abs=0.002)
    assert bool(result.findings) == (shift > 0.1)


@pytest.mark.parametrize("depth", [V_DEPTH_MM - 0.5, V_DEPTH_MM - 0.8, SANDING_MM])
def test_the_shadow_that_grooves_leave_is_that_of_plane_geometry(depth, place):
    """A groove w wide leaves of a bar what lies beyond w / 2 + 0.15 mm of its middle; one that is gone, all of it."""
    with svg(place) as root:
        for line in group(root, "v-line"):
            line.set("data-depth-mm", f"{depth:.6f}")
            line.set("data-width-mm", "0")
    plaque, file, _ = read(place)
    uncut = uncut_of(plaque, file)
    half = (depth - SANDING_MM) * math.tan(math.radians(30))
    middles = shapely.MultiLineString(BARS)
    bars = middles.buffer(BAR_WIDTH / 2, quad_segs=64)
    reach = half + 0.15 if half > 0 else 0.0
    expected = bars.area - middles.buffer(reach, quad_segs=64).area
    # A strip beside a level bar is whole rows of pixels, 0.1 mm each.
    assert uncut.area_mm2 == pytest.approx(expected, rel=0.15)
    assert uncut.shadow_mm2 == pytest.approx(design().area, rel=0.002)
    lost = bars.area - middles.buffer(half, quad_segs=64).area
    assert uncut.dark_left_share == pytest.approx(1 - lost / design().area, abs=0.002)


def test_how_far_shadow_lies_from_every_cut_is_measured(place):
    """The rounded block without its pocket lies 15 mm from its edge at the most, 36 x 30 mm less the corners."""
    with svg(place) as root:
        for role in ("pocket", "cutter-path"):
            holder = group(root, role)
            holder.remove(next(path for path in holder if re.search(r" 10[0-9]\.", path.get("d"))))
    result = check_folder(place.parent).plaques[0].result(Promise.STAYS_DARK)
    told = [str(finding.what) for finding in result.findings]
    assert any(re.search(r"carve\.svg: shadow \d+\.\d+ mm from every cut stays light", what) for what in told)
    assert any("lie away from every cut and stay light, numbers.json tells of 0" in what for what in told)
    plaque, file, _ = read(place)
    assert uncut_of(plaque, file).area_mm2 == pytest.approx(36 * 30 - (4 - math.pi) * 36, rel=0.005)


# Values out of numbers.json


@pytest.mark.parametrize("junk", [None, True, "3", [], {}, math.nan, math.inf, -math.inf, 10**400, [1, "2"], [[1]]])
def test_what_is_no_number_counts_as_missing(junk):
    assert number_of(junk) is None
    assert numbers_of({"a": junk}, "a") == []
    assert numbers_of(junk, "a", "b") == []
    assert tables_of({"a": junk}, "a") == []
    assert tables_of(junk, "a") == []
    assert lists_of({"a": {"b": junk}}, "a", "b") in ([], [[1]])


@pytest.mark.parametrize("key", ["place_mm", "depth_mm", "number"])
def test_a_pocket_told_without_a_figure_is_named(key, place):
    path = place.parent / "numbers.json"
    told = json.loads(path.read_text())
    for pocket in told["plaques"][0]["pockets"]:
        pocket[key] = "somewhere"
    path.write_text(json.dumps(told))
    plaque, file, _ = read(place)
    assert [str(found.what) for found in compared(file, plaque.figures)] == [
        "numbers.json doesn't tell a pocket's number, place, depth and cutter"
    ] * 3
