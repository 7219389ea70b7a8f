"""Whether stencils of random designs and photos stay in one piece, and what that costs. Prints tables.

Run by hand: ``python tests/benchmarks/stencil_quality.py [designs of each kind [first seed]]``, 100 from 0 by default;
``--smoke`` takes two of each kind and one photo. Its designs are those of the tests.

Columns. raster, vector: designs whose sheet holds by both judges, cut along the fitted arcs with their kerf, at the
web asked for. one piece: the same sheet on 0.1 mm pixels labelled by scikit-image with connectivity 1, and
shapely's count of its parts. dark lost: share of the design's dark that isn't open. refused: designs for which
PromiseError was raised. seconds: processor time of one stencil, median and worst.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy as np
import raster_judge
import shapely
from skimage.measure import label
from stencil_masks import KINDS, WEB_MM, letters, photo_design, random_design, sheet_around

from shadowrout.errors import PromiseError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.job.sheet_options import StencilOptions
from shadowrout.sheets.criterion import holds
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.making import make_stencil

TOLERANCE_MM = 0.1
PHOTOS = ("astronaut", "chelsea", "coffee", "camera", "horse")


@dataclass(frozen=True)
class Outcome:
    """What was found about one stencil."""

    raster: bool
    vector: bool
    one_by_labels: bool
    one_by_polygons: bool
    seconds: float
    stencil: CutStencil

    @property
    def passed(self) -> bool:
        return self.raster and self.vector and self.one_by_labels and self.one_by_polygons


def as_cut(stencil: CutStencil) -> Region:
    """Return what is open after the beam has followed the fitted arcs and taken its kerf."""
    paths = fit_region(stencil.drawn, tolerance=TOLERANCE_MM).paths
    drawn = Region.of_polygons([(path.flattened(0.005), []) for path in paths])
    return drawn.offset(stencil.kerf_mm / 2, error=0.003)


def judged(design: Region, **options: object) -> Outcome:
    """Return the stencil of a design and what both judges and both libraries say of it as cut."""
    sheet = sheet_around(design)
    start = time.process_time()
    stencil = make_stencil(design, sheet=sheet, options=StencilOptions(), tolerance_mm=TOLERANCE_MM, **options)
    seconds = time.process_time() - start
    cut = as_cut(stencil)
    solid = Grid(sheet, 0.1).covered(cut) < 0.5
    return Outcome(
        raster=raster_judge.holds(cut, sheet=sheet, web=WEB_MM).holds,
        vector=holds(cut, sheet=sheet, web=WEB_MM).holds,
        one_by_labels=int(label(solid, connectivity=1).max()) == 1,
        one_by_polygons=len(shapely.get_parts(shapely.box(*sheet).difference(cut.shape))) == 1,
        seconds=seconds,
        stencil=stencil,
    )


def kind_rows(count: int, first: int) -> Iterator[str]:
    """Yield a row for each kind of random design."""
    for kind in KINDS:
        outcomes, refused = [], 0
        for seed in range(first, first + count):
            try:
                outcomes.append(judged(random_design(kind, seed)))
            except PromiseError as error:
                refused += 1
                yield f"  {kind} {seed}: {error}"
            else:
                if not outcomes[-1].passed:
                    yield f"  {kind} {seed}: fails"
        yield row(kind, outcomes, refused)


def row(name: str, outcomes: list[Outcome], refused: int) -> str:
    """Return the table's row for some outcomes."""
    lost = [o.stencil.dark_lost_share for o in outcomes]
    times = [o.seconds for o in outcomes]
    passes = [sum(getattr(o, n) for o in outcomes) for n in ("raster", "vector", "one_by_labels", "one_by_polygons")]
    bridges = sum(len(o.stencil.bridges) for o in outcomes)
    islands = sum(o.stencil.islands_dropped for o in outcomes)
    return (
        f"{name:12s} {len(outcomes):4d} {refused:7d} {passes[0]:6d} {passes[1]:6d} {passes[2]:5d}/{passes[3]:<5d}"
        f" {np.median(lost):6.3f} {max(lost):6.3f} {bridges:7d} {islands:7d} {np.median(times):7.2f} {max(times):6.2f}"
    )


def text_rows() -> Iterator[str]:
    """Yield a row for each height and weight of a line of letters with counters, or the refusal."""
    for weight in ("normal", "bold"):
        for height in (10, 20, 30, 60):
            try:
                outcome = judged(letters("ABDOPQR0468", height, weight=weight), drop_islands=False)
            except PromiseError as error:
                yield f"{weight} {height} mm: {error}"
            else:
                yield row(f"{weight} {height} mm", [outcome], 0)


def main(arguments: list[str]) -> None:
    """Print the tables."""
    smoke = "--smoke" in arguments
    numbers = [int(a) for a in arguments if a.isdigit()]
    count, first = (numbers + [100, 0][len(numbers) :])[:2]
    print("design       made refused raster vector one piece   dark lost     bridges islands seconds")
    print("                                                  median  worst           lost  median  worst")
    for line in kind_rows(2 if smoke else count, first):
        print(line, flush=True)
    for name in PHOTOS[:1] if smoke else PHOTOS:
        print(row(name, [judged(photo_design(name))], 0), flush=True)
    for line in text_rows():
        print(line, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
