"""What numbers.json tells, taken as the kind of value that is expected there: what is another is noted, not met later.

A figure that can't be used is NaN, so whatever is compared with it differs from nothing; its own fault is told instead.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

_GREATEST = 1e12
"""No length, area, volume or count of a plaque in mm comes near; a larger whole number may not even be a float."""

_SHOWN_LETTERS = 40


@dataclass(frozen=True, eq=False)
class NumbersTable:
    """A table of numbers.json: ``where`` says which, for people; ``faults`` are those of the whole file."""

    values: dict[str, Any]
    where: str = ""
    faults: list[str] = field(default_factory=list)

    def number(self, key: str) -> float:
        """Return a number; NaN, and a fault, for what is none."""
        value = self.values.get(key)
        if value is not None and _is_number(value):
            return float(value)
        self._fault(key, "a number")
        return math.nan

    def numbers(self, key: str, count: int) -> tuple[float, ...]:
        """Return a list of ``count`` numbers; each is NaN, with a fault, for what is no such list."""
        value = self.values.get(key)
        if isinstance(value, list) and len(value) == count and all(map(_is_number, value)):
            return tuple(map(float, value))
        self._fault(key, f"a list of {count} numbers")
        return (math.nan,) * count

    def row(self, key: str) -> tuple[float, ...]:
        """Return a list of any number of numbers; empty, with a fault, for what is no such list."""
        value = self.values.get(key)
        if isinstance(value, list) and all(map(_is_number, value)):
            return tuple(map(float, value))
        self._fault(key, "a list of numbers")
        return ()

    def rows(self, key: str, width: int) -> list[tuple[float, ...]]:
        """Return a list of lists of ``width`` numbers each; empty, with a fault, for what is none."""
        value = self.values.get(key)
        good = isinstance(value, list) and all(
            isinstance(row, list) and len(row) == width and all(map(_is_number, row)) for row in value
        )
        if not good:
            self._fault(key, f"a list of rows of {width} numbers")
        return [tuple(map(float, row)) for row in value] if good and value else []

    def text(self, key: str) -> str:
        """Return a text; empty, with a fault, for what is none."""
        value = self.values.get(key)
        if isinstance(value, str):
            return value
        self._fault(key, "a text")
        return ""

    def texts(self, key: str) -> list[str]:
        """Return a list of texts; empty, with a fault, for what is none."""
        value = self.values.get(key)
        if isinstance(value, list) and all(isinstance(entry, str) for entry in value):
            return value
        self._fault(key, "a list of texts")
        return []

    def table(self, key: str) -> NumbersTable | None:
        """Return a table within; None, with a fault, for what is none."""
        value = self.values.get(key)
        if isinstance(value, dict):
            return NumbersTable(value, f"{self.where}{key}.", self.faults)
        self._fault(key, "a table")
        return None

    def made(self, key: str) -> NumbersTable | None:
        """Return the table of what may not have been made: None where it is empty."""
        found = self.table(key)
        return found if found and found.values else None

    def tables(self, key: str) -> list[NumbersTable]:
        """Return a list of tables; what isn't one is a fault and left out."""
        value = self.values.get(key)
        if not isinstance(value, list):
            self._fault(key, "a list")
            return []
        return list(self._tables_in(key, value))

    def _tables_in(self, key: str, entries: list[Any]) -> Iterator[NumbersTable]:
        for number, entry in enumerate(entries, start=1):
            if isinstance(entry, dict):
                yield NumbersTable(entry, f"{self.where}{key}, {number}: ", self.faults)
            else:
                self.faults.append(f"numbers.json: {self.where}{key}, {number} is {_shown(entry)}, not a table")

    def _fault(self, key: str, expected: str) -> None:
        given = _shown(self.values[key]) if key in self.values else "missing"
        self.faults.append(f"numbers.json: {self.where}{key} is {given}, not {expected}")


def _is_number(value: Any) -> bool:
    is_one = isinstance(value, (int, float)) and not isinstance(value, bool)
    return is_one and -_GREATEST < value < _GREATEST


def _shown(value: Any) -> str:
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= _GREATEST:
        return "a number beyond all measure"
    return repr(value)[:_SHOWN_LETTERS] if not isinstance(value, (dict, list)) else f"a {type(value).__name__}"
