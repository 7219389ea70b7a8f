"""Reads a written DXF file: header, layers, polylines with bulges, circles, texts, extended data (DXF Reference).

It does so by itself, not by the library that writes these files: an ASCII DXF file is taken apart into records, each
begun by a group code 0, by section (DXF Reference, ASCII DXF files).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import MM, OPEN, DrawingFile, Shape
from shadowrout.check.findings import Promise

APPLICATION = "SHADOWROUT"
VERSIONS = {"AC1009": "R12", "AC1015": "R2000", "AC1024": "R2010"}
"""Values of $ACADVER (DXF Reference, header variables)."""

UNITS = {1: "in", 4: "mm"}
"""Values of $INSUNITS (DXF Reference, header variables)."""

_CLOSED, _IN_SPACE, _MESH = 1, 8, 16 | 64
"""Flags of group code 70 (DXF Reference, POLYLINE)."""

_LIGHT_PLACES = {20: 1, 42: 2}
"""Where the values of an LWPOLYLINE's vertex go, beside the first, by their group codes."""

_FROZEN = 1
"""Flag of group code 70 (DXF Reference, LAYER)."""

_R12_NAME = re.compile(r"[A-Z0-9$_-]{1,31}")
"""Names that R12 allows (DXF Reference: 31 characters, letters, digits, $, _ and -)."""
_AGAIN = "make the plaque again and don't change the file by hand"

_FIRST_IN_UTF_8 = b"AC1021"
"""The version, R2007, from which on files are in UTF-8; those before are in the code page that they name."""


@dataclass(frozen=True, eq=False)
class _Record:
    """One record: its kind, as ``LWPOLYLINE``, and the group codes that follow with their values."""

    kind: str
    codes: list[int]
    values: list[str]

    def text(self, code: int, default: str = "") -> str:
        """Return the first value of a group code."""
        return self.values[self.codes.index(code)] if code in self.codes else default

    def number(self, code: int) -> float:
        """Return the first value of a group code as a number, 0 without it; ValueError where it is none."""
        return float(self.values[self.codes.index(code)]) if code in self.codes else 0.0

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
class _Records:
    """The records of a file: ``header`` by its variables' names, as ``$INSUNITS``, the others by their section's."""

    header: dict[str, _Record]
    sections: dict[str, list[_Record]]

    def table(self, kind: str) -> list[_Record]:
        """Return the entries of one kind, as ``LAYER``, of the tables."""
        return [record for record in self.sections.get("TABLES", []) if record.kind == kind]


def read_dxf(path: Path) -> DrawingFile:
    """Return what a DXF file holds; whatever can't be read is among its faults."""
    file = DrawingFile(path.name)
    try:
        content = path.read_bytes()
    except OSError as problem:
        file.fault(Promise.COMPLETE, f"can't be opened ({problem.strerror})", OPEN)
        return file
    if content[-16:].split()[-2:] != [b"0", b"EOF"]:
        file.fault(Promise.COMPLETE, "doesn't end with EOF: it is cut off", _AGAIN)
    try:
        _Reading(file, _read_records(content)).read()
    except (LookupError, ValueError, OverflowError):
        file.fault(Promise.COMPLETE, "can't be read as DXF: it is cut off or damaged", _AGAIN)
    return file


