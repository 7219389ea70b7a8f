"""How a step of the work tells how far it is, and how that is shown on one line of a terminal."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

from shadowrout.words.showing import showable

_CLEAR_LINE = "\r\x1b[K"

Progress = Callable[[str, float], None]
"""Called with a step's name and the share of the whole work done so far, from 0 to 1."""


def silent(step: str, share: float) -> None:
    """Report nothing."""


@contextmanager
def shown_progress(stream: TextIO) -> Iterator[Progress]:
    """Give a progress that rewrites one line of ``stream``, cleared at the end; silent where it's no terminal.

    Nor does the work stop where the terminal has gone.
    """
    if not stream.isatty():
        yield silent
        return

    def show(step: str, share: float) -> None:
        width = shutil.get_terminal_size().columns - 1
        _rewrite(stream, showable(f"{share:4.0%}  {step}")[:width])

    try:
        yield show
    finally:
        _rewrite(stream, "")


def _rewrite(stream: TextIO, line: str) -> None:
    with contextlib.suppress(OSError):
        stream.write(_CLEAR_LINE + line)
        stream.flush()
