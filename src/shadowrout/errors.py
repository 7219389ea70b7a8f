"""The errors a user can meet, each with the exit code that the command line gives for it.

Only the command line catches them and exits; every other room raises. A message is one line that says what
was wrong, what it was, and what would work.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Self


class ShadowroutError(Exception):
    """Base of every error this program raises on purpose.

    Its message is one line that any terminal can show: white space is folded, what can't be printed is escaped.
    """

    exit_code = 1

    def __init__(self, message: str) -> None:
        folded = " ".join(message.split())
        super().__init__("".join(c if c.isprintable() else ascii(c)[1:-1] for c in folded))

    def reworded(self, change: Callable[[str], str]) -> Self:
        """Return the same error in words that ``change`` made of its own; a setting's or a file's name stays."""
        return type(self)(change(str(self)))


class SettingError(ShadowroutError):
    """A flag or a job-file key has a value that can't be used.

    ``key`` is the setting's full name (``plaque.size``, ``--out``), ``problem`` what is wrong with it and what
    is allowed.
    """

    exit_code = 2

    def __init__(self, key: str, problem: str) -> None:
        super().__init__(f"{key}: {problem}")
        self.key = key
        self.problem = problem

    def reworded(self, change: Callable[[str], str]) -> Self:
        """Return the same error with its problem in other words."""
        return type(self)(self.key, change(self.problem))

    def __reduce__(self) -> tuple[type[Self], tuple[str, str]]:
        """Come out of a pickle, and so of another process, as it went in."""
        return type(self), (self.key, self.problem)


class InputError(ShadowroutError):
    """A picture or a job file can't be read or holds nothing to carve."""

    exit_code = 3

    def __init__(self, source: str, problem: str) -> None:
        super().__init__(f"{source}: {problem}")
        self.source = source
        self.problem = problem

    def reworded(self, change: Callable[[str], str]) -> Self:
        """Return the same error with its problem in other words."""
        return type(self)(self.source, change(self.problem))

    def __reduce__(self) -> tuple[type[Self], tuple[str, str]]:
        """Come out of a pickle, and so of another process, as it went in."""
        return type(self), (self.source, self.problem)


class PromiseError(ShadowroutError):
    """What was asked for can't be made so that it keeps a promise (tolerance, soundness, depth)."""

    exit_code = 4


class OutputError(ShadowroutError):
    """A file could not be written although the folder was usable, for example on a full disk."""

    exit_code = 1


def told(error: Exception) -> tuple[int, str]:
    """Return the exit code for an error and the line that tells a user of it."""
    if isinstance(error, ShadowroutError):
        return error.exit_code, str(error)
    if isinstance(error, MemoryError):
        return 1, "there is not enough memory for this job; try a smaller plaque or a coarser detail"
    return 1, str(ShadowroutError(f"a fault of the program, please report it: {type(error).__name__}: {error}"))
