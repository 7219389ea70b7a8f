"""The one way in which words reach a terminal: results on standard output, everything else on standard error.

Where one of them is closed, full or has nobody who reads it, the work goes on, and its end is what counts.
"""

from __future__ import annotations

import contextlib
import json
import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TextIO

from shadowrout.words.showing import showable


@dataclass
class _Output:
    """What became of standard output: the error that the first write ended with that didn't arrive."""

    lost: OSError | None = None


_output = _Output()


def prepare() -> None:
    """Have all three standard streams open, on the null device where they were closed.

    Else the first file that is opened would get a closed stream's number, and all that a library prints.
    """
    _output.lost = None
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        try:
            os.fstat(number)
        except OSError:
            os.set_inheritable(os.open(os.devnull, os.O_RDWR), True)  # the lowest number that is free (POSIX, open)
        if getattr(sys, name) is None:
            stream = Path(os.devnull).open("w" if number else "r", encoding="utf-8")  # noqa: SIM115 - for good
            setattr(sys, name, stream)


def say(text: str) -> None:
    """Print a result on standard output, with a line's end."""
    _write_result(showable(text) + "\n")


def say_json(text: str) -> None:
    """Print JSON text as it is on standard output; what a terminal can't show stands as JSON's own escapes."""
    _write_result("".join(c if _passes(c) else json.dumps(c)[1:-1] for c in text))


def tell(text: str) -> None:
    """Print what a person should know and no result depends on, on standard error, with a line's end."""
    try:
        sys.stderr.write(showable(text) + "\n")
        sys.stderr.flush()
    except OSError:
        _discard(sys.stderr)


def ended(code: int) -> int:
    """Return the exit code for work that ended with ``code``: 1 where that is 0 and its results couldn't be printed.

    A reader that has gone, as ``head`` does when it has seen enough, is no failure.
    """
    _write_result("")
    if _output.lost is None or isinstance(_output.lost, BrokenPipeError):
        return code
    tell(f"shadowrout: standard output can't be written ({_output.lost.strerror}); the work itself is done")
    return code or 1


def _write_result(text: str) -> None:
    try:
        sys.stdout.write(_encodable(text))
        sys.stdout.flush()
    except OSError as error:
        _output.lost = _output.lost or error
        _discard(sys.stdout)


def _encodable(text: str) -> str:
    encoding = sys.stdout.encoding or "utf-8"
    return text.encode(encoding, "backslashreplace").decode(encoding)


def _passes(character: str) -> bool:
    if character.isascii():
        return character.isprintable() or character == "\n"
    with contextlib.suppress(UnicodeEncodeError):
        character.encode(sys.stdout.encoding or "utf-8")
        return character.isprintable()
    return False


def _discard(stream: TextIO) -> None:
    """Let a stream that can't be written end nowhere, so that nothing fails as the process ends and flushes it."""
    with contextlib.suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, stream.fileno())
            stream.flush()
        finally:
            os.close(nowhere)
