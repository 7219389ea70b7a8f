"""Readers of written SVG and DXF files that share no code with the writers or with the package's geometry.

SVG paths are parsed as SVG 2 says (chapter 9; arcs by its appendix B.2.4, from end points to centre). DXF is read
as the pairs of group code and value that the DXF Reference defines, and bulges are turned into centres with
complex numbers. Both give pieces in millimetres, y up.
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field
from xml.etree import ElementTree

import numpy as np

SVG = "{http://www.w3.org/2000/svg}"
MM = {"mm": 1.0, "in": 25.4}


@dataclass(frozen=True)
class Piece:
    """A line (centre None) or an arc that starts at ``start`` and turns by ``turn_rad`` about ``centre``."""

    start: complex
    end: complex
    centre: complex | None = None
    turn_rad: float = 0.0

    def points(self, sagitta: float) -> np.ndarray:
        """Points from the start up to, not including, the end, whose chords leave the arc by ``sagitta``."""
        if self.centre is None:
            return np.array([self.start])
        count = max(1, math.ceil(abs(self.turn_rad) / (2 * math.sqrt(2 * sagitta / self.radius))))
        turns = self.turn_rad * np.arange(count) / count
        return self.centre + (self.start - self.centre) * np.exp(1j * turns)

    @property
    def radius(self) -> float:
        return math.inf if self.centre is None else abs(self.start - self.centre)


@dataclass
class Shape:
    """One path or circle as read: its layer, its pieces, the marks that hold for it (names to strings)."""

    layer: str
    pieces: list[Piece]
    closed: bool
    marks: dict[str, str] = field(default_factory=dict)
    z: float = 0.0

    def polyline(self, sagitta: float) -> np.ndarray:
        """Points along the whole shape, shape (n, 2), the end of the last piece included."""
        every = np.concatenate([*(piece.points(sagitta) for piece in self.pieces), [self.pieces[-1].end]])
        return np.column_stack([every.real, every.imag])

    @property
    def area(self) -> float:
        """Signed area: cross products of the chords, and r^2 (t - sin t) / 2 for each arc's segment."""
        total = 0.0
        for piece in self.pieces:
            total += (piece.start.conjugate() * piece.end).imag / 2
            if piece.centre is not None:
                total += piece.radius**2 * (piece.turn_rad - math.sin(piece.turn_rad)) / 2
        return total


# SVG


@dataclass
class SvgFile:
    width_mm: float
    height_mm: float
    view: tuple[float, float, float, float]
    unit_mm: float
    groups: list[ElementTree.Element]
    shapes: list[Shape]
    root: ElementTree.Element


def read_svg(content: bytes) -> SvgFile:
    root = ElementTree.fromstring(content)
    width, height = _length_mm(root.get("width")), _length_mm(root.get("height"))
    view = tuple(float(v) for v in root.get("viewBox").split())
    unit = width / view[2]
    if not math.isclose(unit, height / view[3], rel_tol=1e-12):
        raise ValueError("the view box is scaled differently in x and y")
    groups = root.findall(f"{SVG}g")
    shapes = [shape for group in groups for shape in _group_shapes(group, view, unit)]
    return SvgFile(width, height, view, unit, groups, shapes, root)


def _length_mm(text: str) -> float:
    match = re.fullmatch(r"([0-9.]+)(mm|in)", text)
    return float(match[1]) * MM[match[2]]


def _group_shapes(group, view, unit):
    common = _data(group)
    for element in group:
        marks = {**common, **_data(element)}
        if element.tag == f"{SVG}path":
            pieces, closed = parse_path(element.get("d"))
        elif element.tag == f"{SVG}circle":
            x, y, r = (float(element.get(name)) for name in ("cx", "cy", "r"))
            pieces, closed = [Piece(complex(x + r, y), complex(x + r, y), complex(x, y), -2 * math.pi)], True
        else:
            continue
        yield Shape(group.get("id"), [_to_drawing(p, view, unit) for p in pieces], closed, marks)


def _data(element) -> dict[str, str]:
    return {k.removeprefix("data-").replace("-", "_"): v for k, v in element.attrib.items() if k.startswith("data-")}


def _to_drawing(piece: Piece, view, unit: float) -> Piece:
    """File's axes to millimetres, y up: the page's top line is the top of the drawing."""
    mirror = 2 * view[1] + view[3]

    def move(p):
        return None if p is None else complex(p.real, mirror - p.imag) * unit

    return Piece(move(piece.start), move(piece.end), move(piece.centre), -piece.turn_rad)


def parse_path(d: str) -> tuple[list[Piece], bool]:
    """Parse a path of one M, any number of L and A, and at most one Z; anything else is an error."""
    tokens = re.findall(r"[A-Za-z]|-?[0-9.]+(?:[eE][-+]?[0-9]+)?", d)
    at = start = None
    pieces: list[Piece] = []
    closed = False
    while tokens:
        command = tokens.pop(0)
        if closed or (command == "M") != (start is None):
            raise ValueError(f"{command} out of place")
        if command == "Z":
            closed = True
            if at != start:
                pieces.append(Piece(at, start))
            continue
        count = {"M": 2, "L": 2, "A": 7}.get(command)
        if count is None:
            raise ValueError(f"unexpected command {command}")
        numbers = [float(tokens.pop(0)) for _ in range(count)]
        end = complex(*numbers[-2:])
        if command == "M":
            start = end
        elif command == "L":
            pieces.append(Piece(at, end))
        elif end != at:
            pieces.append(_arc(at, end, *numbers[:5]))
        at = end
    return pieces, closed