class _Reading:
    def __init__(self, file: DrawingFile, records: _Records) -> None:
        self.file = file
        self.records = records
        self.known_layers: set[str] = set()

    def read(self) -> None:
        version = self.variable("$ACADVER").text(1)
        self.file.version = VERSIONS.get(version, version)
        self.read_unit()
        self.read_names()
        for entity, vertices in _entities(self.records.sections["ENTITIES"]):
            self.entity(entity, vertices)
        self.read_handles()

    def variable(self, name: str) -> _Record:
        return self.records.header.get(name, _Record(name, [], []))

    def read_unit(self) -> None:
        """Set the unit, which R12 has no header variable for: there it stands with the titles on layer 0."""
        file = self.file
        for name, value in (pair for x in self.records.table("LAYER") if x.text(2) == "0" for pair in _strings(x)):
            file.titles[name] = file.titles.get(name, "") + value
        file.unit_said = file.titles.pop("unit", "")
        unit, measurement = self.variable("$INSUNITS").text(70, "missing"), self.variable("$MEASUREMENT")
        if file.version == "R12":
            file.unit = file.unit_said
        else:
            file.unit = UNITS.get(int(unit) if unit != "missing" else 0, "")
            metric = int(file.unit == "mm")
            if measurement.whole(70, -1) != metric:
                said = measurement.text(70, "missing").strip()
                self.fault_of_size(f"$MEASUREMENT is {said}, {metric} goes with the unit")
        if file.unit not in MM:
            said = f"$INSUNITS is {unit.strip()}"
            self.fault_of_size(f"its unit is not said ({said}): a reader has to guess the size")
            file.unit = "mm"
        scale = MM[file.unit]
        low, high = self.variable("$EXTMIN").point(), self.variable("$EXTMAX").point()
        if low[0] >= high[0] or low[1] >= high[1]:
            file.fault(Promise.TRUE_SIZE, "its extents ($EXTMIN, $EXTMAX) are not set", _AGAIN)
        else:
            file.page_mm = (low[0] * scale, low[1] * scale, high[0] * scale, high[1] * scale)

    def fault_of_size(self, what: str) -> None:
        self.file.fault(Promise.TRUE_SIZE, what, "set $INSUNITS (1 inch, 4 mm) and $MEASUREMENT, or make it again")

    def read_names(self) -> None:
        file = self.file
        if APPLICATION not in (x.text(2) for x in self.records.table("APPID")):
            file.fault(Promise.MARKED, f"the application id {APPLICATION} is not registered", _AGAIN)
        standing = {"0", "defpoints", "*adsk_constraints"}
        layers = [x for x in self.records.table("LAYER") if x.text(2).lower() not in standing]
        file.layers = [x.text(2) for x in layers]
        self.known_layers = {name.lower() for name in file.layers}
        file.hidden = {x.text(2) for x in layers if x.whole(62, 7) < 0 or x.whole(70) & _FROZEN}
        if file.version == "R12":
            for name in file.layers:
                if not _R12_NAME.fullmatch(name):
                    file.fault(Promise.MARKED, f"layer {name} has a name that R12 can't have (A-Z 0-9 $ _ -)", _AGAIN)

    def read_handles(self) -> None:
        """Note where two records have one handle, or an entity belongs to a handle that no record has."""
        sections = [self.records.sections.get(name, []) for name in ("TABLES", "BLOCKS", "ENTITIES", "OBJECTS")]
        handles = [handle for section in sections for record in section if (handle := _handle(record))]
        if len(set(handles)) < len(handles):
            self.file.fault(Promise.COMPLETE, "two of its records have one handle", _AGAIN)
        owners = {record.text(330, "0") for record in self.records.sections["ENTITIES"]}
        if lost := owners - {*handles, "0"}:
            what = f"its entities belong to a record that is not there (handle {min(lost)})"
            self.file.fault(Promise.COMPLETE, what, _AGAIN)

    def entity(self, entity: _Record, vertices: Sequence[_Record]) -> None:
        layer, kind = entity.text(8, "0"), entity.kind
        if layer.lower() not in self.known_layers:
            self.file.fault(Promise.MARKED, f"a {kind} lies on the layer {layer}, which is not in the table", _AGAIN)
        if entity.whole(60):
            self.file.fault(Promise.MARKED, f"layer {layer}: a {kind} is switched off", _AGAIN)
        role, marks = self.marks(entity, layer)
        scale = MM[self.file.unit]
        if kind == "TEXT":
            x, y, _ = entity.point(11 if 11 in entity.codes else 10)
            self.file.add(Shape(layer, role, marks, text=entity.text(1), at=(x * scale, y * scale)))
            return
        if kind == "LWPOLYLINE" and entity.whole(90) != entity.codes.count(10):
            what = f"layer {layer}: a {kind} has {entity.codes.count(10)} vertices and says {entity.whole(90)}"
            self.file.fault(Promise.COMPLETE, what, _AGAIN)
        curve, heights = _curve(entity, vertices, scale)
        if curve is None:
            self.file.fault(Promise.MARKED, f"layer {layer} holds a {kind}, which is not promised", _AGAIN)
        elif not (np.isfinite(curve.vertices).all() and np.isfinite(curve.bulges).all()):
            self.file.fault(Promise.COMPLETE, f"layer {layer}: a {kind} has a number that isn't finite", _AGAIN)
        elif _is_in_space(entity):
            self.file.add(Shape(layer, role, marks, curve, heights_mm=heights))
        else:
            self.file.add(Shape(layer, role, marks, curve, z_mm=heights[0]))

    def marks(self, entity: _Record, layer: str) -> tuple[str, dict[str, float]]:
        role, marks = "", {}
        for name, value in _strings(entity):
            if name == "role":
                role = value
                continue
            try:
                marks[name] = float(value)
                if not math.isfinite(marks[name]):
                    raise ValueError(value)
            except ValueError:
                what = f"layer {layer}: {name} of a {entity.kind} is {value!r}, no number"
                self.file.fault(Promise.MARKED, what, _AGAIN)
        return role, marks


