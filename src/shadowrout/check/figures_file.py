"""Reads numbers.json: bounded before it is parsed, and each known figure kept only where it is what its key says.

So whoever takes a figure by its key gets one of its kind, or none; what was left out is told.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from shadowrout.check.figure_kinds import FIGURES, FigureKind, Known, is_number, is_text
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.untrusted import UnusableFileError, bytes_of, shown

_MOST_BYTES = 32_000_000
"""A plaque takes some 10 kB, and the stock some 100 bytes a sheet."""
_MOST_DEPTH = 32
"""Four times as deep as any figure."""
_MOST_DIGITS = 15
"""What a number of 64 bits holds of decimals (IEEE 754); longer whole numbers are read as such numbers."""
_SIGNS = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+(?:"|\Z)|[\[{]|[\]}]', re.DOTALL)
"""Texts, which may hold brackets, and brackets outside of them."""
_MOST_TOLD = 20
"""More would not be read."""
_AGAIN = "make the plaque again"
_ONE_RUN = "make the job again; job.toml, numbers.json and the drawings belong to one run"


@dataclass(frozen=True, eq=False)
class FiguresAsRead:
    """The whole file's figures, and what is wrong: ``faults`` of the file, ``of_plaques`` by a plaque's name."""

    figures: dict[str, Any]
    faults: tuple[tuple[Promise, Finding], ...] = ()
    of_plaques: dict[str, list[tuple[Promise, Finding]]] = field(default_factory=dict)


def read_figures(path: Path) -> FiguresAsRead:
    """Return the figures of numbers.json; none where it can't be read, which is among the faults then."""
    twice = list[str]()
    try:
        content = bytes_of(path, most=_MOST_BYTES)
        _bound_depth(content)
        told = json.loads(
            content.decode("utf-8-sig"), parse_int=_whole, object_pairs_hook=lambda pairs: _table(pairs, twice)
        )
        if not isinstance(told, dict):
            raise UnusableFileError("holds no table of figures")
    except UnusableFileError as problem:
        return FiguresAsRead({}, ((Promise.COMPLETE, Finding(None, f"{path.name}: {problem}", _AGAIN)),))
    except (RecursionError, ValueError) as problem:
        line = f" near line {problem.lineno}" if isinstance(problem, json.JSONDecodeError) else ""
        what = f"{path.name}: can't be read{line}: it is damaged"
        return FiguresAsRead({}, ((Promise.COMPLETE, Finding(None, what, _AGAIN)),))
    return _sorted_out(told, path.name, twice)


def _bound_depth(content: bytes) -> None:
    """Raise UnusableFileError where lists and tables stand within each other too deep."""
    depth = 0
    for sign in _SIGNS.finditer(content):
        opening = sign[0][:1]
        depth += (opening in b"[{") - (opening in b"]}")
        if depth > _MOST_DEPTH:
            raise UnusableFileError(f"holds lists within lists, {_MOST_DEPTH} and more deep, and isn't read")


def _whole(digits: str) -> int | float:
    return int(digits) if len(digits) <= _MOST_DIGITS else float(digits)


def _table(pairs: list[tuple[str, Any]], twice: list[str]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) < len(pairs):
        keys = [key for key, _ in pairs]
        twice.extend(sorted({key for key in keys if keys.count(key) > 1}))
    return table


def _sorted_out(told: dict[str, Any], name: str, twice: list[str]) -> FiguresAsRead:
    """Return the figures that are of their kind, and what is said of the others."""
    wrong = _Wrong()
    figures = wrong.without(told, FIGURES, ())
    faults = [_fault(name, f"{shown(key)} stands there twice") for key in dict.fromkeys(twice)]
    of_plaques: dict[str, list[tuple[Promise, Finding]]] = {}
    for path, words in wrong.found:
        plaque = _plaque_of(path, told)
        (faults if plaque is None else of_plaques.setdefault(plaque, [])).append(
            _fault(name, f"{' '.join(map(str, path))} {words}")
        )
    return FiguresAsRead(figures, tuple(faults), of_plaques)


def _fault(name: str, what: str) -> tuple[Promise, Finding]:
    return Promise.FIGURES, Finding(None, f"{name}: {what}", _ONE_RUN)


def _plaque_of(path: _Path, told: dict[str, Any]) -> str | None:
    """Return the name of the plaque that a figure tells of; None where it tells of the whole job."""
    if path[0] != "plaques" or len(path) < 3:
        return None
    name = told["plaques"][int(path[1]) - 1].get("name")
    return name if isinstance(name, str) else None


_Path = tuple[str | int, ...]
"""Keys, and places in lists counted from 1, down to a figure."""


class _Wrong:
    """Picks out what isn't of its kind: where it stood, and what is wrong with it."""

    def __init__(self) -> None:
        self.found: list[tuple[_Path, str]] = []

    def without(self, value: Any, known: Known, path: _Path) -> Any:
        """Return a value without what isn't of its kind; None where it is all of it."""
        if isinstance(known, FigureKind):
            return value if known.holds(value) else self.tell(value, known.words, path)
        if isinstance(known, list):
            if not isinstance(value, list):
                return self.tell(value, "a list", path)
            kept = [self.without(entry, known[0], (*path, place)) for place, entry in enumerate(value, start=1)]
            return [entry for entry in kept if entry is not None]
        if not isinstance(value, dict):
            return self.tell(value, "a table", path)
        table = {key: self.without(entry, known.get(key, _ANYTHING), (*path, key)) for key, entry in value.items()}
        return {key: entry for key, entry in table.items() if entry is not None}

    def tell(self, value: Any, words: str, path: _Path) -> None:
        if len(self.found) < _MOST_TOLD:
            where = tuple(step if isinstance(step, int) else shown(step) for step in path)
            self.found.append((where, f"is {_said(value)}, not {words}"))


def _said(value: Any) -> str:
    """Return what a value is, in a few words."""
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "a table"
    return shown(json.dumps(value))


def _is_plain(value: Any) -> bool:
    """Return whether a value of a key that isn't known holds nothing but usable numbers and texts."""
    if isinstance(value, dict):
        return all(map(is_text, value)) and all(map(_is_plain, value.values()))
    if isinstance(value, list):
        return all(map(_is_plain, value))
    return value is None or isinstance(value, bool) or is_number(value) or is_text(value)


_ANYTHING = FigureKind("numbers and texts that can be used", _is_plain)
