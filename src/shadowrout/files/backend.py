"""What a file format must be able to do, and the one loop that walks a drawing.

A new format is one class with these verbs. All numbers that it gets are in the drawing's unit and rounded, y up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Shape, Text
from shadowrout.errors import PromiseError
from shadowrout.files.rounding import rounded_box, rounded_length, rounded_line, rounded_path
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit


class Backend(Protocol):
    """Verbs of a file format, called in the order page, (layer, its shapes)..., finished."""

    def page(self, drawing: Drawing, box: Box) -> None:
        """Begin the file. ``box`` is the page; the drawing's title, texts and unit are for the head."""

    def layer(self, layer: Layer, name: str) -> None:
        """Begin a layer; the shapes that follow are on it."""

    def path(self, path: ArcPath, marks: Marks) -> None:
        """Draw a path; ``marks`` are its own, without those of the layer (so for every shape).

        A profile in them has one depth and width, in millimetres, for each of the path's vertices.
        """

    def circle(self, centre: Point, radius: float, marks: Marks) -> None:
        """Draw a circle."""

    def text(self, baseline: Point, text: Text, height: float) -> None:
        """Draw a line of text from, or centred about, a point on its baseline, turned about it if it reads upwards."""

    def finished(self) -> bytes:
        """End the file and return its bytes."""


def render(drawing: Drawing, backend: Backend) -> bytes:
    """Draw every layer in order and return the file's bytes.

    Raises PromiseError for a shape of which rounding to the file's decimals would leave nothing.
    """
    return render_all(drawing, [backend])[0]


def render_all(drawing: Drawing, backends: Sequence[Backend]) -> list[bytes]:
    """Draw as ``render`` does on several backends at once, an SVG and a DXF perhaps; every shape is rounded once."""
    for backend in backends:
        backend.page(drawing, rounded_box(drawing.box_mm, drawing.unit))
    for layer in drawing.layers:
        for backend in backends:
            backend.layer(layer, layer.name(drawing.unit))
        for shape in layer.shapes:
            _draw(shape, backends, drawing.unit)
    return [backend.finished() for backend in backends]


def _draw(shape: Shape, backends: Sequence[Backend], unit: Unit) -> None:
    match shape:
        case Path():
            path, marks = _rounded_path(shape, unit)
            for backend in backends:
                backend.path(path, marks)
        case Circle():
            centre, radius = _rounded(shape.centre, unit), _visible(shape.radius_mm, unit)
            for backend in backends:
                backend.circle(centre, radius, shape.marks)
        case Text():
            baseline, height = _rounded(_baseline(shape), unit), _visible(shape.height_mm, unit)
            for backend in backends:
                backend.text(baseline, shape, height)


def _baseline(text: Text) -> Point:
    """Return the point on a text's baseline that its place stands for."""
    x, y = text.at
    down = text.height_mm / 2 if text.centred else 0.0
    return (x + down, y) if text.reads_up else (x, y - down)


def _rounded_path(shape: Path, unit: Unit) -> tuple[ArcPath, Marks]:
    if shape.marks.profile is None:
        return rounded_path(shape.path, unit), shape.marks
    path, profile = rounded_line(shape.path, shape.marks.profile, unit)
    return path, replace(shape.marks, profile=profile)


def _rounded(point: Point, unit: Unit) -> Point:
    x, y = point
    return rounded_length(x, unit), rounded_length(y, unit)


def _visible(length_mm: float, unit: Unit) -> float:
    length = rounded_length(length_mm, unit)
    if length <= 0:
        raise PromiseError(Sentence("a shape of {length:g mm} is too small to be written", length=Mm(length_mm)))
    return length
