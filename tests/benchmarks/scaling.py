"""How the cost of each room grows with the pixels, with the dark regions and with the plaques. Prints tables.

Run by hand: ``python tests/benchmarks/scaling.py [--smoke]``; ``--smoke`` takes the two smallest of each series.

A whole ``make`` of the carve drawing, and in the first table of a stencil, runs in this process while the rooms' own
functions are timed (processor time, in seconds; one that calls another counts its time, too). Regions are dots of
seeded places and sizes about 2 mm wide, as many to the area each time, so a board of twice the side has four times as
many. Last comes the exponent: the slope of a straight line through the logarithms of the cost and of what is varied, by
least squares over the rows where the room takes more than 0.05 s. 1 is a cost in proportion; n log n looks like 1.1.
Series. pixels: one cat from 50 to 800 mm, at the working pixel that the finest line asks for. regions: 10 to 100,000
dots, of which the most are refused. plaques: 1 to 8 of one size.
First come worst cases, each as its own process: processor time, memory, and what was said where it was refused.
"""

from __future__ import annotations

import contextlib
import dataclasses
import math
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import skimage
from whole_job import CommandError, cost

from shadowrout.carving import plaque_carving
from shadowrout.design import plaque_design
from shadowrout.errors import ShadowroutError
from shadowrout.job.options import LEAST_SIDE_MM, Job, Output, Picture, Plaque, Register
from shadowrout.make import pipeline, plaque_files
from shadowrout.sheets.stencil import plaque_stencil

ROOMS = {
    "tone": (plaque_design, "two_tone_design"),
    "widths": (plaque_design, "right_for_size"),
    "fit": (plaque_carving, "fit_region"),
    "plan": (plaque_carving, "plan_carving"),
    "stencil": (plaque_stencil, "make_stencil"),
    "look": (pipeline, "board_of"),
    "drawing": (plaque_files, "carve_drawing"),
    "files": (plaque_files, "svg_and_dxf_bytes"),
    "check": (pipeline, "check_in"),
}
SIDES_MM = (50, 100, 200, 400, 800)
DOTS = (10, 100, 1_000, 8_000, 30_000, 100_000)
PLAQUES = (1, 2, 4, 8)
DOT_MM = 2.0
DOTS_A_MM2 = 1 / 16
PIXELS_A_MM = 5
LEAST_S = 0.05
MARGIN_MM = 5.0
WORST_PX = 2000


