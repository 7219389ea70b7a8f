"""Which files a job wrote and of which pictures, each with its size and a digest, so that a change can be told."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from shadowrout.errors import InputError
from shadowrout.job.options import Picture


@dataclass(frozen=True)
class WrittenFile:
    """A file of a job as it was."""

    file: str
    """Its place in the folder of results, with forward slashes; of a picture its name alone."""
    bytes_: int
    sha256: str
    """In hexadecimal digits (FIPS 180-4)."""


def written_files(files: Mapping[Path, bytes], out: Path) -> tuple[WrittenFile, ...]:
    """Return size and digest of files by their places in the folder ``out``, in their order."""
    return tuple(_written(path.relative_to(out).as_posix(), content) for path, content in files.items())


def picture_files(picture: Picture) -> tuple[WrittenFile, ...]:
    """Return size and digest of the picture, and of the touch-up where there is one; raises InputError without it."""
    return tuple(_as_it_lies(path) for path in (picture.file, picture.touch_up) if path is not None)


def _as_it_lies(path: Path) -> WrittenFile:
    """Return size and digest of a file on the disk, which need not be in memory whole."""
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            return WrittenFile(path.name, file.tell(), digest)
    except OSError as problem:
        raise InputError(path.name, f"can't be read: {problem.strerror}") from None


def _written(name: str, content: bytes) -> WrittenFile:
    return WrittenFile(name, len(content), hashlib.sha256(content).hexdigest())
