"""Reads a written DXF file: header, layers, polylines with bulges, circles, texts, extended data (DXF Reference).

It does so by itself, not by the library that writes these files.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import MM, OPEN, DrawingFile, Shape
from shadowrout.check.dxf_records import Record, Records, read_records
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
_AGAIN = "make the plaque again and don't change the file by hand"


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
        _Reading(file, read_records(content)).read()
    except (LookupError, ValueError, OverflowError):
        file.fault(Promise.COMPLETE, "can't be read as DXF: it is cut off or damaged", _AGAIN)
    return file


class _Reading:
    def __init__(self, file: DrawingFile, records: Records) -> None:
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

    def variable(self, name: str) -> Record:
        return self.records.header.get(name, Record(name, [], []))

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

    def entity(self, entity: Record, vertices: Sequence[Record]) -> None:
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

    def marks(self, entity: Record, layer: str) -> tuple[str, dict[str, float]]:
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


def _entities(records: Sequence[Record]) -> Iterator[tuple[Record, Sequence[Record]]]:
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


def _handle(record: Record) -> str:
    return record.text(105 if record.kind == "DIMSTYLE" else 5)


def _strings(record: Record) -> list[tuple[str, str]]:
    """Return the ``name=value`` strings of the extended data under the application id; none where there is none."""
    return [(name, value) for name, _, value in (text.partition("=") for text in record.extended(APPLICATION))]


def _is_in_space(entity: Record) -> bool:
    return entity.kind == "POLYLINE" and bool(entity.whole(70) & _IN_SPACE)


def _curve(entity: Record, vertices: Sequence[Record], scale: float) -> tuple[Curve | None, tuple[float, ...]]:
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


def _light_rows(entity: Record) -> list[list[float]]:
    """Return x, y and bulge of each vertex of an LWPOLYLINE; LookupError for values before the first vertex."""
    rows: list[list[float]] = []
    for code, value in zip(entity.codes, entity.values, strict=True):
        if code == 10:
            rows.append([float(value), 0.0, 0.0])
        elif code in _LIGHT_PLACES:
            rows[-1][_LIGHT_PLACES[code]] = float(value)
    return rows
