"""Lines whose depth changes along them, as written and read back by others."""

from __future__ import annotations

import io

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely
from readers import read_svg

from shadowrout.drawing.shapes import Drawing, Layer, Path, Profile, Role
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.dxf_polyline import points_3d
from shadowrout.files.rounding import rounded_line
from shadowrout.files.svg import svg_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.words.units import Unit

VERSIONS = ("R2010", "R2000", "R12")
ENCODING = {"R2010": "utf-8", "R2000": "cp1252", "R12": "cp1252"}

OPEN = ArcPath(np.array([[2.0, 10.0], [12.0, 10.0], [20.0, 8.0]]), np.array([-1.0, 0.0]), closed=False)
RING = ArcPath(np.array([[25.0, 10.0], [35.0, 10.0], [30.0, 18.0]]), np.array([0.3, 0.0, 0.2]))
PROFILES = (Profile((0.6, 2.1234, 1.0), (0.1, 1.9, 0.6)), Profile((1.0, 2.0, 1.5), (0.5, 1.7, 1.1)))


def drawing(unit: Unit = Unit.MM) -> Drawing:
    shapes = tuple(Path(path, profile.greatest) for path, profile in zip((OPEN, RING), PROFILES, strict=True))
    return Drawing("a", "b", (0.0, 0.0, 40.0, 20.0), (Layer(Role.V_LINE, shapes),), unit)


def numbers(text: str) -> list[float]:
    return [float(word) for word in text.split()]


@pytest.mark.parametrize("unit", Unit)
def test_svg_lists_one_depth_and_width_a_vertex(unit: Unit) -> None:
    shapes = read_svg(svg_bytes(drawing(unit))).shapes
    for shape, path, profile in zip(shapes, (OPEN, RING), PROFILES, strict=True):
        assert len(shape.pieces) == len(path.bulges)
        assert numbers(shape.marks["depth_mm"]) == list(profile.depths_mm)
        assert numbers(shape.marks["width_mm"]) == list(profile.widths_mm)
        starts = np.array([[piece.start.real, piece.start.imag] for piece in shape.pieces])
        assert starts == pytest.approx(path.starts, abs=1e-3)


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("version", VERSIONS)
def test_gdal_sees_the_line_flat_and_in_space(version: str, unit: Unit, tmp_path) -> None:
    (tmp_path / "a.dxf").write_bytes(dxf_bytes(drawing(unit), version=version))
    meta, _, shapes, columns = pyogrio.raw.read(tmp_path / "a.dxf")
    layers = [str(layer).lower() for layer in columns[list(meta["fields"]).index("Layer")]]
    found = {name: [] for name in ("v-line", "v-line-3d")}
    for layer, shape in zip(layers, shapes, strict=True):
        found[layer].append(shapely.get_coordinates(shapely.from_wkb(shape), include_z=True) * unit.mm)
    for flat, profile in zip(found["v-line"], PROFILES, strict=True):
        assert flat[:, 2] == pytest.approx(-max(profile.depths_mm), abs=1e-3)
    for line, path, profile in zip(found["v-line-3d"], (OPEN, RING), PROFILES, strict=True):
        for vertex, depth in zip(path.vertices, profile.depths_mm, strict=True):
            at = np.hypot(*(line[:, :2] - vertex).T).argmin()
            assert line[at] == pytest.approx([*vertex, -depth], abs=1e-3)
        curve = shapely.LineString(line[:, :2])
        exact = path.flattened(1e-4)
        exact = np.vstack([exact, exact[:1]]) if path.closed else exact
        assert (
            shapely.hausdorff_distance(curve, shapely.LineString(exact))
            <= Drawing("t", "", (0, 0, 1, 1), ()).flat_mm + 0.001
        )
        assert np.allclose(line[0], line[-1]) == path.closed


@pytest.mark.parametrize("version", VERSIONS)
def test_the_depth_changes_evenly_along_an_arc(version: str) -> None:
    """The half turn of radius 5 about (7, 10) goes from 0.6 to 2.1234 mm: at the angle t it has t / pi of the way."""
    file = ezdxf.read(io.StringIO(dxf_bytes(drawing(), version=version).decode(ENCODING[version])))
    assert not file.audit().errors
    lines = [e for e in file.modelspace() if e.dxf.layer.lower() == "v-line-3d"]
    assert [line.is_3d_polyline for line in lines] == [True, True]
    assert [line.is_closed for line in lines] == [False, True]
    said = [value for _, value in lines[0].get_xdata("SHADOWROUT") if "=" in str(value)]
    assert said == ["role=v-line-3d", "depth_mm=2.1234", "width_mm=1.9"]
    points = np.array([tuple(vertex.dxf.location) for vertex in lines[0].vertices])[:-1]
    turned = np.pi - np.arctan2(points[:, 1] - 10, points[:, 0] - 7)
    assert -points[:, 2] == pytest.approx(0.6 + (2.1234 - 0.6) * turned / np.pi, abs=2e-4)


def test_depths_are_as_many_as_vertices() -> None:
    with pytest.raises(ValueError, match="expected 3"):
        points_3d(OPEN, (1.0, 2.0), flat=0.01)


def test_a_straight_line_in_space_is_two_points() -> None:
    line = ArcPath(np.array([[0.0, 0.0], [100.0, 0.0]]), np.zeros(1), closed=False)
    assert points_3d(line, (1.0, 3.0), flat=0.01).tolist() == [[0, 0, -1], [100, 0, -3]]


def test_the_profile_follows_what_rounding_does() -> None:
    """A piece of nothing goes, with the depth at its start; a nearly straight arc comes out as lines."""
    path = ArcPath(
        np.array([[0.0, 0.0], [10.0, 0.0], [10.00001, 0.0], [10.0, 40.0]]), np.array([0.0, 0.0, 4e-5]), closed=False
    )
    rounded, profile = rounded_line(path, Profile((1.0, 2.0, 2.5, 3.5), (0.1, 0.2, 0.25, 0.35)), Unit.MM)
    assert len(rounded.vertices) == len(profile.depths_mm)
    assert profile.depths_mm[0] == 1.0
    assert profile.depths_mm[-1] == 3.5
    y = rounded.vertices[2:, 1]
    assert list(profile.depths_mm[2:]) == pytest.approx(2.5 + y / 40, abs=1e-3)
    ring, around = rounded_line(RING, PROFILES[1], Unit.INCH)
    assert ring.closed
    assert around == PROFILES[1]
