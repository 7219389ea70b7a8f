"""SVG: one user unit is one unit of the drawing, one group a layer, outlines without fill.

The page's top edge is the file's first line: a point (x, y) of the drawing is written at (x, y0 + y1 - y), where
y0 and y1 are the page's bottom and top. So a page with its origin in the corner starts at 0 0, and one with its
origin in the centre keeps it there. Shapes carry presentation attributes only, no style sheet, since machine
importers often ignore one.
"""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import svgwrite
from svgwrite.container import Group

from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.shapes import Drawing, Layer, Marks, Text
from shadowrout.files.backend import Backend, render
from shadowrout.files.rounding import DECIMALS, MARK_DECIMALS, decimal
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.words.units import Unit

STROKE_MM = 0.2
"""Width of every line: seen on paper and on a screen, and nothing to a machine."""

CAPITAL_SHARE = 0.72
"""Capital height of common sans-serif typefaces as a share of the type size (DejaVu Sans: 0.729)."""

NAMESPACE = "urn:shadowrout"


def svg_bytes(drawing: Drawing) -> bytes:
    """Return the drawing as an SVG file in UTF-8; the same drawing gives the same bytes.

    Raises PromiseError for a shape that rounding would leave nothing of.
    """
    return render(drawing, svg_backend())


def svg_backend() -> Backend:
    """Return what draws one SVG file."""
    return _Svg()


class _Svg:
    def page(self, drawing: Drawing, box: Box) -> None:
        x0, y0, x1, y1 = box
        self.unit = drawing.unit
        self.decimals = DECIMALS[drawing.unit]
        self.mirror = y0 + y1
        width, height = self.number(x1 - x0), self.number(y1 - y0)
        view = f"{self.number(x0)} {self.number(y0)} {width} {height}"
        size = (f"{width}{drawing.unit}", f"{height}{drawing.unit}")
        self.file = svgwrite.Drawing(size=size, viewBox=view, debug=False)
        self.file.set_desc(title=drawing.title, desc=drawing.description)
        self.file.set_metadata(_properties(drawing))

    def layer(self, layer: Layer, name: str) -> None:
        colour = "#{:02x}{:02x}{:02x}".format(*COLOURS[layer.role])
        width = decimal(STROKE_MM / self.unit.mm, self.decimals)
        pen = {"fill": "none", "stroke": colour, "stroke-width": width, "stroke-linejoin": "round"}
        if layer.hidden:
            pen["display"] = "none"
        self.colour = colour
        self.group: Group = self.file.g(id=name, **pen, **{"data-role": str(layer.role)}, **_data(layer.marks))
        self.file.add(self.group)

    def path(self, path: ArcPath, marks: Marks) -> None:
        self.group.add(self.file.path(d=path_data(self.flipped(path), self.decimals), **_data(marks)))

    def circle(self, centre: Point, radius: float, marks: Marks) -> None:
        x, y = centre
        place = (self.number(x), self.number(self.mirror - y))
        self.group.add(self.file.circle(center=place, r=self.number(radius), **_data(marks)))

    def text(self, baseline: Point, text: Text, height: float) -> None:
        """Draw a text. In inches it stands in millimetres and is scaled: many viewers break letters of under a unit."""
        (x, y), mm = baseline, self.unit.mm
        pen = {"fill": self.colour, "stroke": "none", "font-family": "sans-serif"}
        element = self.file.text(text.text, **pen, **_data(text.marks))
        element["x"], element["y"] = self.number(x * mm), self.number((self.mirror - y) * mm)
        element["font-size"] = self.number(height * mm / CAPITAL_SHARE)
        if text.centred:
            element["text-anchor"] = "middle"
        scaled = [f"scale({1 / mm:.12f})"] if mm != 1 else []
        turned = [f"rotate(-90 {element['x']} {element['y']})"] if text.reads_up else []
        if scaled or turned:
            element["transform"] = " ".join(scaled + turned)
        self.group.add(element)

    def finished(self) -> bytes:
        root = self.file.get_xml()
        ElementTree.indent(root, space=" ")
        head = b'<?xml version="1.0" encoding="UTF-8"?>\n'
        return head + ElementTree.tostring(root, encoding="unicode").encode("utf-8") + b"\n"

    def number(self, value: float) -> str:
        return decimal(value, self.decimals)

    def flipped(self, path: ArcPath) -> ArcPath:
        """Return the path in the file's axes, its vertices again exactly the decimals that get written."""
        down = path.mirrored(self.mirror)
        return ArcPath(np.round(down.vertices, self.decimals), down.bulges, down.closed)


def path_data(path: ArcPath, decimals: int) -> str:
    """Return the ``d`` of a path given in the file's own axes (SVG 2, chapter 9).

    The sweep flag is 1 where the angle grows in the file's axes, so where the bulge is positive there, and the
    large-arc flag is 1 past half a turn. ``Z`` draws the last line of a closed path; a last arc is drawn first.
    """
    places = [f"{decimal(x, decimals)} {decimal(y, decimals)}" for x, y in path.vertices.tolist()]
    ends = places[1:] + places[:1] if path.closed else places[1:]
    bulges = path.bulges.tolist()
    commands = [f"M {places[0]}"]
    for end, bulge, radius in zip(ends, bulges, path.radii.tolist(), strict=True):
        if bulge == 0:
            commands.append(f"L {end}")
        else:
            r = _radius(radius, bulge, decimals)
            commands.append(f"A {r} {r} 0 {int(abs(bulge) > 1)} {int(bulge > 0)} {end}")
    if path.closed:
        commands = commands[:-1] if bulges[-1] == 0 else commands
        commands.append("Z")
    return " ".join(commands)


def _radius(radius: float, bulge: float, decimals: int) -> str:
    """Return an arc's radius with as many digits as its shape needs.

    The centre lies sqrt(r^2 - (c/2)^2) off the chord, which near half a turn magnifies an error of r without
    limit; there every digit is given, and r is never below half the chord.
    """
    if abs(abs(bulge) - 1) < 0.1:
        return np.format_float_positional(radius, trim="-")
    return decimal(radius, decimals + 2)


def _data(marks: Marks) -> dict[str, str]:
    said = {f"data-{name.replace('_', '-')}": decimal(value, MARK_DECIMALS) for name, value in marks.items()}
    if marks.profile is not None:
        said["data-depth-mm"], said["data-width-mm"] = _list(marks.profile.depths_mm), _list(marks.profile.widths_mm)
    return said


def _list(lengths_mm: tuple[float, ...]) -> str:
    return " ".join(decimal(length, DECIMALS[Unit.MM]) for length in lengths_mm)


def _properties(drawing: Drawing) -> ElementTree.Element:
    every = ElementTree.Element("properties", {"xmlns": NAMESPACE})
    for name, value in (("unit", str(drawing.unit)), *drawing.properties):
        ElementTree.SubElement(every, "property", {"name": name, "value": value})
    return every
