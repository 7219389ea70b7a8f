"""How true a printed pattern is, and how heavy: pictures of scikit-image on boards that take many sheets.

    python tests/benchmarks/pattern_quality.py [--side 600] [--paper A4]

Prints for each picture and paper the sheets, the file's size, the greatest error of a scale bar, the greatest error of
a distance between register marks on the joined sheets, and the share of pixels by which the joined sheets differ from
the pattern printed on one sheet; everything rendered by PDFium at 300 dot per inch. Wanted: bars and marks within
0.1 mm, less than 0.1 % of the pixels, at most 5 MB for 600 x 600 mm.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image
from skimage import data

sys.path.insert(0, str(Path(__file__).parents[1]))

from paper_pictures import (
    PX_A_MM,
    bar_length_mm,
    colour_places,
    cut_out,
    differing_share,
    joined,
    one_sheet,
    rendered,
)
from paper_plaque import BENCH
from photo_files import read_and_settle

from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.paper.cover import pattern_pages
from shadowrout.drawing.paper.pages import window_frame
from shadowrout.drawing.paper.paper_sizes import paper_mm
from shadowrout.drawing.paper.pattern import pattern_drawing
from shadowrout.drawing.paper.tiles import Tiling, tiled
from shadowrout.drawing.shapes import Drawing, Role
from shadowrout.files.pdf import pdf_bytes
from shadowrout.job.options import Job, Output, Picture, Plaque
from shadowrout.make import pipeline
from shadowrout.make.plaque import make_plaque
from shadowrout.sheets.register import Distance, distances, register_marks
from shadowrout.words.units import Unit

PICTURES = {"astronaut": data.astronaut, "chelsea": data.chelsea, "coffee": data.coffee}
REGISTER = COLOURS[Role.REGISTER]


def pattern_of(name: str, side: float) -> tuple[Drawing, tuple[Distance, ...]]:
    """Return the pattern of a picture on a square board, and the distances of its register marks."""
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / f"{name}.png"
        Image.fromarray(PICTURES[name]()).save(file)
        job = Job(Picture(file), plaques=(Plaque(size=(side, side)),), output=Output(files=()))
        job, ((layout, resolution),) = pipeline.laid_out(job)
        job, pictures = read_and_settle(job, long_side_px=max(resolution.width_px, resolution.height_px))
        made = make_plaque(job, layout, resolution, pictures)
    marks = register_marks(layout, dowel_mm=6.0, inset_mm=None, keep_clear=made.drawn.design.shadow)
    drawing = pattern_drawing(
        made.carving.paths, layout, marks, unit=Unit.MM, title=name, description="", thickness_mm=18.0
    )
    return drawing, distances(marks)


def bar_error_mm(content: bytes, tiling: Tiling) -> float:
    """Return the greatest error of any level bar on the sheets, whose places follow from the paper and the margin."""
    margin, (width, _) = tiling.printer_margin_mm, tiling.sheet_mm
    box = (width - margin - 102.5, margin + 0.5, width - margin - 0.5, margin + 3.9)
    pages = range(1, tiling.sheets + 1)
    return max(abs(bar_length_mm(rendered(content, page), box, upright=False) - 100.0) for page in pages)


def main() -> None:
    """Print a line for each picture."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--side", type=float, default=600.0, help="side of the board in mm")
    parser.add_argument("--paper", default="A4")
    parser.add_argument("--picture", choices=[*PICTURES], action="append")
    parser.add_argument("--smoke", action="store_true", help="one small board, to see that it runs")
    asked = parser.parse_args()
    if asked.smoke:
        asked.side, asked.picture = 150.0, ["coffee"]
    print(f"{'picture':10} {'sheets':>6} {'MB':>6} {'s':>5} {'bars mm':>8} {'marks mm':>8} {'pixels %':>8}")
    for name in asked.picture or PICTURES:
        drawing, expected = pattern_of(name, asked.side)
        tiling = tiled(drawing.box_mm, paper=paper_mm(asked.paper), overlap=10.0, printer_margin=8.0)
        start = time.perf_counter()
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH, distances=expected))
        seconds = time.perf_counter() - start
        together = joined(content, tiling).picture
        places = [(x / PX_A_MM, -y / PX_A_MM) for x, y in colour_places(together, REGISTER, 150)]
        found = sorted(math.dist(a, b) for a, b in itertools.combinations(places, 2))
        wanted = sorted(d.length_mm for d in expected)
        marks = max(abs(a - b) for a, b in zip(found, wanted, strict=True))
        whole, one = one_sheet(drawing, tiling)
        picture, _, _ = cut_out(rendered(whole, 1), window_frame(one.tiles[0], one))
        share = differing_share(together, picture, REGISTER)
        bars = bar_error_mm(content, tiling)
        row = f"{tiling.sheets:6} {len(content) / 1e6:6.2f} {seconds:5.1f} {bars:8.3f} {marks:8.3f} {100 * share:8.3f}"
        print(f"{name:10} {row}")


if __name__ == "__main__":
    main()