def _entities(records: Sequence[_Record]) -> Iterator[tuple[_Record, Sequence[_Record]]]:
    """Yield each entity in model space with its vertices; ValueError or LookupError where a polyline has no end."""
    at = 0
    while at < len(records):
        entity, end = records[at], at + 1
        if entity.kind == "POLYLINE":
            while records[end].kind == "VERTEX":
                end += 1
            if records[end].kind != "SEQEND":
                raise ValueError("a polyline has no SEQEND")
        if not entity.whole(67):
            yield entity, records[at + 1 : end]
        at = end + (entity.kind == "POLYLINE")


def _handle(record: _Record) -> str:
    return record.text(105 if record.kind == "DIMSTYLE" else 5)


def _strings(record: _Record) -> list[tuple[str, str]]:
    """Return the ``name=value`` strings of the extended data under the application id; none where there is none."""
    return [(name, value) for name, _, value in (text.partition("=") for text in record.extended(APPLICATION))]


def _is_in_space(entity: _Record) -> bool:
    return entity.kind == "POLYLINE" and bool(entity.whole(70) & _IN_SPACE)


def _curve(entity: _Record, vertices: Sequence[_Record], scale: float) -> tuple[Curve | None, tuple[float, ...]]:
    """Return the entity's curve and its height, or each vertex's, in mm; None for a kind that has no place here."""
    if entity.kind == "CIRCLE":
        x, y, z = (value * scale for value in entity.point())
        r = entity.number(40) * scale
        return Curve(np.array([[x + r, y], [x - r, y]]), np.ones(2), closed=True), (z,)
    if entity.kind == "LWPOLYLINE":
        rows, heights = _light_rows(entity), [entity.number(38)]
    elif entity.kind == "POLYLINE" and not entity.whole(70) & _MESH:
        rows = [[v.number(10), v.number(20), v.number(42)] for v in vertices]
        heights = [v.number(30) for v in vertices] if _is_in_space(entity) else [entity.number(30)]
    else:
        return None, ()
    if len(rows) < 2:
        return None, ()
    table, closed = np.array(rows), bool(entity.whole(70) & _CLOSED)
    bulges = table[:, 2] if closed else table[:-1, 2]
    return Curve(table[:, :2] * scale, bulges, closed), tuple(height * scale for height in heights)


def _light_rows(entity: _Record) -> list[list[float]]:
    """Return x, y and bulge of each vertex of an LWPOLYLINE; LookupError for values before the first vertex."""
    rows: list[list[float]] = []
    for code, value in zip(entity.codes, entity.values, strict=True):
        if code == 10:
            rows.append([float(value), 0.0, 0.0])
        elif code in _LIGHT_PLACES:
            rows[-1][_LIGHT_PLACES[code]] = float(value)
    return rows


def _read_records(content: bytes) -> _Records:
    """Return the records of a DXF file.

    Raises ValueError or LookupError where it is no ASCII DXF or isn't whole.
    """
    lines = _decoded(content).replace("\r\n", "\n").split("\n")
    known = {line: int(line) for line in set(lines[:-1:2])}
    codes, values = [known[line] for line in lines[:-1:2]], lines[1::2]
    starts = [place for place, code in enumerate(codes) if code == 0]
    every = zip(starts, [*starts[1:], len(codes)], strict=True)
    return _by_section(_Record(values[s].strip(), codes[s + 1 : e], values[s + 1 : e]) for s, e in every)


def _decoded(content: bytes) -> str:
    version = re.search(rb"\$ACADVER\s+1\s+(\w+)", content)
    if version and version[1] >= _FIRST_IN_UTF_8:
        return content.decode("utf-8")
    page = re.search(rb"\$DWGCODEPAGE\s+3\s+\w+_(\d+)", content)
    return re.sub(r"(\\U\+[0-9A-Fa-f]{4})+", _unescaped, content.decode(f"cp{page[1].decode() if page else 1252}"))


def _unescaped(characters: re.Match[str]) -> str:
    r"""Return the characters that a code page lacks, which are written as ``\U+`` and units of UTF-16."""
    return bytes.fromhex(characters[0].replace(r"\U+", "")).decode("utf-16-be")


def _by_section(records: Iterable[_Record]) -> _Records:
    sections: dict[str, list[_Record]] = {}
    header: dict[str, _Record] = {}
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
    return _Records(header, sections)


def _variables(section: _Record) -> dict[str, _Record]:
    """Return the variables of the header, each named by a group code 9."""
    variables: dict[str, _Record] = {}
    variable = _Record("", [], [])
    for code, value in zip(section.codes, section.values, strict=True):
        if code == 9:
            variable = variables[value] = _Record(value, [], [])
        else:
            variable.codes.append(code)
            variable.values.append(value)
    return variables
