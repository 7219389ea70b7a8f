"""The one way in which files reach the disk: each is complete or absent, an old one never half-written."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import tempfile
from pathlib import Path

from shadowrout.errors import OutputError, SettingError


def save(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path`` as a whole or not at all.

    The bytes go to a new file in the same folder, are forced to the disk, and then take the target's name in one
    step (POSIX rename), so that whoever opens ``path`` finds the old content or the new. A failure of any kind,
    an interruption by the user included, removes the new file and leaves the old; only a process that is killed
    outright can leave a hidden file ``.shadowrout-XXXXXXXX.part``. A link is kept, and the file that it points
    to is replaced. The mode is what the umask gives a new file. Raises OutputError when the file can't be written.
    """
    target = Path(os.path.realpath(path))
    if target.is_dir():
        raise OutputError(f"{path}: can't be written: a folder of this name stands there")
    part = target.with_name(f".shadowrout-{secrets.token_hex(4)}.part")
    try:
        _write(part, content)
        part.replace(target)
        _sync_folder(target.parent)
    except BaseException as error:
        with contextlib.suppress(OSError):
            part.unlink()
        if isinstance(error, OSError):
            raise OutputError(f"{path}: can't be written: {error.strerror or error}") from error
        raise


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
    return path


def _write(part: Path, content: bytes) -> None:
    with part.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(path: Path) -> None:
    """Force the folder's entry for the new name to the disk.

    Some systems can't open a folder and some network file systems can't sync one. The file is whole and in its
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
