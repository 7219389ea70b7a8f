"""A plaque's folder drawn by hand from exact circles and rounded bars, for tests that must not need a picture.

The board is 120 x 100 mm. Its shadows: a disc with a hole and an island in it, a rounded block, two thin bars.
A 3 mm cutter with 0.2 mm allowance roughs disc, island and block 3 mm deep; a 60 degree V tool cuts the bars, 1.2 mm
wide after 0.5 mm of sanding, which takes a depth of 0.6 / tan 30 degrees + 0.5 mm.
"""

from __future__ import annotations

import gzip
import hashlib
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
from shadowrout.report.figures.figures_json import from_json
from shadowrout.report.figures.job_figures import JobFigures
from shadowrout.report.jobsheet.page import job_sheet
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
        cutters=(Cutter(diameter=CUTTER_MM, finishing_allowance=ALLOWANCE_MM, depth=DEPTH_MM, depth_per_pass=1.5),),
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
    """Return the figures as numbers.json tells them, from the exact shapes; without what only files tell."""
    to_path = ALLOWANCE_MM + CUTTER_MM / 2
    disc = math.pi * ((DISC_RADIUS - ALLOWANCE_MM) ** 2 - (HOLE_RADIUS + ALLOWANCE_MM) ** 2)
    areas = disc, _block_mm2(ALLOWANCE_MM), math.pi * (ISLAND_RADIUS - ALLOWANCE_MM) ** 2
    turn = 2 * math.pi
    around = turn * (DISC_RADIUS + HOLE_RADIUS), float(block(to_path).lengths.sum()), turn * (ISLAND_RADIUS - to_path)
    x, y = DISC
    places = (x + DISC_RADIUS - to_path, y), (90.0, 55 + to_path), (x + ISLAND_RADIUS - to_path, y)
    pockets = [
        {
            "number": number,
            "place_mm": place,
            "depth_mm": DEPTH_MM,
            "cutter_mm": CUTTER_MM,
            "passes": 2,
            "area_mm2": round(area, 2),
            "volume_mm3": round(area * DEPTH_MM, 1),
            "cutter_path_mm": round(length, 1),
        }
        for number, (area, length, place) in enumerate(zip(areas, around, places, strict=True), start=1)
    ]
    plaque = {
        "name": NAME,
        "size_mm": [WIDTH, HEIGHT],
        "shape": "rectangle",
        "thickness_mm": 18.0,
        "picture_box_mm": [10.0, 8.0, 110.0, 92.0],
        "pixel_mm": 0.1,
        "dark_share": round(design().area / (100 * 84), 4),
        "shadows": 5,
        **dict.fromkeys(["specks_removed", "pinholes_filled", "slivers_dropped"], 0),
        "widths": {
            "finest_mm": 0.8,
            "kept_mm": 98.0,
            "widened": 0,
            "widened_mm": 0.0,
            "dropped": [],
            "dropped_mm": 0.0,
        },
        "pockets": pockets,
        "idle_cutters": [],
        "rest_share": round(1 - sum(areas) / design().area, 4),
        "uncut_mm2": 0.0,
        "uncut_share": 0.0,
        "dark_left_share": 1.0,
        "v_lines": _v_lines(),
        "flow_lines": {"count": 0, "length_mm": 0.0, "greatest_below_floor_mm": 0.0},
        "fragile_light": _fragile(),
        "outlines": _outlines(),
        **dict.fromkeys(["register", "stencil", "template", "pattern"], {}),
        "amounts": _amounts(
            sum(areas), sum(turn * r for r in (DISC_RADIUS, HOLE_RADIUS, ISLAND_RADIUS - ALLOWANCE_MM)) + around[1]
        ),
        "times": [{"name": "glue the pattern", "minutes": 10.0, "by": "10 min a plaque"}],
        "hours": {
            "by_hand": 0.0,
            "asked": None,
            "asked_of": "hand",
            "lines": "few",
            "left_out": {"lines": 0, "mm2": 0.0, "specks": 0},
        },
        "files": ["carve.svg", "carve.dxf", "design.wkb.gz"],
    }
    picture = {"file": "none.png", "bytes": 1, "sha256": "0" * 64}
    top = {"program": "by hand", "picture": "none.png", "notes": [], "method": "keep-lines", "detail_mm": 0.8}
    return {
        **top,
        "tolerance_mm": 0.1,
        "unit": unit,
        "plaques": [plaque],
        "stock": [],
        "made_of": [picture],
        "written": [],
    }


def _no_strokes() -> dict:
    return {"widened": 0, "widened_mm": 0.0, "dropped": [], "dropped_mm": 0.0}


