"""How few pieces outlines are fitted with, how well and how fast. Prints a table.

Run by hand: ``python tests/benchmarks/fit_quality.py``; ``--smoke`` takes one small design; names pick designs. The
reference takes minutes.

Photos are scikit-image's, as the program designs them 200 mm wide; ``letters`` is a line of DejaVu Sans 30 mm high and
``ellipses`` nine ellipses, both with points 0.15 mm apart. All in mm.

Columns. pieces; optimum: pieces over the fewest possible with vertices on the input's points (by
``fewest_pieces``) on every ring of up to 160 points, or every n-th so that about 1,000 points are looked at, below
1 where vertices beside the points save some; DP: pieces over Douglas-Peucker's vertices at the same tolerance, each
ring cut in two at its first point and the one farthest from it (shapely's own way with rings leaves its tolerance by
up to a half); us: processor time of ``fit_region`` in microseconds a point, soundness included, best of three; error:
largest distance both ways as the tool gives it; judged: the verdict of a judge that shares no code with the tool on
distance, crossings, nest and direction; kinks: turn at the vertices, median and 90th percentile of those up to 40
degrees; beyond: the share of vertices above that; needless: the share of vertices above it where the outline itself,
over 6 tolerances before and after any place within 2 tolerances, turns less; over 30: the share of all vertices that
turn more than 30 degrees and more than twice as much as the outline does there; smooth: pieces of a smooth fit over
these pieces; left: the share of its vertices that turn more than a degree all the same, at corners for the most part;
and the judge's verdict on it.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import shapely
import skimage
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from fewest_pieces import fewest_pieces
from fit_judge import faults

from shadowrout.design.mask import clean
from shadowrout.design.tone.choosing import tone_of
from shadowrout.design.trace import outline_of
from shadowrout.fit.fitting import Fitted, fit_region
from shadowrout.geometry.region import Region
from shadowrout.picture import reading

PHOTOS = ("astronaut", "chelsea", "coffee", "horse")
TOLERANCES = (0.05, 0.1, 0.2)
WIDTH_MM = 200.0
DETAIL_MM = 0.8
SPACING_MM = 0.15
REFERENCE_POINTS = 1000
REFERENCE_RING = 160
CORNER_DEG = 40.0
KINK_DEG = 30.0


def photo_design(name: str) -> Region:
    """Return the traced design of a photo in mm, y up."""
    folder = Path(skimage.__file__).parent / "data"
    picture = reading.read(next(folder.glob(f"{name}.*")), long_side_px=1200)
    pixel_mm = WIDTH_MM / picture.lightness.shape[1]
    tone = tone_of(picture, pixel_mm=pixel_mm, method="keep-lines", dark=None, detail_mm=DETAIL_MM, smoothing_mm=None)
    speck = 2 * DETAIL_MM**2
    mask = clean(tone, least_speck_mm2=speck, least_pinhole_mm2=speck)
    pixel_mm = WIDTH_MM / mask.field.shape[1]
    return outline_of(mask).region.mapped((pixel_mm, -pixel_mm), (0.0, 0.0))


def letters() -> Region:
    """Return letters as regions, their curves as fine as matplotlib flattens them at this size."""
    text = TextPath((0, 0), "Shadow & light 3689", size=4000, prop=FontProperties("DejaVu Sans"))
    shape = shapely.Polygon()
    for ring in text.to_polygons():
        shape = shape.symmetric_difference(shapely.Polygon(ring * (30 / 4000)))
    return Region.of_shape(shape.segmentize(SPACING_MM))


def ellipses() -> Region:
    """Return ellipses of several sizes and proportions."""
    polygons = []
    for k in range(9):
        a, b = 20 * 0.8**k, 20 * 0.8**k * (0.3 + 0.08 * k)
        turn = np.linspace(0, 2 * np.pi, max(40, int(2 * np.pi * a / SPACING_MM)), endpoint=False)
        polygons.append((np.column_stack([45.0 * k + a * np.cos(turn), b * np.sin(turn)]), []))
    return Region.of_polygons(polygons)


def timed(region: Region, tolerance: float) -> tuple[Fitted, float]:
    """Return the fit and the least processor time of three."""
    times = []
    for _ in range(3):
        start = time.process_time()
        fitted = fit_region(region, tolerance=tolerance)
        times.append(time.process_time() - start)
    return fitted, min(times)


def over_fewest(rings: list[NDArray[np.float64]], fitted: Fitted, tolerance: float) -> float:
    """Return the pieces over the fewest possible on a sample of the rings."""
    small = [k for k, ring in enumerate(rings) if len(ring) <= REFERENCE_RING]
    points = sum(len(rings[k]) for k in small)
    sample = small[:: max(1, round(points / REFERENCE_POINTS))]
    if not sample:
        return float("nan")
    fewest = sum(fewest_pieces(rings[k], tolerance) for k in sample)
    return sum(len(fitted.paths[k].bulges) for k in sample) / fewest


def kinks_deg(fitted: Fitted) -> NDArray[np.float64]:
    """Return the turn at every vertex, from the arriving piece to the leaving one."""
    turns = []
    for path in fitted.paths:
        x, y = (path.ends - path.starts).T
        direction, half = np.arctan2(y, x), path.angles_rad / 2
        turn = direction - half - np.roll(direction + half, 1)
        turns.append(np.abs(np.remainder(turn + np.pi, 2 * np.pi) - np.pi))
    return np.degrees(np.concatenate(turns))


def input_turns_deg(ring: NDArray[np.float64], vertices: NDArray[np.float64], tolerance: float) -> NDArray[np.float64]:
    """Return how much the ring itself turns near each vertex."""
    around = np.vstack([ring, ring[:1]])
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(around, axis=0).T))])
    arm = min(6 * tolerance, way[-1] / 3)
    at = shapely.line_locate_point(shapely.LineString(around), shapely.points(vertices))
    near = at[:, None] + np.linspace(-2, 2, 9) * tolerance

    def place(at: NDArray[np.float64]) -> NDArray[np.complex128]:
        wrapped = np.mod(at, way[-1])
        return np.interp(wrapped, way, around[:, 0]) + 1j * np.interp(wrapped, way, around[:, 1])

    turns = np.angle((place(near + arm) - place(near)) * np.conj(place(near) - place(near - arm)))
    return np.degrees(np.abs(turns).max(axis=1))


def douglas_peucker_vertices(ring: NDArray[np.float64], tolerance: float) -> int:
    """Return how many vertices Douglas and Peucker's method leaves of a ring."""
    far = int(np.argmax(np.hypot(*(ring - ring[0]).T)))
    halves = ring[: far + 1], np.vstack([ring[far:], ring[:1]])
    return sum(len(shapely.LineString(half).simplify(tolerance, preserve_topology=False).coords) - 1 for half in halves)


