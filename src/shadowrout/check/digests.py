"""Which files aren't as they were made, by the sizes and digests in numbers.json.

An edit by hand is a person's right, so a change alone breaks no promise, and no promise is judged by a digest: each is
tested on what stands in the files now.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from shadowrout.check.findings import Promise
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.verdict import ChangedFile, PlaqueVerdict

SHEET = "jobsheet.html"
SETTINGS = "job.toml"

_PICTURE_PATH = re.compile(rb'(?m)^((?:file|touch_up) = ")(?:[^\n]*/)?([^/\n]*")$')
"""A line that names a picture: what stands before its own name is its place."""

_OF_THE_JOB = (SETTINGS, SHEET)
"""Files that tell of every plaque."""

_ALWAYS = (Promise.COMPLETE,)
_OF_ANY_DRAWING = (
    Promise.COMPLETE,
    Promise.FAITHFUL,
    Promise.SOUND,
    Promise.TRUE_SIZE,
    Promise.AGREE,
    Promise.MARKED,
    Promise.FIGURES,
)
_TESTED_ON: tuple[tuple[str, tuple[Promise, ...]], ...] = (
    (r"carve\.\w+", (*_OF_ANY_DRAWING, Promise.NO_GOUGE, Promise.STAYS_DARK)),
    (r"stencil\.(svg|dxf)", (*_OF_ANY_DRAWING, Promise.ONE_PIECE)),
    (r"template(-\d+)?\.\w+", (*_OF_ANY_DRAWING, Promise.ONE_PIECE, Promise.NO_GOUGE)),
    (r"kerf-test\.\w+", (Promise.COMPLETE, Promise.TRUE_SIZE, Promise.AGREE)),
    (r"pattern\.pdf", (Promise.COMPLETE, Promise.TRUE_SIZE)),
    (r"design\.wkb\.gz", (Promise.COMPLETE, Promise.FAITHFUL)),
    (r"job\.toml|jobsheet\.html", (Promise.COMPLETE, Promise.FIGURES)),
)
"""The promises that are of a file with such a name; of pictures only that they are whole."""

_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Listed:
    """A file as numbers.json tells of it."""

    file: str
    bytes_: int
    sha256: str


def compared(figures: dict[str, Any], plaque: str) -> list[str]:
    """Return for each file of a plaque, and each of the whole job, what is wrong with how it is listed, or nothing.

    ``figures`` is all that numbers.json holds.
    """
    whole = NumbersTable(figures)
    listed = list(_listed(whole))
    every = [entry.file for entry in listed]
    wanted = [*_OF_THE_JOB, *(f"{plaque}/{name}" for name in _files_of(figures, plaque))]
    found = [*whole.faults]
    for name in wanted:
        count = every.count(name)
        found.append("" if count == 1 else f"numbers.json: lists {count} digests of {name} under written, not one")
    own = {file for file in every if file.startswith(f"{plaque}/")}
    found += [
        f"numbers.json: {file} has a digest but isn't among the plaque's files" for file in sorted(own - {*wanted})
    ]
    return found


def changed(out: Path, figures: dict[str, Any], verdicts: Sequence[PlaqueVerdict]) -> tuple[ChangedFile, ...]:
    """Return the files in ``out`` that aren't as they were made, with the promises that hold for them and those broken.

    ``verdicts`` are those of the plaques and of the stock. A missing file is none of them: that is a finding.
    """
    return tuple(_told(entry, bytes_now, verdicts) for entry, bytes_now in _changed(out, NumbersTable(figures)))


def _changed(out: Path, whole: NumbersTable) -> Iterator[tuple[Listed, int]]:
    for entry in _listed(whole):
        path = out / entry.file
        if not path.is_file():
            continue
        try:
            size, digest = settings_digest(path) if entry.file == SETTINGS else _digest(path)
            if (size, digest) != (entry.bytes_, entry.sha256):
                yield entry, size
        except OSError:  # whether it can be read at all is a promise of its own
            continue


def settings_digest(path: Path) -> tuple[int, str]:
    """Return size and digest of a job.toml as if its pictures lay beside it: their paths depend on its folder."""
    content = _PICTURE_PATH.sub(rb"\1\2", path.read_bytes())
    return len(content), hashlib.sha256(content).hexdigest()


def _digest(path: Path) -> tuple[int, str]:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
        return file.tell(), digest


def _listed(whole: NumbersTable) -> Iterator[Listed]:
    """Yield the files that are listed; what can't be used is a fault, a place outside the folder too."""
    for entry in whole.tables("written"):
        file, size, sha256 = entry.text("file"), entry.number("bytes"), entry.text("sha256")
        if not file or not size >= 0:
            continue
        if not _is_within(file) or not _SHA256.fullmatch(sha256):
            whole.faults.append(f"numbers.json: {entry.where.rstrip(': ')} is no file's place and digest")
            continue
        yield Listed(file, int(size), sha256)


def _is_within(file: str) -> bool:
    """Return whether a name is that of a file in the folder, or in a plaque's folder in it."""
    parts = PurePosixPath(file).parts
    return 1 <= len(parts) <= 2 and "\0" not in file and not {"/", "..", "."} & set(parts) and "\\" not in file


def _files_of(figures: dict[str, Any], plaque: str) -> list[str]:
    plaques = figures.get("plaques")
    for told in plaques if isinstance(plaques, list) else ():
        if isinstance(told, dict) and told.get("name") == plaque:
            files = told.get("files")
            return [name for name in files if isinstance(name, str)] if isinstance(files, list) else []
    return []


def _told(entry: Listed, bytes_now: int, verdicts: Sequence[PlaqueVerdict]) -> ChangedFile:
    """Return a changed file with what its promises have come to: a promise broken elsewhere is not broken in it."""
    place, _, name = entry.file.rpartition("/")
    promises = next((promises for names, promises in _TESTED_ON if re.fullmatch(names, name)), _ALWAYS)
    of_stock = re.fullmatch(r"(stencil|template)-stock-\d+\.\w+", name)
    own = [v for v in verdicts if v.name == (f"{of_stock[1]} stock" if of_stock else place)]
    results = [r for v in (own or (() if place else verdicts)) for r in v.results if r.holds is not None]
    results = results if of_stock else [r for r in results if r.promise in promises]
    broken = [r.promise for r in results if any(_tells_of(str(f.what), name) for f in r.findings)]
    holds = [r.promise for r in results if r.promise not in broken]
    return ChangedFile(entry.file, entry.bytes_, bytes_now, tuple(dict.fromkeys(holds)), tuple(dict.fromkeys(broken)))


def _tells_of(what: str, name: str) -> bool:
    """Return whether a finding is of a file: it says its name at the start, or that of both files of its drawing."""
    where = what.partition(":")[0]
    return name in where or where.partition(",")[0] == name.rpartition(".")[0]
