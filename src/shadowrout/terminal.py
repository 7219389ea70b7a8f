"""Progress shown on one line of a terminal."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from shadowrout.progress import Progress, silent

_CLEAR_LINE = "\r\x1b[K"


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
