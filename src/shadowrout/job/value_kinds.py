"""The kinds of values that settings have: how each is read, checked and written.

Every kind has the members of ``schema.ValueKind``: ``allowed`` says what may be given, ``read`` returns the checked
value of what a job file or a flag gave or raises ValueError, ``held`` does so for what a program gave, and ``write``
returns it as TOML such that ``read`` gives the same value back.
"""

from __future__ import annotations

import difflib
import json
import math
from dataclasses import dataclass
from numbers import Real
from pathlib import Path
from typing import Any, TypeGuard

from shadowrout.words.lengths import written_mm, written_size
from shadowrout.words.units import MM_PER_INCH, Bare, Sides, has_unit, in_inches, length_mm, size_mm

MOST_BOXES = 100
"""More than anybody draws by hand; each is painted over the whole picture."""
MOST_ROWS = 1000
"""Rows of numbers in a list: more bridges or boxes than anybody places by hand (a judgement)."""


@dataclass(frozen=True)
class Length:
    """A length in millimetres inside, between two limits; a ``Bare`` one where it was given without a unit."""

    least: float
    greatest: float

    @property
    def allowed(self) -> str:
        return f"a length from {written_mm(self.least)} to {written_mm(self.greatest)}"

    def read(self, value: object) -> float:
        if not isinstance(value, str) or not has_unit(value):
            return Bare(self._without_unit(value))
        within = _between_in_inches if in_inches(value) else _between
        return within(length_mm(value), self.least, self.greatest)

    def held(self, value: object) -> float:
        if isinstance(value, str):
            return self.read(value)
        length = self._without_unit(value)
        return Bare(length) if isinstance(value, Bare) else length

    def _without_unit(self, value: object) -> float:
        length = length_mm(value) if isinstance(value, str) else _rounded(value, "not a length")
        if length < self.least <= length * MM_PER_INCH <= self.greatest:
            raise ValueError(_meant_inches(value))
        return _between(length, self.least, self.greatest)

    def write(self, value: float) -> str:
        return toml_text(written_mm(value))


@dataclass(frozen=True)
class Number:
    """A plain number between two limits."""

    least: float
    greatest: float
    unit: str = ""

    @property
    def allowed(self) -> str:
        return f"a number from {_plain(self.least)} to {_plain(self.greatest)}{self.unit and ' ' + self.unit}"

    def read(self, value: object) -> float:
        if isinstance(value, str):
            per_cent = self.greatest <= 1 and value.strip().endswith("%")
            value = float(value.strip().removesuffix("%")) / 100 if per_cent else float(value)
        if not _is_number(value):
            raise ValueError("not a number")
        number = float(value)
        if self.greatest <= 1 < number and self.least <= number / 100 <= self.greatest:
            raise ValueError(f"too large for a share of 1: for {number:g} % write {number / 100:g}")
        return _between(number, self.least, self.greatest)

    held = read

    def write(self, value: float) -> str:
        return _plain(value)


@dataclass(frozen=True)
class Switch:
    """On or off; on the command line ``--flow`` and ``--no-flow``."""

    allowed = "true or false"

    def read(self, value: object) -> bool:
        if isinstance(value, str) and value in ("true", "false"):
            return value == "true"
        if not isinstance(value, bool):
            raise ValueError("not among the choices")
        return value

    held = read

    def write(self, value: bool) -> str:
        return str(value).lower()


@dataclass(frozen=True)
class Choice:
    """One word of a few."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return "one of " + ", ".join(self.words)

    def read(self, value: object) -> str:
        return _among(value, self.words)

    held = read

    def write(self, value: str) -> str:
        return toml_text(value)


@dataclass(frozen=True)
class Choices:
    """A list of words out of a few, each once; a flag gives them with commas."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return "any of " + ", ".join(self.words)

    def read(self, value: object) -> tuple[str, ...]:
        given = value.split(",") if isinstance(value, str) else value
        if not isinstance(given, (list, tuple)) or not given:
            raise ValueError("not a list of words")
        words = [_among(word, self.words) for word in given]
        return tuple(word for word in self.words if word in words)

    held = read

    def write(self, value: tuple[str, ...]) -> str:
        return "[" + ", ".join(map(toml_text, value)) + "]"


