"""How much work a design takes and how much of its picture it keeps, few lines against all. Prints a table.

Run by hand: ``python tests/benchmarks/less_quality.py``; ``--smoke`` takes one small picture; names pick pictures;
``--held-out`` takes the pictures that nothing was tuned on; ``--size 100`` another long side in mm; ``--dark 0.3`` one
share of dark for all.

Each photo is made at 200 mm four ways: all lines with short branches kept, as a reference; all; some; few. Columns.
hours: of V lines and paring by hand at the shop's default rates, and ``old`` at a stroke of the hand for every 25 mm
begun and every mm of greatest depth begun. lines: V lines. S: correlation of the blurred design with the photo's CIE L*
around each pixel, at a Gaussian of 3, 6 and 12 px of 5 px/mm in windows of twice that, weighted by the photo's local
contrast.
F: harmonic mean of recall, weighted by contrast, and precision of the edges that Canny's method finds in design and
photo at sigma 6 and 12 px, near each other within that sigma. dark: share of the picture.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parents[1]))

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.feature import canny
from tone_quality import NAMES, SKIMAGE

from shadowrout.carving import v_lines
from shadowrout.carving.plan import Plan
from shadowrout.job.options import Job, Picture, Plaque, ToneOptions
from shadowrout.make.pipeline import laid_out, read_and_settled
from shadowrout.make.plaque import MadePlaque, PlaqueToMake, make_plaque
from shadowrout.picture.photo import Photo, resampled
from shadowrout.report.figures.times import strokes_for

Field = NDArray[np.float32]

HELD_OUT = {
    "retina": SKIMAGE / "retina.jpg",
    "clock": SKIMAGE / "clock_motion.png",
    "ihc": SKIMAGE / "ihc.png",
    "motorcycle right": SKIMAGE / "motorcycle_right.png",
}
PX_PER_MM = 5.0
SIGMAS_PX = (3.0, 6.0, 12.0)
EDGE_SIGMAS_PX = (6.0, 12.0)
WAYS = ("reference", "all", "some", "few")
STROKE_MM, STROKE_DEEP_MM, STROKES_A_MINUTE, PARING_MM_A_MINUTE = 25.0, 1.0, 6.0, 100.0


class Row(NamedTuple):
    """What one way of making a picture takes and keeps."""

    hours: float
    old: float
    lines: int
    likeness: float
    edges: float
    dark: float


@contextmanager
def branches_kept() -> Iterator[None]:
    """Keep V lines of any length, however they branch off."""
    least = v_lines.LEAST_BRANCH_MM
    v_lines.LEAST_BRANCH_MM = v_lines.LEAST_LINE_MM
    try:
        yield
    finally:
        v_lines.LEAST_BRANCH_MM = least


def made(path: Path, way: str, size_mm: float, dark: float | None) -> tuple[MadePlaque, Photo]:
    """Return the plaque, and its photo at the resolution that it is judged at."""
    lines = "all" if way == "reference" else way
    width, height = cv2.imread(str(path)).shape[1::-1]
    scale = size_mm / max(width, height)
    job = Job(
        Picture(path),
        tone=ToneOptions(lines=lines, dark=dark),
        plaques=(Plaque("p", (round(width * scale, 2), round(height * scale, 2))),),
    )
    job, boards = laid_out(job)
    settled, pictures = read_and_settled(job, boards)
    plaque = make_plaque(PlaqueToMake(settled.job, *boards[0], pictures))
    x0, y0, x1, y1 = boards[0][0].picture_box_mm
    size_px = {"width_px": round((x1 - x0) * PX_PER_MM), "height_px": round((y1 - y0) * PX_PER_MM)}
    return plaque, resampled(pictures.given, **size_px)


def painted(plaque: MadePlaque, shape: tuple[int, int]) -> Field:
    """Return the design at PX_PER_MM as 1 where light and 0 where dark."""
    x0, _, _, y1 = plaque.layout.picture_box_mm
    canvas = np.full(shape, 255, np.uint8)
    rings = [
        np.round(((np.asarray(ring) - (x0, y1)) * (PX_PER_MM, -PX_PER_MM) - 0.5) * 16).astype(np.int32)
        for outer, holes in plaque.drawn.design.shadow.polygons()
        for ring in (outer, *holes)
    ]
    cv2.fillPoly(canvas, rings, 0, lineType=cv2.LINE_AA, shift=4)
    return canvas.astype(np.float32) / 255


def blur(values: Field, sigma: float) -> Field:
    return cv2.GaussianBlur(values, (0, 0), sigma, borderType=cv2.BORDER_REFLECT)


def likeness(design: Field, lightness: Field) -> float:
    """Return the mean local correlation over the scales."""
    return float(np.mean([_likeness_at(sigma, design, lightness) for sigma in SIGMAS_PX]))


def _likeness_at(sigma: float, design: Field, lightness: Field) -> float:
    def mean(values: Field) -> Field:
        return blur(values, 2 * sigma)

    a, b = blur(design, sigma).astype(np.float64), blur(lightness, sigma).astype(np.float64)
    var_a, var_b = (np.maximum(mean(v * v) - mean(v) ** 2, 0) for v in (a, b))
    correlation = (mean(a * b) - mean(a) * mean(b)) / np.sqrt(np.maximum(var_a * var_b, 1e-9))
    return float(np.average(correlation, weights=np.sqrt(var_b)))


def edges_of(values: Field, sigma: float) -> tuple[NDArray[np.bool_], Field]:
    """Return the edges, and the contrast over each pixel."""
    smooth = blur(values, sigma)
    contrast = np.hypot(cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1))
    strong = float(np.quantile(contrast, 0.9))
    return canny(values.astype(np.float64), sigma, low_threshold=0.4 * strong, high_threshold=0.8 * strong), contrast


def edge_score(design: Field, lightness: Field) -> float:
    """Return F of the edges, the mean over the scales."""
    scores = []
    for sigma in EDGE_SIGMAS_PX:
        wanted, contrast = edges_of(lightness, sigma)
        drawn, _ = edges_of(design, sigma)
        near = [cv2.distanceTransform((~edges).astype(np.uint8), cv2.DIST_L2, 5) <= sigma for edges in (drawn, wanted)]
        recall = float((contrast * wanted * near[0]).sum() / max((contrast * wanted).sum(), 1e-9))
        precision = float((drawn & near[1]).sum() / max(drawn.sum(), 1))
        scores.append(2 * recall * precision / max(recall + precision, 1e-9))
    return float(np.mean(scores))


def old_hours(plan: Plan) -> float:
    """Return the hours of V lines and walls at a stroke for every length and every depth begun."""
    strokes = sum(
        max(math.ceil(line.length / STROKE_MM), 1) * max(math.ceil(line.depth_mm.max() / STROKE_DEEP_MM), 1)
        for line in plan.v_lines
    )
    walls = sum(pocket.wall.perimeter for pocket in plan.pockets)
    return (strokes / STROKES_A_MINUTE + walls / PARING_MM_A_MINUTE) / 60


def new_hours(job: Job, plan: Plan) -> float:
    """Return the same at the rates of the job's shop."""
    strokes = sum(strokes_for(line, job.shop) for line in plan.v_lines)
    walls = sum(pocket.wall.perimeter for pocket in plan.pockets)
    return (strokes / job.shop.strokes_per_minute + walls / job.shop.paring) / 60


