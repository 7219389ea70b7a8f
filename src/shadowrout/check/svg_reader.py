"""Reads a written SVG file: page, groups as layers, paths of M, L, A and Z, circles, texts (SVG 2).

What the files promise not to use (other commands, ellipses, transforms, styles) is a fault and not followed.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from shadowrout.check.curve_samples import Curve
from shadowrout.check.drawing_file import MAKE_AGAIN as _AGAIN
from shadowrout.check.drawing_file import MARKS, MM, MOST_MARK_MM, DrawingFile, Shape
from shadowrout.check.findings import Promise
from shadowrout.check.geometry_bounds import FURTHEST_MM, leave_out_what_no_plaque_has
from shadowrout.check.svg_constructs import PROPERTY, SVG, oddities
from shadowrout.check.svg_tree import MOST_BYTES, SvgTree
from shadowrout.check.untrusted import UnusableFileError, bytes_of, number, shown

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*(mm|in|cm|pt|pc|px|q|%)?\s*", re.IGNORECASE | re.ASCII)
_TOKEN = re.compile(rf"([A-Za-z])|({_NUMBER})|([^\s,])", re.ASCII)
_HIDING_STYLE = re.compile(r"display\s*:\s*none|visibility\s*:\s*(hidden|collapse)")
_ARGUMENTS = {"M": 2, "L": 2, "A": 7, "Z": 0}
_EQUAL_RADII = 1e-9
"""Circular arcs have both radii written alike; this is for the last bits alone."""
_SCALE = re.compile(rf"scale\(({_NUMBER})\)", re.ASCII)
_SCALE_ERROR = 1e-9
"""Texts in inches are written with a scale of twelve decimals."""
_LARGEST = 1e9
"""1000 km: no coordinate and no radius; an arc that is all but straight has some 100 m."""
_LEAST_CHORD = 1e-9
"""Far below the files' decimals."""
_MOST_PIECES = 500_000
"""A path of as many lines and arcs has one every 0.3 mm of the longest outlines that a plaque may have."""


class _UnreadableError(ValueError):
    """A path's data breaks the grammar of SVG 2, chapter 9."""


def read_svg(path: Path) -> DrawingFile:
    """Return what an SVG file holds; whatever can't be read is among its faults."""
    file = DrawingFile(path.name)
    try:
        tree = SvgTree(bytes_of(path, most=MOST_BYTES))
        if tree.root.tag != f"{SVG}svg":
            raise UnusableFileError("can't be read: its root is no svg element")
    except UnusableFileError as problem:
        file.fault(Promise.COMPLETE, str(problem), _AGAIN)
        return file
    _read_head(file, tree.root)
    view = _read_page(file, tree.root)
    _Body(file, view).read(tree.root, layer="", data={}, depth=0)
    _tell_oddities(file, tree)
    leave_out_what_no_plaque_has(file)
    return file


def _tell_oddities(file: DrawingFile, tree: SvgTree) -> None:
    """Note each kind of thing that isn't promised once, with how many there are."""
    asides = [(Promise.MARKED, f"holds {aside}, which is not promised") for aside in tree.asides]
    for (promise, what), times in Counter([*asides, *oddities(tree.root, unit_mm=MM[file.unit])]).items():
        file.fault(promise, what + (f" ({times} of them)" if times > 1 else ""), _AGAIN)


def _read_head(file: DrawingFile, root: ElementTree.Element) -> None:
    file.version = root.get("version", "")
    for tag, key in (("title", "title"), ("desc", "description")):
        file.titles[key] = (root.findtext(f"{SVG}{tag}") or "").strip()
    for element in root.iter(PROPERTY):
        if element.get("name") == "unit":
            file.unit_said = element.get("value", "")


