"""The folders of results that are spoiled: small jobs of varied kinds, made once and kept in a temporary folder."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from pathlib import Path

from PIL import Image, ImageDraw

import shadowrout
from shadowrout.job.options import Job

JOBS = {
    "photo": '[picture]\nfile = "chelsea.png"\n[[plaque]]\nname = "cat"\nsize = "110x80mm"\n'
    '[[cutter]]\ndiameter = "3mm"\n[[cutter]]\ndiameter = "1.5mm"\n[finish]\ndeeper_from = "6mm"\n'
    '[v_tool]\nflow = true\n[output]\nfiles = ["carve"]\n',
    "tone": '[picture]\nfile = "tone.png"\n[[plaque]]\nname = "rings"\nsize = "110x110mm"\n[[cutter]]\n'
    'diameter = "4mm"\n[template]\nbit = "4mm"\nbush = "8mm"\nmargin = "6mm"\n[stencil]\nweb = "1.5mm"\n'
    'margin = "6mm"\n[output]\nfiles = ["carve", "pattern", "preview", "stencil", "template"]\nexplain = true\n',
    "inch": '[picture]\nfile = "coffee.png"\n[[plaque]]\nname = "cup"\nsize = "4 x 3in"\n[[cutter]]\n'
    'diameter = "1/8in"\n[output]\nfiles = ["carve", "pattern"]\n',
    "oval": '[picture]\nfile = "astronaut.png"\n[[plaque]]\nname = "oval"\nsize = "80x100mm"\nshape = "oval"\n'
    '[output]\nfiles = ["carve"]\norigin = "centre"\n',
    "r12": '[picture]\nfile = "tone.png"\n[[plaque]]\nname = "old"\nsize = "112x112mm"\n[stencil]\nweb = "1mm"\n'
    'margin = "6mm"\n[output]\nfiles = ["carve", "stencil"]\ndxf = "R12"\n',
    "stock": '[picture]\nfile = "tone.png"\n[[plaque]]\nname = "large"\nsize = "124x124mm"\n[[plaque]]\n'
    'name = "small"\nsize = "116x116mm"\n[[cutter]]\ndiameter = "3mm"\n[template]\nbit = "3mm"\nbush = "6mm"\n'
    'margin = "6mm"\nweb = "4mm"\n[stock]\nstencil = "300x300mm"\ntemplate = "300x300mm"\n[stencil]\n'
    'web = "1mm"\nmargin = "6mm"\n[output]\nfiles = ["carve", "stencil", "template"]\n',
    "wide": '[picture]\nfile = "wide.png"\n[[plaque]]\nname = "long"\nsize = "320x110mm"\n[output]\n'
    'files = ["carve", "pattern"]\n',
}
"""Two cutters, two depths and flow lines; every file there is; inches; an oval with its zero in the middle; R12; two
plaques on stock; a pattern of two sheets."""


def made(*names: str, anew: bool = False) -> Path:
    """Return the folder in whose ``made`` the results of these jobs lie, made where they don't lie there yet.

    It is one of this machine's temporary folder and of the source as it stands; ``anew`` makes all again.
    """
    root = Path(tempfile.gettempdir()) / f"damage-kinds-{_digest()}"
    if anew:
        shutil.rmtree(root, ignore_errors=True)
    (root / "made").mkdir(parents=True, exist_ok=True)
    _pictures(root)
    for name in names or JOBS:
        job_file = root / f"{name}.toml"
        if not (root / "made" / name).exists():
            job_file.write_text(JOBS[name], encoding="utf-8")
            shadowrout.make(Job.from_file(job_file), root / "new")
            (root / "new").rename(root / "made" / name)
    return root


def _digest() -> str:
    """Return what stands for the source from which the folders are made."""
    place = Path(shadowrout.__file__).parent
    kept = [path for path in sorted(place.rglob("*.py")) if path.relative_to(place).parts[0] != "check"]
    whole = b"".join(path.read_bytes() for path in kept) + repr(JOBS).encode()
    return hashlib.sha256(whole).hexdigest()[:12]


def _pictures(root: Path) -> None:
    from skimage import data

    for name in ("chelsea", "coffee", "astronaut"):
        if not (root / f"{name}.png").exists():
            Image.fromarray(getattr(data, name)()).save(root / f"{name}.png")
    _rings().save(root / "tone.png")
    _wide().save(root / "wide.png")


def _rings() -> Image.Image:
    """Return shapes that pockets, stencils and templates take: a ring in a ring, a frame, a wedge and strokes."""
    picture = Image.new("L", (880, 880), 255)
    pen = ImageDraw.Draw(picture)
    for box, shade in (((60, 60, 520, 520), 0), ((160, 160, 420, 420), 255), ((225, 225, 355, 355), 0)):
        pen.ellipse(box, fill=shade)
    pen.rectangle((580, 60, 840, 330), fill=0)
    pen.rectangle((660, 150, 760, 240), fill=255)
    pen.polygon([(60, 600), (400, 600), (230, 840)], fill=0)
    for step in range(3):
        pen.line((470, 600 + step * 90, 820, 580 + step * 100), fill=0, width=14 + 5 * step)
    pen.line((600, 400, 830, 500), fill=0, width=22)
    return picture


def _wide() -> Image.Image:
    """Return four rings with strokes in a row, and a post between two, for a pattern of several sheets."""
    picture = Image.new("L", (1280, 440), 255)
    pen = ImageDraw.Draw(picture)
    for step, x in enumerate((40, 360, 680, 1000)):
        pen.ellipse((x, 60, x + 240, 300), fill=0)
        pen.ellipse((x + 60, 110, x + 180 + 10 * step, 230), fill=255)
        pen.line((x, 360, x + 230, 330 + 20 * step), fill=0, width=10 + 3 * step)
    pen.rectangle((300, 60, 340, 400), fill=0)
    return picture
