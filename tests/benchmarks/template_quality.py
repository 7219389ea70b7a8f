"""What a router's bit gouges when its bush rolls round written openings, with keys and without. Prints tables.

Run by hand: ``python tests/benchmarks/template_quality.py [designs [first seed]]``, 100 designs from 0 by default;
``--smoke`` takes a few and one photo. Photos are those packaged with scikit-image, each a job of a template alone; the
designs are those of the tests.

Columns. gouge: how far the bit comes from the sized design by shapely's offsets of the openings as drawn, in lines and
arcs, without keys and with them, in mm. check: the same as ``check`` measures it with keys, by distances from points.
left: share of the pockets that the bit leaves, whatever the reason, without and with keys. sheets: templates, without
and with. seconds: processor time of a template with keys. Without keys means openings as the trade draws them, at the
whole tolerance.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy as np
import shapely
import skimage
from stencil_masks import random_design
from template_light import beyond_mm, judged, rolled_by_shapely

from shadowrout.carving.plan import Plan
from shadowrout.errors import ShadowroutError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region, union_all
from shadowrout.job.options import Cutter, Job, Output, Picture, Plaque
from shadowrout.job.sheet_options import TemplateOptions
from shadowrout.make.pipeline import laid_out, read_and_settled
from shadowrout.make.plaque import PlaqueToMake, make_plaque
from shadowrout.sheets.router import plaque_template, router_template

TOLERANCE_MM = 0.1
ROUNDING_MM = 0.001
PHOTOS = Path(skimage.__file__).parent / "data"


@dataclass(frozen=True)
class PhotoJob:
    """A photo, the board's size, bit and bush, the cutter that the pockets are planned for, what the gouge is left."""

    photo: str
    size: tuple[float, float]
    bit: float
    bush: float
    cutter: float
    allowance: float | None = None


JOBS = (
    PhotoJob("chelsea.png", (180, 120), 8, 16, 8),
    PhotoJob("astronaut.png", (160, 160), 8, 16, 3),
    PhotoJob("coffee.png", (160, 120), 8, 16, 3),
    PhotoJob("camera.png", (120, 120), 8, 16, 3),
    PhotoJob("camera.png", (120, 120), 6, 10, 3, 0.0),
    PhotoJob("horse.png", (200, 160), 8, 16, 8, 0.0),
    PhotoJob("astronaut.png", (120, 120), 3, 8, 3),
    PhotoJob("astronaut.png", (120, 120), 3, 3, 3, 0.0),
    PhotoJob("logo.png", (120, 120), 8, 16, 3),
    PhotoJob("chelsea.png", (150, 100), 6, 10, 3, 0.0),
)


@dataclass(frozen=True)
class Outcome:
    """What was found about the templates of one design."""

    gouge_mm: float
    check_mm: float
    left: float
    sheets: int
    seconds: float


@contextmanager
def without_keys() -> Iterator[None]:
    """Make templates as if there were no keys, and draw them at the whole tolerance."""
    keyed, near, within = router_template.keyed, router_template._enlarged_mm, plaque_template.drawn_within_mm
    router_template.keyed = lambda centres, may_cut, bush: centres
    router_template._enlarged_mm = lambda wanted: -1.0
    plaque_template.drawn_within_mm = lambda tolerance_mm: tolerance_mm
    try:
        yield
    finally:
        router_template.keyed, router_template._enlarged_mm = keyed, near
        plaque_template.drawn_within_mm = within


def outcome(
    paths: Sequence[Sequence[ArcPath]], shadow: Region, pockets: Region, asked: TemplateOptions, seconds: float
) -> Outcome:
    openings = [Region.of_polygons([(path.flattened(0.0005), []) for path in sheet]) for sheet in paths]
    cut = rolled_by_shapely(openings, asked.bush, asked.bit)
    left = 1 - shapely.intersection(cut, pockets.shape).area / pockets.area
    found = judged(paths, shadow, bush=asked.bush, bit=asked.bit)
    return Outcome(beyond_mm(cut, shadow), found.worst_mm, left, len(paths), seconds)


