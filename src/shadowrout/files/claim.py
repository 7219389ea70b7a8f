"""A folder of results in the hands of one run: kept from others, cleared of what a dead run left half-way."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from shadowrout.errors import SettingError
from shadowrout.files.save import PARTS, folder, remove

try:
    import fcntl
except ImportError:  # a system without such locks: runs are not kept apart there, and nothing is cleared
    fcntl = None  # type: ignore[assignment]

_KEY = "--out"
"""The setting that names the folder."""

_HELD = (errno.EAGAIN, errno.EACCES)
"""What the system answers where another process holds the lock (POSIX, fcntl)."""


@dataclass(frozen=True, eq=False)
class Claim:
    """A folder that this run alone writes to; ``new`` are the folders that the run has made, parents first."""

    path: Path
    new: list[Path] = field(default_factory=list)

    def folder(self, name: str, *, key: str) -> Path:
        """Return a folder in the claimed one, made where it is missing; raises SettingError under ``key``."""
        return _made(self.path / name, self.new, key=key)


@contextmanager
def claimed(path: Path) -> Iterator[Claim]:
    """Make a folder where it is missing, and keep other runs out of it until the block ends.

    The lock is the system's own on the folder (flock), so it leaves no file and ends with the process however that
    dies. Files half-way to their place that a dead run left, here or in the folders within, are removed. Folders that
    were made for the block are removed at its end if nothing is in them. Raises SettingError as ``save.folder``
    does, and where another run holds the folder. On file systems that can't lock a folder, runs are
    not kept apart; each file is complete all the same.
    """
    claim = Claim(path)
    try:
        _made(path, claim.new, key=_KEY)
    except SettingError:
        _remove_empty(claim.new)
        raise
    with _locked(path) as mine:
        if mine is False:
            raise SettingError(_KEY, f"another run is writing to {path}; let it end, or name another folder")
        if mine:
            _clear(path)
        try:
            yield claim
        finally:
            _remove_empty(claim.new)


def _remove_empty(folders: list[Path]) -> None:
    for made in reversed(folders):
        # not empty, then: what is written stays; or never made, under a name that no folder can have
        with contextlib.suppress(OSError, ValueError):
            made.rmdir()


def _made(path: Path, new: list[Path], *, key: str) -> Path:
    """Return ``path`` as ``save.folder`` does, and add what had to be made to ``new``."""
    missing = []
    for place in (path, *path.parents):
        if os.path.lexists(place):
            break
        missing.append(place)
    new += reversed(missing)
    return folder(path, key=key)


@contextmanager
def _locked(path: Path) -> Iterator[bool | None]:
    """Lock a folder for the block: gives True, False where another holds it, None where that can't be told."""
    if fcntl is None:
        yield None
        return
    try:
        handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    except OSError:  # a folder that may be written to and not be read
        yield None
        return
    try:
        yield _lock(handle)
    finally:
        os.close(handle)


def _lock(handle: int) -> bool | None:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return False if error.errno in _HELD else None
    return True


def _clear(path: Path) -> None:
    """Remove the half-way files in a locked folder and in those folders within that no run holds."""
    remove(path.glob(PARTS))
    for within in path.iterdir():
        if within.is_dir() and not within.is_symlink():
            with _locked(within) as free:
                if free:
                    remove(within.glob(PARTS))
