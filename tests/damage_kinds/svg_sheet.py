"""An SVG drawing, opened to be spoiled."""

from __future__ import annotations

import copy
import math
import re
from pathlib import Path
from xml.etree import ElementTree

from damage_kinds.things import Sheet, Thing

NAMESPACE = "http://www.w3.org/2000/svg"
SVG = f"{{{NAMESPACE}}}"
ElementTree.register_namespace("", NAMESPACE)
MM = {"mm": 1.0, "in": 25.4}


def number(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".") or "0"


def read_path(data: str) -> tuple[list[complex], list[float], bool]:
    """Return the points and bulges of a path of M, L, A and Z, still with y down, and whether it is closed."""
    tokens, at, points, bulges, closed = re.findall(r"[MLAZ]|[-+.\deE]+", data), 0, [], [], False
    while at < len(tokens):
        verb = tokens[at]
        count = {"M": 2, "L": 2, "A": 7, "Z": 0}[verb]
        values = [float(token) for token in tokens[at + 1 : at + 1 + count]]
        at += 1 + count
        closed |= verb == "Z"
        if verb in "LA":
            bulges.append(0.0 if verb == "L" else _bulge(points[-1], complex(*values[-2:]), *values[:1], *values[3:5]))
        if count:
            points.append(complex(*values[-2:]))
    if closed and len(points) > 1 and abs(points[0] - points[-1]) < 1e-9:
        points.pop()
    return points, bulges + [0.0] * (len(points) - len(bulges)), closed


def _bulge(start: complex, end: complex, radius: float, large: float, sweep: float) -> float:
    half = math.asin(min(1.0, abs(end - start) / (2 * radius)))
    turn = 2 * math.pi - 2 * half if large else 2 * half
    return math.tan(turn / 4) * (-1 if sweep else 1)


class SvgSheet(Sheet):
    form = "svg"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.root = ElementTree.fromstring(path.read_bytes())
        width = self.root.get("width", "")
        self.unit = MM[width[-2:]]
        self.box = [float(value) for value in self.root.get("viewBox", "").split()]
        self.groups = [element for element in self.root.iter(SVG + "g") if element.get("data-role")]
        self.things = [thing for group in self.groups for element in group if (thing := self._read(group, element))]

    def _read(self, group: ElementTree.Element, element: ElementTree.Element) -> Thing | None:
        kind = {"path": "path", "circle": "circle", "text": "text"}.get(element.tag.removeprefix(SVG))
        if kind is None:
            return None
        role = element.get("data-role") or group.get("data-role") or ""
        thing = Thing(kind, role, group.get("id", ""), [], source=(group, element), text=element.text or "")
        if kind == "path":
            points, thing.bulges, thing.closed = read_path(element.get("d", ""))
            thing.points = [self.up(point) for point in points]
            thing.depths, thing.widths = ([float(v) for v in (element.get(key) or "").split()] for key in LISTS)
        else:
            x, y = ("cx", "cy") if kind == "circle" else ("x", "y")
            thing.points = [self.up(complex(float(element.get(x, "0")), float(element.get(y, "0"))))]
            thing.radius = float(element.get("r", "0")) * self.unit
        if kind == "text":
            thing.text = "".join(element.itertext())
        return thing

    def up(self, point: complex) -> complex:
        """Return a point of the file in mm, y up."""
        return complex(point.real, 2 * self.box[1] + self.box[3] - point.imag) * self.unit

    def down(self, point: complex) -> complex:
        point /= self.unit
        return complex(point.real, 2 * self.box[1] + self.box[3] - point.imag)

    def write(self, thing: Thing) -> None:
        _, element = thing.source
        if thing.kind == "path":
            element.set("d", self._data(thing))
            for key, values in zip(LISTS, (thing.depths, thing.widths), strict=True):
                if element.get(key) is not None and values:
                    element.set(key, " ".join(map(number, values)))
            return
        at = self.down(thing.points[0])
        x, y = ("cx", "cy") if thing.kind == "circle" else ("x", "y")
        if thing.kind == "text":
            element.text = thing.text
            if element.get("transform"):  # its place is in millimetres or turned: left where it is
                return
        element.set(x, number(at.real))
        element.set(y, number(at.imag))
        if thing.kind == "circle":
            element.set("r", number(thing.radius / self.unit))

    def _data(self, thing: Thing) -> str:
        words = [f"M {_at(self.rounded(thing.points[0]))}"]
        for start, end, bulge in thing.pieces():
            last = thing.closed and end is thing.points[0]
            a, b = self.rounded(start), self.rounded(end)
            if abs(bulge) < 1e-9:
                words += [] if last else [f"L {_at(b)}"]
                continue
            turn = 4 * math.atan(abs(bulge))
            radius = abs(b - a) / (2 * math.sin(turn / 2))  # of the ends as written: half turns hang on it closely
            words.append(f"A {radius:.17g} {radius:.17g} 0 {int(turn > math.pi)} {int(bulge < 0)} {_at(b)}")
        return " ".join(words + ["Z"] * thing.closed)

    def rounded(self, point: complex) -> complex:
        at = self.down(point)
        return complex(round(at.real, 6), round(at.imag, 6))

    def drop(self, thing: Thing) -> None:
        group, element = thing.source
        group.remove(element)

    def double(self, thing: Thing) -> Thing:
        group, element = thing.source
        twin = copy.deepcopy(element)
        group.insert(list(group).index(element) + 1, twin)
        other = copy.copy(thing)
        other.points, other.bulges = list(thing.points), list(thing.bulges)
        other.depths, other.widths, other.source = list(thing.depths), list(thing.widths), (group, twin)
        self.things.insert(self.things.index(thing) + 1, other)
        return other

    def to_layer(self, thing: Thing, like: Thing | str) -> None:
        group, element = thing.source
        target = self.group(like if isinstance(like, str) else like.layer)
        group.remove(element)
        target.append(element)
        thing.source, thing.layer = (target, element), target.get("id", "")
        thing.role = target.get("data-role", "")

    def group(self, layer: str) -> ElementTree.Element:
        return next(group for group in self.groups if group.get("id") == layer)

    def mark_layer(self, layer: str, key: str, value: str | None) -> None:
        group, name = self.group(layer), "data-" + key.replace("_", "-")
        for element in (group, *group):
            if element is group or element.get(name) is not None:
                element.set(name, value) if value is not None else element.attrib.pop(name, None)

    def rename_layer(self, old: str, new: str) -> None:
        self.group(old).set("id", new)
        for thing in self.things:
            thing.layer = new if thing.layer == old else thing.layer

    def hide_layer(self, layer: str, hidden: bool) -> None:
        group = self.group(layer)
        group.set("display", "none") if hidden else group.attrib.pop("display", None)

    def save(self) -> None:
        self.path.write_bytes(ElementTree.tostring(self.root, encoding="utf-8", xml_declaration=True))


LISTS = ("data-depth-mm", "data-width-mm")


def _at(point: complex) -> str:
    return f"{number(point.real)} {number(point.imag)}"
