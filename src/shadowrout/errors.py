"""The errors a user can meet, each with the exit code that the command line gives for it.

Only the command line catches them and exits; every other room raises. A message is one line that says what
was wrong, what it was, and what would work.
"""

from __future__ import annotations

from typing import Self

from shadowrout.words.sentences import Sentence, worded
from shadowrout.words.showing import showable
from shadowrout.words.units import Unit


class ShadowroutError(Exception):
    """Base of every error this program raises on purpose.

    Its message is one line that any terminal can show: white space is folded, what can't be printed is escaped. It is
    in millimetres; where it was raised with a ``Sentence``, ``in_unit`` tells it in the reader's unit.
    """

    exit_code = 1

    def __init__(self, *parts: str | Sentence) -> None:
        super().__init__(*parts)

    @property
    def sentence(self) -> Sentence:
        """What it says, for another error to say in its turn."""
        return Sentence.joined(self.args, by=": ")

    def in_unit(self, unit: Unit) -> Self:
        """Return the same error with its lengths told in ``unit``."""
        return type(self)(*(worded(part, unit) for part in self.args))

    def __str__(self) -> str:
        return showable(" ".join(str(self.sentence).split()))


class SettingError(ShadowroutError):
    """A flag or a job-file key has a value that can't be used.

    ``key`` is the setting's full name (``plaque.size``, ``--out``), ``problem`` what is wrong with it and what
    is allowed.
    """

    exit_code = 2

    def __init__(self, key: str, problem: str | Sentence) -> None:
        super().__init__(key, problem)
        self.key = key
        self.problem = problem


class InputError(ShadowroutError):
    """A picture or a job file can't be read or holds nothing to carve."""

    exit_code = 3

    def __init__(self, source: str, problem: str | Sentence) -> None:
        super().__init__(source, problem)
        self.source = source
        self.problem = problem


class PromiseError(ShadowroutError):
    """What was asked for can't be made so that it keeps a promise (tolerance, soundness, depth)."""

    exit_code = 4


class OutputError(ShadowroutError):
    """A file could not be written although the folder was usable, for example on a full disk."""

    exit_code = 1


class UncheckedError(ShadowroutError):
    """Files were written, and then something kept them from being checked."""

    exit_code = 1


def told(error: Exception) -> tuple[int, str]:
    """Return the exit code for an error and the line that tells a user of it."""
    if isinstance(error, ShadowroutError):
        return error.exit_code, str(error)
    if isinstance(error, MemoryError):
        return 1, "there is not enough memory for this job; try a smaller plaque or a coarser detail"
    return 1, str(ShadowroutError(f"a fault of the program, please report it: {type(error).__name__}: {error}"))