@contextlib.contextmanager
def timed() -> Iterator[dict[str, float]]:
    """Give the processor time of each room while the block runs."""
    spent = dict.fromkeys(ROOMS, 0.0)

    def watched(room: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            begun = time.process_time()
            try:
                return real(*arguments, **named)
            finally:
                spent[room] += time.process_time() - begun

        return call

    real = {room: getattr(*place) for room, place in ROOMS.items()}
    for room, (module, name) in ROOMS.items():
        setattr(module, name, watched(room, real[room]))
    try:
        yield spent
    finally:
        for room, (module, name) in ROOMS.items():
            setattr(module, name, real[room])


def spent_on(picture: Path, sides_mm: tuple[float, ...], out: Path, *files: str) -> dict[str, float]:
    """Return the time of each room, and of all, for square plaques of a picture."""
    plaques = tuple(Plaque(name=str(n), size=(side, side), margin=MARGIN_MM) for n, side in enumerate(sides_mm))
    job = Job(Picture(picture), plaques=plaques, register=Register(dowel=0.0))
    job = dataclasses.replace(job, output=Output(files=("carve", *files)))
    with timed() as spent:
        begun = time.process_time()
        pipeline.make(job, out)
        return spent | {"all": time.process_time() - begun}


def dots(count: int, file: Path) -> float:
    """Draw about that many dots that don't touch, and return the side in mm of a plaque for them."""
    side_mm = max(math.sqrt(count / DOTS_A_MM2), LEAST_SIDE_MM - 2 * MARGIN_MM)
    rng = np.random.default_rng(0)
    a_side = max(round(math.sqrt(count)), 1)
    pitch = side_mm * PIXELS_A_MM / a_side
    picture = np.full((round(side_mm * PIXELS_A_MM),) * 2, 255, np.uint8)
    for row in range(a_side):
        for column in range(a_side):
            x, y = (np.array([column, row]) + 0.5 + rng.uniform(-0.1, 0.1, 2)) * pitch
            radius = DOT_MM / 2 * PIXELS_A_MM * rng.uniform(0.8, 1.2)
            cv2.circle(picture, (round(x * 16), round(y * 16)), round(radius * 16), 0, -1, cv2.LINE_AA, shift=4)
    cv2.imwrite(str(file), picture)
    return side_mm + 2 * MARGIN_MM


def show(title: str, rows: dict[float, dict[str, float]]) -> None:
    """Print the rows and the exponents."""
    names = [*ROOMS, "all"]
    print(f"{title:>12}" + "".join(f"{name:>9}" for name in names))
    for size, spent in rows.items():
        print(f"{size:12g}" + "".join(f"{spent[name]:9.2f}" for name in names))
    print(f"{'exponent':>12}" + "".join(f"{exponent({n: r[name] for n, r in rows.items()}):>9}" for name in names))


def exponent(costs: dict[float, float]) -> str:
    """Return the slope of the logarithms, or a dash where fewer than two rows cost enough to tell."""
    known = {size: cost for size, cost in costs.items() if cost > LEAST_S}
    if len(known) < 2:
        return "-"
    return f"{np.polyfit(np.log(list(known)), np.log(list(known.values())), 1)[0]:.2f}"


def worst_cases() -> dict[str, np.ndarray]:
    """Return pictures that nobody should send, all WORST_PX wide."""
    rng = np.random.default_rng(0)
    y, x = np.mgrid[:WORST_PX, :WORST_PX]
    text, specks = (np.full((WORST_PX, WORST_PX), 255, np.uint8) for _ in range(2))
    for line in range(14, WORST_PX, 16):
        cv2.putText(text, "sixty zippers were quickly picked 0468 " * 8, (4, line), 0, 0.4, 0, 1, cv2.LINE_AA)
    for spot in rng.integers(0, WORST_PX, (50_000, 2)):
        cv2.circle(specks, tuple(map(int, spot)), 2, 0, -1)
    return {
        "noise": rng.integers(0, 256, (WORST_PX, WORST_PX), dtype=np.uint8),
        "checkerboard": ((x // 8 + y // 8) % 2 * 255).astype(np.uint8),
        "fine text": text,
        "50,000 specks": specks,
    }


def show_worst_cases(folder: Path, sides_mm: tuple[int, ...], *, most: int | None = None) -> None:
    """Print what becomes of each: made, or refused and why."""
    for name, picture in list(worst_cases().items())[:most]:
        file = folder / "worst.png"
        cv2.imwrite(str(file), picture)
        for side in sides_mm:
            words = ["make", str(file), "--size", f"{side}x{side}mm", "--only", "carve", "--out", str(folder / "worst")]
            try:
                c, said = cost([sys.executable, "-m", "shadowrout", *words]), "made"
            except CommandError as refused:
                c, said = refused.cost, refused.said.strip()
            print(f"{name:>14} {side:5} mm: {c.cpu_s:.0f} s, {c.memory_mb:.0f} MB, {said}", flush=True)


def main(smoke: bool) -> None:
    """Print the tables."""
    few = slice(2 if smoke else None)
    cat = Path(skimage.__file__).parent / "data" / "chelsea.png"
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        show_worst_cases(folder, (40,) if smoke else (200, 600), most=1 if smoke else None)
        rows = {}
        for side in SIDES_MM[few]:
            rows[side * side] = spent_on(cat, (side,), folder / f"side {side}", "stencil")
        show("mm2", rows)
        rows = {}
        for count in DOTS[few]:
            side = dots(count, folder / "dots.png")
            try:
                rows[count] = spent_on(folder / "dots.png", (side,), folder / f"dots {count}")
            except ShadowroutError as refused:
                print(f"{count:,} regions: {refused}", flush=True)
        show("regions", rows)
        show("plaques", {n: spent_on(cat, (60,) * n, folder / f"plaques {n}") for n in PLAQUES[few]})


if __name__ == "__main__":
    main("--smoke" in sys.argv[1:])
