"""Reads a written SVG file: page, groups as layers, paths of M, L, A and Z, circles, texts (SVG 2).

What the files promise not to use (other commands, ellipses, transforms) is a fault and not followed.
"""

from __future__ import annotations

import math
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import MM, OPEN, DrawingFile, Shape
from shadowrout.check.findings import Promise

_SVG = "{http://www.w3.org/2000/svg}"
_PROPERTY = "{urn:shadowrout}property"
_LENGTH = re.compile(r"\s*([-+]?[\d.]+(?:e[-+]?\d+)?)\s*(mm|in|cm|pt|pc|px|q|%)?\s*", re.IGNORECASE)
_TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|([^\s,])")
_HIDING_STYLE = re.compile(r"display\s*:\s*none|visibility\s*:\s*(hidden|collapse)")
_ARGUMENTS = {"M": 2, "L": 2, "A": 7, "Z": 0}
_AGAIN = "make the plaque again and don't change the file by hand"
_EQUAL_RADII = 1e-9
"""Circular arcs have both radii written alike; this is for the last bits alone."""
_SCALE = re.compile(r"scale\(([\d.]+)\)")
_SCALE_ERROR = 1e-9
"""Texts in inches are written with a scale of twelve decimals."""


class _UnreadableError(ValueError):
    """A path's data breaks the grammar of SVG 2, chapter 9."""


def read_svg(path: Path) -> DrawingFile:
    """Return what an SVG file holds; whatever can't be read is among its faults."""
    file = DrawingFile(path.name)
    try:
        root = ElementTree.fromstring(path.read_bytes())
    except OSError as problem:
        file.fault(Promise.COMPLETE, f"can't be opened ({problem.strerror})", OPEN)
        return file
    except (ElementTree.ParseError, LookupError, ValueError) as problem:
        line = f" near line {problem.position[0]}" if isinstance(problem, ElementTree.ParseError) else ""
        file.fault(Promise.COMPLETE, f"can't be read as XML{line}: it is cut off or damaged", _AGAIN)
        return file
    if root.tag != f"{_SVG}svg":
        file.fault(Promise.COMPLETE, "its root is no svg element", _AGAIN)
        return file
    _read_head(file, root)
    view = _read_page(file, root)
    _Body(file, view).read(root, layer="", data={}, depth=0)
    return file


def _read_head(file: DrawingFile, root: ElementTree.Element) -> None:
    file.version = root.get("version", "")
    for tag, key in (("title", "title"), ("desc", "description")):
        file.titles[key] = (root.findtext(f"{_SVG}{tag}") or "").strip()
    for element in root.iter(_PROPERTY):
        if element.get("name") == "unit":
            file.unit_said = element.get("value", "")


def _read_page(file: DrawingFile, root: ElementTree.Element) -> tuple[float, float, float, float]:
    """Set the page and the unit, and return the viewBox: left, top, width, height."""
    sides = [_LENGTH.fullmatch(root.get(name, "")) for name in ("width", "height")]
    try:
        left, top, width, height = (float(x) for x in re.split(r"[\s,]+", root.get("viewBox", "").strip()))
    except ValueError:
        file.fault(Promise.TRUE_SIZE, "has no viewBox of four numbers, so its scale is unknown", _AGAIN)
        return 0.0, 0.0, 1.0, 1.0
    units = {side[2] or "px" if side else "nothing" for side in sides}
    if len(units) != 1 or not units <= MM.keys():
        file.fault(
            Promise.TRUE_SIZE,
            f"width and height are in {' and '.join(sorted(units))}, not in mm or in: a reader has to guess the size",
            "set the root's width and height in mm, equal to the viewBox",
        )
        return left, top, width, height
    file.unit = units.pop()
    for side, view, name in zip(sides, (width, height), ("width", "height"), strict=True):
        if side is not None and abs(float(side[1]) - view) * MM[file.unit] > 0.001:
            file.fault(
                Promise.TRUE_SIZE,
                f"{name} is {side[1]}{file.unit} but the viewBox gives it {view:g}: the drawing is scaled by "
                f"{float(side[1]) / view if view else math.inf:.6g}",
                f"set the root's {name} and the viewBox to the same number",
            )
    scale = MM[file.unit]
    file.page_mm = (left * scale, top * scale, (left + width) * scale, (top + height) * scale)
    return left, top, width, height


