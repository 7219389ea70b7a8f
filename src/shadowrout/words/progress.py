"""How a step of the work tells how far it is, and how that is shown on one line of a terminal."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TextIO

_CLEAR_LINE = "\r\x1b[K"

Progress = Callable[[str, float], None]
"""Called with a step's name and the share of the whole work done so far, from 0 to 1."""


def silent(step: str, share: float) -> None:
    """Report nothing."""


@contextmanager
def shown_progress(stream: TextIO) -> Iterator[Progress]:
    """Give a progress that rewrites one line of ``stream``, cleared at the end; silent where it's no terminal."""
    if not stream.isatty():
        yield silent
        return

    def show(step: str, share: float) -> None:
        width = shutil.get_terminal_size().columns - 1
        stream.write(_CLEAR_LINE + f"{share:4.0%}  {step}"[:width])
        stream.flush()

    try:
        yield show
    finally:
        stream.write(_CLEAR_LINE)
        stream.flush()
