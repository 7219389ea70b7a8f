"""What a whole ``make`` costs as a process, in turn with a minimal script of the same libraries. Prints two tables.

Run by hand: ``python tests/benchmarks/whole_job.py [--runs N] [--smoke]``; ``--smoke`` takes one small picture and one
small plaque. The yardstick is ``minimal_job.py`` beside this file: it decodes, blurs, thresholds, simplifies, offsets
and writes, and promises nothing. Both programs run as processes of their own, one after the other, imports
included; the median run counts. Processor time and the largest resident memory are the system's own account (wait4),
so this runs on Linux and macOS.

Pictures are one packaged photo, enlarged, with seeded noise as a camera adds, saved as JPEG of quality 90.
Columns. job: ``carve`` is ``make --only carve``, ``all`` is every file; pixels in millions; plaques: how many, all
from the one picture; wall and cpu in seconds; memory in MB; x: as a multiple of the minimal script's.
Goals. carve of one 200 mm plaque from 12 megapixels: 1.0 x in time, 1.5 x in memory; all: 5 x; 100 megapixels: 2.5 x
the time of 12; each further plaque: 0.6 x the first.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

MEGAPIXELS = (1, 12, 50, 100)
PLAQUES = (1, 3, 10)
SIDE_MM = 200
SIDES_MM = (200, 100, 150, 120, 180, 140, 160, 110, 170, 130)
MINIMAL = Path(__file__).with_name("minimal_job.py")
NOISE = 4.0
QUALITY = 90
ALL_FILES = "carve,pattern,preview,stencil,template"
KB = 1024 if sys.platform != "darwin" else 1024**2


@dataclass(frozen=True)
class Cost:
    """What one process took: seconds by the clock, seconds of processor time, MB at most."""

    wall_s: float
    cpu_s: float
    memory_mb: float


def photo(megapixels: float, file: Path) -> None:
    """Write a square JPEG of about that many pixels."""
    import cv2
    import numpy as np
    from skimage import data

    side = round((megapixels * 1e6) ** 0.5)
    big = cv2.resize(data.astronaut(), (side, side), interpolation=cv2.INTER_CUBIC)
    rng = np.random.default_rng(0)
    rows = max(1, 2**22 // side)
    for top in range(0, side, rows):
        band = big[top : top + rows]
        noisy = band + rng.normal(0, NOISE, band.shape).astype(np.float32)
        big[top : top + rows] = np.clip(noisy, 0, 255).astype(np.uint8)
    cv2.imwrite(str(file), big[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, QUALITY])


def photo_in_a_child(megapixels: float, file: Path) -> None:
    """Write the picture by a process of its own: a child's largest memory never counts as less than its parent's."""
    child = multiprocessing.get_context("spawn").Process(target=photo, args=(megapixels, file))
    child.start()
    child.join()


class CommandError(RuntimeError):
    """A command that didn't end well; ``said`` is what it printed, and ``cost`` what it took."""

    def __init__(self, command: Sequence[str], code: int, said: str, cost: Cost) -> None:
        super().__init__(f"{' '.join(command)} ended with {code}: {said}")
        self.said = said
        self.cost = cost


def cost(command: Sequence[str]) -> Cost:
    """Run a command to its end and return what it took; raises CommandError where it fails.

    Python may keep the modules that it compiles, as an installation does.
    """
    settings = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    with tempfile.TemporaryFile() as said:
        begun = time.perf_counter()
        process = subprocess.Popen(command, stdout=said, stderr=said, env=settings)
        _, status, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
        taken = Cost(wall, used.ru_utime + used.ru_stime, used.ru_maxrss * KB / 1e6)
        if process.returncode != 0:
            said.seek(0)
            raise CommandError(command, process.returncode, said.read().decode(), taken)
    return taken


def in_turn(commands: Sequence[Sequence[str]], folder: Path, runs: int) -> list[Cost]:
    """Return the median cost of each command, run in turn; ``folder`` is emptied between."""
    costs: list[list[Cost]] = [[] for _ in commands]
    for _ in range(runs):
        for command, taken in zip(commands, costs, strict=True):
            shutil.rmtree(folder, ignore_errors=True)
            taken.append(cost(command))
    return [
        Cost(*(statistics.median(getattr(c, name) for c in taken) for name in ("wall_s", "cpu_s", "memory_mb")))
        for taken in costs
    ]


def commands(picture: Path, out: Path, sides_mm: Sequence[float]) -> dict[str, list[str]]:
    """Return the command lines to compare."""
    sizes = [word for side in sides_mm for word in ("--size", f"{side:g}x{side:g}mm")]
    make = [sys.executable, "-m", "shadowrout", "make", str(picture), *sizes, "--out", str(out)]
    return {
        "minimal": [sys.executable, str(MINIMAL), str(picture), str(out), *(f"{side:g}" for side in sides_mm)],
        "carve": [*make, "--only", "carve"],
        "all": [*make, "--only", ALL_FILES],
    }


def show(megapixels: float, plaques: int, costs: dict[str, Cost]) -> None:
    """Print one row for each job."""
    least = costs["minimal"]
    for job, c in costs.items():
        print(
            f"{job:8}{megapixels:7g}{plaques:9d}{c.wall_s:8.2f}{c.cpu_s:8.2f}{c.memory_mb:8.0f}"
            f"{c.wall_s / least.wall_s:8.2f}{c.cpu_s / least.cpu_s:8.2f}{c.memory_mb / least.memory_mb:8.2f}",
            flush=True,
        )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="one small picture and one small plaque")
    parser.add_argument("--runs", type=int, default=3, help="runs of each command (3)")
    parser.add_argument("--jobs", default="minimal,carve,all", help="which of minimal, carve and all (all three)")
    given = parser.parse_args()
    cases = [(m, (SIDE_MM,)) for m in MEGAPIXELS] + [(12, SIDES_MM[:n]) for n in PLAQUES[1:]]
    if given.smoke:
        cases, given.runs, given.jobs = [(0.25, (60,))], 1, "minimal,carve"  # too small for a bush
    print(f"{'job':8}{'Mpixel':>7}{'plaques':>9}{'wall':>8}{'cpu':>8}{'MB':>8}{'wall x':>8}{'cpu x':>8}{'MB x':>8}")
    with tempfile.TemporaryDirectory() as scratch:
        out = Path(scratch) / "out"
        for megapixels, sides_mm in cases:
            picture = Path(scratch) / f"{megapixels:g}.jpg"
            if not picture.exists():
                photo_in_a_child(megapixels, picture)
            wanted = {n: c for n, c in commands(picture, out, sides_mm).items() if n in given.jobs.split(",")}
            costs = in_turn(list(wanted.values()), out, given.runs)
            show(megapixels, len(sides_mm), dict(zip(wanted, costs, strict=True)))


if __name__ == "__main__":
    main()
