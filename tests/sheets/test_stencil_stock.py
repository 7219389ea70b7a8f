"""Several sheets on stock: nothing changes but the place, nothing overlaps, every edge is cut last."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely

from shadowrout.drawing.shapes import Circle, Drawing, Layer, Path, Role, Text
from shadowrout.drawing.stock_drawing import stock_drawings
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.outlines import rectangle, rounded_rectangle
from shadowrout.sheets.packing import Placement, packed


def sheet(width: float, height: float, *, hole: bool = True) -> Drawing:
    box = (-7.0, 3.0, width - 7.0, height + 3.0)
    opening = Path(rounded_rectangle((3.0, 13.0, width - 17.0, height - 7.0), 5.0))
    layers = [
        Layer(Role.NOTE, (Text((0.0, 6.0), "ROSIE", 2.5),)),
        Layer(Role.OPENING, (opening,)),
        *([Layer(Role.REGISTER, (Circle((-2.0, 8.0), 2.0),))] if hole else []),
        Layer(Role.SHEET_EDGE, (Path(rectangle(box)),)),
    ]
    return Drawing("ROSIE", "for the test", box, tuple(layers))


def outline(path: ArcPath) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(0.001))


def test_every_sheet_keeps_its_shape_and_none_touches_another():
    sizes = [(120.0, 80.0), (60.0, 150.0), (90.0, 90.0), (200.0, 60.0)]
    drawings = [sheet(*size, hole=number > 0) for number, size in enumerate(sizes)]
    stock = (300.0, 260.0)
    places = packed(sizes, stock=stock, gap_mm=4.0)
    result = stock_drawings(drawings, places, stock=stock, title="fair")
    assert len(result) == 1 + max(place.stock for place in places)
    edges, openings = [], []
    for number, drawing in enumerate(result):
        assert drawing.box_mm == (0, 0, *stock)
        assert drawing.layers[-1].role is Role.SHEET_EDGE
        for layer in drawing.layers:
            found = [(number, outline(s.path)) for s in layer.shapes if isinstance(s, Path)]
            edges += found if layer.role is Role.SHEET_EDGE else []
            openings += found if layer.role is Role.OPENING else []
    assert sorted(e.area for _, e in edges) == pytest.approx(sorted(w * h for w, h in sizes))
    before = [outline(d.layers[1].shapes[0].path).area for d in drawings]
    assert sorted(o.area for _, o in openings) == pytest.approx(sorted(before))
    assert all(any(n == m and edge.contains(o) for m, edge in edges) for n, o in openings)
    for (n, a), (m, b) in combinations(edges, 2):
        assert n != m or a.distance(b) >= 4.0 - 0.011


def test_a_turned_sheet_is_turned_counter_clockwise():
    drawing = sheet(100.0, 50.0)
    (result,) = stock_drawings([drawing], [Placement(0, 10.0, 20.0, turned=True)], stock=(200.0, 200.0), title="one")
    layers = {layer.role: layer.shapes[0] for layer in result.layers}
    assert layers[Role.SHEET_EDGE].path.bounds == pytest.approx((10, 20, 60, 120))
    assert layers[Role.REGISTER].centre == pytest.approx((10 + 50 - 5, 20 + 5))
    assert layers[Role.OPENING].path.area == pytest.approx(drawing.layers[1].shapes[0].path.area)
    assert layers[Role.NOTE].at == pytest.approx((10 + 50 - 3, 20 + 7))


def test_no_sheets_need_no_stock():
    assert stock_drawings([], [], stock=(100.0, 100.0), title="none") == ()


def test_arcs_stay_arcs():
    (result,) = stock_drawings(
        [sheet(80.0, 60.0)], [Placement(0, 1.0, 2.0, turned=True)], stock=(99.0, 99.0), title="x"
    )
    bulges = [layer.shapes[0].path.bulges for layer in result.layers if layer.role is Role.OPENING][0]
    np.testing.assert_allclose(bulges[1::2], np.tan(np.pi / 8))
