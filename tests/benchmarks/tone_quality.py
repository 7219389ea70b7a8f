"""How well designs keep their pictures, over the photos that scikit-image and matplotlib ship. Prints a table.

Run by hand: ``python tests/benchmarks/tone_quality.py``; ``--smoke`` takes one small picture; names pick pictures.

Columns. F: harmonic mean of recall (strong-edge pixels within 4 px of a shadow's boundary) and precision (boundary
pixels within 4 px of a strong edge), the picture 1000 px wide, edges by Canny on CIE L* with sigma 3 and thresholds
2 and 4 (units of L* as scikit-image's Sobel operator gives them). missed: 1 - F over that of one global level by Otsu.
Shares and counts of separate shadows are of a design 200 mm wide, Otsu's cleaned in the same way. half, double:
intersection over union of the dark with the design at half and double the pixel of 0.125 mm; jpeg60: with that of the
picture re-saved as JPEG of quality 60. thin: share of the dark that no disc 0.9 of the finest line wide reaches, in
the design as traced; taper and neck: what of that is left once its thin lines are widened, as shares of the dark and
as counts, told apart as ``narrow_parts`` says. Last comes the processor time of a
12-megapixel JPEG, reading, tone and mask, against that of its decoding, on one thread.
"""

from __future__ import annotations

import io
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import cv2
import matplotlib
import numpy as np
import skimage
from narrow_parts import narrow_parts
from numpy.typing import NDArray
from PIL import Image
from skimage.feature import canny

from shadowrout.design.mask import Mask, clean
from shadowrout.design.tone.choosing import choose_dark, choose_method, tone_of, within_reach
from shadowrout.design.trace import outline_of
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.picture import reading
from shadowrout.picture.photo import Photo, resampled

SKIMAGE = Path(skimage.__file__).parent / "data"
NAMES = {
    "astronaut": SKIMAGE / "astronaut.png",
    "chelsea": SKIMAGE / "chelsea.png",
    "coffee": SKIMAGE / "coffee.png",
    "camera": SKIMAGE / "camera.png",
    "coins": SKIMAGE / "coins.png",
    "rocket": SKIMAGE / "rocket.jpg",
    "motorcycle": SKIMAGE / "motorcycle_left.png",
    "moon": SKIMAGE / "moon.png",
    "hopper": Path(matplotlib.get_data_path()) / "sample_data" / "grace_hopper.jpg",
}
OVERLAP_PX = 1600
WIDTH_MM = 200.0
DETAIL_MM = 0.8
NEAR_PX = 4
ROUNDS = 5


def design(picture: Photo, pixel_mm: float, method: str, dark: float | None, detail_mm: float = DETAIL_MM) -> Mask:
    """Return the cleaned design of a photo that is at the working resolution, thin lines as they come."""
    tone = tone_of(picture, pixel_mm=pixel_mm, method=method, dark=dark, detail_mm=detail_mm, smoothing_mm=None)
    return clean(tone, least_speck_mm2=2 * detail_mm**2, least_pinhole_mm2=2 * detail_mm**2)


def at_width(picture: Photo, width_px: int) -> Photo:
    """Return the photo resampled to a width."""
    height, width = picture.lightness.shape
    return resampled(picture, width_px=width_px, height_px=round(height * width_px / width))


def strong_edges(picture: Photo) -> NDArray[np.bool_]:
    """Return the pixels of strong edges."""
    edges: NDArray[np.bool_] = canny(picture.lightness.astype(np.float64), 3, low_threshold=2, high_threshold=4)
    return edges


