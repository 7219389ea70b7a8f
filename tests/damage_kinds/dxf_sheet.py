"""A DXF drawing as its pairs of group code and value (DXF Reference), opened to be spoiled."""

from __future__ import annotations

import copy
from pathlib import Path

import numpy as np

from damage_kinds.things import NotHereError, Sheet, Thing, deep_along

Tags = list[tuple[int, str]]
MM = {"4": 1.0, "1": 25.4}
POINT = (10, 20, 30, 40, 41, 42, 91)
KINDS = {"LWPOLYLINE": "path", "POLYLINE": "path", "CIRCLE": "circle", "TEXT": "text"}


def value_of(tags: Tags, code: int, default: str = "") -> str:
    return next((value for own, value in tags if own == code), default)


def put(tags: Tags, code: int, value: str | float) -> None:
    """Set the first tag of a code, which must be there."""
    at = next(number for number, (own, _) in enumerate(tags) if own == code)
    tags[at] = (code, str(value))


def read_tags(text: str) -> Tags:
    lines = text.splitlines()
    return [(int(code), value) for code, value in zip(lines[::2], lines[1::2], strict=True)]


class DxfSheet(Sheet):
    form = "dxf"

    def __init__(self, path: Path) -> None:
        self.path = path
        tags = read_tags(path.read_text(encoding="utf-8"))
        start = tags.index((2, "ENTITIES")) + 1
        end = next(at for at in range(start, len(tags)) if tags[at] == (0, "ENDSEC"))
        self.head, self.tail = tags[: start - 1], tags[end:]
        self.section: Tags = [tags[start - 1]]
        self.unit = MM[self.header("$INSUNITS")] if (9, "$INSUNITS") in self.head else 1.0  # R12 has no such variable
        self.entities = _entities(tags[start:end])
        self.things, self.twins = [], {}
        self.fresh = 0xF00000
        for entity in self.entities:
            self._read(entity)
        flat, deep = self.of("v-line"), [entity for entity in self.entities if role_of(entity) == "v-line-3d"]
        if len(flat) == len(deep):  # else they were spoiled before
            for thing, twin in zip(flat, deep, strict=True):
                self._deepen(thing, twin)

    def header(self, name: str) -> str:
        return self.head[self.head.index((9, name)) + 1][1]

    def set_header(self, name: str, value: str | None) -> None:
        """Set a variable of the header, or take it out (None)."""
        if (9, name) not in self.head:
            raise NotHereError(f"no {name}")
        at = self.head.index((9, name))
        self.head[at : at + 2] = [] if value is None else [(9, name), (self.head[at + 1][0], value)]

    def _read(self, entity: list[Tags]) -> None:
        first, role = entity[0], role_of(entity)
        kind = KINDS.get(first[0][1])
        if kind is None or role == "v-line-3d":
            return
        thing = Thing(kind, role, value_of(first, 8), [], source=entity)
        closed = int(value_of(first, 70, "0")) & 1
        if kind == "path":
            thing.points, thing.bulges = self._vertices(entity)
            thing.closed = bool(closed)
            if not closed and thing.bulges:
                thing.bulges[-1] = 0.0
        else:
            x, y = (11, 21) if kind == "text" and value_of(first, 11) else (10, 20)
            thing.points = [complex(float(value_of(first, x)), float(value_of(first, y))) * self.unit]
            thing.radius = float(value_of(first, 40)) * self.unit if kind == "circle" else 0.0
            thing.text = value_of(first, 1) if kind == "text" else ""
        self.things.append(thing)

    def _vertices(self, entity: list[Tags]) -> tuple[list[complex], list[float]]:
        parts = _split_points(entity[0]) if len(entity) == 1 else entity[1:-1]
        points = [complex(float(value_of(part, 10)), float(value_of(part, 20))) * self.unit for part in parts]
        return points, [float(value_of(part, 42, "0")) for part in parts]

    def _deepen(self, thing: Thing, twin: list[Tags]) -> None:
        """Read a V line's depths from its twin, which passes through the points of the flat line in their order."""
        self.twins[id(thing)] = twin
        points, _ = self._vertices(twin)
        deep = np.array([-float(value_of(part, 30)) * self.unit for part in twin[1:-1]])
        at = 0
        for point in thing.points:
            at += int(np.argmin(np.abs(np.array(points[at:]) - point) > 2e-3))
            thing.depths.append(float(deep[at]))
        width, most = float(mark_of(twin, "width_mm") or mark_of(thing.source, "width_mm") or 0), max(thing.depths)
        thing.widths = [max(0.0, width - (most - depth) * 1.1547) for depth in thing.depths]

    def write(self, thing: Thing) -> None:
        entity, first = thing.source, thing.source[0]
        if thing.kind == "path":
            self._write_path(thing)
            return
        at = thing.points[0] / self.unit
        for x, y in ((10, 20), (11, 21)):
            if value_of(first, x):
                put(first, x, round(at.real, 6))
                put(first, y, round(at.imag, 6))
        if thing.kind == "circle":
            put(first, 40, round(thing.radius / self.unit, 6))
        else:
            put(entity[0], 1, thing.text)

    def _write_path(self, thing: Thing) -> None:
        entity, first = thing.source, thing.source[0]
        if len(entity) == 1:
            begin = next(at for at, (code, _) in enumerate(first) if code == 10)
            rest = [tag for tag in first[begin:] if tag[0] not in POINT]
            rows = [row for pair in zip(thing.points, thing.bulges, strict=True) for row in self._row(*pair)]
            first[begin:] = rows + rest
            put(first, 90, len(thing.points))
            put(first, 70, int(value_of(first, 70)) & ~1 | thing.closed)
        else:
            put(first, 70, int(value_of(first, 70)) & ~1 | thing.closed)
            deep = [(point, bulge, None) for point, bulge in zip(thing.points, thing.bulges, strict=True)]
            self._write_vertices(entity, deep)
        if thing.role == "v-line" and thing.depths:
            self._write_deep(thing)

    def _row(self, point: complex, bulge: float) -> Tags:
        at = point / self.unit
        return [(10, f"{at.real:.6f}"), (20, f"{at.imag:.6f}"), *([(42, f"{bulge:.10f}")] if bulge else [])]

    def _write_vertices(self, entity: list[Tags], rows: list[tuple[complex, float, float | None]]) -> None:
        model, new = entity[1], []
        for point, bulge, z in rows:
            vertex = [tag for tag in model if tag[0] not in (10, 20, 42) and not (z is not None and tag[0] == 30)]
            at = next(number for number, tag in enumerate(vertex) if tag[0] in (30, 70))
            vertex[at:at] = self._row(point, bulge) + ([] if z is None else [(30, f"{z / self.unit:.6f}")])
            new.append(self._fresh(vertex))
        entity[1:-1] = new

    def _write_deep(self, thing: Thing) -> None:
        """Write the greatest depth and width of a V line, and its twin at its true depth."""
        first = thing.source[0]
        deepest = max(thing.depths)
        set_mark(thing.source, "depth_mm", f"{deepest:.6g}")
        set_mark(thing.source, "width_mm", f"{max(thing.widths):.6g}")
        put(first, 38 if value_of(first, 38) else 30, round(-deepest / self.unit, 6))
        if (twin := self.twins.get(id(thing))) is not None:
            for key in ("depth_mm", "width_mm"):
                if mark_of(twin, key):
                    set_mark(twin, key, mark_of(thing.source, key))
            put(twin[0], 70, int(value_of(twin[0], 70)) & ~1 | thing.closed)
            self._write_vertices(twin, [(point, 0.0, -depth) for point, depth in deep_along(thing)])

    def _fresh(self, tags: Tags) -> Tags:
        self.fresh += 1
        return [(5, f"{self.fresh:X}") if code == 5 else (code, value) for code, value in tags]

    def drop(self, thing: Thing) -> None:
        self._take(thing.source)
        if (twin := self.twins.pop(id(thing), None)) is not None:
            self._take(twin)

    def _take(self, entity: list[Tags]) -> None:
        del self.entities[next(at for at, own in enumerate(self.entities) if own is entity)]

    def double(self, thing: Thing) -> Thing:
        other = copy.copy(thing)
        other.points, other.bulges = list(thing.points), list(thing.bulges)
        other.depths, other.widths = list(thing.depths), list(thing.widths)
        other.source = self.added(thing.source)
        if (twin := self.twins.get(id(thing))) is not None:
            self.twins[id(other)] = self.added(twin)
        self.things.insert(self.things.index(thing) + 1, other)
        return other

    def added(self, entity: list[Tags]) -> list[Tags]:
        """Add a copy of an entity after it, under handles of its own, and return it."""
        twin = [self._fresh(part) for part in entity]
        at = next(number for number, own in enumerate(self.entities) if own is entity)
        self.entities.insert(at + 1, twin)
        return twin

    def to_layer(self, thing: Thing, like: Thing | str) -> None:
        name = like if isinstance(like, str) else like.layer
        for part in thing.source:
            if value_of(part, 8):
                put(part, 8, name)
        if not isinstance(like, str):
            self._take_marks(thing, like)

    def _take_marks(self, thing: Thing, like: Thing) -> None:
        """Take over role, depth and cutter of another entity: what an editor does that copies a layer's properties."""
        thing.role = like.role
        for key in ("role", "depth_mm", "cutter_mm"):
            if mark_of(thing.source, key) and mark_of(like.source, key):
                set_mark(thing.source, key, mark_of(like.source, key))
        if value_of(thing.source[0], 38) and value_of(like.source[0], 38):
            put(thing.source[0], 38, value_of(like.source[0], 38))

    def on_layer(self, layer: str) -> list[list[Tags]]:
        return [entity for entity in self.entities if value_of(entity[0], 8).lower() == layer.lower()]

    def mark_layer(self, layer: str, key: str, value: str | None) -> None:
        for entity in self.on_layer(layer):
            set_mark(entity, key, value)
            if key == "depth_mm" and value is not None:
                self._lower(entity, float(value))

    def _lower(self, entity: list[Tags], depth: float) -> None:
        code = 38 if value_of(entity[0], 38) else 30
        if value_of(entity[0], code):
            put(entity[0], code, round(-depth / self.unit, 6))
        for vertex in entity[1:-1]:
            put(vertex, 30, round(-depth / self.unit, 6))

    def rename_layer(self, old: str, new: str) -> None:
        self.head = [(code, new if code == 2 and value.lower() == old.lower() else value) for code, value in self.head]
        for entity in self.on_layer(old):
            for part in entity:
                if value_of(part, 8):
                    put(part, 8, new)
        for thing in self.things:
            thing.layer = new if thing.layer == old else thing.layer

    def layer_row(self, layer: str) -> range:
        """Return where a layer's row of the layer table stands in the head."""
        named = next(at for at, tag in enumerate(self.head) if tag[0] == 2 and tag[1].lower() == layer.lower())
        end = next(at for at in range(named, len(self.head)) if self.head[at][0] == 0)
        return range(named, end)

    def hide_layer(self, layer: str, hidden: bool) -> None:
        at = next(at for at in self.layer_row(layer) if self.head[at][0] == 62)
        colour = abs(int(self.head[at][1]))
        self.head[at] = (62, str(-colour if hidden else colour))

    def save(self) -> None:
        body = [tag for entity in self.entities for part in entity for tag in part]
        tags = self.head + self.section + body + self.tail
        self.path.write_text("".join(f"{code:>3}\n{value}\n" for code, value in tags), encoding="utf-8")