class _Body:
    """Walks the groups; the page's middle line is where y is mirrored."""

    def __init__(self, file: DrawingFile, view: tuple[float, float, float, float]) -> None:
        self.file = file
        self.scale = MM[file.unit]
        self.mirror = 2 * view[1] + view[3]

    def read(self, element: ElementTree.Element, *, layer: str, data: dict[str, str], depth: int) -> None:
        for child in element:
            if not isinstance(child.tag, str):
                continue
            tag = child.tag.removeprefix(_SVG)
            said = {**data, **{k[5:]: v for k, v in child.attrib.items() if k.startswith("data-")}}
            if tag in ("g", "path", "circle", "text") and not self.stays_in_place(child):
                self.file.fault(
                    Promise.TRUE_SIZE,
                    f"a transform ({child.get('transform')}) on {child.get('id') or tag} moves or scales what is drawn",
                    _AGAIN,
                )
            if _is_hidden(child) and (tag, depth) != ("g", 0):
                self.file.fault(Promise.MARKED, f"layer {layer or 'none'}: a {tag} is switched off", _AGAIN)
            if tag == "g" and depth < 20:
                name = child.get("id", "") or layer
                if depth == 0:
                    self.file.layers.append(name)
                    self.file.hidden |= {name} if _is_hidden(child) else set()
                self.read(child, layer=name if depth == 0 else layer, data=said, depth=depth + 1)
            elif tag in ("path", "circle", "text"):
                self.shape(tag, child, layer, said)
            elif tag in ("line", "polyline", "polygon", "rect", "ellipse", "use", "image"):
                self.file.fault(Promise.MARKED, f"layer {layer or 'none'} holds a {tag}, which is not promised", _AGAIN)

    def stays_in_place(self, element: ElementTree.Element) -> bool:
        """Return whether nothing transforms an element, or only what is promised of texts.

        That is a quarter turn about the text's own place, and in a file in inches a scale from millimetres.
        """
        said = element.get("transform")
        if said is None or element.tag != f"{_SVG}text":
            return said is None
        turn = f"rotate(-90 {element.get('x')} {element.get('y')})"
        rest = said.removesuffix(turn).rstrip()
        return not rest or (_SCALE.fullmatch(rest) is not None and self.letter_mm(element) != self.scale)

    def letter_mm(self, element: ElementTree.Element) -> float:
        """Return the unit of a text's own numbers: millimetres where a scale says so, else the file's unit."""
        found = _SCALE.match(element.get("transform", ""))
        return 1.0 if found and abs(float(found[1]) * self.scale - 1) < _SCALE_ERROR else self.scale

    def shape(self, tag: str, element: ElementTree.Element, layer: str, data: dict[str, str]) -> None:
        marks, profile = self.marks(data, layer)
        role = data.get("role", "")
        try:
            if tag == "text":
                mm = self.letter_mm(element)
                at = self.up(*(float(element.get(side, "nan")) * mm / self.scale for side in ("x", "y")))
                text = "".join(element.itertext())
                self.file.add(Shape(layer, role, marks, text=text, at=at))
                return
            curves = self.circle(element) if tag == "circle" else self.path(element.get("d", ""), layer)
        except ValueError as problem:
            what = str(problem) if isinstance(problem, _UnreadableError) else f"a {tag} has no usable numbers"
            self.file.fault(Promise.COMPLETE, f"layer {layer or 'none'}: {what}", _AGAIN)
            return
        for curve in curves:
            for name, values in profile.items():
                if len(values) != len(curve.vertices):
                    what = f"layer {layer}: {len(values)} numbers of {name} for {len(curve.vertices)} vertices"
                    self.file.fault(Promise.MARKED, what, _AGAIN, place=curve.start)
            self.file.add(Shape(layer, role, marks, curve, profile=profile))

    def marks(self, data: dict[str, str], layer: str) -> tuple[dict[str, float], dict[str, tuple[float, ...]]]:
        """Return the marks, the greatest of each, and those that have more than one number."""
        marks, profile = {}, {}
        for name, value in data.items():
            if not name.endswith("-mm"):
                continue
            try:
                numbers = tuple(map(float, value.split()))
            except ValueError:
                numbers = ()
            if not numbers or not all(map(math.isfinite, numbers)):
                self.file.fault(Promise.MARKED, f"layer {layer}: data-{name} is {value!r}, no number", _AGAIN)
                continue
            marks[name.replace("-", "_")] = max(numbers)
            if len(numbers) > 1:
                profile[name.replace("-", "_")] = numbers
        return marks, profile

    def up(self, x: float, y: float) -> tuple[float, float]:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise _UnreadableError("a coordinate is no finite number")
        return x * self.scale, (self.mirror - y) * self.scale

    def circle(self, element: ElementTree.Element) -> list[Curve]:
        x, y = self.up(float(element.get("cx", "0")), float(element.get("cy", "0")))
        r = float(element.get("r", "nan")) * self.scale
        if not (math.isfinite(r) and r > 0):
            raise _UnreadableError(f"a circle has the radius {element.get('r')}")
        return [Curve(np.array([[x + r, y], [x - r, y]]), np.ones(2), closed=True)]

    def path(self, d: str, layer: str) -> list[Curve]:
        curves = []
        for points, bulges, closed, round_ in _subpaths(d):
            vertices = np.array([self.up(x, y) for x, y in points])
            if not round_:
                self.file.fault(Promise.SOUND, f"layer {layer}: an arc is elliptical", _AGAIN, place=tuple(vertices[0]))
            curves.append(Curve(vertices, -np.array(bulges, dtype=np.float64), closed))
        return curves


