"""A plaque's folder drawn by hand from exact circles and rounded bars, for tests that must not need a picture.

The board is 120 x 100 mm. Its shadows: a disc with a hole and an island in it, a rounded block, two thin bars.
A 3 mm cutter with 0.2 mm allowance roughs disc, island and block 3 mm deep; a 60 degree V tool cuts the bars, 1.2 mm
wide after 0.5 mm of sanding, which takes a depth of 0.6 / tan 30 degrees + 0.5 mm.
"""

from __future__ import annotations

import gzip
import json
import math
from pathlib import Path as FilePath

import numpy as np
import shapely
from zoo import clockwise_circle

from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Profile, Role, Text
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.svg import svg_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.job import job_file
from shadowrout.job.options import Cutter, Finish, Job, Output, Picture, Plaque, ToneOptions, VTool
from shadowrout.words.units import Unit

NAME = "by hand"
WIDTH, HEIGHT = 120.0, 100.0
DISC, DISC_RADIUS, HOLE_RADIUS, ISLAND_RADIUS = (35.0, 50.0), 22.0, 8.0, 3.0
CUTTER_MM, ALLOWANCE_MM, DEPTH_MM, SANDING_MM = 3.0, 0.2, 3.0, 0.5
BAR_WIDTH = 1.2
V_DEPTH_MM = BAR_WIDTH / 2 / math.tan(math.radians(30)) + SANDING_MM
QUARTER = math.tan(math.pi / 8)
ISLAND_GAP = HOLE_RADIUS - ISLAND_RADIUS
BARS = (((70.0, 15.0), (110.0, 15.0)), ((70.0, 25.0), (110.0, 40.0)))


def circle(centre: tuple[float, float], radius: float, *, hole: bool = False) -> ArcPath:
    return clockwise_circle(centre, radius) if hole else ArcPath.circle(centre, radius)


def block(inset: float) -> ArcPath:
    """Return the rounded block from (72, 55) to (108, 85), its corners of radius 6, moved inwards."""
    x0, y0, x1, y1, r = 72 + inset, 55 + inset, 108 - inset, 85 - inset, 6 - inset
    points = [(x0 + r, y0), (x1 - r, y0), (x1, y0 + r), (x1, y1 - r)]
    points += [(x1 - r, y1), (x0 + r, y1), (x0, y1 - r), (x0, y0 + r)]
    return ArcPath(np.array(points), np.array([0, QUARTER] * 4))


def bar(ends: tuple[tuple[float, float], tuple[float, float]]) -> ArcPath:
    """All points within half the bar's width of a line: two lines and two half turns."""
    a, b = (complex(*end) for end in ends)
    side = BAR_WIDTH / 2 * 1j * (b - a) / abs(b - a)
    points = [a - side, b - side, b + side, a + side]
    return ArcPath(np.array([(z.real, z.imag) for z in points]), np.array([0.0, 1.0, 0.0, 1.0]))


def shadow_paths() -> list[ArcPath]:
    disc = [circle(DISC, DISC_RADIUS), circle(DISC, HOLE_RADIUS, hole=True), circle(DISC, ISLAND_RADIUS)]
    return [*disc, block(0), *map(bar, BARS)]


def design() -> shapely.MultiPolygon:
    outer, hole, *others = [path.flattened(0.001) for path in shadow_paths()]
    return shapely.MultiPolygon([shapely.Polygon(outer, [hole]), *map(shapely.Polygon, others)])


def job(*, unit: str = "mm", dxf: str = "R2010") -> Job:
    return Job(
        picture=Picture(FilePath("none.png")),
        tone=ToneOptions(method="keep-lines", dark=0.4, detail=0.8),
        plaques=(Plaque(name=NAME, size=(WIDTH, HEIGHT)),),
        finish=Finish(sanding_loss=SANDING_MM, least_depth_left=2.5),
        cutters=(Cutter(diameter=CUTTER_MM, finishing_allowance=ALLOWANCE_MM, depth=DEPTH_MM),),
        v_tool=VTool(angle=60, greatest_depth=2.5),
        output=Output(files=("carve",), unit=unit, dxf=dxf),
    )


