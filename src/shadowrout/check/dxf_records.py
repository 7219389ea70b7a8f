"""A DXF file taken apart into records, each begun by a group code 0, by section (DXF Reference, ASCII DXF files)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from shadowrout.check.findings import Promise
from shadowrout.check.untrusted import UnusableFileError, number, shown, whole_number

MOST_BYTES = 100_000_000
"""Four times the largest known, a carve drawing of 10,000 strokes, each once more at its true depth."""

_MOST_LINES = 16_000_000
"""So many lines of text fill a gigabyte; the largest known has a quarter."""

_SECTIONS = ("HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS", "THUMBNAILIMAGE")
"""The sections of which none draws anything that isn't looked at (DXF Reference)."""

_FIRST_IN_UTF_8 = b"AC1021"
"""The version, R2007, from which on files are in UTF-8; those before are in the code page that they name."""

_CODE = re.compile(r"\s*-?\d{1,4}\s*", re.ASCII)
_DAMAGED = "can't be read as DXF: it is cut off or damaged"


@dataclass(frozen=True, eq=False)
class DxfRecord:
    """One record: its kind, as ``LWPOLYLINE``, and the group codes that follow with their values."""

    kind: str
    codes: list[int]
    values: list[str]

    def text(self, code: int, default: str = "") -> str:
        """Return the first value of a group code."""
        return self.values[self.codes.index(code)] if code in self.codes else default

    def number(self, code: int) -> float:
        """Return the first value of a group code as a number, 0 without it; ValueError where it is none."""
        return number(self.values[self.codes.index(code)]) if code in self.codes else 0.0

    def whole(self, code: int, default: int = 0) -> int:
        """Return the first value of a group code as a whole number; ValueError where it is none."""
        return whole_number(self.values[self.codes.index(code)]) if code in self.codes else default

    def point(self, code: int = 10) -> tuple[float, float, float]:
        """Return the first point whose x, y and z have the group codes ``code``, 10 and 20 more."""
        return self.number(code), self.number(code + 10), self.number(code + 20)

    def extended(self, application: str) -> list[tuple[int, str]]:
        """Return the group codes and values of the extended data under an application's name."""
        found, own = [], False
        for code, value in zip(self.codes, self.values, strict=True):
            if code == 1001:
                own = value == application
            elif code >= 1000 and own:
                found.append((code, value))
        return found


@dataclass(frozen=True, eq=False)
class DxfRecords:
    """The records of a file: ``header`` by its variables' names, as ``$INSUNITS``, the others by their section's.

    ``asides`` are what programs may read otherwise, by the promise that it touches; words follow after the file's name.
    """

    header: dict[str, DxfRecord] = field(default_factory=dict)
    sections: dict[str, list[DxfRecord]] = field(default_factory=dict)
    asides: list[tuple[Promise, str]] = field(default_factory=list)

    def table(self, kind: str) -> list[DxfRecord]:
        """Return the entries of one kind, as ``LAYER``, of the tables."""
        return [record for record in self.sections.get("TABLES", []) if record.kind == kind]

    def section(self, name: str) -> list[DxfRecord]:
        """Return the records of a section; none where it isn't there."""
        return self.sections.get(name, [])


def read_records(content: bytes) -> DxfRecords:
    """Return the records of a DXF file.

    Raises UnusableFileError where it is no ASCII DXF, isn't whole, or has more lines than may be taken apart.
    """
    if content.count(b"\n") > _MOST_LINES:
        raise UnusableFileError(f"has more than {_MOST_LINES} lines, and isn't read")
    try:
        lines = _decoded(content).replace("\r\n", "\n").split("\n")
        known = {line: _code(line) for line in set(lines[:-1:2])}
        codes, values = [known[line] for line in lines[:-1:2]], lines[1::2]
        starts = [place for place, code in enumerate(codes) if code == 0]
        every = zip(starts, [*starts[1:], len(codes)], strict=True)
        return _by_section(DxfRecord(values[s].strip(), codes[s + 1 : e], values[s + 1 : e]) for s, e in every)
    except (LookupError, ValueError):
        raise UnusableFileError(_DAMAGED) from None


def _code(line: str) -> int:
    if not _CODE.fullmatch(line):
        raise ValueError(line)
    return int(line)


def _decoded(content: bytes) -> str:
    version = re.search(rb"\$ACADVER\s+1\s+(\w+)", content)
    if version and version[1] >= _FIRST_IN_UTF_8:
        return content.decode("utf-8")
    page = re.search(rb"\$DWGCODEPAGE\s+3\s+\w{1,20}_(\d{1,5})\b", content)
    return re.sub(r"(\\U\+[0-9A-Fa-f]{4})+", _unescaped, content.decode(f"cp{page[1].decode() if page else 1252}"))


def _unescaped(characters: re.Match[str]) -> str:
    r"""Return the characters that a code page lacks, which are written as ``\U+`` and units of UTF-16."""
    return bytes.fromhex(characters[0].replace(r"\U+", "")).decode("utf-16-be")


def _by_section(records: Iterable[DxfRecord]) -> DxfRecords:
    found = DxfRecords()
    name, ended = "", False
    for record in records:
        if ended:
            found.asides.append((Promise.COMPLETE, "has more after its EOF, which programs don't read"))
            break
        if record.kind == "SECTION":
            if name:
                raise ValueError(f"the section {name} has no end")
            name = record.text(2)
            _begin(name, record, found)
        elif record.kind == "ENDSEC":
            name = ""
        elif record.kind == "EOF":
            ended = True
        elif name:
            found.sections[name].append(record)
        else:
            found.asides.append((Promise.COMPLETE, f"has a {shown(record.kind)} outside of its sections"))
    if name:
        raise ValueError(f"the section {name} has no end")
    return found


def _begin(name: str, record: DxfRecord, found: DxfRecords) -> None:
    if name in found.sections:
        found.asides.append((Promise.COMPLETE, f"has two sections {shown(name)}"))
    elif name not in _SECTIONS:
        found.asides.append((Promise.MARKED, f"has a section {shown(name)}, which is not promised"))
    found.sections.setdefault(name, [])
    if name == "HEADER":
        names = Counter(value for code, value in zip(record.codes, record.values, strict=True) if code == 9)
        twice = [name for name, times in names.items() if times > 1 and not name.startswith("$CUSTOMPROPERTY")]
        found.asides.extend((Promise.TRUE_SIZE, f"says {shown(name)} twice") for name in twice)
        found.header.update(_variables(record))


def _variables(section: DxfRecord) -> dict[str, DxfRecord]:
    """Return the variables of the header, each named by a group code 9."""
    variables: dict[str, DxfRecord] = {}
    variable = DxfRecord("", [], [])
    for code, value in zip(section.codes, section.values, strict=True):
        if code == 9:
            variable = variables[value] = DxfRecord(value, [], [])
        else:
            variable.codes.append(code)
            variable.values.append(value)
    return variables
