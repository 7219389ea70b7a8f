"""One geometry for all files: arcs, rounding and pruning, read back by code that shares nothing with the writers."""

from __future__ import annotations

import io
import math

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from readers import bulge_piece, parse_path, read_dxf_shapes, read_svg
from zoo import clockwise_circle

from shadowrout.drawing.shapes import Drawing, Layer, Path, Role
from shadowrout.errors import PromiseError
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.rounding import decimal, rounded_path
from shadowrout.files.svg import svg_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.words.units import Unit

VERSIONS = ("R2010", "R2000", "R12")
UNITS = (Unit.MM, Unit.INCH)


def arcs(points, bulges, *, closed=True) -> ArcPath:
    return ArcPath(np.array(points, dtype=float), np.array(bulges, dtype=float), closed)


def drawn(*paths: ArcPath, unit: Unit = Unit.MM, box=(0.0, 0.0, 400.0, 300.0)) -> Drawing:
    return Drawing("test", "", box, (Layer(Role.SHADOW, tuple(Path(path) for path in paths)),), unit)


def readings(drawing: Drawing):
    """Every file's shapes as its reader sees them, in mm and y up."""
    yield "svg", read_svg(svg_bytes(drawing)).shapes
    for version in VERSIONS:
        yield version, read_dxf_shapes(dxf_bytes(drawing, version=version), unit_mm=drawing.unit.mm)


# The readers are checkers too: worked examples, and spoiled input.


def test_reader_of_svg_arcs_on_the_examples_of_svg_2():
    """SVG 2, chapter 9, the pie chart: three quarters of a disc of radius 150 about (300, 200), and one quarter."""
    pieces, closed = parse_path("M 300 200 L 150 200 A 150 150 0 1 0 300 50 Z")
    assert closed
    assert pieces[1].centre == pytest.approx(300 + 200j)
    assert pieces[1].turn_rad == pytest.approx(-1.5 * math.pi)
    quarter, _ = parse_path("M 275 175 L 275 25 A 150 150 0 0 0 125 175 Z")
    assert quarter[1].centre == pytest.approx(275 + 175j)
    assert quarter[1].turn_rad == pytest.approx(-math.pi / 2)


def test_reader_of_svg_arcs_scales_a_small_radius_up_and_drops_equal_ends():
    """SVG 2, 9.5.1: a radius too small for its chord is scaled up; an arc with equal ends is left out."""
    pieces, _ = parse_path("M 0 0 A 1 1 0 0 1 10 0")
    assert pieces[0].radius == pytest.approx(5)
    assert parse_path("M 0 0 A 5 5 0 1 1 0 0")[0] == []


@pytest.mark.parametrize("d", ["M 0 0 C 1 1 2 2 3 3", "L 1 1", "M 0 0 L 1 1 Z L 2 2", "M 0 0 A 1 2 0 0 1 1 1", "m 0 0"])
def test_reader_of_svg_paths_refuses_what_a_writer_must_not_write(d):
    with pytest.raises(ValueError):
        parse_path(d)


