"""Outlines without kinks: tangent pieces, as near to the input and as sound as with kinks.

What is known of two straight lines joined by an arc is the simple curve of route surveying (from memory): at a turn D,
a radius R has the tangent length T = R tan(D / 2) and lies E = R (sec(D / 2) - 1) from the corner.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import skimage.data
from fit_judge import cut_up, faults
from readers import read_dxf_shapes, read_svg
from zoo import circle_points, random_region, traced, zoo

from shadowrout.drawing.shapes import Drawing, Layer, Path, Role
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.svg import svg_bytes
from shadowrout.fit.corners import corners_of
from shadowrout.fit.fitting import fit_region
from shadowrout.fit.smooth import LEAST_CUT, rounded
from shadowrout.fit.track import Track
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.words.units import Unit

ZOO = zoo()
NO_KINK_DEG = 0.51


def kinks_deg(path: ArcPath) -> np.ndarray:
    """Return the turn at each vertex, by the tangents of the two circles there."""
    bulge, chord = path.bulges, np.diff(np.vstack([path.vertices, path.vertices[:1]]), axis=0) @ [1, 1j]
    lean = np.exp(2j * np.arctan(bulge))
    return np.abs(np.degrees(np.angle(chord / lean * np.conj(np.roll(chord * lean, 1)))))


@pytest.fixture(scope="module")
def horse() -> Region:
    """scikit-image's ``horse``, 200 mm wide."""
    pixel = 200 / skimage.data.horse().shape[1]
    return traced(np.where(skimage.data.horse(), -1.0, 1.0), pixel)


@pytest.mark.parametrize("room", [0.02, 0.1, 1.0])
@pytest.mark.parametrize("sides", [7, 24, 90])
def test_corners_of_a_polygon_by_the_simple_curve(sides, room):
    points = circle_points(10.0, sides)
    (path,), moved = rounded([ArcPath.polygon(points)], [np.zeros(sides, dtype=bool)], room=room)
    turn, side = 2 * np.pi / sides, 20 * np.sin(np.pi / sides)
    arcs = path.bulges != 0
    tangent = min(0.4 * side, room / np.tan(turn / 4))
    assert arcs.sum() == sides
    assert path.radii[arcs] == pytest.approx(tangent / np.tan(turn / 2))
    assert moved == pytest.approx(tangent / np.tan(turn / 2) * (1 / np.cos(turn / 2) - 1))
    assert path.lengths[~arcs] == pytest.approx(side - 2 * tangent)
    assert kinks_deg(path).max() < 1e-6


def test_sharp_vertices_stay():
    points = circle_points(10.0, 12)
    sharp = np.arange(12) % 3 == 0
    (path,), _ = rounded([ArcPath.polygon(points)], [sharp], room=0.1)
    assert kinks_deg(path)[kinks_deg(path) > 1e-6] == pytest.approx(30.0)
    assert {tuple(p) for p in points[sharp].tolist()} <= {tuple(p) for p in path.vertices.tolist()}
    assert len(path.vertices) == 4 + 2 * 8


def test_arcs_of_either_sense_and_lines(horse):
    """Every join of a photo's outline, at each of which two of the three meet: hardly a kink is left."""
    kinked = fit_region(horse, tolerance=0.1).paths
    paths, moved = rounded(kinked, [np.zeros(len(path.bulges), dtype=bool) for path in kinked], room=0.05)
    assert max(kinks_deg(path).max() for path in kinked) > 30
    assert sum(int((kinks_deg(path) > NO_KINK_DEG).sum()) for path in paths) < 3
    assert 0.04 < moved <= 0.05
    for old, new in zip(kinked, paths, strict=True):
        one, other = (shapely.LinearRing(cut_up(path, 1e-4)) for path in (old, new))
        assert one.hausdorff_distance(other) <= moved + 2e-4