def _read_page(file: DrawingFile, root: ElementTree.Element) -> tuple[float, float, float, float]:
    """Set the page and the unit, and return the viewBox: left, top, width, height."""
    sides = [_LENGTH.fullmatch(root.get(name, "")) for name in ("width", "height")]
    try:
        left, top, width, height = map(number, re.split(r"[\s,]+", root.get("viewBox", "").strip()))
    except ValueError:
        file.fault(Promise.TRUE_SIZE, "has no viewBox of four numbers, so its scale is unknown", _AGAIN)
        return 0.0, 0.0, 1.0, 1.0
    units = {side[2] or "px" if side else "nothing" for side in sides}
    known = len(units) == 1 and units <= MM.keys()
    if not known:
        file.fault(
            Promise.TRUE_SIZE,
            f"width and height are in {' and '.join(sorted(units))}, not in mm or in: a reader has to guess the size",
            "set the root's width and height in mm, equal to the viewBox",
        )
    file.unit = units.pop() if known else file.unit
    scale = MM[file.unit]
    box = (left * scale, top * scale, (left + width) * scale, (top + height) * scale)
    if not (width > 0 < height and all(abs(side) <= FURTHEST_MM for side in box)):
        file.fault(Promise.TRUE_SIZE, "its viewBox is no page that a plaque can have", _AGAIN)
        return 0.0, 0.0, 1.0, 1.0
    if known:
        file.page_mm = box
        _compare_with_view(file, sides, (width, height))
    return left, top, width, height


def _compare_with_view(file: DrawingFile, sides: Sequence[re.Match[str] | None], views: tuple[float, float]) -> None:
    """Note where the root's width or height isn't the viewBox's, so that all is scaled."""
    for side, view, name in zip(sides, views, ("width", "height"), strict=True):
        if side is not None and not abs(number(side[1]) - view) * MM[file.unit] <= 0.001:
            file.fault(
                Promise.TRUE_SIZE,
                f"{name} is {shown(side[1])}{file.unit} but the viewBox gives it {view:g}: the drawing is scaled by "
                f"{number(side[1]) / view:.6g}",
                f"set the root's {name} and the viewBox to the same number",
            )


