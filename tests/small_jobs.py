"""Jobs that are done in a moment: a dark shape on white, on the smallest board, the carved drawing alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
from PIL import Image

QUICK = ("--size", "40x40mm", "--only", "carve")


def disc(path: Path, *, radius_px: float = 20.0) -> Path:
    """Write a picture of a black disc on white, 60 x 60 pixels, and return its path."""
    y, x = np.mgrid[:60, :60]
    Image.fromarray(np.where(np.hypot(x - 30, y - 30) < radius_px, 0, 255).astype(np.uint8)).save(path)
    return path


def job_text(picture: str = "disc.png", *, plaques: str = '[[plaque]]\nname = "p"\nsize = "40x40mm"\n') -> str:
    """Return a job file for the carved drawing of a small board."""
    return f'[picture]\nfile = "{picture}"\n{plaques}[output]\nfiles = ["carve"]\n'


def order(path: Path, text: str | None = None) -> Path:
    """Write a job file and the picture it names into its folder, and return the job file's path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    disc(path.parent / "disc.png")
    path.write_text(job_text() if text is None else text, encoding="utf-8")
    return path


def run(*arguments: object, **settings: object) -> subprocess.CompletedProcess[str]:
    """Run the program in a process of its own."""
    command = [sys.executable, "-m", "shadowrout", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, **settings)


def content(folder: Path) -> dict[str, bytes]:
    """Return the bytes of every file below a folder, hidden ones too, by its path from there."""
    found = (Path(place) / name for place, _, names in os.walk(folder) for name in names)
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}
