"""Reads a written DXF file: header, layers, polylines with bulges, circles, texts, extended data (DXF Reference)."""

from __future__ import annotations

import gc
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from ezdxf.filemanagement import readfile
from ezdxf.lldxf.const import DXFError

from shadowrout.check.curves import Curve
from shadowrout.check.drawing_file import MM, OPEN, DrawingFile, Shape
from shadowrout.check.findings import Promise

APPLICATION = "SHADOWROUT"
VERSIONS = {"AC1009": "R12", "AC1015": "R2000", "AC1024": "R2010"}
"""Values of $ACADVER (DXF Reference, header variables)."""

UNITS = {1: "in", 4: "mm"}
"""Values of $INSUNITS (DXF Reference, header variables)."""

_DAMAGED = (OSError, DXFError, ArithmeticError, AttributeError, IndexError, KeyError, TypeError, ValueError)
"""What ezdxf raises on damaged files, beside its own errors."""

_R12_NAME = re.compile(r"[A-Z0-9$_-]{1,31}")
_AGAIN = "make the plaque again and don't change the file by hand"


def read_dxf(path: Path) -> DrawingFile:
    """Return what a DXF file holds; whatever can't be read is among its faults."""
    file = DrawingFile(path.name)
    try:
        ending = path.read_bytes()[-16:].split()
    except OSError as problem:
        file.fault(Promise.COMPLETE, f"can't be opened ({problem.strerror})", OPEN)
        return file
    try:
        if ending[-2:] != [b"0", b"EOF"]:
            file.fault(Promise.COMPLETE, "doesn't end with EOF: it is cut off", _AGAIN)
        with _collecting_later():
            _Reading(file, readfile(path)).read()
    except _DAMAGED:
        file.fault(Promise.COMPLETE, "can't be read as DXF: it is cut off or damaged", _AGAIN)
    return file


