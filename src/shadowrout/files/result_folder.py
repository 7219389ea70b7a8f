"""Where the files of a job lie in its folder of results, and what else may lie there.

What the user put there is never written over: each check refuses before anything is written.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from shadowrout.errors import InputError, SettingError
from shadowrout.files.save import folder
from shadowrout.job.options import Job

JOB_FILE = "job.toml"
NUMBERS_FILE = "numbers.json"
SHEET_FILE = "jobsheet.html"
RECORD_FILE = "batch.json"
DESIGN_FILE = "design.wkb.gz"
STENCIL_DESIGN_FILE = "stencil-design.wkb.gz"

JOB_FILE_HEAD = "# The settings as shadowrout used them; making this job again in this folder writes them anew."

_OF_A_PLAQUE = re.compile(
    r"(carve|stencil|kerf-test|template(-\d+)?)\.(svg|dxf)|pattern\.pdf|(stencil|preview|preview-sanding|size|left-out)\.png|"
    + f"{re.escape(DESIGN_FILE)}|{re.escape(STENCIL_DESIGN_FILE)}"
)
"""Names of the files that a run may make for a plaque."""

_OF_STOCK = re.compile(r"(stencil|template)-stock-\d+\.(svg|dxf)")
"""Names of the files that a run may make for the stock of all plaques."""


def check_place(out: Path) -> None:
    """Raise SettingError where a job file that this program didn't write stands in the place of the one it will."""
    path = out / JOB_FILE
    try:
        if path.exists() and not path.is_file():  # a pipe, say, which would keep the reader waiting
            raise SettingError("--out", f"{path} is no plain file, and the settings as used go there; name another")
        with path.open("rb") as file:
            ours = file.readline(200).decode("utf-8-sig", errors="replace").strip() == JOB_FILE_HEAD
    except FileNotFoundError:
        return
    except OSError as problem:
        raise InputError(str(path), f"can't be read: {problem.strerror}") from None
    if not ours:
        raise SettingError(
            "--out", f"{path} is a job file of yours, and the settings as used are written under this name; rename it"
        )


def check_plaques(job: Job, out: Path) -> None:
    """Raise SettingError where a plaque can't have a folder of its name in ``out``."""
    for plaque in job.plaques:
        name = str(plaque.name)
        if name.casefold() in (JOB_FILE, NUMBERS_FILE, SHEET_FILE, RECORD_FILE) or _OF_STOCK.fullmatch(name.casefold()):
            raise SettingError("plaque.name", f"{name!r} is the name of a file beside the plaques; give another")
        if os.path.lexists(out / name):
            folder(out / name, key="plaque.name")


def check_overwritten(job: Job, files: Iterable[Path]) -> None:
    """Raise SettingError where one of the files to write is a picture of the job."""
    given = {os.path.realpath(path) for path in (job.picture.file, job.picture.touch_up) if path is not None}
    for path in files:
        if os.path.realpath(path) in given:
            raise SettingError("--out", f"{path} is a picture of this job and would be written over; name another")


def left_over(out: Path, files: Iterable[Path]) -> tuple[str, ...]:
    """Return what runs before left in ``out`` besides ``files``.

    Those are plaques' folders, ``name/``, files in them, ``name/file``, and drawings of stock.
    """
    made = set(files)
    left: list[str] = []
    for place in sorted(out.iterdir()):
        if place.is_dir() and (place / DESIGN_FILE).is_file():
            left += _left_in(place, made)
        elif place not in made and _OF_STOCK.fullmatch(place.name):
            left.append(place.name)
    return tuple(left)


def _left_in(place: Path, made: set[Path]) -> Iterator[str]:
    if place / DESIGN_FILE not in made:
        yield f"{place.name}/"
        return
    for path in sorted(place.iterdir()):
        if path not in made and _OF_A_PLAQUE.fullmatch(path.name):
            yield f"{place.name}/{path.name}"
