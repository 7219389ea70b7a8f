"""The text of a job file: a job read from TOML and written as TOML."""

from __future__ import annotations

import inspect
import os
import textwrap
from pathlib import Path

from shadowrout.errors import InputError
from shadowrout.job.options import TABLES, Job
from shadowrout.job.schema import JobTable, Settings, settings_of
from shadowrout.job.toml_tables import sections_in

_COMMENT_LETTERS = 110
"""Letters on a line of comment: it fits into an editor's window (a matter of looks, no source)."""


def from_text(text: str, *, name: str) -> Job:
    """Return the job that a job file's text describes; ``name`` stands for it in messages.

    Raises the errors of ``sections_in``. For a file there is ``Job.from_file``.
    """
    return Job(**sections_in(text, TABLES, name=name))


def written(job: Job, *, folder: Path | None, explained: bool = False) -> str:
    """Return the job as the text of a job file that is to lie in ``folder``.

    Reading it back there gives the same job. Without a folder, pictures are named and their place is left out.
    Settings left to the program stand as comments. With ``explained``, comments say what each table is about, what each
    key does and what is allowed. Raises InputError as ``check_paths`` does.
    """
    job = job.with_paths(lambda picture: Path(picture.name) if folder is None else _from_folder(picture, folder))
    blocks = []
    for table in TABLES:
        blocks += [_written_table(table, section, explained=explained) for section in table.sections_of(job)]
    return "\n".join(blocks)


def check_paths(job: Job, *, folder: Path) -> None:
    """Raise InputError where a job file in ``folder`` can't name one of the job's pictures: TOML is UTF-8 (1.0.0)."""
    job.with_paths(lambda picture: _from_folder(picture, folder))


def _from_folder(path: Path, folder: Path) -> Path:
    try:
        seen = Path(os.path.relpath(path, folder))
    except ValueError:  # another drive
        seen = path.absolute()
    if not _is_text(str(seen)):
        whose = "a folder's name on the way to it" if _is_text(path.name) else "its name"
        raise InputError(path.name, f"{whose} is no text in UTF-8, so no job file can hold it; rename that")
    return seen


def _is_text(name: str) -> bool:
    """Return whether a name is UTF-8: Python holds other bytes as lone surrogates (PEP 383)."""
    return not any("\ud800" <= character <= "\udfff" for character in name)


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
