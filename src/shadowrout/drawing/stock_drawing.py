"""Several drawings laid side by side on pieces of stock."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from shadowrout.drawing.shapes import Circle, Drawing, Layer, Path, Shape
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Point
from shadowrout.sheets.packing import Placement


def stock_drawings(
    drawings: Sequence[Drawing], places: Sequence[Placement], *, stock: tuple[float, float], title: str
) -> tuple[Drawing, ...]:
    """Return one drawing for each piece of stock, its page the stock, with every drawing at its place.

    Layers of one name come together in the order in which the first drawing has them, so that what is cut last on each
    sheet is cut last on the stock. A turned sheet's texts read upwards. The unit and the properties are the first
    drawing's. No drawings give none.
    """
    result = []
    for number in sorted({place.stock for place in places}):
        here = [_moved(d, p) for d, p in zip(drawings, places, strict=True) if p.stock == number]
        first = here[0]
        described = f"{len(here)} sheets on stock of {stock[0]:g} x {stock[1]:g} mm. {first.description}"
        layers = tuple(_together(here))
        numbered = title if len({p.stock for p in places}) == 1 else f"{title} {number + 1}"
        result.append(replace(first, title=numbered, description=described, box_mm=(0.0, 0.0, *stock), layers=layers))
    return tuple(result)


def _together(drawings: Sequence[Drawing]) -> Iterator[Layer]:
    """Yield the layers of all drawings, those of one name as one."""
    unit = drawings[0].unit
    merged: dict[str, Layer] = {}
    for layer in (layer for drawing in drawings for layer in drawing.layers):
        name = layer.name(unit)
        before = merged[name].shapes if name in merged else ()
        merged[name] = replace(layer, shapes=before + layer.shapes)
    last = [layer.name(unit) for layer in drawings[0].layers]
    known = {name: i for i, name in enumerate(last)}
    yield from sorted(merged.values(), key=lambda layer: known.get(layer.name(unit), -1))


def _moved(drawing: Drawing, place: Placement) -> Drawing:
    layers = tuple(
        replace(layer, shapes=tuple(_shape_at(shape, drawing.box_mm, place) for shape in layer.shapes))
        for layer in drawing.layers
    )
    return replace(drawing, layers=layers)


def _shape_at(shape: Shape, page: Box, place: Placement) -> Shape:
    if isinstance(shape, Path):
        vertices = np.array([_point_at((float(x), float(y)), page, place) for x, y in shape.path.vertices])
        return replace(shape, path=ArcPath(vertices, shape.path.bulges, shape.path.closed))
    if isinstance(shape, Circle):
        return replace(shape, centre=_point_at(shape.centre, page, place))
    return replace(shape, at=_point_at(shape.at, page, place), reads_up=shape.reads_up != place.turned)


def _point_at(point: Point, page: Box, place: Placement) -> Point:
    """Return where a point of the page comes to lie: a quarter turn counter-clockwise first where it is turned."""
    x, y = point[0] - page[0], point[1] - page[1]
    if place.turned:
        x, y = page[3] - page[1] - y, x
    return place.x + x, place.y + y
