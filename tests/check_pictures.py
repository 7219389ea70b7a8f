"""Plaques made by the main job from scikit-image's pictures and from seeded random masks, for tests of the check."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from shadowrout.job.options import Job
from shadowrout.make import pipeline

PICTURES = ("astronaut", "chelsea", "coffee", "horse")


def picture(name: str) -> np.ndarray:
    from skimage import data

    image = getattr(data, name)()
    return (image * 255).astype(np.uint8) if image.dtype == bool else image


def random_mask(seed: int) -> np.ndarray:
    """Dark where a smoothed random field is below a level: from a few large blobs to many small ones."""
    rng = np.random.default_rng(seed)
    height, width = rng.integers(250, 500, size=2)
    field = gaussian_filter(rng.standard_normal((height, width)), rng.uniform(4, 25))
    fine = gaussian_filter(rng.standard_normal((height, width)), 4)
    field = field / field.std() + rng.uniform(0, 0.7) * fine / fine.std()
    return np.where(field < np.quantile(field, rng.uniform(0.2, 0.7)), 0, 255).astype(np.uint8)


def made(image: np.ndarray, out: Path, *, long_side_mm: float, settings: str = "", plaque: str = "") -> None:
    """Run the main job on an image."""
    out.mkdir(parents=True)
    Image.fromarray(image).save(out / "picture.png")
    height, width = image.shape[:2]
    scale = long_side_mm / max(height, width)
    text = (
        f'[picture]\nfile = "picture.png"\n[[plaque]]\nname = "plaque"\n'
        f'size = "{width * scale:.2f}x{height * scale:.2f}mm"\n{plaque}\n{settings}'
    )
    (out / "in.toml").write_text(text)
    pipeline.make(Job.from_file(out / "in.toml"), out)


def mask_settings(seed: int) -> tuple[str, str]:
    """Different units, versions, origins, shapes and cutters, so that all ways of writing are met."""
    rng = np.random.default_rng(1_000_000 + seed)
    dxf, unit = rng.choice(["R2010", "R2000", "R12"]), rng.choice(["mm", "in"])
    cutters = ("[[cutter]]\ndiameter = 3", "[[cutter]]\ndiameter = 6", "[[cutter]]\ndiameter = 2\ndepth = 4")
    shape, fit = rng.choice(["rectangle", "rounded", "oval"]), rng.choice(["inside", "fill"])
    output = f'[output]\nfiles = ["carve"]\ndxf = "{dxf}"\nunit = "{unit}"\n'
    output += f'origin = "{rng.choice(["corner", "centre"])}"\ntolerance = {rng.choice([0.05, 0.1, 0.2])}\n'
    return f"{rng.choice(cutters)}\n{output}", f'shape = "{shape}"\nfit = "{fit}"'