def of_photo(asked: PhotoJob) -> tuple[Outcome, Outcome]:
    """Return what is found without keys and with them."""
    cutter = Cutter(diameter=asked.cutter)
    if asked.allowance is not None:
        cutter = replace(cutter, finishing_allowance=asked.allowance)
    job = Job(
        Picture(PHOTOS / asked.photo),
        plaques=(Plaque(name="p", size=asked.size),),
        cutters=(cutter,),
        template=TemplateOptions(bit=asked.bit, bush=asked.bush),
        output=Output(files=("template",)),
    )
    job, boards = laid_out(job)
    settled, pictures = read_and_settled(job, boards)
    job = settled.job
    made = make_plaque(PlaqueToMake(job, *boards[0], pictures))
    design, plan = made.drawn.design, made.carving.plan

    def once() -> Outcome:
        begun = time.process_time()
        paths = plaque_template.template_of(job, design, made.carving, made.marks).paths
        return outcome(paths, design.shadow, walls(plan), job.template, time.process_time() - begun)

    with without_keys():
        before = once()
    return before, once()


def walls(plan: Plan) -> Region:
    return union_all(pocket.wall for pocket in plan.pockets)


def photos(jobs: Sequence[PhotoJob]) -> None:
    print("photo                bit bush  gouge before   after  check  left before  after  sheets  seconds")
    for job in jobs:
        before, after = of_photo(job)
        print(
            f"{job.photo:20} {job.bit:3g} {job.bush:4g}  {before.gouge_mm:12.3f} {after.gouge_mm:7.3f} "
            f"{after.check_mm:6.3f}  {before.left:11.1%} {after.left:6.1%}  {before.sheets:4} {after.sheets}"
            f"  {after.seconds:7.2f}"
        )


SIZES = ((8.0, 16.0), (6.0, 10.0), (3.0, 8.0), (6.0, 6.0), (8.0, 20.0), (4.0, 16.0))
"""Bit and bush."""


def of_design(seed: int) -> tuple[Outcome, Outcome] | None:
    """Return what is found of a random design without keys and with them; None where either gives no template."""
    kind = ("field", "rings", "two-scale")[seed % 3]
    bit, bush = SIZES[seed // 3 % len(SIZES)]
    side = 60.0 + 20.0 * (seed % 2)
    shadow = random_design(kind, seed, side_mm=side).offset(-0.2, error=0.01).offset(0.2, error=0.01)
    pockets = shadow.offset(-1.8, error=0.01).offset(1.5, error=0.01)
    if pockets.is_empty:
        return None
    x0, y0, x1, y1 = shadow.bounds
    asked = TemplateOptions(bit=bit, bush=bush)

    def once() -> Outcome:
        begun = time.process_time()
        template = router_template.make_router_template(
            [*pockets.parts()],
            depth_mm=5.0,
            plaque=(x0 - 30, y0 - 30, x1 + 30, y1 + 30),
            options=asked,
            tolerance_mm=TOLERANCE_MM,
            may_cut=shadow.offset(TOLERANCE_MM - 0.008, error=0.004),
        )
        within = plaque_template.drawn_within_mm(TOLERANCE_MM)
        paths = [fit_region(opening, tolerance=within).paths for opening in template.openings]
        return outcome(paths, shadow, pockets, asked, time.process_time() - begun)

    try:
        with without_keys():
            before = once()
        return before, once()
    except ShadowroutError:
        return None


def designs(seeds: Sequence[int]) -> None:
    pairs = [pair for seed in seeds if (pair := of_design(seed)) is not None]
    limit = TOLERANCE_MM + ROUNDING_MM
    print(f"\n{len(seeds)} random designs, {len(pairs)} of them with templates")
    for name, some in (("without keys", [b for b, _ in pairs]), ("with keys", [a for _, a in pairs])):
        worst = max((max(one.gouge_mm, one.check_mm) for one in some), default=0.0)
        count = sum(max(one.gouge_mm, one.check_mm) > limit for one in some)
        print(f"{name}: {count} gouge, by {worst:.3f} mm at most; {sum(one.sheets for one in some)} sheets")
    lost = [after.left - before.left for before, after in pairs]
    if lost:
        print(f"left of the pockets besides: {np.median(lost):.2%} in the middle, {max(lost):.2%} at most")


def main() -> None:
    if "--smoke" in sys.argv:
        photos(JOBS[3:4])
        designs(range(4))
        return
    numbers = [int(argument) for argument in sys.argv[1:]]
    count, first = [*numbers, *(100, 0)[len(numbers) :]]
    photos(JOBS)
    designs(range(first, first + count))


if __name__ == "__main__":
    main()
