"""Reads a written DXF file: header, layers, polylines with bulges, circles, texts, extended data (DXF Reference).

It does so by itself, not by the library that writes these files. What the files promise not to use is a fault and not
followed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import IN_SPACE, MARKS, MM, MOST_MARK_MM, DrawingFile, Shape, role_of_layer
from shadowrout.check.drawing_file import MAKE_AGAIN as _AGAIN
from shadowrout.check.dxf_constructs import APPLICATION, STANDING, odd_entity, odd_records
from shadowrout.check.dxf_records import MOST_BYTES, DxfRecord, DxfRecords, read_records
from shadowrout.check.findings import Promise
from shadowrout.check.geometry_bounds import FURTHEST_MM, leave_out_what_no_plaque_has
from shadowrout.check.untrusted import UnusableFileError, bytes_of, number, shown

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

_HEIGHT_STEP = 0.0001
"""A step of the files' decimals, in either unit."""


def read_dxf(path: Path) -> DrawingFile:
    """Return what a DXF file holds; whatever can't be read is among its faults."""
    file = DrawingFile(path.name)
    try:
        content = bytes_of(path, most=MOST_BYTES)
        if content[-16:].split()[-2:] != [b"0", b"EOF"]:
            file.fault(Promise.COMPLETE, "doesn't end with EOF: it is cut off", _AGAIN)
        reading = _Reading(file, read_records(content))
        reading.read()
        reading.tell_oddities()
    except UnusableFileError as problem:
        file.fault(Promise.COMPLETE, str(problem), _AGAIN)
    except (LookupError, ValueError):
        file.fault(Promise.COMPLETE, "can't be read as DXF: it is cut off or damaged", _AGAIN)
    leave_out_what_no_plaque_has(file)
    return file


