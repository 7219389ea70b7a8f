"""How well plans cut their designs, on four packaged pictures at three sizes. Prints a table.

Run by hand: ``python tests/benchmarks/plan_quality.py``; ``--smoke`` takes one small plaque and few random masks.

Columns. d: cutter in mm; n: pockets; areas: smallest pocket in areas of its cutter; roughed and rest: shares of the
dark; slivers: dark beside the walls that is left to the gouge beyond its allowance, % of the dark; gouge: wood that
a cutter removes outside the dark by more than the tolerance less what is kept for fitting arcs, mm2; lines, points
and metres of V lines; uncut: dark further than 0.15 mm from any cut, %; over: what V lines cut outside the dark, all of
it and what lies more than 0.02 mm outside, %; dark: what is dark after exactly the planned sanding, % of the
design, the allowance counted as gouged; too much: sanding in mm that takes 5 % of the line length; seconds: processor
time of ``plan_carving``.
Goals: slivers 0.3, areas 3, gouge 0, uncut 0.3, over 0.02, dark 97 to 102, 3 s at 200 mm.
Last, seeded random masks are swept by a raster at 0.05 mm and by shapely.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

import shapely
import skimage

sys.path.insert(0, str(Path(__file__).parents[1]))

from plan_designs import farthest_outside_mm, random_shadow, swept

from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.pockets import Pocket, find_pockets
from shadowrout.carving.settled_tools import settled_tools
from shadowrout.design import trace
from shadowrout.design.board import lay_out, resolution_of, sized
from shadowrout.design.tone.settled_tone import settled_tone
from shadowrout.design.two_tone import least_shadow_mm2, two_tone_design
from shadowrout.geometry.lines import union_all
from shadowrout.geometry.region import Region
from shadowrout.job.options import Cutter, Finish, Job, Picture, Plaque, VTool
from shadowrout.job.settled_boards import settled_boards
from shadowrout.picture import reading
from shadowrout.picture.reading import size_of

NAMES = ("astronaut", "chelsea", "coffee", "horse")
SIDES_MM = (100, 200, 400)
TOLERANCE_MM = 0.1
ARC_SHARE = 0.8
PIXEL_MM = 0.05
HEADS = "picture side d n areas roughed rest slivers gouge lines points metres uncut over over.02 dark toomuch seconds"


def design(name: str, side_mm: float) -> tuple[Job, Region]:
    """Return the job and the shadow of a packaged picture on a plaque with the given long side."""
    file = Path(skimage.__file__).parent / "data" / f"{name}.png"
    width, height = size_of(file)
    board = (side_mm, side_mm * height / width) if width >= height else (side_mm * width / height, side_mm)
    job = Job(Picture(file), plaques=(Plaque(size=board),))
    job = settled_tools(settled_boards(job, aspect=width / height))
    layout = lay_out(job.plaques[0], aspect=width / height, origin="corner")
    pixels = resolution_of(layout, detail_mm=job.tone.detail)
    read = reading.read(file, long_side_px=max(pixels.width_px, pixels.height_px))
    job = settled_tone(job, read)
    mask = two_tone_design(job, read, pixels)
    return job, sized(trace.outline_of(mask), layout, least_area_mm2=least_shadow_mm2(job)).shadow


def gouged_mm2(shadow: Region, pockets: tuple[Pocket, ...]) -> float:
    """Return the area that cutters take further outside the shadow than the tolerance less the arcs' share."""
    allowed = shadow.shape.buffer((1 - ARC_SHARE) * TOLERANCE_MM, quad_segs=64)
    reach = [p.cutter_path.shape.buffer(p.cutter_mm / 2, quad_segs=64) for p in pockets]
    return shapely.union_all(reach).difference(allowed).area


def row(name: str, side_mm: float, cutter_mm: float) -> str:
    job, shadow = design(name, side_mm)
    begun = time.process_time()
    plan = plan_carving(
        shadow,
        thickness_mm=job.plaques[0].thickness,
        finish=job.finish,
        cutters=[Cutter(diameter=cutter_mm)],
        v_tool=job.v_tool,
        tolerance_mm=TOLERANCE_MM,
    )
    seconds = time.process_time() - begun
    return f"{name:>10} {side_mm:4} {cutter_mm:3g} " + figures(shadow, plan) + f" {seconds:6.2f}"


def figures(shadow: Region, plan: Plan) -> str:
    area, shape = shadow.area, shadow.shape
    walls = shapely.union_all([p.wall.shape for p in plan.pockets])
    roughed = shapely.union_all([p.wall.shape.buffer(p.allowance_mm, quad_segs=32) for p in plan.pockets])
    cut = swept(plan.v_lines)
    slivers = shape.difference(roughed.buffer(0.005)).difference(plan.rest.shape).difference(cut).area / area
    uncut = shape.difference(roughed.buffer(0.15)).difference(cut.buffer(0.15)).area / area
    over, over_02 = (cut.difference(shape.buffer(by)).area / area for by in (0, 0.02))
    dark = cut.union(roughed.intersection(shape)).area / area
    smallest = min((p.wall.area / (math.pi * p.cutter_mm**2 / 4) for p in plan.pockets), default=math.nan)
    points = sum(len(line.points) for line in plan.v_lines)
    metres = sum(line.length for line in plan.v_lines) / 1000
    return (
        f"{len(plan.pockets):3} {smallest:6.1f} {walls.area / area:.3f} {plan.rest.area / area:.3f} "
        f"{100 * slivers:6.3f} {gouged_mm2(shadow, plan.pockets):6.3f} {len(plan.v_lines):5} {points:6} {metres:6.2f} "
        f"{100 * uncut:6.3f} {100 * over:6.3f} {100 * over_02:6.4f} "
        f"{100 * dark:6.2f} {plan.sanding.too_much_mm or math.nan:5.2f}"
    )


def sweep_random(count: int) -> str:
    """Return the worst that cutters without allowance cut outside seeded random masks, by raster and by shapely."""
    farthest, gouged, pockets_seen = 0.0, 0.0, 0
    for seed in range(count):
        shadow = random_shadow(seed)
        cutters = [Cutter(diameter=4, finishing_allowance=0), Cutter(diameter=2, finishing_allowance=0)]
        pockets = find_pockets(
            shadow.simplified(0.05 * TOLERANCE_MM),
            cutters=cutters,
            finish=Finish(),
            thickness_mm=18,
            tolerance_mm=TOLERANCE_MM,
        )
        pockets_seen += len(pockets)
        gouged = max(gouged, gouged_mm2(shadow, pockets))
        for diameter in (4, 2):
            paths = union_all(p.cutter_path for p in pockets if p.cutter_mm == diameter)
            farthest = max(farthest, farthest_outside_mm(shadow, paths, diameter / 2, pixel_mm=PIXEL_MM))
    return (
        f"{count} random masks, {pockets_seen} pockets: farthest pixel cut outside {farthest:.3f} mm "
        f"(a pixel stands for {PIXEL_MM * math.sqrt(0.5):.3f} mm around it), gouged {gouged:.6f} mm2"
    )


def main(smoke: bool) -> None:
    print(f"V tool {VTool()}; {Finish()}; tolerance {TOLERANCE_MM} mm")
    print(HEADS)
    for side in (100,) if smoke else SIDES_MM:
        for name in NAMES[:1] if smoke else NAMES:
            for cutter in (6, 3):
                print(row(name, side, cutter), flush=True)
    print(sweep_random(3 if smoke else 300))


if __name__ == "__main__":
    main("--smoke" in sys.argv[1:])