@pytest.mark.parametrize(
    ("bulge", "radius", "centre", "degrees"),
    [(1.0, 5.0, 5 + 0j, 180.0), (0.5, 6.25, 5 + 3.75j, 106.2602), (-0.5, 6.25, 5 - 3.75j, -106.2602)],
)
def test_bulges_of_the_ezdxf_documentation(bulge, radius, centre, degrees):
    """Documentation of ezdxf, "LWPolyline" and "Bulge value": from (0, 0) to (10, 0); b = 1 passes (5, -5)."""
    path = arcs([[0, 0], [10, 0], [30, 40]], [bulge, 0, 0])
    assert bulge_piece(0j, 10 + 0j, bulge).centre == pytest.approx(centre)
    for name, (shape,) in readings(drawn(path)):
        arc = shape.pieces[0]
        assert arc.radius == pytest.approx(radius, abs=1e-6), name
        assert arc.centre == pytest.approx(centre, abs=1e-5), name
        assert math.degrees(arc.turn_rad) == pytest.approx(degrees, abs=1e-4), name
    half_turn = bulge_piece(0j, 10 + 0j, 1.0)
    assert half_turn.points(0.1)[len(half_turn.points(0.1)) // 2] == pytest.approx(5 - 5j)


# Areas by formula


def stadium(length, radius):
    points = [[0, -radius], [length, -radius], [length, radius], [0, radius]]
    return arcs(points, [0, 1, 0, 1]), 2 * radius * length + math.pi * radius**2


FORMULAS = {
    "disc": (ArcPath.circle((20, 30), 7.5), math.pi * 7.5**2),
    "half disc": (arcs([[10, 10], [30, 10]], [0, 1]), math.pi * 10**2 / 2),
    "three quarters": (arcs([[10, 0], [0, -10]], [1 + math.sqrt(2), 0]), 0.75 * math.pi * 100 + 50),
    "stadium": stadium(40, 8),
    # Machinery's Handbook, 31st ed., circular segments: R 12, h 2: area 18.0062; bulge = 2 h / chord
    "segment": (arcs([[0, 0], [13.26650, 0]], [2 * 2 / 13.26650, 0]), 18.0062),
    "a hole": (clockwise_circle((20, 30), 7.5), -math.pi * 7.5**2),
}


@pytest.mark.parametrize("name", FORMULAS)
@pytest.mark.parametrize("unit", UNITS)
def test_areas_by_formula(name, unit):
    path, area = FORMULAS[name]
    for kind, (shape,) in readings(drawn(path, unit=unit)):
        assert shape.area == pytest.approx(area, abs=0.005), kind
        assert shape.closed


# Rounding and what it makes degenerate

NEAR_HALF = [sign * (1 + d) for sign in (1, -1) for d in (0, 1e-9, -1e-9, 1e-6, 1e-4, -1e-4, -0.09, 0.11)]
BULGES = [0.0, 1e-9, 1e-6, 1e-5, -1e-4, 1e-3, 0.2, -0.2, *NEAR_HALF, 2.4142, -2.9, 3.1, -20.0, 1e3, -1e5]
CHORDS = [0.0004, 0.01, 1.0, 93.0]


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("closed", [True, False])
def test_awkward_arcs_stay_within_half_a_micrometre(unit, closed):
    """Every bulge over every chord whose arc is not larger than a machine, in each file against the exact arc."""
    paths = []
    for bulge in BULGES:
        for chord in CHORDS:
            step = chord * np.array([math.cos(0.3), math.sin(0.3)])
            points = [[200, 100], [200, 100] + step, [250.00004, 170.5]]
            path = arcs(points, [bulge, 0, -0.1][: 2 + closed], closed=closed)
            if path.radii[0] < 300 or abs(bulge) < 1:
                paths.append(path)
    assert len(paths) > 100
    compare(paths, unit, 0.0005)


def compare(paths: list[ArcPath], unit: Unit, limit: float) -> None:
    lines = [line_of(path.flattened(2e-4), closed=path.closed) for path in paths]
    for name, shapes in readings(drawn(*paths, unit=unit)):
        for path, exact, shape in zip(paths, lines, shapes, strict=True):
            far = apart(exact, shapely.LineString(shape.polyline(2e-4)))
            assert far < limit, f"{name}: {far} mm at {path}"
            assert shape.closed == path.closed


def apart(one: shapely.LineString, other: shapely.LineString) -> float:
    """Return the largest distance from points at most 5 mm apart on either line to the other line."""
    return max(farthest(one, other), farthest(other, one))


def farthest(one: shapely.LineString, other: shapely.LineString) -> float:
    points = shapely.get_coordinates(other)
    segments = shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))
    vertices = shapely.points(shapely.get_coordinates(shapely.segmentize(one, 5.0)))
    _, distances = shapely.STRtree(segments).query_nearest(vertices, all_matches=False, return_distance=True)
    return float(distances.max())


def test_the_comparison_sees_a_micrometre():
    """A copy that is moved, one whose arc bulges a little more, and one that lacks its last piece."""
    path = arcs([[0, 0], [50, 0], [50, 50]], [0.3, 0, 0])
    line = line_of(path.flattened(2e-4), closed=True)
    for spoiled in (
        arcs(path.vertices + [0.0007, 0.0], [0.3, 0, 0]),
        arcs(path.vertices, [0.3 + 2 * 0.0007 / 50, 0, 0]),
        arcs(path.vertices, [0.3, 0], closed=False),
    ):
        assert apart(line, line_of(spoiled.flattened(2e-4), closed=spoiled.closed)) > 0.0005


def line_of(points, *, closed):
    return shapely.LineString(np.vstack([points, points[:1]]) if closed else points)


def test_a_long_arc_keeps_its_rise():
    """Over a chord of 780 mm a bulge wrong by 0.000001 moves the arc's middle by 0.00039 mm."""
    path = arcs([[0, 0], [780, 0], [400, 200]], [0.123454, 0, 0])
    for name, (shape,) in readings(drawn(path)):
        assert abs(math.tan(shape.pieces[0].turn_rad / 4) - 0.123454) * 780 / 2 < 0.0001, name


def test_no_arc_in_a_file_has_a_radius_that_single_precision_loses():
    """A straight-looking arc of 300 mm becomes lines, each within 0.0003 mm."""
    path = arcs([[0, 0], [300, 0], [300, 200]], [1e-4, 0, 0])
    for _, (shape,) in readings(drawn(path)):
        assert all(piece.centre is None for piece in shape.pieces)
        assert len(shape.pieces) == 8 + 2
    compare([path], Unit.MM, 0.0005)


def test_a_piece_that_rounds_to_nothing_leaves_the_path_closed():
    points = [[0, 0], [10, 0], [10.00001, 0.00001], [10, 10], [10, 10], [10, 10.00001], [0, 10], [0.00002, 0]]
    path = arcs(points, [0, 0.4, -0.3, 0, 0.9, 0, 0, 0.5])
    kept = rounded_path(path, Unit.MM)
    assert kept.vertices.tolist() == [[0, 0], [10, 0], [10, 10], [0, 10]]
    assert kept.bulges.tolist() == [0, -0.3, 0, 0]
    for _, (shape,) in readings(drawn(path)):
        ends = [piece.end for piece in shape.pieces]
        starts = [piece.start for piece in shape.pieces]
        assert np.allclose(ends, starts[1:] + starts[:1], atol=1e-12)


