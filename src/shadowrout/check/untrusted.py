"""What is read of a file that anyone may have written: so many bytes, plain numbers, and words fit to be shown."""

from __future__ import annotations

from pathlib import Path

MOST_SHOWN = 60
"""Characters of a file's own words that a finding quotes: more would hide what it says."""

_LONGEST_WHOLE = 12
"""Digits of a whole number: counts, flags and codes have fewer."""
_PER_MB = 1_000_000


class UnusableFileError(ValueError):
    """Why a file isn't read, in words for people that follow after its name."""


def bytes_of(path: Path, *, most: int) -> bytes:
    """Return what a file holds.

    Raises UnusableFileError where it can't be opened or holds more than ``most`` bytes, of which none is read then.
    """
    try:
        with path.open("rb") as file:
            size = path.stat().st_size
            content = b"" if size > most else file.read(most + 1)
    except OSError as problem:
        raise UnusableFileError(f"can't be opened ({problem.strerror})") from None
    if max(size, len(content)) > most:
        raise UnusableFileError(
            f"holds {size / _PER_MB:.0f} MB, more than any plaque's ({most // _PER_MB} MB), and isn't read"
        )
    return content


def number(text: str) -> float:
    """Return a decimal number as drawing programs write it, perhaps inf or nan; ValueError for anything else.

    Python's own notation, as 1_000 and digits of other scripts, is none.
    """
    if "_" in text or not text.isascii():
        raise ValueError(text[:MOST_SHOWN])
    return float(text)


def whole_number(text: str) -> int:
    """Return a whole number of a dozen digits at most; ValueError for anything else."""
    if "_" in text or not text.isascii() or len(text.strip()) > _LONGEST_WHOLE:
        raise ValueError(text[:MOST_SHOWN])
    return int(text)


def shown(text: str) -> str:
    r"""Return a file's own words as a finding may quote them: one line, no control signs, no more than a few words.

    >>> shown("scale(2)"), shown("a" * 99)[-3:], shown("a\x1b[2J")
    ('scale(2)', 'aa~', 'a?[2J')
    """
    short = text if len(text) <= MOST_SHOWN else text[: MOST_SHOWN - 1] + "~"
    return "".join(c if c.isprintable() else "?" for c in " ".join(short.split()))
