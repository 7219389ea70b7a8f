"""The settings printed on the job sheet against job.toml."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.jobsheet_reader import JobSheet
from shadowrout.check.told_against import Row
from shadowrout.errors import ShadowroutError
from shadowrout.job.job_file import from_text
from shadowrout.job.options import Job

_SHEET = "jobsheet.html"


def settings_rows(plaque: PlaqueFiles, sheet: JobSheet) -> Iterator[Row]:
    """Yield for each section of the settings that differs from job.toml's what to say, or nothing."""
    texts = [text for section in sheet.under("Settings used") for text in section.texts if "[picture]" in text]
    if len(texts) != 1:
        yield f"{_SHEET}: Settings used: {len(texts)} lists of settings, not one"
        return
    try:
        printed = from_text(texts[0], name=_SHEET)
    except ShadowroutError as problem:
        yield f"{_SHEET}: Settings used: they can't be read ({problem})"
        return
    yield from _differences(printed, plaque.job.with_paths(lambda path: Path(path.name)))


def _differences(printed: Job, used: Job) -> Iterator[Row]:
    for field in fields(Job):
        one, other = getattr(printed, field.name), getattr(used, field.name)
        rows = zip(one, other, strict=False) if isinstance(one, tuple) else [(one, other)]
        if isinstance(one, tuple) and len(one) != len(other):
            yield f"{_SHEET}: Settings used: {len(one)} of {field.name}, job.toml has {len(other)}"
        for mine, theirs in rows:
            keys = [f.name for f in fields(mine) if getattr(mine, f.name) != getattr(theirs, f.name)]
            yield from (
                f"{_SHEET}: Settings used: {key} is {getattr(mine, key)}, job.toml has {getattr(theirs, key)}"
                for key in keys
            )
            yield ""
