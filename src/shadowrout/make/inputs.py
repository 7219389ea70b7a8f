"""What a person named to make plaques of, a picture or a job file, and what to say when it isn't there."""

from __future__ import annotations

import difflib
import os
from pathlib import Path

from shadowrout.carving.settled_tools import settled_tools
from shadowrout.errors import InputError
from shadowrout.files.result_folder import JOB_FILE, NUMBERS_FILE
from shadowrout.job import job_file
from shadowrout.job.job_unit import errors_in_unit_of
from shadowrout.job.options import Job, Picture


def job_of(source: str) -> Job:
    """Return the job that a job file describes, or that of a picture alone; raises the errors of ``job_in``."""
    path = Path(source)
    if path.is_dir():
        raise InputError(source, f"is a folder; {_for_folder(path)}")
    if path.suffix.lower() == ".toml":
        return job_in(path)
    check_there(path)
    return Job(Picture(path))


def job_in(path: Path) -> Job:
    """Return the job that a job file describes; raises InputError where one of its pictures is missing."""
    job = job_file.read(path)
    for key, picture in (("file", job.picture.file), ("touch_up", job.picture.touch_up)):
        if picture is not None:
            check_there(picture, advice=_where_to_put(key, picture, path))
    return job


def check_there(picture: Path, *, advice: str = "") -> None:
    """Raise InputError without a picture: reading would find that too, but only after its libraries are loaded."""
    if not os.path.lexists(picture):
        raise InputError(picture.name, f"no such file{_near(picture)}{advice}")


def check_tools(job: Job) -> None:
    """Raise SettingError for settings of the tools that don't go together: no picture, nor a library, is needed."""
    with errors_in_unit_of(job):
        settled_tools(job)


def _near(missing: Path) -> str:
    """Return the name in the same folder that was likely meant, as a question; nothing where none is like it."""
    try:
        names = sorted(path.name for path in missing.parent.iterdir() if path.is_file() and path.suffix != ".toml")
    except OSError:
        return ""
    near = [name for name in names if Path(name).stem.casefold() == missing.name.casefold()]
    near = near or difflib.get_close_matches(missing.name, names, n=1, cutoff=0.75)
    return f"; did you mean {near[0]}?" if near else ""


def _for_folder(folder: Path) -> str:
    """Return what to give in place of a folder, by what lies in it."""
    jobs = sorted(path.name for path in folder.iterdir() if path.suffix.lower() == ".toml")
    if jobs == [JOB_FILE] and (folder / NUMBERS_FILE).is_file():
        return f"to make its results again: shadowrout make {folder / JOB_FILE} --out {folder}"
    if jobs:
        told = "the job file" if len(jobs) == 1 else f"all {len(jobs)} job files"
        return f"to make {told} in it: shadowrout batch {folder}; to make one: shadowrout make {folder / jobs[0]}"
    return f"name one picture in it, or write job files there and run: shadowrout batch {folder}"


def _where_to_put(key: str, picture: Path, job_file: Path) -> str:
    """Return what to do about a missing picture that a job file names by its place as seen from its own folder."""
    if any(character in str(picture) for character in "\b\f\n\r\t"):
        return (
            "; in double quotes a backslash and the letter after it are read as one mark, a line's end or a tab: write "
            f"the path in {job_file.name} in single quotes, or with forward slashes"
        )
    return (
        f"; {job_file.name} looks for it at {os.path.normpath(picture)}, seen from its own folder, which may have been "
        f"moved: put the picture there, or write its new place as {key} under [picture] in {job_file.name}"
    )