@dataclass(frozen=True)
class Size:
    """Width and height, each between two limits."""

    least: float
    greatest: float

    @property
    def allowed(self) -> str:
        return (
            f"width x height, each side from {written_mm(self.least)} to {written_mm(self.greatest)}, "
            'as in 200x250mm or 8 1/2 x 11"'
        )

    def read(self, value: object) -> Sides:
        if not isinstance(value, str):
            raise ValueError("not a size")
        size = size_mm(value)
        if min(size) < self.least and not has_unit(value):
            raise ValueError(_meant_inches(value))
        for side in size:
            (_between_in_inches if size.inches else _between)(side, self.least, self.greatest)
        return size

    def held(self, value: object) -> tuple[float, float]:
        if isinstance(value, str):
            return self.read(value)
        if not isinstance(value, (list, tuple)) or len(value) != 2:
            raise ValueError("not a size")
        width, height = (_between(_rounded(side, "not a size"), self.least, self.greatest) for side in value)
        return value if isinstance(value, Sides) else (width, height)

    def write(self, value: tuple[float, float]) -> str:
        return toml_text(written_size(value))


@dataclass(frozen=True)
class Box:
    """A rectangle of a picture: left, top, right, bottom as shares of its width and height, between two limits."""

    least: float = 0
    greatest: float = 1

    @property
    def allowed(self) -> str:
        return f"left, top, right, bottom as shares from {self.least:g} to {self.greatest:g}, as in [0.1, 0, 0.9, 1]"

    def read(self, value: object) -> tuple[float, float, float, float]:
        given = _list_in(value) if isinstance(value, str) else value
        if not isinstance(given, (list, tuple)) or len(given) != 4 or not all(map(_is_number, given)):
            raise ValueError("not four numbers")
        left, top, right, bottom = (_between(float(part), self.least, self.greatest) for part in given)
        if not (left < right and top < bottom):
            raise ValueError("the right side must lie right of the left one and the bottom below the top")
        return left, top, right, bottom

    held = read

    def write(self, value: tuple[float, float, float, float]) -> str:
        return "[" + ", ".join(map(_plain, value)) + "]"


@dataclass(frozen=True)
class Boxes:
    """A list of rectangles of a picture; a flag separates them by semicolons."""

    allowed = f"a list of boxes, each {Box().allowed}"

    def read(self, value: object) -> tuple[tuple[float, float, float, float], ...]:
        if isinstance(value, str):
            value = _rows_in(value)
        if not isinstance(value, (list, tuple)) or len(value) > MOST_BOXES:
            raise ValueError(f"not a list of {MOST_BOXES} boxes or fewer")
        return tuple(Box().read(box) for box in value)

    held = read

    def write(self, value: tuple[tuple[float, float, float, float], ...]) -> str:
        return "[" + ", ".join(map(Box().write, value)) + "]"


@dataclass(frozen=True)
class NumberRows:
    """A list of rows of numbers, as many in each as there are ``names``; a flag separates rows by semicolons."""

    names: tuple[str, ...]
    greatest: float
    """How large a number may be, above 0 or below."""

    @property
    def allowed(self) -> str:
        row = ", ".join(self.names)
        return f"a list of [{row}], {MOST_ROWS} at most, of numbers from {-self.greatest:g} to {self.greatest:g}"

    def read(self, value: object) -> tuple[tuple[float, ...], ...]:
        if isinstance(value, str):
            value = _rows_in(value)
        if not isinstance(value, (list, tuple)):
            raise ValueError("not a list")
        if len(value) > MOST_ROWS:
            raise ValueError(f"too many: {len(value):,}")
        return tuple(self._row(row) for row in value)

    held = read

    def write(self, value: tuple[tuple[float, ...], ...]) -> str:
        return "[" + ", ".join("[" + ", ".join(map(_plain, row)) + "]" for row in value) + "]"

    def _row(self, row: object) -> tuple[float, ...]:
        if not isinstance(row, (list, tuple)) or len(row) != len(self.names):
            raise ValueError(f"each row needs {len(self.names)} numbers")
        if not all(map(_is_number, row)):
            raise ValueError("not a number")
        return tuple(_between(float(part), -self.greatest, self.greatest) for part in row)