def _entities(tags: Tags) -> list[list[Tags]]:
    """Return the entities, each as its own tags and, for a POLYLINE, those of its vertices and its end."""
    starts = [at for at, (code, _) in enumerate(tags) if code == 0] + [len(tags)]
    parts = [tags[a:b] for a, b in zip(starts, starts[1:], strict=False)]
    found: list[list[Tags]] = []
    for part in parts:
        if part[0][1] in ("VERTEX", "SEQEND"):
            found[-1].append(part)
        else:
            found.append([part])
    return found


def _split_points(tags: Tags) -> list[Tags]:
    starts = [at for at, (code, _) in enumerate(tags) if code == 10]
    ends = [*starts[1:], next((at for at, (code, _) in enumerate(tags) if code == 1001), len(tags))]
    return [tags[a:b] for a, b in zip(starts, ends, strict=True)]


def mark_of(entity: list[Tags], key: str) -> str:
    """Return an entity's extended datum of a name, or nothing."""
    marks = [value for code, value in entity[0] if code == 1000 and value.startswith(f"{key}=")]
    return marks[0].partition("=")[2] if marks else ""


def role_of(entity: list[Tags]) -> str:
    return mark_of(entity, "role")


def set_mark(entity: list[Tags], key: str, value: str | None) -> None:
    """Set or take off an extended datum that is there; other entities stay as they are."""
    tags = entity[0]
    at = [number for number, (code, own) in enumerate(tags) if code == 1000 and own.startswith(f"{key}=")]
    for number in reversed(at):
        tags[number : number + 1] = [] if value is None else [(1000, f"{key}={value}")]


def require(condition: object, why: str) -> None:
    if not condition:
        raise NotHereError(why)
