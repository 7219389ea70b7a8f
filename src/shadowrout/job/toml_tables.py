"""The tables of a job file, read into the sections of a job."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from shadowrout.errors import InputError, SettingError
from shadowrout.job.schema import JobTable, read_section, unknown
from shadowrout.job.toml_bounds import LARGEST_BYTES, check_bounds
from shadowrout.job.toml_faults import told_of_fault


def text_in(path: Path) -> str:
    """Return what a job file holds, without the mark that some editors set at its beginning (U+FEFF).

    Raises InputError where there is no such plain file, SettingError where it is no text or far too large.
    """
    try:
        _check_plain(path)
        with path.open(encoding="utf-8-sig") as file:
            return file.read(LARGEST_BYTES + 1)
    except UnicodeDecodeError:
        raise SettingError(path.name, "is no text in UTF-8; save it from an editor as plain text, UTF-8") from None
    except OSError as problem:
        raise InputError(str(path), f"can't be read: {problem.strerror}") from None


def _check_plain(path: Path) -> None:
    """Raise InputError for what is no plain file: nothing is opened that could keep the reader waiting."""
    if path.is_file():
        return
    if path.is_symlink() and not path.exists():
        raise InputError(str(path), f"is a link to {path.readlink()}, which isn't there; mend the link or remove it")
    if path.is_dir():
        raise InputError(str(path), "is a folder; give a job file")
    problem = "is a device or a pipe; give a plain file" if path.exists() else "there is no such file"
    raise InputError(str(path), problem)


def sections_in(text: str, tables: Sequence[JobTable], *, name: str) -> dict[str, Any]:
    """Return what a job file's text gives for the fields of a job; ``name`` stands for the file in messages.

    Raises SettingError for text that isn't TOML 1.0.0 or is larger than any job needs, keys that aren't known, values
    that can't be used.
    """
    check_bounds(text, name=name)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise SettingError(name, told_of_fault(text, str(problem), tables)) from None
    except ValueError:  # Python's way with a number of over 4300 digits, here with underscores between them
        raise SettingError(name, "holds a number of thousands of digits; take it out") from None
    known = {table.heading: table for table in tables}
    for heading in document:
        if heading not in known:
            raise unknown(heading, heading, known)
    document.setdefault("picture", {})  # which is refused as one without a file
    return {known[heading].field: _read_table(known[heading], value) for heading, value in document.items()}


def _read_table(table: JobTable, value: object) -> Any:
    if not table.many:
        return read_section(table.section, value)
    if not isinstance(value, list):
        raise table.none_given()
    table.check_count(value)
    return tuple(read_section(table.section, entry) for entry in value)