def drawing(unit: Unit) -> Drawing:
    to_path = ALLOWANCE_MM + CUTTER_MM / 2
    walls = [circle(DISC, DISC_RADIUS - ALLOWANCE_MM), circle(DISC, HOLE_RADIUS + ALLOWANCE_MM, hole=True)]
    centres = [circle(DISC, DISC_RADIUS - to_path), circle(DISC, HOLE_RADIUS + to_path, hole=True)]
    island, within = circle(DISC, ISLAND_RADIUS - ALLOWANCE_MM), circle(DISC, ISLAND_RADIUS - to_path)
    both = Marks(depth_mm=DEPTH_MM, cutter_mm=CUTTER_MM)
    lines = [ArcPath(np.array(ends), np.zeros(1), closed=False) for ends in BARS]
    between = ArcPath(np.array([(29.5, 50.0), (40.5, 50.0)]), np.array([1.0]), closed=False)
    along = Profile((V_DEPTH_MM, V_DEPTH_MM), (BAR_WIDTH, BAR_WIDTH)).greatest
    edge = ArcPath.polygon(np.array([(0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)]))
    layers = (
        Layer(Role.PLAQUE_EDGE, (Path(edge),)),
        Layer(Role.SHADOW, tuple(map(Path, shadow_paths()))),
        Layer(
            Role.POCKET, tuple(Path(p, both) for p in [*walls, block(ALLOWANCE_MM), island]), Marks(depth_mm=DEPTH_MM)
        ),
        Layer(
            Role.CUTTER_PATH, tuple(Path(p, both) for p in [*centres, block(to_path), within]), Marks(depth_mm=DEPTH_MM)
        ),
        Layer(Role.V_LINE, (Path(lines[0], Marks(depth_mm=V_DEPTH_MM, width_mm=BAR_WIDTH)), Path(lines[1], along))),
        Layer(Role.FRAGILE_LIGHT, (Path(between, Marks(width_mm=ISLAND_GAP)),), hidden=True),
        Layer(Role.NOTE, tuple(_notes(unit))),
    )
    return Drawing("none, by hand", "Drawn by hand.", (0.0, 0.0, WIDTH, HEIGHT), layers, unit)


def _notes(unit: Unit) -> list[Text]:
    """Return the notes of the pockets, those of the second and third in four lines."""
    depth = "depth 3 mm" if unit is Unit.MM else "depth 0.118 in"
    cutter = "cutter 3 mm" if unit is Unit.MM else "cutter 0.118 in"
    wide = [f"1: wall, {depth}", f"1: centre, {cutter}"]
    narrow = ["2: wall,", depth, "2: centre,", cutter]
    island = ["3: wall,", depth, "3: centre,", cutter]
    places = [((35.0, 67.0), wide), ((90.0, 70.0), narrow), ((35.0, 50.0), island)]
    return [Text((x, y - 3 * i), text, 1.8) for (x, y), lines in places for i, text in enumerate(lines)]


def figures(*, unit: str) -> dict:
    around = 2 * math.pi
    lengths = around * (DISC_RADIUS + HOLE_RADIUS), float(block(1.7).lengths.sum()), around * (ISLAND_RADIUS - 1.7)
    places = (DISC[0] + DISC_RADIUS - 1.7, DISC[1]), (90.0, 56.7), (DISC[0] + ISLAND_RADIUS - 1.7, DISC[1])
    pockets = [
        {
            "number": n,
            "place_mm": place,
            "depth_mm": DEPTH_MM,
            "cutter_mm": CUTTER_MM,
            "cutter_path_mm": round(length, 1),
        }
        for n, (length, place) in enumerate(zip(lengths, places, strict=True), start=1)
    ]
    bars = [math.dist(*ends) for ends in BARS]
    plaque = {
        "name": NAME,
        "size_mm": [WIDTH, HEIGHT],
        "shape": "rectangle",
        "thickness_mm": 18.0,
        "shadows": 5,
        "pockets": pockets,
        "uncut_mm2": 0.0,
        "uncut_share": 0.0,
        "dark_left_share": 1.0,
        "v_lines": {
            "count": 2,
            "length_mm": round(sum(bars), 1),
            "greatest_depth_mm": round(V_DEPTH_MM, 4),
            "sanding": {"lengths_left_mm": [[round(length, 1)] for length in bars]},
        },
        "flow_lines": {"count": 0, "length_mm": 0.0, "greatest_below_floor_mm": 0.0},
        "fragile_light": {"count": 1},
        "files": ["carve.svg", "carve.dxf", "design.wkb.gz"],
    }
    return {"tolerance_mm": 0.1, "unit": unit, "detail_mm": 0.8, "plaques": [plaque]}


def write_folder(out: FilePath, *, unit: str = "mm", dxf: str = "R2010") -> FilePath:
    """Write the folder as ``make`` would and return the plaque's own folder in it."""
    place = out / NAME
    place.mkdir(parents=True)
    drawn = drawing(Unit(unit))
    (place / "carve.svg").write_bytes(svg_bytes(drawn))
    (place / "carve.dxf").write_bytes(dxf_bytes(drawn, version=dxf))
    (place / "design.wkb.gz").write_bytes(gzip.compress(shapely.to_wkb(design()), mtime=0))
    (out / "job.toml").write_text(job_file.written(job(unit=unit, dxf=dxf), folder=out), encoding="utf-8")
    (out / "numbers.json").write_text(json.dumps(figures(unit=unit)), encoding="utf-8")
    return place


def sheet_drawing(openings: list[ArcPath], *, sheet: tuple[float, float] = (100.0, 60.0)) -> Drawing:
    """Return a stencil: a sheet with openings and a dowel hole."""
    width, height = sheet
    edge = ArcPath.polygon(np.array([(0, 0), (width, 0), (width, height), (0, height)]))
    layers = (
        Layer(Role.SHEET_EDGE, (Path(edge),)),
        Layer(Role.OPENING, tuple(map(Path, openings))),
        Layer(Role.REGISTER, (Circle((5.0, 5.0), 1.5),)),
    )
    return Drawing("stencil", "Drawn by hand.", (0.0, 0.0, width, height), layers)
