"""The least that the same libraries do for the main job, as a yardstick for the whole process's time and memory.

``python tests/benchmarks/minimal_job.py PICTURE OUT SIDE_MM...``: decode, blur, one Otsu level, outlines by
OpenCV, Douglas-Peucker by shapely, one offset inwards, DXF and SVG. No lines are restored, no arcs fitted, nothing is
checked; specks and crossing rings go into the files as they are.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import ezdxf
import numpy as np
import shapely
import svgwrite

PIXEL_MM = 0.15
BLUR_MM = 0.45
SPECK_MM2 = 1.3
TOLERANCE_MM = 0.1
CUTTER_RADIUS_MM = 1.5


def outlines(lightness: np.ndarray, side_mm: float) -> shapely.Geometry:
    """Return the dark of a grey picture, shape (rows, columns) uint8, in mm on a plaque of the given long side."""
    scale = side_mm / PIXEL_MM / max(lightness.shape)
    small = cv2.resize(
        lightness, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    )
    blurred = cv2.GaussianBlur(small, (0, 0), BLUR_MM / PIXEL_MM)
    _, dark = cv2.threshold(blurred, 0, 255, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    rings, tree = cv2.findContours(dark, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    shape = shapely.MultiPolygon()
    if rings:
        polygons = [shapely.Polygon(ring[:, 0] * PIXEL_MM) for ring in rings if len(ring) > 3]
        outer = [tree[0][i][3] < 0 for i, ring in enumerate(rings) if len(ring) > 3]
        solid = shapely.union_all([p.buffer(0) for p, is_outer in zip(polygons, outer, strict=True) if is_outer])
        holes = shapely.union_all([p.buffer(0) for p, is_outer in zip(polygons, outer, strict=True) if not is_outer])
        shape = solid.difference(holes)
    parts = [part for part in shapely.get_parts(shape) if part.area > SPECK_MM2]
    return shapely.MultiPolygon(parts).simplify(TOLERANCE_MM)


def rings_of(shape: shapely.Geometry) -> list[np.ndarray]:
    """Return every ring's points (n, 2)."""
    rings = shapely.get_rings(shapely.get_parts(shape)) if not shape.is_empty else []
    return [shapely.get_coordinates(ring)[:-1] for ring in rings]


def write(layers: dict[str, list[np.ndarray]], out: Path, side_mm: float) -> None:
    """Write both files of one plaque."""
    dxf = ezdxf.new("R2010", units=ezdxf.units.MM)
    svg = svgwrite.Drawing(str(out / f"{side_mm:g}.svg"), size=(f"{side_mm}mm", f"{side_mm}mm"), debug=False)
    svg.viewbox(0, 0, side_mm, side_mm)
    for name, rings in layers.items():
        dxf.layers.add(name)
        group = svg.add(svg.g(id=name, fill="none", stroke="black", stroke_width=0.1))
        for ring in rings:
            dxf.modelspace().add_lwpolyline(ring * [1, -1] + [0, side_mm], close=True, dxfattribs={"layer": name})
            group.add(svg.polygon(np.round(ring, 3).tolist()))
    dxf.saveas(out / f"{side_mm:g}.dxf")
    svg.save()


def main(picture: str, out: str, *sides_mm: str) -> None:
    """Make every plaque from one decoding of the picture."""
    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    lightness = cv2.imread(picture, cv2.IMREAD_GRAYSCALE)
    for side_mm in map(float, sides_mm):
        shadow = outlines(lightness, side_mm)
        centres = shadow.buffer(-CUTTER_RADIUS_MM)
        write({"shadow": rings_of(shadow), "cutter-path": rings_of(centres)}, folder, side_mm)


if __name__ == "__main__" and sys.argv[1:] != ["--smoke"]:  # the quick run is whole_job.py's
    main(*sys.argv[1:])