def _block_mm2(inset: float) -> float:
    """Return the area of the rounded block: of its box less what the corners lack, (4 - pi) r2."""
    return (36 - 2 * inset) * (30 - 2 * inset) - (4 - math.pi) * (6 - inset) ** 2


def _v_lines() -> dict:
    lengths = [math.dist(*ends) for ends in BARS]
    depth, whole = round(V_DEPTH_MM, 4), round(sum(lengths), 1)
    losses = [SANDING_MM * times for times in (1, 1.25, 1.5, 2, 3)]
    first = [
        {
            "place_mm": [(a + b) / 2 for a, b in zip(*ends, strict=True)],
            "length_mm": round(length, 1),
            "width_mm": BAR_WIDTH,
            "gone_at_mm": round(V_DEPTH_MM, 3),
        }
        for ends, length in zip(BARS, lengths, strict=True)
    ]
    sanding = {
        "loss_mm": losses,
        "share_left": [float(loss < V_DEPTH_MM) for loss in losses],
        "too_much_mm": depth,
        "lengths_left_mm": [[round(length * (loss < V_DEPTH_MM), 1) for loss in losses] for length in lengths],
        "widths_left_mm": [
            [round(max(0, 2 * (V_DEPTH_MM - loss) * math.tan(math.radians(30))), 2) for loss in losses] for _ in lengths
        ],
    }
    deepest = [round(V_DEPTH_MM, 3)] * 2
    classes = [{"from_mm": 1.0, "to_mm": 1.5, "count": 2, "length_mm": whole, "depth_mm": deepest}]
    told = {"count": 2, "length_mm": whole, "greatest_depth_mm": depth}
    return {**told, "classes": classes, "first_to_go": first, "sanding": sanding}


def _fragile() -> dict:
    ridge = {"place_mm": [35.0, 44.5], "width_mm": ISLAND_GAP, "length_mm": 17.3, "depth_mm": 2.5}
    worst = {**ridge, "across_grain": 0.5, "free_end": True, "rank_by": 1.0}
    return {"grain": "along-width", "count": 1, "length_mm": 17.3, "worst": [worst]}


def _outlines() -> dict:
    lengths = np.concatenate([path.lengths for path in shadow_paths()])
    lines = int(sum((path.bulges == 0).sum() for path in shadow_paths()))
    counts = {"pieces": len(lengths), "lines": lines, "arcs": len(lengths) - lines}
    ends = {"longest_mm": round(float(lengths.max()), 4), "shortest_mm": round(float(lengths.min()), 4)}
    return {**counts, **ends, "largest_deviation_mm": 0.001}


def _amounts(pockets_mm2: float, walls_mm: float) -> dict:
    """Return what the plaque takes; the grooves, two bars with a V below them, are left out of it."""
    face, blank, litre_kg = WIDTH * HEIGHT, WIDTH * HEIGHT * 18.0, 0.4144
    removed = round(pockets_mm2 * DEPTH_MM, 1)
    painted = round(face + walls_mm * DEPTH_MM, 1)
    return {
        "wood": "basswood",
        "coats": 2,
        "blank_mm3": blank,
        "blank_kg": round(blank * litre_kg / 1e6, 4),
        "plaque_kg": round((blank - removed) * litre_kg / 1e6, 4),
        "face_mm2": face,
        "painted_mm2": painted,
        "removed_mm3": removed,
        "paint_litres": round(painted / 1e6 * 2 / 10, 4),
    }


def write_folder(out: FilePath, *, unit: str = "mm", dxf: str = "R2010") -> FilePath:
    """Write the folder as ``make`` would and return the plaque's own folder in it."""
    place = out / NAME
    place.mkdir(parents=True)
    drawn = drawing(Unit(unit))
    settings, told = job(unit=unit, dxf=dxf), figures(unit=unit)
    sheet = job_sheet(
        settings,
        from_json(JobFigures, json.dumps(told).encode()),
        files={NAME: {}},
        settings=job_file.written(settings, folder=None),
    )
    (place / "carve.svg").write_bytes(svg_bytes(drawn))
    (place / "carve.dxf").write_bytes(dxf_bytes(drawn, version=dxf))
    (place / "design.wkb.gz").write_bytes(gzip.compress(shapely.to_wkb(design()), mtime=0))
    (out / "job.toml").write_text(job_file.written(settings, folder=None), encoding="utf-8")
    (out / "jobsheet.html").write_bytes(sheet)
    told["written"] = [
        {"file": str(path.relative_to(out)), "bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for path in sorted(out.rglob("*"))
        if path.is_file() and (content := path.read_bytes())
    ]
    (out / "numbers.json").write_text(json.dumps(told), encoding="utf-8")
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
