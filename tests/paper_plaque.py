"""A small plaque with everything that a pattern shows: shadows with a hole, two pockets, V lines, register marks."""

from __future__ import annotations

import numpy as np
from zoo import clockwise_circle

from shadowrout.carving.carve_paths import CarvePaths, PocketPaths
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_line_paths import FittedVLine
from shadowrout.design.board import Layout, lay_out
from shadowrout.drawing.paper.cover import Bench
from shadowrout.drawing.paper.pattern import pattern_drawing
from shadowrout.drawing.shapes import Drawing
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job.options import Plaque
from shadowrout.sheets.register import RegisterMark, register_marks
from shadowrout.words.units import Unit

BENCH = Bench(v_angle_deg=60.0, machine=True, template=False, pared=True)


def layout_of(width: float, height: float, *, shape: str = "rectangle", margin: float = 10.0) -> Layout:
    return lay_out(Plaque(size=(width, height), shape=shape, margin=margin), aspect=width / height, origin="corner")


def ring_and_hole(x: float, y: float, radius: float) -> tuple[ArcPath, ArcPath]:
    return ArcPath.circle((x, y), radius), clockwise_circle((x, y), radius / 2)


def pocket(number: int, box: tuple[float, float, float, float], depth: float) -> Pocket:
    wall = Region.box(box)
    return Pocket(
        number=number, wall=wall, cutter_path=wall.offset(-1.5, error=0.01), depth_mm=depth, cutter_mm=3.0,
        allowance_mm=0.2, passes=2,
    )  # fmt: skip


def marks_of(layout: Layout, *, dowel: float = 6.0) -> tuple[RegisterMark, ...]:
    return register_marks(layout, dowel_mm=dowel, inset_mm=None, keep_clear=Region.empty())


def plaque_pattern(
    width: float = 250.0, height: float = 180.0, *, unit: Unit = Unit.MM, shape: str = "rectangle"
) -> tuple[Drawing, Layout, tuple[RegisterMark, ...]]:
    """Return the pattern of a plaque of any size, its shadows placed in shares of the board."""
    layout = layout_of(width, height, shape=shape)
    marks = marks_of(layout)
    w, h = width / 10, height / 10
    boxes = [(2 * w, 2 * h, 4 * w, 4 * h), (6 * w, 6 * h, 8 * w, 8 * h)]
    pockets = [pocket(number, box, 2.0 + number) for number, box in enumerate(boxes, start=1)]
    points, depths = [(5 * w, 2 * h), (6 * w, 3 * h), (7 * w, 3 * h), (8 * w, 2 * h)], [1.0, 1.0, 1.9, 1.9]
    paths = CarvePaths(
        shadow=(*ring_and_hole(3 * w, 7 * h, min(w, h)), *(ArcPath.polygon(_corners(box)) for box in boxes)),
        pockets=tuple(
            PocketPaths(p, tuple(map(ArcPath.polygon, p.wall.rings())), ()) for p in pockets
        ),
        v_lines=(
            FittedVLine(
                ArcPath(np.array(points, dtype=float), np.zeros(3), closed=False),
                np.array(depths),
                2 * np.tan(np.pi / 6) * np.array(depths),
            ),
        ),
    )  # fmt: skip
    drawing = pattern_drawing(
        paths, layout, marks, unit=unit, title="cup, kitchen", description="A pattern.", thickness_mm=18.0
    )
    return drawing, layout, marks


def _corners(box: tuple[float, float, float, float]) -> np.ndarray:
    x0, y0, x1, y1 = box
    return np.array([(x0 - 1, y0 - 1), (x1 + 1, y0 - 1), (x1 + 1, y1 + 1), (x0 - 1, y1 + 1)])