def boundary(dark: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the dark pixels that touch a light one."""
    return dark & (cv2.erode(dark.astype(np.uint8), np.ones((3, 3), np.uint8)) == 0)


def near(line: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the pixels within NEAR_PX of a pixel of the line."""
    far = cv2.distanceTransform((~line).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return far <= NEAR_PX


def edge_score(dark: NDArray[np.bool_], strong: NDArray[np.bool_]) -> float:
    """Return F, 0 to 1."""
    line = boundary(dark)
    if not line.any() or not strong.any():
        return 0.0
    recall, precision = near(line)[strong].mean(), near(strong)[line].mean()
    return float(2 * recall * precision / (recall + precision)) if recall + precision else 0.0


def overlap(one: Mask, other: Mask) -> float:
    """Return the intersection over union of the dark, on the pixels of ``one``."""
    height, width = one.field.shape
    a = one.field > 0
    b = cv2.resize(other.field, (width, height), interpolation=cv2.INTER_LINEAR) > 0
    if other.pixel_mm < one.pixel_mm:
        b = cv2.resize(other.field, (width, height), interpolation=cv2.INTER_AREA) > 0
    return float((a & b).sum() / (a | b).sum())


def row(name: str, folder: Path) -> tuple[str, float]:
    """Return the table's row for one picture, and its share of missed edges over Otsu's."""
    source = NAMES[name]
    full = reading.read(source, long_side_px=2000)
    picture = at_width(full, 1000)
    strong = strong_edges(picture)
    method = choose_method(picture)
    dark = choose_dark(picture, method)
    pixel_mm = WIDTH_MM / 1000
    ours, otsu = design(picture, pixel_mm, method, dark), design(picture, pixel_mm, "single-level", None)
    ours_f, otsu_f = edge_score(ours.field > 0, strong), edge_score(otsu.field > 0, strong)
    fine_mm = WIDTH_MM / OVERLAP_PX
    fine = design(at_width(full, OVERLAP_PX), fine_mm, method, dark)
    half = design(at_width(full, OVERLAP_PX * 2), fine_mm / 2, method, dark)
    double = design(at_width(full, OVERLAP_PX // 2), fine_mm * 2, method, dark)
    resaved = folder / f"{name}.jpg"
    Image.open(source).convert("RGB").save(resaved, quality=60)
    again = design(at_width(reading.read(resaved, long_side_px=2000), OVERLAP_PX), fine_mm, method, dark)
    missed = (1 - ours_f) / (1 - otsu_f)
    shadow = outline_of(ours).region.mapped((pixel_mm, -pixel_mm), (0.0, 0.0))
    wide, _ = right_for_size(shadow, finest_mm=DETAIL_MM, least_light_mm=DETAIL_MM / 2)
    traced, made = narrow_parts(shadow, DETAIL_MM), narrow_parts(wide, DETAIL_MM)
    parts, otsu_parts = len(shadow), len(outline_of(otsu).region)
    text = (
        f"{name:11s} {method:10s} {otsu_f:5.2f} {ours_f:5.2f} {missed:6.2f}  {otsu.dark_share:5.3f} {dark:5.3f}"
        f" {ours.dark_share:5.3f} {otsu_parts:5d} {parts:5d}  {overlap(fine, half):5.3f} {overlap(fine, double):5.3f}"
        f" {overlap(fine, again):5.3f}  {traced.taper_share + traced.neck_share:5.3f} {made.taper_share:6.4f}"
        f" {made.tapers:4d} {made.neck_share:6.4f} {made.necks:4d}"
    )
    return text, missed


def seconds(source: Path) -> str:
    """Return the processor times of a 12-megapixel JPEG: its decoding, reading, and lightness to mask at 200 mm.

    All on one thread, as the decoder works: a second one's waiting would count as work.
    """
    cv2.setNumThreads(1)
    with Image.open(source) as opened:
        large = opened.convert("RGB").resize((4000, 3000), Image.Resampling.BICUBIC)
    packed = io.BytesIO()
    large.save(packed, "JPEG", quality=92)
    decoding = least_time(lambda: np.asarray(Image.open(packed).convert("RGB")))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.jpg"
        path.write_bytes(packed.getvalue())
        reading = least_time(lambda: reading.read(path, long_side_px=1000))
        picture = reading.read(path, long_side_px=1000)
    making = least_time(lambda: to_mask(picture))
    factor = (reading + making) / decoding
    return f"12 Mpx: decode {decoding:.2f} s; read {reading:.2f} s, to mask {making:.2f} s: {factor:.1f} x decoding"


def least_time(work: Callable[[], object]) -> float:
    """Return the least processor time of ROUNDS, in seconds: what disturbs it only adds."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def to_mask(picture: Photo) -> Mask:
    """Return the cleaned design at WIDTH_MM, its method and its share of dark chosen as a job chooses them."""
    method = choose_method(picture)
    dark = choose_dark(picture, method)
    if method == "keep-lines":
        dark = within_reach(picture, dark=dark, width_mm=WIDTH_MM, detail_mm=DETAIL_MM, smoothing_mm=None)
    return design(picture, WIDTH_MM / 1000, method, dark)


def main(arguments: list[str]) -> None:
    """Print the table."""
    names = ["chelsea"] if "--smoke" in arguments else [a for a in arguments if a in NAMES] or list(NAMES)
    print(
        "picture     method     OtsuF  oursF missed   Otsu   dark  made  parts  ours   half double jpeg60   "
        "thin  taper        neck"
    )
    ratios = []
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            text, missed = row(name, Path(folder))
            ratios.append(missed)
            print(text, flush=True)
    print(f"missed over Otsu's: median {np.median(ratios):.2f}, worst {max(ratios):.2f}")
    if "--smoke" not in arguments:
        print(seconds(NAMES["astronaut"]))


if __name__ == "__main__":
    main(sys.argv[1:])