class _Body:
    """Walks the groups; the page's middle line is where y is mirrored."""

    def __init__(self, file: DrawingFile, view: tuple[float, float, float, float]) -> None:
        self.file = file
        self.scale = MM[file.unit]
        self.mirror = 2 * view[1] + view[3]

    def read(self, element: ElementTree.Element, *, layer: str, data: dict[str, str], depth: int) -> None:
        for child in element:
            tag = child.tag.removeprefix(SVG)
            said = {**data, **{k[5:]: v for k, v in child.attrib.items() if k.startswith("data-")}}
            if _is_hidden(child) and (tag, depth) != ("g", 0):
                self.file.fault(Promise.MARKED, f"layer {layer or 'none'}: a {shown(tag)} is switched off", _AGAIN)
            if tag == "g":
                name = child.get("id", "") or layer
                if depth == 0:
                    self.file.layers.append(name)
                    self.file.hidden |= {name} if _is_hidden(child) else set()
                self.read(child, layer=name if depth == 0 else layer, data=said, depth=depth + 1)
            elif tag in ("path", "circle", "text"):
                if tag == "text" and not self.stays_in_place(child):
                    what = f"a transform ({shown(child.get('transform', ''))}) on a text moves or scales what is drawn"
                    self.file.fault(Promise.TRUE_SIZE, what, _AGAIN)
                self.shape(tag, child, layer, said)

    def stays_in_place(self, element: ElementTree.Element) -> bool:
        """Return whether nothing transforms a text, or only what is promised.

        That is a quarter turn about the text's own place, and in a file in inches a scale from millimetres.
        """
        said = element.get("transform")
        if said is None:
            return True
        turn = f"rotate(-90 {element.get('x')} {element.get('y')})"
        rest = said.removesuffix(turn).rstrip()
        return not rest or (_SCALE.fullmatch(rest) is not None and self.letter_mm(element) != self.scale)

    def letter_mm(self, element: ElementTree.Element) -> float:
        """Return the unit of a text's own numbers: millimetres where a scale says so, else the file's unit."""
        found = _SCALE.match(element.get("transform", ""))
        return 1.0 if found and abs(number(found[1]) * self.scale - 1) < _SCALE_ERROR else self.scale

    def shape(self, tag: str, element: ElementTree.Element, layer: str, data: dict[str, str]) -> None:
        marks, profile = self.marks(data, layer)
        role = data.get("role", "")
        try:
            if tag == "text":
                mm = self.letter_mm(element)
                at = self.up(*(number(element.get(side, "nan")) * mm / self.scale for side in ("x", "y")))
                text = "".join(element.itertext())
                self.file.add(Shape(layer, role, marks, text=text, at=at))
                return
            curves = self.circle(element) if tag == "circle" else self.path(element.get("d", ""), layer)
        except ValueError as problem:
            what = str(problem) if isinstance(problem, _UnreadableError) else f"a {tag} has no usable numbers"
            self.file.fault(Promise.COMPLETE, f"layer {layer or 'none'}: {what}", _AGAIN)
            return
        for curve in curves:
            fitting = {name: values for name, values in profile.items() if len(values) == len(curve.vertices)}
            for name in profile.keys() - fitting:
                what = f"layer {layer}: {len(profile[name])} numbers of {name} for {len(curve.vertices)} vertices"
                self.file.fault(Promise.MARKED, what, _AGAIN, place=curve.start)
            self.file.add(Shape(layer, role, marks, curve, profile=fitting))

    def marks(self, data: dict[str, str], layer: str) -> tuple[dict[str, float], dict[str, tuple[float, ...]]]:
        """Return the marks, the greatest of each, and those that have more than one number."""
        marks, profile = {}, {}
        for name, value in data.items():
            if (plain := name.replace("-", "_")) not in MARKS:
                continue
            try:
                numbers = tuple(map(number, value.split()))
            except ValueError:
                numbers = ()
            if not numbers or not all(0 <= x <= MOST_MARK_MM for x in numbers):
                self.file.fault_of_mark(layer, f"data-{name}", value)
                continue
            marks[plain] = max(numbers)
            if len(numbers) > 1:
                profile[plain] = numbers
        return marks, profile

    def up(self, x: float, y: float) -> tuple[float, float]:
        if not (abs(x) <= _LARGEST and abs(y) <= _LARGEST):
            raise _UnreadableError("a coordinate is no place on a plaque")
        return x * self.scale, (self.mirror - y) * self.scale

    def circle(self, element: ElementTree.Element) -> list[Curve]:
        x, y = self.up(number(element.get("cx", "nan")), number(element.get("cy", "nan")))
        r = number(element.get("r", "nan")) * self.scale
        if not 0 < r <= _LARGEST:
            raise _UnreadableError(f"a circle has the radius {shown(element.get('r', ''))}")
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
    for token in _TOKEN.finditer(d):
        word, written, wrong = token.groups()
        if wrong:
            raise _UnreadableError(f"path data holds {shown(wrong)!r}")
        if word:
            if numbers or not fed:
                break
            if word not in _ARGUMENTS:
                raise _UnreadableError(f"a path uses the command {word}; only M, L, A and Z are promised")
            letter, fed = word, word == "Z"
            if word == "Z":
                every.append(("Z", []))
        else:
            if letter in ("", "Z"):
                raise _UnreadableError("path data has a number without a command")
            numbers.append(_near(float(written)))
            if len(numbers) == _ARGUMENTS[letter]:
                every.append((letter, numbers))
                letter, numbers, fed = "L" if letter == "M" else letter, [], True
        if len(every) > _MOST_PIECES:
            raise _UnreadableError(f"a path has more than {_MOST_PIECES} pieces")
    if numbers or not fed:
        raise _UnreadableError(f"path data ends within a {letter}: it is cut off or damaged")
    return every


def _near(value: float) -> float:
    """Return a number of path data; raises _UnreadableError for one so large that arithmetic with it overflows."""
    if not abs(value) <= _LARGEST:
        raise _UnreadableError(f"path data holds the number {value:g}")
    return value


def _bulge(start: complex, end: complex, radius: float, large: float, sweep: float) -> float:
    """Return the bulge of a circular arc given as SVG gives it.

    SVG 2, B.2.4 and B.2.5, with both radii equal and no rotation: half the chord z' = (start - end) / 2, a radius
    below |z'| is raised to it, the centre stands off the chord's middle by sqrt(r^2 / |z'|^2 - 1) times z' turned
    by a quarter, and the angle between the two ends seen from it is brought into the sense of the sweep flag.
    """
    if radius == 0:
        return 0.0
    half = (start - end) / 2
    if abs(half) < _LEAST_CHORD:
        raise _UnreadableError("an arc ends where it begins")
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