@pytest.mark.parametrize("gap", [0.5, 0.1, 0.02])
def test_a_thorn_in_the_way(gap):
    """A ring that reaches nearly into the bend makes the arc there smaller, or keeps the kink."""
    bent = ArcPath.polygon(np.array([[-20.0, 0.0], [0.0, -10.0], [20.0, 0.0], [0.0, -30.0]]))
    thorn = ArcPath.polygon(np.array([[-1.0, 5.0], [0.0, -10.0 + gap], [1.0, 5.0]]))
    sharp = [np.arange(4) != 1, np.ones(3, dtype=bool)]
    (free,), _ = rounded([bent], sharp[:1], room=1.0)
    (hindered, _), _ = rounded([bent, thorn], sharp, room=1.0)
    crosses = [
        shapely.LinearRing(cut_up(p, 1e-4)).crosses(shapely.LinearRing(thorn.vertices)) for p in (free, hindered)
    ]
    assert crosses == [gap < 1.0, False]
    if gap > 2 * LEAST_CUT:
        assert 0 < hindered.radii.min() < free.radii.min()


@pytest.mark.parametrize("tolerance", [0.02, 0.1, 0.5, 2.0])
@pytest.mark.parametrize("name", ZOO)
def test_zoo(name, tolerance):
    fitted = fit_region(ZOO[name], tolerance=tolerance, smooth=True)
    assert faults(ZOO[name], fitted.paths, tolerance) == []
    assert fitted.deviation <= tolerance


@pytest.mark.parametrize("block", range(10))
def test_random_masks(block):
    """Besides the drawing's corners hardly a kink is left: where rings nearly touch or pieces are short."""
    corners = left = vertices = 0
    for seed in range(20 * block, 20 * block + 20):
        region = random_region(seed, most=30)
        tolerance = (0.05, 0.15, 0.4, 1.0, 3.0)[seed % 5]
        fitted = fit_region(region, tolerance=tolerance, smooth=True)
        assert (seed, faults(region, fitted.paths, tolerance)) == (seed, [])
        assert fitted.deviation <= tolerance
        corners += len(corners_of(Track.of_rings(region.rings()), 0.75 * tolerance))
        left += sum(int((kinks_deg(path) > NO_KINK_DEG).sum()) for path in fitted.paths)
        vertices += sum(len(path.vertices) for path in fitted.paths)
    assert vertices > 500
    assert left <= corners + 0.02 * vertices


def test_corners_of_a_square_stay_sharp():
    square = Region.of_shape(shapely.box(0, 0, 40, 40).segmentize(0.2))
    (path,) = fit_region(square, tolerance=0.1, smooth=True).paths
    assert len(path.vertices) == 4
    assert not path.bulges.any()


@pytest.mark.parametrize("unit", [Unit.MM, Unit.INCH])
def test_written_kinks(horse, unit):
    """In the files short lines stand for arcs flatter than their rounding: kinks of a few degrees are left there."""
    paths = fit_region(horse, tolerance=0.1, smooth=True).paths
    drawing = Drawing("horse", "", (0.0, 0.0, 200.0, 170.0), (Layer(Role.SHADOW, tuple(map(Path, paths))),), unit)
    every = {"svg": read_svg(svg_bytes(drawing)).shapes}
    for version in ("R2010", "R12"):
        every[version] = read_dxf_shapes(dxf_bytes(drawing, version=version), unit_mm=unit.mm)
    sharp = sum(int((kinks_deg(path) > NO_KINK_DEG).sum()) for path in paths)
    for name, shapes in every.items():
        turns = np.concatenate([read_kinks_deg(shape.pieces) for shape in shapes])
        assert (name, int((turns > 5).sum())) == (name, sharp)


def read_kinks_deg(pieces) -> np.ndarray:
    """Return the turn from each piece as read to the next one."""
    leave = np.array([heading(piece, piece.start) for piece in pieces])
    arrive = np.array([heading(piece, piece.end) for piece in pieces])
    return np.abs(np.degrees(np.angle(np.roll(leave, -1) / arrive)))


def heading(piece, at: complex) -> complex:
    if piece.centre is None:
        return (piece.end - piece.start) / abs(piece.end - piece.start)
    away = (at - piece.centre) / abs(at - piece.centre)
    return away * 1j * np.sign(piece.turn_rad)