def judged(path: Path, way: str, size_mm: float, dark: float | None) -> Row:
    plaque, photo = made(path, way, size_mm, dark)
    plan, design = plaque.carving.plan, painted(plaque, photo.lightness.shape)
    return Row(
        new_hours(Job(Picture(path)), plan),
        old_hours(plan),
        len(plan.v_lines),
        likeness(design, photo.lightness),
        edge_score(design, photo.lightness),
        float(1 - design.mean()),
    )


def geometric(ratios: list[float]) -> float:
    return math.exp(float(np.mean(np.log(ratios))))


def judge(names: dict[str, Path], size_mm: float, dark: float | None) -> None:
    print(f"{'picture':17}{'way':10}{'hours':>7}{'old':>7}{'lines':>7}{'S':>7}{'F':>7}{'dark':>7}")
    rows: dict[str, list[Row]] = {way: [] for way in WAYS}
    for name, path in names.items():
        for way in WAYS:
            with branches_kept() if way == "reference" else tempfile.TemporaryDirectory():
                row = judged(path, way, size_mm, dark)
            rows[way].append(row)
            told = f"{row.hours:7.2f}{row.old:7.2f}{row.lines:7d}{row.likeness:7.3f}{row.edges:7.3f}{row.dark:7.3f}"
            print(f"{name:17}{way:10}{told}", flush=True)
    for way in WAYS[1:]:
        pairs = list(zip(rows[way], rows["reference"], strict=True))
        hours, old = [r.hours / b.hours for r, b in pairs], [r.old / b.old for r, b in pairs]
        alike = [r.likeness / b.likeness for r, b in pairs]
        edges = [r.edges - b.edges for r, b in pairs]
        print(
            f"{way} over the reference: hours {geometric(hours):.2f} (worst {max(hours):.2f}), old rates "
            f"{geometric(old):.2f} (worst {max(old):.2f}), S {np.mean(alike):.3f} (worst {min(alike):.3f}), "
            f"F {np.mean(edges):+.3f} (worst {min(edges):+.3f})"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--held-out", action="store_true")
    parser.add_argument("--size", type=float, default=200.0)
    parser.add_argument("--dark", type=float)
    parser.add_argument("--smoke", action="store_true")
    given = parser.parse_args()
    names = HELD_OUT if given.held_out else NAMES
    chosen = {name: path for name, path in names.items() if not given.names or name in given.names}
    if given.smoke:
        chosen, given.size = {"rocket": NAMES["rocket"]}, 60.0
    judge(chosen, given.size, given.dark)


if __name__ == "__main__":
    main()