class _Reading:
    def __init__(self, file: DrawingFile, records: DxfRecords) -> None:
        self.file = file
        self.records = records
        self.known_layers: set[str] = set()
        self.odd: Counter[tuple[Promise, str]] = Counter()

    def read(self) -> None:
        version = self.variable("$ACADVER").text(1)
        self.file.version = VERSIONS.get(version, version)
        self.read_unit()
        self.read_names()
        for entity, vertices in _entities(self.records.section("ENTITIES")):
            self.entity(entity, vertices)
        self.read_handles()
        self.odd.update(self.records.asides)
        self.odd.update(odd_records(self.records))

    def tell_oddities(self) -> None:
        """Note each kind of thing that isn't promised once, with how many there are."""
        for (promise, what), times in self.odd.items():
            self.file.fault(promise, what + (f" ({times} of them)" if times > 1 else ""), _AGAIN)

    def variable(self, name: str) -> DxfRecord:
        return self.records.header.get(name, DxfRecord(name, [], []))

    def read_unit(self) -> None:
        """Set the unit, which R12 has no header variable for: there it stands with the titles on layer 0."""
        file = self.file
        for name, value in (pair for x in self.records.table("LAYER") if x.text(2) == "0" for pair in _strings(x)):
            file.titles[name] = file.titles.get(name, "") + value
        file.unit_said = file.titles.pop("unit", "")
        unit, measurement = self.variable("$INSUNITS"), self.variable("$MEASUREMENT")
        if file.version == "R12":
            file.unit = file.unit_said
        else:
            file.unit = UNITS.get(unit.whole(70), "")
            metric = int(file.unit == "mm")
            if measurement.whole(70, -1) != metric:
                said = shown(measurement.text(70, "missing"))
                self.fault_of_size(f"$MEASUREMENT is {said}, {metric} goes with the unit")
        if file.unit not in MM:
            said = f"$INSUNITS is {shown(unit.text(70, 'missing'))}"
            self.fault_of_size(f"its unit is not said ({said}): a reader has to guess the size")
            file.unit = "mm"
        self.read_extents()

    def read_extents(self) -> None:
        file, scale = self.file, MM[self.file.unit]
        low, high = self.variable("$EXTMIN").point(), self.variable("$EXTMAX").point()
        box = (low[0] * scale, low[1] * scale, high[0] * scale, high[1] * scale)
        if not (box[0] < box[2] and box[1] < box[3]):
            file.fault(Promise.TRUE_SIZE, "its extents ($EXTMIN, $EXTMAX) are not set", _AGAIN)
        elif not all(abs(side) <= FURTHEST_MM for side in box):
            file.fault(Promise.TRUE_SIZE, "its extents ($EXTMIN, $EXTMAX) are no page that a plaque can have", _AGAIN)
        else:
            file.page_mm = box

    def fault_of_size(self, what: str) -> None:
        self.file.fault(Promise.TRUE_SIZE, what, "set $INSUNITS (1 inch, 4 mm) and $MEASUREMENT, or make it again")

    def read_names(self) -> None:
        file = self.file
        if APPLICATION not in (x.text(2) for x in self.records.table("APPID")):
            file.fault(Promise.MARKED, f"the application id {APPLICATION} is not registered", _AGAIN)
        layers = [x for x in self.records.table("LAYER") if x.text(2).lower() not in STANDING]
        file.layers = [x.text(2) for x in layers]
        self.known_layers = {name.lower() for name in file.layers}
        file.hidden = {x.text(2) for x in layers if x.whole(62, 7) < 0 or x.whole(70) & _FROZEN}
        if file.version == "R12":
            for name in file.layers:
                if not _R12_NAME.fullmatch(name):
                    file.fault(Promise.MARKED, f"layer {name} has a name that R12 can't have (A-Z 0-9 $ _ -)", _AGAIN)

    def read_handles(self) -> None:
        """Note where two records have one handle, or an entity belongs to a handle that no record has."""
        sections = [self.records.section(name) for name in ("TABLES", "BLOCKS", "ENTITIES", "OBJECTS")]
        handles = [handle for section in sections for record in section if (handle := _handle(record))]
        if len(set(handles)) < len(handles):
            self.file.fault(Promise.COMPLETE, "two of its records have one handle", _AGAIN)
        owners = {record.text(330, "0") for record in self.records.section("ENTITIES")}
        if lost := owners - {*handles, "0"}:
            what = f"its entities belong to a record that is not there (handle {min(lost)})"
            self.file.fault(Promise.COMPLETE, what, _AGAIN)

    def entity(self, entity: DxfRecord, vertices: Sequence[DxfRecord]) -> None:
        layer, kind = entity.text(8, "0"), entity.kind
        if layer.lower() not in self.known_layers:
            self.file.fault(Promise.MARKED, f"a {kind} lies on the layer {layer}, which is no layer of its own", _AGAIN)
        self.look_at(entity, vertices, layer)
        role, marks = self.marks(entity, layer)
        scale = MM[self.file.unit]
        if kind == "TEXT":
            x, y, _ = entity.point(11 if 11 in entity.codes else 10)
            if abs(x) * scale <= FURTHEST_MM and abs(y) * scale <= FURTHEST_MM:
                self.file.add(Shape(layer, role, marks, text=entity.text(1), at=(x * scale, y * scale)))
            else:
                self.file.fault(Promise.COMPLETE, f"layer {layer}: a TEXT stands at no place on a plaque", _AGAIN)
            return
        if kind == "LWPOLYLINE" and entity.whole(90) != entity.codes.count(10):
            what = f"layer {layer}: a {kind} has {entity.codes.count(10)} vertices and says {entity.whole(90)}"
            self.file.fault(Promise.COMPLETE, what, _AGAIN)
        curve, heights = _curve(entity, vertices, scale)
        if curve is None:
            self.file.fault(Promise.MARKED, f"layer {layer} holds a {shown(kind)}, which is not promised", _AGAIN)
        elif not all(np.isfinite(numbers).all() for numbers in (curve.vertices, curve.bulges, heights)):
            self.file.fault(Promise.COMPLETE, f"layer {layer}: a {kind} has a number that isn't finite", _AGAIN)
        elif kind == "CIRCLE" and not entity.number(40) > 0:
            what = f"layer {layer}: a circle has the radius {shown(entity.text(40))}"
            self.file.fault(Promise.COMPLETE, what, _AGAIN)
        elif max(map(abs, heights)) > FURTHEST_MM:
            what = f"layer {layer}: a {kind} lies {max(map(abs, heights)):.3g} mm off the face"
            self.file.fault(Promise.STAYS_DARK, what, _AGAIN)
        elif role_of_layer(layer).endswith(IN_SPACE) != _is_in_space(entity):
            where = "flat" if role_of_layer(layer).endswith(IN_SPACE) else "in space"
            self.file.fault(Promise.MARKED, f"layer {layer} holds a {kind} that lies {where}", _AGAIN)
        elif _is_in_space(entity):
            self.file.add(Shape(layer, role, marks, curve, heights_mm=heights))
        else:
            self.file.add(Shape(layer, role, marks, curve, z_mm=heights[0]))

    def look_at(self, entity: DxfRecord, vertices: Sequence[DxfRecord], layer: str) -> None:
        """Note what isn't promised of an entity and its vertices."""
        if entity.whole(60):
            self.file.fault(Promise.MARKED, f"layer {layer}: a {entity.kind} is switched off", _AGAIN)
        for record in (entity, *vertices):
            for promise, what in odd_entity(record):
                self.odd[promise, f"layer {layer}: a {record.kind} {what}"] += 1
            if record.text(8, "0") != layer:
                self.odd[Promise.MARKED, f"layer {layer}: a vertex lies on the layer {shown(record.text(8, '0'))}"] += 1
        if entity.kind == "POLYLINE" and not _is_in_space(entity):
            height = entity.number(30)
            if not all(v.number(30) == 0 or abs(v.number(30) - height) <= _HEIGHT_STEP for v in vertices):
                self.odd[Promise.STAYS_DARK, f"layer {layer}: a POLYLINE's vertices lie at other heights than it"] += 1

    def marks(self, entity: DxfRecord, layer: str) -> tuple[str, dict[str, float]]:
        role, marks = "", {}
        strings = _strings(entity)
        for name, times in Counter(name for name, _ in strings).items():
            if times > 1:
                self.odd[Promise.MARKED, f"layer {layer}: a {entity.kind} says its {shown(name)} twice"] += 1
            elif name not in ("role", *MARKS):
                self.odd[Promise.MARKED, f"layer {layer}: a {entity.kind} has an unknown mark, {shown(name)}"] += 1
        for name, value in strings:
            if name == "role":
                role = value
            elif name in MARKS and (length := _mark(value)) is not None:
                marks[name] = length
            elif name in MARKS:
                self.file.fault_of_mark(layer, f"{name} of a {entity.kind}", value)
        return role, marks