def _is_hidden(element: ElementTree.Element) -> bool:
    """Return whether an element says that it isn't drawn, as an attribute or as a style (SVG 2, 11.2)."""
    if element.get("display") == "none" or element.get("visibility") in ("hidden", "collapse"):
        return True
    return bool(_HIDING_STYLE.search(element.get("style", "")))


_Subpath = tuple[list[tuple[float, float]], list[float], bool, bool]


def _subpaths(d: str) -> list[_Subpath]:
    """Return (points, bulges, closed, whether all arcs are circular) of each subpath, in the file's own axes.

    Bulges are positive where the angle grows in the file's axes. A closed subpath doesn't repeat its first point.
    """
    done: list[_Subpath] = []
    points: list[tuple[float, float]] = []
    bulges: list[float] = []
    circular = True
    for command, numbers in _commands(d):
        if command == "M":
            if points:
                done.append((points, bulges, False, circular))
            points, bulges, circular = [(numbers[0], numbers[1])], [], True
        elif not points:
            raise _UnreadableError(f"path data begins with {command} instead of M")
        elif command == "Z":
            done.append(_closed(points, bulges, circular))
            points = []
        elif command == "L":
            points.append((numbers[0], numbers[1]))
            bulges.append(0.0)
        else:
            if not {numbers[3], numbers[4]} <= {0.0, 1.0}:
                raise _UnreadableError("an arc's flags are not 0 or 1")
            end = (numbers[5], numbers[6])
            circular = circular and abs(abs(numbers[0]) - abs(numbers[1])) <= _EQUAL_RADII * abs(numbers[0])
            if end != points[-1]:
                bulges.append(_bulge(complex(*points[-1]), complex(*end), abs(numbers[0]), numbers[3], numbers[4]))
                points.append(end)
    if points:
        done.append((points, bulges, False, circular))
    if not done:
        raise _UnreadableError("a path has no data")
    return done


def _closed(points: list[tuple[float, float]], bulges: list[float], circular: bool) -> _Subpath:
    if len(points) > 1 and points[-1] == points[0]:
        return points[:-1], bulges, True, circular
    return points, [*bulges, 0.0], True, circular


def _commands(d: str) -> list[tuple[str, list[float]]]:
    """Return each command with its numbers; pairs after those of M are lines (SVG 2, 9.3.3)."""
    every: list[tuple[str, list[float]]] = []
    letter, numbers, fed = "", list[float](), True
    for word, number, wrong in _TOKEN.findall(d):
        if wrong:
            raise _UnreadableError(f"path data holds {wrong!r}")
        if word:
            if numbers or not fed:
                break
            if word not in _ARGUMENTS:
                raise _UnreadableError(f"a path uses the command {word}; only M, L, A and Z are promised")
            letter, fed = word, word == "Z"
            if word == "Z":
                every.append(("Z", []))
        elif number:
            if letter in ("", "Z"):
                raise _UnreadableError("path data has a number without a command")
            numbers.append(float(number))
            if len(numbers) == _ARGUMENTS[letter]:
                every.append((letter, numbers))
                letter, numbers, fed = "L" if letter == "M" else letter, [], True
    if numbers or not fed:
        raise _UnreadableError(f"path data ends within a {letter}: it is cut off or damaged")
    return every


def _bulge(start: complex, end: complex, radius: float, large: float, sweep: float) -> float:
    """Return the bulge of a circular arc given as SVG gives it.

    SVG 2, B.2.4 and B.2.5, with both radii equal and no rotation: half the chord z' = (start - end) / 2, a radius
    below |z'| is raised to it, the centre stands off the chord's middle by sqrt(r^2 / |z'|^2 - 1) times z' turned
    by a quarter, and the angle between the two ends seen from it is brought into the sense of the sweep flag.
    """
    if radius == 0:
        return 0.0
    half = (start - end) / 2
    radius = max(radius, abs(half))
    off = math.sqrt(max(0.0, (radius / abs(half)) ** 2 - 1))
    sign = -1.0 if bool(large) == bool(sweep) else 1.0
    centre = sign * off * complex(half.imag, -half.real)
    turn = math.atan2(*_parts((-half - centre) / (half - centre)))
    if sweep and turn < 0:
        turn += 2 * math.pi
    elif not sweep and turn > 0:
        turn -= 2 * math.pi
    return math.tan(turn / 4)


def _parts(z: complex) -> tuple[float, float]:
    return z.imag, z.real
