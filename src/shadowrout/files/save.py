"""The one way in which files reach the disk: each is complete or absent, an old one never half-written."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from shadowrout.errors import OutputError, SettingError

PARTS = ".shadowrout-*.part"
"""The names of files on their way to their place."""


def save(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path`` as a whole or not at all; see ``save_all``."""
    save_all({path: content})


def save_all(contents: Mapping[Path, bytes]) -> None:
    """Write several files: all of them are on the disk in full before the first takes its place.

    The bytes of each go to a new file in the folder where it belongs and are forced to the disk; then each takes its
    target's name in one step (POSIX rename), in the order given, so that whoever opens it finds the old content or
    the new. A failure of any kind, an interruption by the user included, removes the new files that aren't in their
    place, and before that step it leaves everything as it was; only a process that is killed outright can leave
    hidden files ``.shadowrout-XXXXXXXX.part``. A link is kept, and the file that it points to is replaced. The mode
    is what the umask gives a new file. Raises OutputError when a file can't be written or is write-protected.
    """
    parts: dict[Path, Path] = {}
    path = Path()
    try:
        for path, content in contents.items():
            target = _replaceable(path)
            parts[path] = target.with_name(PARTS.replace("*", secrets.token_hex(4)))
            _write(parts[path], content)
        for path, part in parts.items():
            part.replace(os.path.realpath(path))
        for place in {part.parent for part in parts.values()}:
            _sync_folder(place)
    except BaseException as error:
        remove(parts.values())
        if isinstance(error, OSError):
            raise OutputError(f"{path}: can't be written: {error.strerror or error}") from error
        raise


def remove(paths: Iterable[Path]) -> None:
    """Remove files as far as they are there and can be removed."""
    for path in paths:
        with contextlib.suppress(OSError):
            path.unlink()


def folder(path: Path, *, key: str = "--out") -> Path:
    """Return ``path`` after making it, and its parents, if it isn't there.

    Raises SettingError under the setting's name ``key`` when it can't be made, is no folder, or no file can be
    written in it; the last is found by opening a nameless one.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            pass
    except FileExistsError:
        raise SettingError(key, f"{path} is a file; name a folder") from None
    except OSError as error:
        raise SettingError(
            key, f"{path} can't be written ({error.strerror or error}); name a folder that can"
        ) from error
    except ValueError:  # a NUL in it, or half a surrogate pair, as a program may give them
        raise SettingError(key, f"{path} holds a character that no path can; name another folder") from None
    return path


def _replaceable(path: Path) -> Path:
    """Return the file that ``path`` stands for; raises OutputError where it is a folder or write-protected.

    A rename would go over a protected file without asking, so its mode is looked at first, for the superuser too.
    """
    target = Path(os.path.realpath(path))
    if target.is_dir():
        raise OutputError(f"{path}: can't be written: a folder of this name stands there")
    if target.exists() and not (target.stat().st_mode & 0o222 and os.access(target, os.W_OK)):
        raise OutputError(f"{path}: can't be written: it is write-protected")
    return target


def _write(part: Path, content: bytes) -> None:
    with part.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(path: Path) -> None:
    """Force the folder's entries for the new names to the disk.

    Some systems can't open a folder and some network file systems can't sync one. The files are whole and in their
    place by then, so that is no failure.
    """
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS):
            raise
    finally:
        os.close(handle)
