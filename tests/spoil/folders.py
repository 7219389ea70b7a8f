"""The whole folders that are damaged: one drawn by hand, and two that ``make`` wrote.

One of those has files of every kind, the other pockets of two depths and flow lines.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from check_plaque import write_folder
from PIL import Image

from shadowrout.job.options import Job
from shadowrout.make.pipeline import make

_NAME = "made"

_JOB = f"""
[picture]
file = "shapes.png"
[tone]
method = "two-tone"
[[plaque]]
name = "{_NAME}"
size = "150x117mm"
[[cutter]]
diameter = 3
[stencil]
kerf = 0.2
web = 2
least_opening = 1
[template]
bush = 10
bit = 6
[output]
files = ["carve", "pattern", "preview", "stencil", "template"]
"""


def shapes(path: Path) -> None:
    """Draw a ring with a dot in it, a block, and two bars that are too thin for the cutter, black on white."""
    y, x = np.mgrid[:700, :900] / 10
    from_ring, from_block = (
        np.hypot(x - 26, y - 30),
        np.hypot(np.maximum(abs(x - 66), 12) - 12, np.maximum(abs(y - 20), 6) - 6),
    )
    dark = (from_ring < 17) & (from_ring > 8) | (from_ring < 4) | (from_block < 5)
    dark |= (abs(y - 55) < 0.7) & (abs(x - 45) < 33) | (abs(y - 44 - (x - 66) / 4) < 0.7) & (abs(x - 66) < 15)
    Image.fromarray(np.where(dark, 0, 255).astype(np.uint8)).save(path)


def made(out: Path) -> Path:
    """Make the job into ``out`` and return the plaque's folder."""
    out.mkdir(parents=True)
    shapes(out.parent / "shapes.png")
    (out.parent / "shapes.toml").write_text(_JOB, encoding="utf-8")
    make(Job.from_file(out.parent / "shapes.toml"), out)
    return out / _NAME


_FLOORS = """
[picture]
file = "shapes.png"
[tone]
method = "two-tone"
[[plaque]]
name = "floors"
size = "150x117mm"
[finish]
deeper_from = 25
deeper_by = 2
[v_tool]
flow = true
[output]
files = ["carve"]
"""


def floors(out: Path) -> Path:
    """Make a job with pockets of two depths and flow lines in their floors, and return the plaque's folder."""
    out.mkdir(parents=True)
    shapes(out.parent / "shapes.png")
    (out.parent / "floors.toml").write_text(_FLOORS, encoding="utf-8")
    make(Job.from_file(out.parent / "floors.toml"), out)
    return out / "floors"


FOLDERS: dict[str, Callable[[Path], Path]] = {"drawn": write_folder, "made": made, "floors": floors}
"""Each writes a whole folder and returns the plaque's folder in it."""
