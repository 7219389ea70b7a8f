"""Make one picture at three sizes, and read what differs from the figures.

    python examples/three_sizes.py examples/winter-fair/chelsea.png three-sizes

Each size gets a design of its own: on the small board there is no room for what the large one shows.
"""

from __future__ import annotations

import sys
from pathlib import Path

import shadowrout

SIZES_MM = {"small": (60, 45), "middle": (90, 67.5), "large": (140, 105)}


def job_for(picture: Path) -> shadowrout.Job:
    """Return a job that makes the picture at each size, cut with one cutter of 3 mm, drawings alone."""
    return shadowrout.Job(
        shadowrout.Picture(picture),
        plaques=tuple(shadowrout.Plaque(name, size) for name, size in SIZES_MM.items()),
        cutters=(shadowrout.Cutter(diameter=3),),
        output=shadowrout.Output(files=("carve",)),
    )


def main(picture: Path, out: Path) -> None:
    """Make the job and print a line for each size."""
    made = shadowrout.make(job_for(picture), out)
    print(f"{'plaque':8}{'dark':>6}{'pockets':>9}{'V lines':>9}{'hours':>7}")
    for plaque in made.figures.plaques:
        hours = sum(task.minutes for task in plaque.times) / 60
        share, pockets, v_lines = plaque.dark_share, len(plaque.pockets), plaque.v_lines.count
        print(f"{plaque.name:8}{share:6.0%}{pockets:9}{v_lines:9}{hours:7.1f}")
    if not made.verdict.holds:
        sys.exit(f"a promise does not hold; see shadowrout check {out}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