def _arc(p1: complex, p2: complex, rx: float, ry: float, rotation: float, large: float, sweep: float) -> Piece:
    """End points to centre, SVG 2 appendix B.2.4 for equal radii, B.2.5 for radii that are too small or 0."""
    if rx != ry or rotation != 0 or large not in (0, 1) or sweep not in (0, 1):
        raise ValueError("not a circular arc")
    if rx == 0:
        return Piece(p1, p2)
    half = (p1 - p2) / 2
    radius = max(abs(rx), abs(half))
    size = math.sqrt(max(0.0, radius**2 - abs(half) ** 2)) / abs(half)
    sign = -1 if large == sweep else 1
    offset = sign * size * complex(half.imag, -half.real)
    centre = offset + (p1 + p2) / 2
    turn = cmath.phase((p2 - centre) / (p1 - centre))
    if large and abs(abs(turn) - math.pi) > 1e-6 and abs(turn) < math.pi:
        turn -= math.copysign(2 * math.pi, turn)
    if (turn > 0) != bool(sweep):
        turn = -turn if abs(abs(turn) - math.pi) < 1e-6 else turn + (2 * math.pi if sweep else -2 * math.pi)
    return Piece(p1, p2, centre, turn)


# DXF


def dxf_tags(content: bytes, encoding: str = "utf-8") -> list[tuple[int, str]]:
    lines = content.decode(encoding).split("\n")
    if lines[-1] == "":
        lines.pop()
    if len(lines) % 2:
        raise ValueError("a group code without its value")
    return [(int(lines[i]), lines[i + 1]) for i in range(0, len(lines), 2)]


def dxf_section(tags: list[tuple[int, str]], name: str) -> list[tuple[int, str]]:
    begin = next(i for i in range(len(tags)) if tags[i] == (0, "SECTION") and tags[i + 1] == (2, name))
    return tags[begin + 2 : tags.index((0, "ENDSEC"), begin)]


def dxf_header(tags) -> dict[str, str]:
    """First value of each header variable."""
    head = dxf_section(tags, "HEADER")
    return {value: head[i + 1][1] for i, (code, value) in enumerate(head) if code == 9}


def dxf_records(section) -> list[list[tuple[int, str]]]:
    """Cut a section into its records, each of which begins with group code 0."""
    records: list[list[tuple[int, str]]] = []
    for tag in section:
        if tag[0] == 0:
            records.append([])
        if records:
            records[-1].append(tag)
    return records


def record_marks(record) -> dict[str, str]:
    """Return the strings of application SHADOWROUT as names to values; a repeated name has its values joined."""
    marks: dict[str, str] = {}
    application = ""
    for code, value in record:
        application = value if code == 1001 else application
        if code == 1000 and application == "SHADOWROUT":
            name, _, rest = value.partition("=")
            marks[name] = marks.get(name, "") + rest
    return marks


def first(record, code: int, default: str = "0") -> str:
    return next((value for c, value in record if c == code), default)


def read_dxf_shapes(content: bytes, *, unit_mm: float, encoding: str = "utf-8") -> list[Shape]:
    records = dxf_records(dxf_section(dxf_tags(content, encoding), "ENTITIES"))
    shapes: list[Shape] = []
    while records:
        record = records.pop(0)
        kind = record[0][1]
        if kind == "LWPOLYLINE":
            rows = _light_rows(record)
            z = float(first(record, 38))
        elif kind == "POLYLINE":
            rows, heights = [], set()
            while (vertex := records.pop(0))[0][1] == "VERTEX":
                rows.append([float(first(vertex, code)) for code in (10, 20, 42)])
                heights.add(float(first(vertex, 30)))
            z = float(first(record, 30))
            if heights != {z}:
                raise ValueError(f"vertices at {heights}, polyline at {z}")
        elif kind == "CIRCLE":
            x, y, z, r = (float(first(record, code)) for code in (10, 20, 30, 40))
            rows = [[x + r, y, 1.0], [x - r, y, 1.0]]
        else:
            continue
        closed = kind == "CIRCLE" or bool(int(first(record, 70)) & 1)
        pieces = _bulge_pieces(rows, closed, unit_mm)
        shapes.append(Shape(first(record, 8), pieces, closed, record_marks(record), z * unit_mm))
    return shapes


def _light_rows(record) -> list[list[float]]:
    rows: list[list[float]] = []
    for code, value in record:
        if code == 1001:
            break
        if code == 10:
            rows.append([float(value), 0.0, 0.0])
        elif code == 20:
            rows[-1][1] = float(value)
        elif code == 42:
            rows[-1][2] = float(value)
    if len(rows) != int(first(record, 90)):
        raise ValueError("the count of vertices is wrong")
    return rows


def _bulge_pieces(rows, closed: bool, unit_mm: float) -> list[Piece]:
    places = [complex(x, y) * unit_mm for x, y, _ in rows]
    ends = places[1:] + places[:1]
    pieces = [bulge_piece(a, b, row[2]) for a, b, row in zip(places, ends, rows, strict=True)]
    return pieces if closed else pieces[:-1]


def bulge_piece(start: complex, end: complex, bulge: float) -> Piece:
    """Find the centre: bulge is tan(angle / 4), and the chord is turned by (90 - angle / 2) degrees and scaled."""
    if bulge == 0:
        return Piece(start, end)
    turn = 4 * math.atan(bulge)
    centre = start + (end - start) / (2 * math.sin(turn / 2)) * cmath.exp(1j * (math.pi - turn) / 2)
    return Piece(start, end, centre, turn)