def test_a_first_and_last_vertex_that_round_together_are_merged():
    kept = rounded_path(arcs([[0, 0], [10, 0], [0, 10], [0.00001, 0.00001]], [0.1, 0, 0, 0]), Unit.MM)
    assert kept.vertices.tolist() == [[0, 0], [10, 0], [0, 10]]
    kept = rounded_path(arcs([[0, 0], [0.00001, 0], [10, 0], [10.00001, 0]], [0.2, 0.3, 0.4], closed=False), Unit.MM)
    assert kept.vertices.tolist() == [[0, 0], [10, 0]]
    assert kept.bulges.tolist() == [0.3]


@pytest.mark.parametrize(
    "path",
    [
        arcs([[5, 5], [5.00001, 5], [5, 5.00001]], [0, 0, 0]),
        ArcPath.circle((5, 5), 0.00002),
        arcs([[0, 0], [10, 0], [20, 0.00001]], [0, 0, 0]),
        arcs([[0, 0], [10, 0]], [0.4, -0.4]),
        arcs([[0, 0], [10, 0]], [1e-6, 1e-6]),
        arcs([[0, 0], [10, 0]], [0, 0]),
        arcs([[5, 5], [5.00001, 5]], [0.7], closed=False),
    ],
)
def test_a_path_that_vanishes_by_rounding_raises(path):
    with pytest.raises(PromiseError, match="too small"):
        svg_bytes(drawn(path))
    with pytest.raises(PromiseError, match="too small"):
        dxf_bytes(drawn(path), version="R12")


def test_coordinates_must_be_finite():
    with pytest.raises(ValueError, match="finite"):
        rounded_path(arcs([[0, 0], [1, math.nan], [1, 1]], [0, 0, 0]), Unit.MM)
    with pytest.raises(ValueError, match="finite"):
        rounded_path(arcs([[0, 0], [1, 0], [1, 1]], [0, math.inf, 0]), Unit.MM)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (33.349, "33.349"),
        (-0.00001, "0"),
        (100.0, "100"),
        (1e-7, "0"),
        (0.1 + 0.2, "0.3"),
        (-1.5, "-1.5"),
        (1e9, "1000000000"),
    ],
)
def test_numbers_are_plain_decimals(value, text):
    assert decimal(value, 4) == text


# Random paths: the package's own flattening, ezdxf's, and the reader of SVG paths

coordinate = st.floats(0, 300).map(lambda v: round(v, 3))
bulge = st.one_of(st.sampled_from(BULGES[:24]), st.floats(-1.2, 1.2))


@st.composite
def random_paths(draw):
    count = draw(st.integers(2, 6))
    points = draw(st.lists(st.tuples(coordinate, coordinate), min_size=count, max_size=count, unique=True))
    closed = draw(st.booleans()) and count > 2
    size = count if closed else count - 1
    return arcs(points, draw(st.lists(bulge, min_size=size, max_size=size)), closed=closed)


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(path=random_paths(), unit=st.sampled_from(UNITS), version=st.sampled_from(VERSIONS))
def test_files_agree_with_the_path_and_with_each_other(path, unit, version):
    drawing = drawn(path, unit=unit)
    exact = line_of(path.flattened(2e-4), closed=path.closed)
    assume(not path.closed or exact.convex_hull.area > 0.001)
    (shape,) = read_svg(svg_bytes(drawing)).shapes
    svg = shapely.LineString(shape.polyline(2e-4))
    dxf = shapely.LineString(by_ezdxf(dxf_bytes(drawing, version=version)) * unit.mm)
    assert apart(exact, svg) < 0.001
    assert apart(exact, dxf) < 0.001
    assert apart(svg, dxf) < 0.001


def by_ezdxf(content: bytes) -> np.ndarray:
    """Points along the only entity, its arcs flattened by ezdxf itself."""
    document = ezdxf.read(io.StringIO(content.decode("utf-8")))
    (entity,) = document.modelspace()
    lines = []
    for part in entity.virtual_entities():
        if part.dxftype() == "ARC":
            lines.append(np.array([[p.x, p.y] for p in part.flattening(4e-6)]))
        else:
            lines.append(np.array([part.dxf.start.vec2, part.dxf.end.vec2]))
    return joined(lines)


def joined(lines) -> np.ndarray:
    """Put the lines end to end; ezdxf runs clockwise arcs from their end to their start."""
    path = lines[0]
    if len(lines) > 1 and min(gap(path[-1], lines[1][0]), gap(path[-1], lines[1][-1])) > 1e-5:
        path = path[::-1]
    for line in lines[1:]:
        path = np.vstack([path, line if gap(path[-1], line[0]) <= gap(path[-1], line[-1]) else line[::-1]])
    return path


def gap(a, b) -> float:
    return float(np.hypot(*(np.asarray(a) - np.asarray(b))))
