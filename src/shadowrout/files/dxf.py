"""DXF R2010, R2000 and R12: outlines with bulges at the height of their depth, marks as extended data.

The face is z = 0 and a depth d is z = -d. Every entity carries strings under the application id SHADOWROUT,
lengths in millimetres whatever the file's unit. The file's title, texts and unit are on layer 0 in the same way,
since R12 has no header variable for a unit; R2010 also lists them as custom properties. A path whose depth changes
along it is drawn twice: flat, at its greatest depth, and as a 3D polyline on a layer whose name ends in -3d.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal, get_args

from ezdxf._options import options
from ezdxf.colors import aci2rgb
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.enums import TextEntityAlignment

from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.shapes import LETTER_SHARE, Drawing, Layer, Marks, Profile, Text
from shadowrout.files.backend import Backend, render
from shadowrout.files.dxf_polyline import Polylines, points_3d
from shadowrout.files.rounding import DECIMALS, MARK_DECIMALS, decimal, rounded_length
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.words.colours import BLACK, Colour
from shadowrout.words.units import Unit

Version = Literal["R2010", "R2000", "R12"]

APPLICATION = "SHADOWROUT"
STRING_LIMIT = 255
"""Longest string of extended data, in bytes (DXF Reference, group code 1000)."""

INSUNITS = {Unit.INCH: 1, Unit.MM: 4}
"""Values of $INSUNITS (DXF Reference, header variables)."""

IN_SPACE = "-3d"
"""What is put after a layer's name, and after the role, for lines drawn at their true depth all along."""

_THINNEST = 1e-6
"""As good as flat: the finest step of any decimals, in either unit."""

_FIXED = threading.Lock()


def dxf_bytes(drawing: Drawing, *, version: Version) -> bytes:
    """Return the drawing as an ASCII DXF file; the same drawing gives the same bytes.

    ``version`` is "R2010", "R2000" or "R12"; raises ValueError for others, and PromiseError for a shape that rounding
    would leave nothing of.
    """
    if version not in get_args(Version):
        raise ValueError(f"expected a version of {', '.join(get_args(Version))}, received {version!r}")
    return render(drawing, dxf_backend(version))


def dxf_backend(version: Version) -> Backend:
    """Return what draws one DXF file."""
    return _Dxf(version)


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """Have ezdxf write constants for its time stamps and random ids.

    The switch is one for the whole process, so it is put back afterwards and held by one writer at a time.
    """
    with _FIXED:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