@contextmanager
def _collecting_later() -> Iterator[None]:
    """Hold the garbage collector back: going over a document's many small objects again and again costs a third."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class _Reading:
    def __init__(self, file: DrawingFile, document: Any) -> None:
        self.file = file
        self.document = document
        self.known_layers: set[str] = set()

    def read(self) -> None:
        self.file.version = VERSIONS.get(self.document.dxfversion, self.document.dxfversion)
        self.read_unit()
        self.read_names()
        for entity in self.document.modelspace():
            self.entity(entity)
        self.audit()

    def read_unit(self) -> None:
        """Set the unit, which R12 has no header variable for: there it stands with the titles on layer 0."""
        file, header = self.file, self.document.header
        for name, value in _strings(self.document.layers.get("0")):
            file.titles[name] = file.titles.get(name, "") + value
        file.unit_said = file.titles.pop("unit", "")
        if file.version == "R12":
            file.unit = file.unit_said
        else:
            file.unit = UNITS.get(header.get("$INSUNITS", 0), "")
            metric = int(file.unit == "mm")
            if header.get("$MEASUREMENT", -1) != metric:
                self.fault_of_size(
                    f"$MEASUREMENT is {header.get('$MEASUREMENT', 'missing')}, {metric} goes with the unit"
                )
        if file.unit not in MM:
            code = header.get("$INSUNITS", "missing")
            self.fault_of_size(f"its unit is not said ($INSUNITS is {code}): a reader has to guess the size")
            file.unit = "mm"
        scale = MM[file.unit]
        low, high = header.get("$EXTMIN", (0, 0, 0)), header.get("$EXTMAX", (0, 0, 0))
        if low[0] >= high[0] or low[1] >= high[1]:
            file.fault(Promise.TRUE_SIZE, "its extents ($EXTMIN, $EXTMAX) are not set", _AGAIN)
        else:
            file.page_mm = (low[0] * scale, low[1] * scale, high[0] * scale, high[1] * scale)

    def fault_of_size(self, what: str) -> None:
        self.file.fault(Promise.TRUE_SIZE, what, "set $INSUNITS (1 inch, 4 mm) and $MEASUREMENT, or make it again")

    def read_names(self) -> None:
        file = self.file
        if APPLICATION not in self.document.appids:
            file.fault(Promise.MARKED, f"the application id {APPLICATION} is not registered", _AGAIN)
        standing = {"0", "defpoints", "*adsk_constraints"}
        file.layers = [x.dxf.name for x in self.document.layers if x.dxf.name.lower() not in standing]
        self.known_layers = {name.lower() for name in file.layers}
        file.hidden = {x.dxf.name for x in self.document.layers if x.is_off() or x.is_frozen()}
        if file.version == "R12":
            for name in file.layers:
                if not _R12_NAME.fullmatch(name):
                    file.fault(Promise.MARKED, f"layer {name} has a name that R12 can't have (A-Z 0-9 $ _ -)", _AGAIN)

    def audit(self) -> None:
        auditor = self.document.audit()
        for problem in [*auditor.errors, *auditor.fixes][:5]:
            self.file.fault(Promise.COMPLETE, f"the audit found: {problem.message}", _AGAIN)

    def entity(self, entity: Any) -> None:
        layer, kind = entity.dxf.layer, entity.dxftype()
        if layer.lower() not in self.known_layers:
            self.file.fault(Promise.MARKED, f"a {kind} lies on the layer {layer}, which is not in the table", _AGAIN)
        if entity.dxf.get("invisible", 0):
            self.file.fault(Promise.MARKED, f"layer {layer}: a {kind} is switched off", _AGAIN)
        role, marks = self.marks(entity, layer, kind)
        scale = MM[self.file.unit]
        if kind == "TEXT":
            x, y, _ = entity.dxf.align_point if entity.dxf.hasattr("align_point") else entity.dxf.insert
            self.file.add(Shape(layer, role, marks, text=entity.dxf.text, at=(x * scale, y * scale)))
            return
        curve, z = _curve(entity, scale)
        if curve is None:
            self.file.fault(Promise.MARKED, f"layer {layer} holds a {kind}, which is not promised", _AGAIN)
            return
        if not (np.isfinite(curve.vertices).all() and np.isfinite(curve.bulges).all()):
            self.file.fault(Promise.COMPLETE, f"layer {layer}: a {kind} has a number that isn't finite", _AGAIN)
            return
        if kind == "POLYLINE" and entity.is_3d_polyline:
            heights = tuple(float(vertex.dxf.location.z) * scale for vertex in entity.vertices)
            self.file.add(Shape(layer, role, marks, curve, heights_mm=heights))
        else:
            self.file.add(Shape(layer, role, marks, curve, z_mm=z))

    def marks(self, entity: Any, layer: str, kind: str) -> tuple[str, dict[str, float]]:
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
                self.file.fault(Promise.MARKED, f"layer {layer}: {name} of a {kind} is {value!r}, no number", _AGAIN)
        return role, marks


def _strings(entity: Any) -> list[tuple[str, str]]:
    """Return the ``name=value`` strings of the extended data under the application id; none where there is none."""
    if not entity.has_xdata(APPLICATION):
        return []
    strings = [tag.value for tag in entity.get_xdata(APPLICATION) if tag.code == 1000]
    return [(name, value) for name, _, value in (text.partition("=") for text in strings)]


def _curve(entity: Any, scale: float) -> tuple[Curve | None, float]:
    """Return the entity's curve and height in mm; None for a kind of entity that has no place in these files."""
    kind = entity.dxftype()
    if kind == "CIRCLE":
        x, y, z = (value * scale for value in entity.dxf.center)
        r = entity.dxf.radius * scale
        return Curve(np.array([[x + r, y], [x - r, y]]), np.ones(2), closed=True), z
    if kind == "LWPOLYLINE":
        x_y_and_bulge = np.array(list(entity), dtype=np.float64).reshape(-1, 5)[:, [0, 1, 4]]
        rows, closed, z = x_y_and_bulge, entity.closed, entity.dxf.elevation
    elif kind == "POLYLINE" and (entity.is_2d_polyline or entity.is_3d_polyline):
        vertices = [(*v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
        rows, closed, z = np.array(vertices, dtype=np.float64), entity.is_closed, _height(entity)
    else:
        return None, 0.0
    rows = rows.reshape(-1, 3)
    if len(rows) < 2:
        return None, 0.0
    return Curve(rows[:, :2] * scale, rows[:, 2] if closed else rows[:-1, 2], bool(closed)), z * scale


def _height(entity: Any) -> float:
    return float(entity.dxf.elevation.z) if entity.dxf.hasattr("elevation") else 0.0
