"""Jobs as different from each other as the settings allow, with the pictures and job files that they name.

Twenty are made, on small boards, so that all of them take about two minutes; the rest are refused. The pictures are
those of scikit-image, or drawn here.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

PACKAGED = ("astronaut.png", "camera.png", "chelsea.png", "coffee.png", "coins.png", "horse.png")
"""Pictures of scikit-image that are on the disk wherever it is installed."""


@dataclass(frozen=True)
class Job:
    """A command line and one to follow it, run where the inputs lie; ``{out}`` is the place for the results.

    A command that doesn't name ``{out}`` gets it by ``--out``. ``ends``: the exit code that each of them should have.
    """

    name: str
    command: str
    then: str = ""
    ends: int = 0


JOBS = (
    Job("photo", "make chelsea.png --size 120x80mm", then="check {out}"),
    Job("inches", 'make coffee.png --size "4 1/2x3in" --name "tea time" --thickness 3/4in --coats 3'),
    Job("centre-r12", "make horse.png --size 110x90mm --dxf R12 --origin centre --only carve,preview"),
    Job("smooth", "make camera.png --size 100x100mm --smooth --method single-level --dark 0.35 --only carve"),
    Job("cutters", "make blobs.png --size 140x100mm --cutter 6mm --cutter 3mm --deeper-from 8mm --deeper-by 1.5mm"),
    Job("round-fill", 'make chelsea.png --size 100x100mm --shape round --fit fill --wood "red maple"'),
    Job("shapes", "make shapes.toml --workers 2", then="make shapes.toml --only preview"),
    Job("flow", "make astronaut.png --crop 0,0,1,0.9 --size 150x150mm --flow --flow-spacing 4mm --only carve,preview"),
    Job("touch-up", "make chelsea.png --touch-up touch-up.png --size 100x70mm --grain along-height --explain"),
    Job("dropped", "make chelsea.png --subject 0.1,0.05,0.95,1.2 --size 110x80mm --only carve,preview"),
    Job("faded", "make faded.toml --json"),
    Job("stencil", "make stencil.toml", then="check {out} --json"),
    Job("stencil-stock", "make coins.png --size 90x70mm --size 4x3in --only stencil --stencil-stock 300x300mm"),
    Job("template", "make rings.png --size 160x160mm --only template,carve --cutter 4mm --bit 4mm --bush 10mm"),
    Job("template-stock", "make template.toml"),
    Job("papers", "make blobs.png --size 200x195mm --fit fill --only pattern --printer-margin 15mm --overlap 15mm"),
    Job("mirrored", "make lines.png --size 7x5in --only pattern,carve --paper legal --mirrored --angle 90 --dxf R2000"),
    Job("batch", "batch orders", then="batch orders", ends=3),
    Job("tones", "preview-tone coins.png --size 90x70mm --out {out}/a.png", then="start coins.png --out {out}/b.toml"),
    Job("demo", "demo"),
    Job("no-such-size", "make chelsea.png --size 80x80in", ends=2),
    Job("no-room-in-inches", "make blobs.png --size 4x3in --margin 1.6in", ends=2),
    Job("too-deep-in-inches", "make too-deep.toml", ends=2),
    Job("no-such-key", "make no-such-key.toml", ends=2),
    Job("broken-toml", "make broken.toml", ends=2),
    Job("no-picture", "make broken.png", ends=3),
    Job("nothing-dark", "make white.png --size 80x80mm", ends=3),
    Job("island-in-inches", "make rings.png --size 5x5in --only template --islands refuse", ends=4),
    Job("nothing-to-check", "check {out}", ends=3),
)

JOB_FILES = {
    "shapes.toml": """
        [picture]
        file = "chelsea.png"
        [tone]
        method = "uneven-light"
        [[plaque]]
        name = "oval"
        size = "110x80mm"
        shape = "oval"
        wood = "sugar maple"
        [[plaque]]
        name = "arch"
        size = "80x100mm"
        shape = "arch"
        fit = "fill"
        coats = 3
        [[plaque]]
        name = "rounded"
        size = "100x80mm"
        shape = "rounded"
        margin = 10
        [register]
        dowel = "4mm"
        [output]
        files = ["carve", "pattern"]
    """,
    "faded.toml": """
        [picture]
        file = "coffee.png"
        subject = [0.1, 0.1, 0.8, 0.9]
        subject_shape = "rectangle"
        subject_edge = "plain"
        background = "fade"
        [[plaque]]
        size = "120x80mm"
        [finish]
        sanding_loss = "0.7mm"
        [register]
        dowel = 0
        [shop]
        feed = 800
        [output]
        files = ["carve", "preview"]
    """,
    "stencil.toml": """
        [picture]
        file = "letters.png"
        [[plaque]]
        size = "160x100mm"
        [stencil]
        web = "2mm"
        kerf = "0.3mm"
        ties = true
        bridges = [[45, 50, 90]]
        keep_out = [[100, 30, 120, 60]]
        [output]
        files = ["stencil", "carve"]
        dxf = "R2000"
    """,
    "template.toml": """
        [picture]
        file = "rings.png"
        [[plaque]]
        name = "large"
        size = "8x8in"
        [[plaque]]
        name = "small"
        size = "5x5in"
        [[cutter]]
        diameter = "1/8in"
        [template]
        bit = "1/8in"
        bush = "3/8in"
        islands = "bridge"
        web = "4mm"
        [stock]
        template = "24x24in"
        gap = 6
        [output]
        files = ["template"]
        origin = "centre"
    """,
    "too-deep.toml": """
        [picture]
        file = "blobs.png"
        [[plaque]]
        size = "4x3in"
        thickness = "1/2in"
        [[cutter]]
        depth = 12.5
    """,
    "no-such-key.toml": """
        [picture]
        file = "blobs.png"
        [tone]
        darkness = 0.4
    """,
    "broken.toml": """
        [picture]
        file = blobs.png
    """,
    "orders/first.toml": """
        [picture]
        file = "../horse.png"
        [[plaque]]
        size = "90x80mm"
    """,
    "orders/second.toml": """
        [picture]
        file = "../letters.png"
        [[plaque]]
        size = "7x5in"
        margin = 9
        [stencil]
        web = "2mm"
        [output]
        files = ["carve", "stencil"]
    """,
    "orders/third.toml": """
        [picture]
        file = "../white.png"
    """,
}


def write_inputs(folder: Path) -> None:
    """Write all pictures and job files that the jobs name."""
    for name in PACKAGED:
        (folder / name).write_bytes((files("skimage") / "data" / name).read_bytes())
    for name, text in JOB_FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    masks = {"blobs": blobs(), "rings": rings(), "lines": lines(), "white": np.zeros((90, 90), dtype=bool)}
    for name, dark in masks.items():
        Image.fromarray(np.where(dark, 0, 255).astype(np.uint8)).save(folder / f"{name}.png")
    letters().save(folder / "letters.png")
    touch_up().save(folder / "touch-up.png")
    (folder / "broken.png").write_bytes((folder / "horse.png").read_bytes()[:400])


def blobs() -> np.ndarray:
    """Return shadows of all sizes without a corner: noise, blurred and cut at one level."""
    rng = np.random.default_rng(11)
    coarse, fine = (gaussian_filter(rng.standard_normal((200, 280)), sigma_px) for sigma_px in (9, 3))
    field = coarse + 0.4 * fine
    return field < np.quantile(field, 0.38)


def rings() -> np.ndarray:
    """Return a broad ring round an island, in it a hole with an island of its own, and a disc in each corner."""
    y, x = np.mgrid[:240, :240]
    radius = np.hypot(x - 120, y - 120)
    corners = np.hypot(abs(x - 120) - 100, abs(y - 120) - 100) < 16
    return ((radius > 62) & (radius < 100)) | ((radius > 16) & (radius < 42)) | corners


def lines() -> np.ndarray:
    """Return strokes from one to eight pixels wide at seeded angles."""
    rng = np.random.default_rng(5)
    picture = Image.new("L", (350, 250), 0)
    for width in range(1, 9):
        (x, u), (y, v) = rng.uniform(20, 330, 2), rng.uniform(20, 230, 2)
        ImageDraw.Draw(picture).line((x, y, u, v), fill=255, width=width)
    return np.asarray(picture) > 0


def letters() -> Image.Image:
    """Return letters with islands, grey at their rims."""
    picture = Image.new("L", (480, 300), 255)
    draw = ImageDraw.Draw(picture)
    draw.text((30, 20), "BOA", fill=0, font_size=150, stroke_width=4, stroke_fill=0)
    draw.text((40, 190), "since 1968", fill=0, font_size=80)
    return picture


def touch_up() -> Image.Image:
    """Return a layer over the cat's picture: a dark stroke and a light patch."""
    layer = Image.new("RGBA", (451, 300))
    draw = ImageDraw.Draw(layer)
    draw.line((50, 50, 200, 90), fill=(0, 0, 0, 255), width=8)
    draw.ellipse((330, 180, 420, 270), fill=(255, 255, 255, 255))
    return layer
