"""Pictures traced, fitted and written: how far the curves in the files lie from the outlines, measured on the files.

The files are read by ``readers``, which shares no code with fit, geometry or writers; distances are shapely's.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import skimage.data
from fit_judge import within
from PIL import Image, ImageDraw
from readers import read_dxf_shapes, read_svg
from zoo import koch_snowflake

from shadowrout.design.mask import Mask
from shadowrout.design.trace import outline_of
from shadowrout.drawing.shapes import Drawing, Layer, Path, Role
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.svg import svg_bytes
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.words.units import Unit

BOX = (0.0, 0.0, 200.0, 170.0)
ROUNDING_MM = 0.001
SAGITTA_MM = 0.002


def traced(covered: np.ndarray, *, width_mm: float) -> Region:
    """Return the outline of a picture of shares of dark, 0 to 1, as wide as asked, y up, in the first quadrant."""
    height, width = covered.shape
    pixel_mm = width_mm / width
    outline = outline_of(Mask((2 * covered - 1).astype(np.float32), pixel_mm, 0, 0))
    return outline.region.mapped((pixel_mm, -pixel_mm), (0.0, height * pixel_mm))


@pytest.fixture(scope="module")
def horse() -> Region:
    """scikit-image's ``horse``, its mask softened to a field as a design is."""
    picture = Image.fromarray(np.where(skimage.data.horse(), 0, 255).astype(np.uint8))
    return traced(np.asarray(picture.resize((600, 492), Image.Resampling.BICUBIC)) / 255, width_mm=200)


def written(paths: tuple[ArcPath, ...], unit: Unit) -> dict[str, list[shapely.LinearRing]]:
    """Return the rings of every file, in mm."""
    drawing = Drawing("horse", "", BOX, (Layer(Role.SHADOW, tuple(map(Path, paths))),), unit)
    shapes = {"svg": read_svg(svg_bytes(drawing)).shapes}
    for version in ("R2010", "R2000", "R12"):
        shapes[version] = read_dxf_shapes(dxf_bytes(drawing, version=version), unit_mm=unit.mm)
    return {name: [shapely.LinearRing(shape.polyline(SAGITTA_MM)) for shape in every] for name, every in shapes.items()}


def far(region: Region, rings: list[shapely.LinearRing], tolerance: float) -> bool:
    """Return whether some ring of the file leaves its outline by more than the tolerance, or the other way round."""
    outlines = [shapely.LinearRing(ring) for ring in region.rings()]
    return len(rings) != len(outlines) or not all(
        within(ring, outline, tolerance + SAGITTA_MM, tolerance / 4)
        for ring, outline in zip(rings, outlines, strict=True)
    )


@pytest.mark.parametrize(("tolerance", "unit"), [(0.05, Unit.MM), (0.2, Unit.INCH)])
def test_written_outlines_are_within_tolerance(horse, tolerance, unit):
    paths = fit_region(horse, tolerance=tolerance - ROUNDING_MM).paths
    assert sum(len(path.bulges) for path in paths) < sum(map(len, horse.rings())) / 5
    for name, rings in written(paths, unit).items():
        assert not far(horse, rings, tolerance), name


def test_a_flattened_arc_in_the_file_is_found(horse):
    """The measure itself: the largest arc made a tenth flatter is out of tolerance."""
    paths = list(fit_region(horse, tolerance=0.049).paths)
    bulges = paths[0].bulges.copy()
    bulges[np.argmax(paths[0].chords * np.abs(bulges))] *= 0.9
    paths[0] = ArcPath(paths[0].vertices, bulges)
    for name, rings in written(tuple(paths), Unit.MM).items():
        assert far(horse, rings, 0.05), name


@pytest.mark.parametrize(("order", "share"), [(1, 4 / 3), (2, 40 / 27), (3, 376 / 243)])
def test_koch_snowflake_traced_and_fitted(order, share):
    """Areas over the first triangle's: 4/3, 40/27, 376/243 (Koch snowflake, standard series).

    Drawn 8 times finer than the picture and averaged, all pixels drawn that an edge touches. Corners lose up to a
    pixel's area each.
    """
    corners = koch_snowflake(order, side=1.0)
    corners = (corners - corners.min(axis=0)) * 270 + 20
    fine = Image.new("L", (360 * 8, 360 * 8))
    ImageDraw.Draw(fine).polygon([tuple(corner) for corner in (8 * corners).tolist()], fill=255)
    covered = np.asarray(fine.resize((360, 360), Image.Resampling.BOX)) / 255
    region = traced(covered, width_mm=360)
    (path,) = fit_region(region, tolerance=0.2).paths
    area, edge = share * 270**2 * np.sqrt(3) / 4, shapely.LinearRing(corners).length
    assert region.area == pytest.approx(area, abs=len(corners) + edge / 8)
    assert path.area == pytest.approx(area, abs=len(corners) + edge / 8 + 0.2 * edge)
    assert path.area == pytest.approx(region.area, rel=0.005)