def row(name: str, region: Region, tolerance: float) -> str:
    """Return the table's row of one design at one tolerance."""
    rings = region.rings()
    points = sum(map(len, rings))
    fitted, seconds = timed(region, tolerance)
    pieces = sum(len(path.bulges) for path in fitted.paths)
    vertices = sum(douglas_peucker_vertices(ring, tolerance) for ring in rings)
    optimum = over_fewest(rings, fitted, tolerance)
    wrong = faults(region, fitted.paths, tolerance)
    kinks = kinks_deg(fitted)
    mild = kinks[kinks <= CORNER_DEG]
    turns = [input_turns_deg(ring, p.vertices, tolerance) for ring, p in zip(rings, fitted.paths, strict=True)]
    own = np.concatenate(turns)
    needless = (kinks > CORNER_DEG) & (own < CORNER_DEG)
    over = (kinks > KINK_DEG) & (own < kinks / 2)
    return (
        f"{name:10} {tolerance:4.2f} {points:7d} {pieces:6d} {optimum:8.3f} {pieces / vertices:6.3f}"
        f" {seconds / points * 1e6:6.2f} {fitted.deviation:8.5f} {'sound' if not wrong else wrong[0]:6}"
        f" {np.median(mild):5.1f} {np.percentile(mild, 90):5.1f} {1 - len(mild) / len(kinks):6.2f}"
        f" {needless.mean():8.3f} {over.mean():7.3f}"
        f" {_smooth(region, tolerance, pieces)}"
    )


def _smooth(region: Region, tolerance: float, pieces: int) -> str:
    fitted = fit_region(region, tolerance=tolerance, smooth=True)
    wrong = faults(region, fitted.paths, tolerance)
    share = sum(len(path.bulges) for path in fitted.paths) / pieces
    return f"{share:6.2f} {(kinks_deg(fitted) > 1).mean():5.3f} {'sound' if not wrong else wrong[0]}"


def whole_job(regions: list[Region], tolerance: float) -> str:
    """Return the time of 200,000 points at once, the designs side by side as often as needed."""
    shapes, points = [], 0
    while points < 200_000:
        moved = regions[len(shapes) % len(regions)].mapped((1.0, 1.0), (500.0 * len(shapes), 0.0))
        shapes.append(moved)
        points += sum(map(len, moved.rings()))
    region = Region.together(shapes)
    start = time.perf_counter()
    region.rings()
    reading = time.perf_counter() - start
    walls = []
    for _ in range(3):
        start = time.perf_counter()
        fit_region(region, tolerance=tolerance)
        walls.append(time.perf_counter() - start)
    _, processor = timed(region, tolerance)
    return (
        f"{points} points at {tolerance}: {min(walls):.2f} s, {processor:.2f} s of processor time,"
        f" of which {reading:.2f} s to read the rings"
    )


def main(arguments: list[str]) -> None:
    """Print the table."""
    smoke = "--smoke" in arguments
    names = [a for a in arguments if not a.startswith("-")] or ["ellipses"] * smoke
    names = names or [*PHOTOS, "letters", "ellipses"]
    makers = {"letters": letters, "ellipses": ellipses}
    regions = {name: makers[name]() if name in makers else photo_design(name) for name in names}
    print(
        "design      tol  points pieces  optimum     DP     us    error judged"
        "   kinks 50, 90 %  beyond needless over 30 smooth  left judged"
    )
    for name, region in regions.items():
        for tolerance in TOLERANCES[1:2] if smoke else TOLERANCES:
            print(row(name, region, tolerance), flush=True)
    if not smoke:
        for tolerance in TOLERANCES:
            print(whole_job(list(regions.values()), tolerance), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