class _Dxf:
    def __init__(self, version: Version) -> None:
        self.version = version
        with _fixed_dates():
            self.file: Document = Document.new(version)  # ezdxf.new would log a warning about R12 and units
        self.space = self.file.modelspace()
        self.file.appids.new(APPLICATION)
        self.polylines = Polylines(self.file, APPLICATION)

    def page(self, drawing: Drawing, box: Box) -> None:
        self.unit, self.flat_mm = drawing.unit, drawing.flat_mm
        if self.version != "R12":
            self.file.header["$INSUNITS"] = INSUNITS[drawing.unit]
            self.file.header["$MEASUREMENT"] = int(drawing.unit is Unit.MM)
        x0, y0, x1, y1 = box
        lowest = self.height(_deepest_mm(drawing)) or -_THINNEST  # ezdxf takes a corner of zeros for a missing one
        self.space.reset_extents((x0, y0, lowest), (x1, y1, 0.0))
        self.space.reset_limits((x0, y0), (x1, y1))
        self.file.set_modelspace_vport(height=1.1 * (y1 - y0), center=((x0 + x1) / 2, (y0 + y1) / 2))
        self.say(drawing)

    def say(self, drawing: Drawing) -> None:
        """Write title, description, unit and properties where each version can hold them."""
        head = (("title", drawing.title), ("description", drawing.description), ("unit", str(drawing.unit)))
        pairs = [*head, *drawing.properties]
        _mark(self.file.layers.get("0"), [text for name, value in pairs for text in self.strings(name, value)])
        if self.version == "R2010":
            for name, value in pairs:
                self.file.header.custom_vars.append(name, value)

    def layer(self, layer: Layer, name: str) -> None:
        self.current = layer
        self.name = name.upper() if self.version == "R12" else name
        self.add_layer(self.name)

    def add_layer(self, name: str) -> None:
        colour = COLOURS[self.current.role]
        entry = self.file.layers.add(name, color=nearest_index(colour))
        if self.version == "R2010" and colour != BLACK:
            entry.rgb = colour
        if self.current.hidden:
            entry.off()

    def path(self, path: ArcPath, marks: Marks) -> None:
        strings = self.numbers(marks)
        self.flat_path(path, self.depth(marks), [f"role={self.current.role}", *strings])
        if marks.profile is not None:
            self.path_in_space(path, marks.profile, [f"role={self.current.role}{IN_SPACE}", *strings])

    def path_in_space(self, path: ArcPath, profile: Profile, strings: list[str]) -> None:
        """Draw a path once more, at its true depth all along, on a layer of its own."""
        name = self.name + (IN_SPACE.upper() if self.version == "R12" else IN_SPACE)
        if not self.file.layers.has_entry(name):
            self.add_layer(name)
        mm = self.unit.mm
        points = points_3d(path, [depth / mm for depth in profile.depths_mm], flat=self.flat_mm / mm)
        rows = [(x, y, z, 0.0) for x, y, z in (points.round(DECIMALS[self.unit]) + 0.0).tolist()]
        self.polylines.add(rows, layer=name, closed=path.closed, in_space=True, strings=strings)

    def flat_path(self, path: ArcPath, z: float, strings: list[str]) -> None:
        bulges = path.bulges.tolist() + ([] if path.closed else [0.0])
        points = [(x, y, bulge) for (x, y), bulge in zip(path.vertices.tolist(), bulges, strict=True)]
        if self.version == "R12":
            rows = [(x, y, z, bulge) for x, y, bulge in points]
            self.polylines.add(rows, layer=self.name, closed=path.closed, in_space=False, strings=strings)
        else:
            self.polylines.add_light(points, layer=self.name, closed=path.closed, z=z, strings=strings)

    def circle(self, centre: Point, radius: float, marks: Marks) -> None:
        place = (*centre, self.depth(marks))
        self.mark(self.space.add_circle(place, radius, dxfattribs=self.attributes()), marks)

    def text(self, baseline: Point, text: Text, height: float) -> None:
        entity = self.space.add_text(self.escaped(_literal(text.text)), height=height, dxfattribs=self.attributes())
        align = TextEntityAlignment.CENTER if text.centred else TextEntityAlignment.LEFT
        entity.set_placement((*baseline, 0.0), align=align)
        entity.dxf.width = LETTER_SHARE  # plain stroke letters are about as wide as high
        if text.reads_up:
            entity.dxf.rotation = 90.0
        self.mark(entity, text.marks)

    def finished(self) -> bytes:
        for kind in sorted(self.file.entitydb.dxf_types_in_use()):  # ezdxf would list them in the order of a set
            self.file.classes.add_class(kind)
        stream = io.StringIO()
        with _fixed_dates():
            self.file.write(stream)
        return self.file.encode(stream.getvalue())

    def attributes(self) -> dict[str, str]:
        return {"layer": self.name}

    def depth(self, marks: Marks) -> float:
        return self.height(marks.over(self.current.marks).depth_mm or 0.0)

    def height(self, depth_mm: float) -> float:
        return -rounded_length(depth_mm, self.unit) + 0.0

    def mark(self, entity: DXFEntity, own: Marks) -> None:
        _mark(entity, [f"role={self.current.role}", *self.numbers(own)])

    def numbers(self, own: Marks) -> list[str]:
        every = own.over(self.current.marks).items()
        return [f"{name}={decimal(x, MARK_DECIMALS)}" for name, x in every]

    def strings(self, name: str, value: str) -> list[str]:
        """Return ``name=value``, a value too long for one string in parts that each begin with the name."""
        parts = [""]
        for character in value:
            more = parts[-1] + self.escaped(character)
            if len(f"{name}={more}".encode()) > STRING_LIMIT:
                parts.append(more := self.escaped(character))
            parts[-1] = more
        return [f"{self.escaped(name)}={part}" for part in parts]

    def escaped(self, text: str) -> str:
        """Return text as the file's encoding can hold it.

        Before R2007 that is one code page; what it lacks is written as backslash, U+ and four hexadecimal
        digits of a UTF-16 unit.
        """
        return text if self.version == "R2010" else "".join(_escaped(character) for character in text)


def _escaped(character: str) -> str:
    try:
        character.encode("cp1252")
    except UnicodeEncodeError:
        code = character.encode("utf-16-be").hex().upper()
        return "".join(rf"\U+{code[i : i + 4]}" for i in range(0, len(code), 4))
    return character


def _literal(text: str) -> str:
    """Return text without the signs to which TEXT entities give a meaning.

    A caret is written with the space that makes it stand for itself. Two percent signs begin a symbol in every
    reader and readers disagree on how to write them plainly, so a space goes between them.
    """
    while "%%" in text:
        text = text.replace("%%", "% %")
    return text.replace("^", "^ ")


def _mark(entity: DXFEntity, strings: list[str]) -> None:
    entity.set_xdata(APPLICATION, [(1000, string) for string in strings])


def _deepest_mm(drawing: Drawing) -> float:
    every = (shape.marks.over(layer.marks) for layer in drawing.layers for shape in layer.shapes)
    return max((marks.depth_mm or 0.0 for marks in every), default=0.0)


def nearest_index(colour: Colour) -> int:
    """Return the index 1 to 255 of the fixed DXF palette nearest to ``colour`` by squared distance in sRGB.

    Black gets 7, which programs draw black on a light ground and white on a dark one.
    """
    if colour == BLACK:
        return 7

    def distance(index: int) -> int:
        return sum((a - b) ** 2 for a, b in zip(aci2rgb(index), colour, strict=True))

    return min(range(1, 256), key=distance)
