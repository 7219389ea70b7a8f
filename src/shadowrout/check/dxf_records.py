"""An ASCII DXF file as records, each begun by a group code 0, by section (DXF Reference, ASCII DXF files)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_FIRST_IN_UTF_8 = b"AC1021"
"""The version, R2007, from which on files are in UTF-8; those before are in the code page that they name."""


@dataclass(frozen=True, eq=False)
class Record:
    """One record: its kind, as ``LWPOLYLINE``, and the group codes that follow with their values."""

    kind: str
    codes: list[int]
    values: list[str]

    def text(self, code: int, default: str = "") -> str:
        """Return the first value of a group code."""
        return self.values[self.codes.index(code)] if code in self.codes else default

    def number(self, code: int, default: float = 0.0) -> float:
        """Return the first value of a group code as a number; ValueError where it is none."""
        return float(self.values[self.codes.index(code)]) if code in self.codes else default

    def whole(self, code: int, default: int = 0) -> int:
        """Return the first value of a group code as a whole number; ValueError where it is none."""
        return int(self.values[self.codes.index(code)]) if code in self.codes else default

    def point(self, code: int = 10) -> tuple[float, float, float]:
        """Return the first point whose x, y and z have the group codes ``code``, 10 and 20 more."""
        return self.number(code), self.number(code + 10), self.number(code + 20)

    def extended(self, application: str) -> list[str]:
        """Return the strings of the extended data under an application's name."""
        strings, own = [], False
        for code, value in zip(self.codes, self.values, strict=True):
            if code == 1001:
                own = value == application
            elif code == 1000 and own:
                strings.append(value)
        return strings


@dataclass(frozen=True, eq=False)
class Records:
    """The records of a file: ``header`` by its variables' names, as ``$INSUNITS``, the others by their section's."""

    header: dict[str, Record]
    sections: dict[str, list[Record]]

    def table(self, kind: str) -> list[Record]:
        """Return the entries of one kind, as ``LAYER``, of the tables."""
        return [record for record in self.sections.get("TABLES", []) if record.kind == kind]


def read_records(content: bytes) -> Records:
    """Return the records of a DXF file.

    Raises ValueError or LookupError where it is no ASCII DXF or isn't whole.
    """
    lines = _decoded(content).replace("\r\n", "\n").split("\n")
    known = {line: int(line) for line in set(lines[:-1:2])}
    codes, values = [known[line] for line in lines[:-1:2]], lines[1::2]
    starts = [place for place, code in enumerate(codes) if code == 0]
    every = zip(starts, [*starts[1:], len(codes)], strict=True)
    return _by_section(Record(values[s].strip(), codes[s + 1 : e], values[s + 1 : e]) for s, e in every)


def _decoded(content: bytes) -> str:
    version = re.search(rb"\$ACADVER\s+1\s+(\w+)", content)
    if version and version[1] >= _FIRST_IN_UTF_8:
        return content.decode("utf-8")
    page = re.search(rb"\$DWGCODEPAGE\s+3\s+\w+_(\d+)", content)
    return re.sub(r"(\\U\+[0-9A-Fa-f]{4})+", _unescaped, content.decode(f"cp{page[1].decode() if page else 1252}"))


def _unescaped(characters: re.Match[str]) -> str:
    r"""Return the characters that a code page lacks, which are written as ``\U+`` and units of UTF-16."""
    return bytes.fromhex(characters[0].replace(r"\U+", "")).decode("utf-16-be")


def _by_section(records: Iterable[Record]) -> Records:
    sections: dict[str, list[Record]] = {}
    header: dict[str, Record] = {}
    name = ""
    for record in records:
        if record.kind == "SECTION":
            name = record.text(2)
            sections[name] = []
            if name == "HEADER":
                header = _variables(record)
        elif record.kind == "ENDSEC":
            name = ""
        elif name:
            sections[name].append(record)
    if name:
        raise ValueError(f"the section {name} has no end")
    return Records(header, sections)


def _variables(section: Record) -> dict[str, Record]:
    """Return the variables of the header, each named by a group code 9."""
    variables: dict[str, Record] = {}
    variable = Record("", [], [])
    for code, value in zip(section.codes, section.values, strict=True):
        if code == 9:
            variable = variables[value] = Record(value, [], [])
        else:
            variable.codes.append(code)
            variable.values.append(value)
    return variables