@dataclass(frozen=True)
class PictureFile:
    """The path of a picture, from the job file's folder where it is not absolute."""

    allowed = "the path of a picture"

    def read(self, value: object) -> Path:
        if not isinstance(value, (str, Path)) or not str(value) or "\0" in str(value):
            raise ValueError("not a path")
        return Path(value)

    held = read

    def write(self, value: Path) -> str:
        return toml_text(value.as_posix())


@dataclass(frozen=True)
class FolderName:
    """A name that is safe as a folder's on every system."""

    allowed = "letters, digits, spaces and . _ - +, 60 at most, starting with a letter or digit"

    def read(self, value: object) -> str:
        if not isinstance(value, str) or not 0 < len(value) <= 60 or not value[0].isalnum():
            raise ValueError("not a folder name")
        if any(not (c.isalnum() or c in " ._-+") for c in value) or value[-1] in " .":
            raise ValueError("not a folder name")
        return "".join(value)  # plain text, whatever class of text it was

    held = read

    def write(self, value: str) -> str:
        return toml_text(value)


def _plain(value: float) -> str:
    """Return a number as a job file holds it, without a tail that says nothing; reading it gives the same number.

    >>> _plain(60.0), _plain(0.1), _plain(1e6)
    ('60', '0.1', '1000000')
    """
    return repr(float(value)).removesuffix(".0")


def _is_number(value: object) -> TypeGuard[float]:
    """Return whether a value is a real number; those that NumPy's arrays hold are (numbers.Real)."""
    return isinstance(value, Real) and not isinstance(value, bool)


def _rounded(value: object, problem: str) -> float:
    """Return a number of millimetres as ``length_mm`` rounds what it reads; ValueError with ``problem`` for others."""
    if not _is_number(value):
        raise ValueError(problem)
    return round(float(value), 6)


def _list_in(text: str) -> Any:
    """Return what stands in a flag's text: numbers with commas, or a list as in a job file; ValueError for others."""
    return json.loads(text) if text.strip().startswith("[") else [float(part) for part in text.split(",")]


def _rows_in(text: str) -> Any:
    """Return the rows in a flag's text: rows with semicolons, or a list of one or more as in a job file."""
    if not text.strip().startswith("["):
        return [_list_in(row) for row in text.split(";") if row.strip()]
    rows = _list_in(text)
    return rows if not rows or isinstance(rows[0], list) else [rows]


def toml_text(text: str) -> str:
    r"""Return text as a TOML basic string (TOML 1.0.0, strings).

    >>> toml_text('8 1/2"')
    '"8 1/2\\""'
    """
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08X}" for c in escaped) + '"'


def _among(value: object, words: tuple[str, ...]) -> str:
    """Return the word that was given, whatever its capitals; ValueError names the nearest where there is none."""
    if not isinstance(value, str):
        raise ValueError("not among the choices")
    given = value.strip().casefold()
    for word in words:
        if word.casefold() == given:
            return word
    near = difflib.get_close_matches(given, words, n=1, cutoff=0.6)
    raise ValueError(f"not among the choices; did you mean {near[0]}?" if near else "not among the choices")


def _meant_inches(value: object) -> str:
    return f"too small, read as millimetres: for inches write {str(value).strip()}in"


def _between_in_inches(length_mm: float, least_mm: float, greatest_mm: float) -> float:
    """Return a length that was written in inches; ValueError tells the limit that it passes, in inches too."""
    if length_mm < least_mm:
        least = math.ceil(least_mm / MM_PER_INCH * 1000) / 1000  # rounded inwards, so that it works as told
        raise ValueError(f"too small: {written_mm(least_mm)} is {least:g}in")
    if length_mm > greatest_mm:
        most = math.floor(greatest_mm / MM_PER_INCH * 1000) / 1000
        raise ValueError(f"too large: {written_mm(greatest_mm)} is {most:g}in")
    return length_mm


def _between(value: float, least: float, greatest: float) -> float:
    if not math.isfinite(value):
        raise ValueError("not a number")
    if value < least:
        raise ValueError("too small")
    if value > greatest:
        raise ValueError("too large")
    return value
