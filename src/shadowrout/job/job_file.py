"""The job file: a job read from TOML and written as TOML."""

from __future__ import annotations

import dataclasses
import inspect
import os
import textwrap
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from shadowrout.errors import InputError, SettingError
from shadowrout.job.options import TABLES, Job
from shadowrout.job.schema import JobTable, Settings, read_section, settings_of, unknown
from shadowrout.job.toml_faults import told_of_fault

_LARGEST_BYTES = 1_000_000
"""The longest file that is read as a job: one with every comment has 12 kB, a picture given by mistake far more."""

_COMMENT_LETTERS = 110
"""Letters on a line of comment: it fits into an editor's window (a matter of looks, no source)."""


def read(path: Path) -> Job:
    """Return the job that a file describes; the paths of its pictures are taken from the file's own folder.

    Raises InputError where there is no such file, and SettingError for what stands in it: text that isn't
    TOML 1.0.0, keys that aren't known, values that can't be used.
    """
    job = from_text(_text(path), name=path.name)
    return _with_paths(job, lambda picture: path.parent / picture)


def from_text(text: str, *, name: str) -> Job:
    """Return the job that a job file's text describes; ``name`` stands for it in messages."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise SettingError(name, told_of_fault(text, str(problem))) from None
    known = {table.heading: table for table in TABLES}
    for heading in document:
        if heading not in known:
            raise unknown(heading, heading, known)
    document.setdefault("picture", {})  # which is refused as one without a file
    return Job(**{known[heading].field: _read_table(known[heading], value) for heading, value in document.items()})


def written(job: Job, *, folder: Path | None, explained: bool = False) -> str:
    """Return the job as the text of a job file that is to lie in ``folder``.

    Reading it back there gives the same job. Without a folder, pictures are named and their place is left out.
    Settings left to the program stand as comments. With ``explained``, comments say what each table is about, what each
    key does and what is allowed.
    """
    job = _with_paths(job, lambda picture: Path(picture.name) if folder is None else _from_folder(picture, folder))
    blocks = []
    for table in TABLES:
        blocks += [_written_table(table, section, explained=explained) for section in table.sections_of(job)]
    return "\n".join(blocks)


def _with_paths(job: Job, moved: Callable[[Path], Path]) -> Job:
    """Return the job with the path of each of its pictures replaced by what ``moved`` makes of it."""
    touch_up = None if job.picture.touch_up is None else moved(job.picture.touch_up)
    picture = dataclasses.replace(job.picture, file=moved(job.picture.file), touch_up=touch_up)
    return dataclasses.replace(job, picture=picture)


def _from_folder(path: Path, folder: Path) -> Path:
    try:
        return Path(os.path.relpath(path, folder))
    except ValueError:  # another drive
        return path.absolute()


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            raise InputError(str(path), "there is no such file")
        if path.stat().st_size > _LARGEST_BYTES:
            raise InputError(str(path), "is far too large for a job file")
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise SettingError(path.name, "is no text in UTF-8; save it from an editor as plain text, UTF-8") from None
    except OSError as problem:
        raise InputError(str(path), f"can't be read: {problem.strerror}") from None


def _read_table(table: JobTable, value: object) -> Any:
    if not table.many:
        return read_section(table.section, value)
    if not isinstance(value, list):
        raise table.none_given()
    return tuple(read_section(table.section, entry) for entry in value)


def _written_table(table: JobTable, section: Settings, *, explained: bool) -> str:
    heading = table.in_brackets
    lines = [heading]
    if explained:
        more = f" For another one write {heading} again; what is left out there has its default." if table.many else ""
        lines = [*_comment(inspect.cleandoc(table.section.__doc__ or "") + more), heading]
    for declared in settings_of(table.section):
        value = getattr(section, declared.name)
        if explained:
            lines += ["", *_comment(f"{declared.about} Give {declared.kind.allowed}.")]
        if value is None:
            lines.append(f"# {declared.name} is not set: {declared.when_unset}")
        else:
            lines.append(f"{declared.name} = {declared.kind.write(value)}")
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, _COMMENT_LETTERS, break_on_hyphens=False)]
