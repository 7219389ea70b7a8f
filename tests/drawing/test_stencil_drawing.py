"""The drawing of a stencil: what is cut, in which order, and how large."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from cutting_way import travel_mm
from stencil_masks import letters, sheet_around

from shadowrout.drawing.shapes import Circle, Drawing, Path, Role, Text
from shadowrout.drawing.sheet_words import rim_text, sheet_text, text_box
from shadowrout.drawing.stencil_drawing import stencil_drawing
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.region import Region
from shadowrout.job import sheet_options
from shadowrout.sheets.register import RegisterMark, holes_of
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.making import make_stencil
from shadowrout.words.units import Unit


@pytest.fixture(scope="module")
def stencil() -> CutStencil:
    design = letters("DRAB", 25)
    return make_stencil(
        design, sheet=sheet_around(design), options=sheet_options.StencilOptions(), tolerance_mm=0.1, drop_islands=False
    )


def drawing_of(
    stencil: CutStencil,
    *,
    ties: bool = False,
    unit: Unit = Unit.MM,
    mark: bool = True,
    marks: Sequence[RegisterMark] | None = None,
) -> Drawing:
    x0, y0, x1, y1 = stencil.sheet
    if marks is None:
        marks = [RegisterMark("A", (x0 + 5, y0 + 5), 4.0)] if mark else []
    return stencil_drawing(
        fit_region(stencil.drawn, tolerance=0.1).paths,
        stencil,
        marks,
        board=(x0 + 6, y0 + 6, x1 - 6, y1 - 6),
        rim_mm=10.0,
        ties=ties,
        unit=unit,
        title="ROSIE",
        description="for the test",
    )


def test_the_edge_is_cut_last_and_the_page_is_the_sheet(stencil):
    drawing = drawing_of(stencil)
    roles = [layer.role for layer in drawing.layers]
    assert roles == [Role.NOTE, Role.BRIDGE, Role.OPENING, Role.REGISTER, Role.SHEET_EDGE]
    assert drawing.box_mm == stencil.sheet
    (edge,) = drawing.layers[-1].shapes
    assert edge.path.bounds == pytest.approx(stencil.sheet)


def test_every_opening_is_there_once_in_an_order_with_little_travel(stencil):
    shapes = drawing_of(stencil).layers[2].shapes
    fitted = fit_region(stencil.drawn, tolerance=0.1).paths
    assert sorted(shape.path.area for shape in shapes) == pytest.approx(sorted(path.area for path in fitted))
    starts = np.array([shape.path.vertices[0] for shape in shapes])
    every = np.arange(len(starts))
    given = np.array([path.vertices[0] for path in fitted])
    begin = stencil.sheet[:2]
    assert travel_mm(starts, every, begin=begin) <= travel_mm(given, every, begin=begin)
    cut = Region.of_polygons([(shape.path.flattened(0.005), []) for shape in shapes])
    assert cut.area == pytest.approx(stencil.drawn.area, rel=0.01)


def test_bridges_carry_their_width_and_cross_what_is_dark(stencil):
    bridges = drawing_of(stencil).layers[1].shapes
    assert len(bridges) == len(stencil.bridges) >= 5
    assert all(isinstance(shape, Path) and shape.marks.width_mm > 3.0 for shape in bridges)
    middles = np.array([shape.path.vertices.mean(axis=0) for shape in bridges])
    assert not stencil.openings.within(middles).any()


def test_dowel_holes_allow_for_the_kerf(stencil):
    (hole,) = drawing_of(stencil).layers[3].shapes
    assert isinstance(hole, Circle)
    assert 2 * hole.radius_mm + stencil.kerf_mm == pytest.approx(4.0)


@pytest.mark.parametrize("dowel_mm", [2.0, 4.0, 8.0])
def test_every_hole_is_named_beside_it_and_clear_of_what_is_cut(stencil, dowel_mm):
    x0, y0, x1, y1 = stencil.sheet
    inset = 1.0 + dowel_mm / 2
    places = {"A": (x0 + inset, y0 + inset), "B": (x1 - inset, y0 + inset), "C": (x0 + 20, y1 - inset)}
    marks = [RegisterMark(name, at, dowel_mm) for name, at in places.items()]
    (names,) = [drawing_of(stencil, marks=marks).layers[0].shapes[-3:]]
    assert [text.text for text in names] == ["A", "B", "C"]
    cut = shapely.union(stencil.drawn.shape, holes_of(marks).shape)
    for text in names:
        box = shapely.box(*text_box(text))
        assert shapely.distance(box, shapely.Point(places[text.text])) < dowel_mm / 2 + 2.5
        assert box.within(shapely.box(*stencil.sheet))
        assert box.intersection(cut).area < 0.01


def test_ties_leave_the_edge_in_pieces_and_no_mark_leaves_no_layer(stencil):
    drawing = drawing_of(stencil, ties=True, mark=False)
    assert [layer.role for layer in drawing.layers][-2:] == [Role.OPENING, Role.SHEET_EDGE]
    assert all(not shape.path.closed for shape in drawing.layers[-1].shapes)


@pytest.mark.parametrize(("unit", "size"), [(Unit.MM, "49.0 mm, webs 3.0 mm"), (Unit.INCH, "webs 0.118 in (1/8)")])
def test_name_and_size_stand_on_the_rim(stencil, unit, size):
    texts = drawing_of(stencil, unit=unit).layers[0].shapes
    assert texts[0].text == "ROSIE"
    assert texts[1].text.endswith(size)
    x0, y0, x1, y1 = stencil.sheet
    for text in texts:
        half = len(text.text) * text.height_mm / 2
        assert x0 <= text.at[0] - half
        assert text.at[0] + half <= x1
        assert min(text.at[1] - y0, y1 - text.at[1]) < 10


@pytest.mark.parametrize(
    ("mark", "placing"),
    [(True, "place by dowels A; board 6.0 mm inside this edge"), (False, "board 6.0 mm inside this edge")],
)
def test_the_rim_says_how_the_sheet_is_placed_on_the_board(stencil, mark, placing):
    assert placing in [shape.text for shape in drawing_of(stencil, mark=mark).layers[0].shapes]


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_lines_on_a_rim_do_not_touch(count):
    sheet, rim = (0.0, 0.0, 200.0, 100.0), 10.0
    texts: list[Text] = list(rim_text([f"line {n}" for n in range(count)], sheet, rim_mm=rim))
    assert [text.text for text in texts] == [f"line {n}" for n in range(count)]
    for text in texts:
        half = text.height_mm / 2
        assert text.at[1] + half <= rim or text.at[1] - half >= 100 - rim
        assert 0 <= text.at[1] - half <= text.at[1] + half <= 100
    for i, a in enumerate(texts):
        assert all(abs(a.at[1] - b.at[1]) >= a.height_mm for b in texts[i + 1 :])


LINES = ("ROSIE, 60x45mm", "72.0 mm x 57.0 mm, webs 3.0 mm", "place by dowels A, B, C; board 6.0 mm inside this edge")
SMALL = (0.0, 0.0, 72.0, 57.0)


@pytest.mark.parametrize(
    ("dowels", "opening"),
    [
        ([(10.0, 10.0), (62.0, 10.0), (10.0, 47.0)], (15.0, 18.0, 45.0, 40.0)),
        ([(36.0, 9.0), (12.0, 45.0), (60.0, 45.0)], (20.0, 18.0, 50.0, 36.0)),
        ([(36.0, 9.0), (12.0, 45.0), (60.0, 45.0)], (6.0, 16.0, 66.0, 38.0)),
    ],
)
@pytest.mark.parametrize("dowel_mm", [4.0, 6.0, 8.0])
def test_text_on_a_small_sheet_touches_neither_holes_nor_openings_nor_the_edge(dowels, opening, dowel_mm):
    marks = [RegisterMark(name, at, dowel_mm) for name, at in zip("ABC", dowels, strict=True)]
    keep_off = Region.box(opening).union(holes_of(marks))
    texts = list(sheet_text(LINES, SMALL, rim_mm=10.0, keep_off=keep_off))
    assert sorted(" ".join(text.text for text in texts).split()) == sorted(" ".join(LINES).split())
    boxes = [shapely.box(*text_box(text)) for text in texts]
    assert all(box.within(shapely.box(*SMALL)) for box in boxes)
    assert not any(box.intersects(keep_off.shape) for box in boxes)
    assert not any(a.intersection(b).area > 1e-9 for a, b in itertools.combinations(boxes, 2))


def test_text_that_has_room_on_the_rim_stays_there():
    sheet = (0.0, 0.0, 300.0, 200.0)
    keep_off = Region.box((10.0, 10.0, 290.0, 190.0))
    assert list(sheet_text(LINES, sheet, rim_mm=10.0, keep_off=keep_off)) == list(rim_text(LINES, sheet, rim_mm=10.0))
