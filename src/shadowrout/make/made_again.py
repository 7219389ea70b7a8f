"""A job made again in memory, and its files held against those in its folder: nothing is written."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shadowrout.files import result_folder
from shadowrout.files.result_folder import JOB_FILE, NUMBERS_FILE
from shadowrout.make.inputs import job_in
from shadowrout.make.pipeline import worked_out
from shadowrout.make.processes import Processes
from shadowrout.make.repeatable import repeatable
from shadowrout.report.figures.job_figures import JobFigures
from shadowrout.words.program import VERSION
from shadowrout.words.progress import Progress, silent

SAME, DIFFERS, MISSING, NOT_OF_THE_JOB = "same", "differs", "missing", "not of this job"


@dataclass(frozen=True)
class FileAgain:
    """A file by its place in the folder, and what became of it: the same, another, missing, or not of this job."""

    file: str
    word: str


@dataclass(frozen=True)
class MadeAgain:
    """Every file of the job and the folder, and what is known of why some differ: sentences, none where none do."""

    files: tuple[FileAgain, ...]
    reasons: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether every file is as the job makes it now, and none lies there that it doesn't make."""
        return all(file.word == SAME for file in self.files)

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain values, for programs."""
        files = [{"file": file.file, "result": file.word} for file in self.files]
        return {"same": self.same, "files": files, "reasons": list(self.reasons)}

    def as_text(self) -> str:
        """Return what differs, a line each with its files, why, and a last line that says whether anything does."""
        words = (DIFFERS, MISSING, NOT_OF_THE_JOB)
        by_word = {word: [file.file for file in self.files if file.word == word] for word in words}
        lines = [f"Made again, {word}: {', '.join(files)}." for word, files in by_word.items() if files]
        count = len([file for file in self.files if file.word == SAME])
        last = f"Made again from {JOB_FILE}, {count} of {len(self.files)} files are the same."
        return "\n".join([*lines, *self.reasons, last])


@repeatable()
def made_again(out: Path | str, *, workers: int = 1, progress: Progress = silent) -> MadeAgain:
    """Make the job of a folder anew from its job.toml, in memory, and tell of each file whether it is the same.

    ``progress`` is called with a step's name and the share done. Raises InputError where the job file or its picture is
    gone or can't be read, and the errors of ``pipeline.make`` where the job can't be made any more.
    """
    out = Path(out)
    job = job_in(out / JOB_FILE)
    with Processes(workers) as processes:
        worked = worked_out(job, out, processes, progress)
    files = [
        FileAgain(path.relative_to(out).as_posix(), _word(path, content)) for path, content in worked.files.items()
    ]
    left = [FileAgain(name, NOT_OF_THE_JOB) for name in result_folder.left_over(out, worked.files)]
    reasons = tuple(_reasons(out, worked.figures)) if any(file.word != SAME for file in [*files, *left]) else ()
    return MadeAgain((*files, *left), reasons)


def _word(path: Path, content: bytes) -> str:
    if not path.is_file():
        return MISSING
    return SAME if path.stat().st_size == len(content) and path.read_bytes() == content else DIFFERS


def _reasons(out: Path, again: JobFigures) -> Iterator[str]:
    """Yield what numbers.json tells of another program or another picture than those of now."""
    try:
        told = json.loads((out / NUMBERS_FILE).read_bytes())
    except (OSError, ValueError, RecursionError):
        told = None
    if not isinstance(told, dict):
        yield f"{NUMBERS_FILE} can't be read, so what the files were made of isn't known."
        return
    if told.get("program") != again.program:
        yield f"The files were made by {told.get('program')}; this is shadowrout {VERSION}."
    known = _digests(told.get("made_of"))
    for picture in again.made_of:
        if known.get(picture.file) != picture.sha256:
            yield f"The picture {picture.file} isn't the one that the files were made of: it was changed or replaced."
    if _digests(told.get("written")).get(JOB_FILE) != hashlib.sha256((out / JOB_FILE).read_bytes()).hexdigest():
        yield f"{JOB_FILE} was changed since the files were made, or they were made of other settings."


def _digests(listed: object) -> dict[str, Any]:
    """Return the digests of files as numbers.json lists them, by name; what isn't such a list has none."""
    entries = [entry for entry in listed if isinstance(entry, dict)] if isinstance(listed, list) else []
    return {entry["file"]: entry.get("sha256") for entry in entries if isinstance(entry.get("file"), str)}
