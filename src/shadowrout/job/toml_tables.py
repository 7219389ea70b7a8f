"""The tables of a job file, read into the sections of a job."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from shadowrout.errors import InputError, SettingError
from shadowrout.job.schema import JobTable, read_section, unknown
from shadowrout.job.toml_faults import told_of_fault

_LARGEST_BYTES = 1_000_000
"""The longest file that is read as a job: one with every comment has 12 kB, a picture given by mistake far more."""


def text_in(path: Path) -> str:
    """Return what a job file holds; raises InputError where there is none, SettingError where it is no text."""
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


def sections_in(text: str, tables: Sequence[JobTable], *, name: str) -> dict[str, Any]:
    """Return what a job file's text gives for the fields of a job; ``name`` stands for the file in messages.

    Raises SettingError for text that isn't TOML 1.0.0, keys that aren't known, values that can't be used.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise SettingError(name, told_of_fault(text, str(problem), tables)) from None
    except (ValueError, RecursionError):  # the parser's way with a number of over 4300 digits, and with lists too deep
        raise SettingError(name, "holds a number of thousands of digits, or lists hundreds deep; take it out") from None
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
    return tuple(read_section(table.section, entry) for entry in value)