def _entities(records: Sequence[DxfRecord]) -> Iterator[tuple[DxfRecord, Sequence[DxfRecord]]]:
    """Yield each entity with its vertices; ValueError or LookupError where a polyline has no end."""
    at = 0
    while at < len(records):
        entity, end = records[at], at + 1
        if entity.kind == "POLYLINE":
            while records[end].kind == "VERTEX":
                end += 1
            if records[end].kind != "SEQEND":
                raise ValueError("a polyline has no SEQEND")
        yield entity, records[at + 1 : end]
        at = end + (entity.kind == "POLYLINE")


def _handle(record: DxfRecord) -> str:
    return record.text(105 if record.kind == "DIMSTYLE" else 5)


def _strings(record: DxfRecord) -> list[tuple[str, str]]:
    """Return the ``name=value`` strings of the extended data under the application id; none where there is none."""
    return [
        (name if code == 1000 else f"group code {code}", value)
        for code, (name, _, value) in ((code, text.partition("=")) for code, text in record.extended(APPLICATION))
    ]


def _mark(value: str) -> float | None:
    """Return a mark's length in mm; None for what is no length."""
    try:
        length = number(value)
    except ValueError:
        return None
    return length if 0 <= length <= MOST_MARK_MM else None


def _is_in_space(entity: DxfRecord) -> bool:
    return entity.kind == "POLYLINE" and bool(entity.whole(70) & _IN_SPACE)


def _curve(entity: DxfRecord, vertices: Sequence[DxfRecord], scale: float) -> tuple[Curve | None, tuple[float, ...]]:
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


def _light_rows(entity: DxfRecord) -> list[list[float]]:
    """Return x, y and bulge of each vertex of an LWPOLYLINE; LookupError for values before the first vertex."""
    rows: list[list[float]] = []
    for code, value in zip(entity.codes, entity.values, strict=True):
        if code == 10:
            rows.append([number(value), 0.0, 0.0])
        elif code in _LIGHT_PLACES:
            rows[-1][_LIGHT_PLACES[code]] = number(value)
    return rows
