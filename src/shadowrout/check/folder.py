"""The folder that is judged: its job, its figures, and each plaque's files as read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import shapely

from shadowrout.check.design_file import DESIGN, STENCIL_DESIGN, read_design
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.dxf_reader import read_dxf
from shadowrout.check.figures_file import read_figures
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.svg_reader import read_svg
from shadowrout.check.untrusted import UnusableFileError
from shadowrout.errors import InputError, SettingError
from shadowrout.job.job_unit import unit_of
from shadowrout.job.options import Job, Plaque

DRAWINGS = ("carve", "stencil", "template")
"""What is written both as SVG and as DXF; a number may follow after a hyphen where there are several."""

KERF_TEST = "kerf-test"
"""The drawing of the piece to measure the kerf by, which stands beside a stencil."""

_READERS = {".dxf": read_dxf, ".svg": read_svg}

_AGAIN = "make the plaque again"


@dataclass(eq=False)
class PlaqueFiles:
    """One plaque: what was asked for, the figures that tell of it, and its drawings by name (``carve.svg``)."""

    folder: Path
    job: Job
    settings: Plaque
    figures: dict[str, Any]
    drawings: dict[str, DrawingFile]
    design: shapely.MultiPolygon | None
    stencil_design: shapely.MultiPolygon | None = None
    is_stock: bool = False
    """Whether it is stock with the sheets of several plaques; ``settings`` then tells the stock's name and size."""
    pattern_off_mm: float | None = None
    """How far the shadow on the paper pattern is off the design; None where that wasn't measured."""
    faults: list[tuple[Promise, Finding]] = field(default_factory=list)

    @property
    def tolerance_mm(self) -> float:
        """The tolerance that the job states."""
        return self.job.output.tolerance

    def drawing(self, stem: str) -> Iterator[DrawingFile]:
        """Yield the SVG and the DXF of one drawing, as far as they were read."""
        for name in (f"{stem}.svg", f"{stem}.dxf"):
            if name in self.drawings:
                yield self.drawings[name]

    def found(self, promise: Promise) -> list[Finding]:
        """Return the faults against one promise that reading showed, those of all drawings included."""
        own = [finding for against, finding in self.faults if against is promise]
        return own + [finding for file in self.drawings.values() for finding in file.found(promise)]


@dataclass(frozen=True, eq=False)
class Folder:
    """The whole folder; ``figures`` is what numbers.json holds, empty where it can't be read.

    ``faults`` are those of the job's own files, ``faults_of`` more of them, by the name of the plaque they tell of.
    """

    job: Job
    figures: dict[str, Any]
    faults: tuple[tuple[Promise, Finding], ...] = ()
    faults_of: dict[str, list[tuple[Promise, Finding]]] = field(default_factory=dict)

    def plaque_figures(self, name: str) -> dict[str, Any]:
        """Return what numbers.json tells of one plaque; empty where it tells nothing."""
        plaques = self.figures.get("plaques")
        every = [p for p in plaques if isinstance(p, dict)] if isinstance(plaques, list) else []
        return next((p for p in every if p.get("name") == name), {})


def read_folder(out: Path) -> Folder:
    """Return the job and the figures of a folder that ``make`` wrote.

    Raises InputError where it isn't one, or where its job can't be read, since nothing says then what to hold
    the files to. Figures that can't be read are a fault.
    """
    if not out.is_dir():
        raise InputError(str(out), "is no folder; name one that shadowrout make has written")
    _check_job_files(out)
    try:
        job = Job.from_file(out / "job.toml")
    except SettingError as problem:
        raise InputError(str(out / "job.toml"), f"can't be used ({problem}); make the job again") from None
    if any(plaque.name is None for plaque in job.plaques):
        raise InputError(str(out / "job.toml"), "names no plaque; name a folder that shadowrout make has written")
    job = replace(job, output=replace(job.output, unit=unit_of(job)))
    told = read_figures(out / "numbers.json")
    return Folder(job, told.figures, told.faults, told.of_plaques)


def _check_job_files(out: Path) -> None:
    """Raise InputError without the two files that say what the drawings are held to."""
    job, numbers = out / "job.toml", out / "numbers.json"
    if not job.is_file() and not numbers.is_file():
        raise InputError(str(out), f"has no job.toml; {_folder_meant(out)}")
    if not job.is_file():
        raise InputError(
            str(out),
            "has no job.toml, the settings as used; make the job again from your picture or job file, "
            f"into this folder: --out {out}",
        )
    if not numbers.is_file():
        raise InputError(
            str(out), f"has no numbers.json, the figures; write it anew with: shadowrout make {job} --out {out}"
        )


def _folder_meant(out: Path) -> str:
    """Return which folder to check in place of one that holds no job: the one around it, or those in it."""
    around = out.absolute().parent
    if (around / "job.toml").is_file():
        return f"it is a plaque's folder, check all of the job: shadowrout check {around}"
    inside = sorted(path.parent for path in out.glob("*/job.toml"))
    if inside:
        return f"it holds folders that do, check each of them: shadowrout check {inside[0]}"
    return "name a folder that shadowrout make has written"


def read_plaque(out: Path, folder: Folder, settings: Plaque) -> PlaqueFiles:
    """Return one plaque's files as read; what is missing or damaged is among its faults."""
    name = str(settings.name)
    place = out / name
    plaque = PlaqueFiles(place, folder.job, settings, folder.plaque_figures(name), {}, None)
    plaque.faults += [*folder.faults, *folder.faults_of.get(name, [])]
    if not place.is_dir():
        plaque.faults.append((Promise.COMPLETE, Finding(None, f"{name}: the plaque's folder is missing", _AGAIN)))
        return plaque
    for path in sorted(place.iterdir()):
        if path.is_file() and path.suffix in _READERS and _is_drawing(path.stem, folder.job):
            plaque.drawings[path.name] = read_drawing(path)
    asked = folder.job.output.files
    if not {"carve", "pattern", "template"}.isdisjoint(asked):
        plaque.design = _design(place / DESIGN, plaque)
    if "stencil" in asked:
        plaque.stencil_design = _design(place / STENCIL_DESIGN, plaque)
    return plaque


def read_drawing(path: Path) -> DrawingFile:
    """Return an SVG or a DXF as read, by its file's ending."""
    if path.stat().st_size == 0:
        file = DrawingFile(path.name)
        file.fault(Promise.COMPLETE, "is empty", _AGAIN)
        return file
    return _READERS[path.suffix](path)


def _is_drawing(stem: str, job: Job) -> bool:
    """Return whether the job asks for a drawing of this name; others may lie there, from earlier or by hand."""
    if stem == KERF_TEST:
        return "stencil" in job.output.files
    name, _, number = stem.partition("-")
    return name in DRAWINGS and name in job.output.files and (number.isdecimal() or stem == name)


def _design(path: Path, plaque: PlaqueFiles) -> shapely.MultiPolygon | None:
    try:
        return read_design(path)
    except UnusableFileError as problem:
        what = f"{path.name}: the sized design can't be read (it {problem}), so the drawings can't be held against it"
        plaque.faults.append((Promise.FAITHFUL, Finding(None, what, _AGAIN)))
        return None
