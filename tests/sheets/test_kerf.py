"""The kerf test piece: cut by shapely with a known kerf, measured, and the kerf found again."""

from __future__ import annotations

import re

import pytest
import shapely

from shadowrout.drawing.shapes import Role, Text
from shadowrout.drawing.template_drawing import kerf_drawing
from shadowrout.geometry.arcs import ArcPath
from shadowrout.sheets.kerf_piece import BARS, KerfTest, kerf_test
from shadowrout.words.units import MM_PER_INCH, Unit


def kerf_told(piece: KerfTest, **measured: float) -> float:
    """Return what the formula written on the piece gives, the one that holds what was measured."""
    (formula,) = [
        found[1] for text in piece.formula if (found := re.search("kerf = (.+)", text)) and min(measured) in found[1]
    ]
    return float(eval(formula, {}, measured))


def line(path: ArcPath) -> shapely.Geometry:
    return shapely.LinearRing(path.vertices) if path.closed else shapely.LineString(path.vertices)


def cut_pieces(kerf: float, *, inches: bool) -> list[shapely.Polygon]:
    """Return what is left of a board after a beam ``kerf`` wide has followed every line of the piece."""
    piece = kerf_test(inches=inches)
    x0, y0, x1, y1 = piece.box
    board = shapely.box(x0 - 5, y0 - 5, x1 + 5, y1 + 5)
    lines = shapely.union_all([line(path) for path in (*piece.cuts, *piece.outlines)])
    parts = shapely.get_parts(board.difference(lines.buffer(kerf / 2, cap_style="square", join_style="mitre")))
    return [p for p in parts if p.bounds[0] > x0 - 1]


@pytest.mark.parametrize("kerf", [0.1, 0.2, 0.006 * MM_PER_INCH, 0.5])
@pytest.mark.parametrize("inches", [False, True])
def test_the_formulas_give_back_the_kerf_that_cut_it(kerf, inches):
    *bars, comb = sorted(cut_pieces(kerf, inches=inches), key=lambda p: p.area)
    assert len(bars) == BARS
    pushed_together = sum(bar.bounds[2] - bar.bounds[0] for bar in bars)
    whole, measured = (4.0, pushed_together / MM_PER_INCH) if inches else (100.0, pushed_together)
    piece = kerf_test(inches=inches)
    assert f"kerf = ({whole:g} - L) / 10" in piece.formula
    assert kerf_told(piece, L=measured) * (MM_PER_INCH if inches else 1) == pytest.approx(kerf)
    across = shapely.LineString([(-5, 15), (200, 15)]).intersection(comb)
    teeth = [tooth.length for tooth in shapely.get_parts(across)]
    inside = shapely.box(*comb.bounds).intersection(shapely.LineString([(-5, 15), (200, 15)])).difference(comb)
    gaps = [gap.length for gap in shapely.get_parts(inside) if gap.length > 1e-9]
    assert kerf_told(piece, gap=gaps[0], tooth=teeth[0]) == pytest.approx(kerf)
    assert len(teeth) == len(gaps) + 1 == 6


def test_a_known_part_and_opening():
    """A workshop's page on laser kerf: with a kerf of 0.2 mm a part drawn 2 mm is 1.8, an opening 2.2."""
    assert kerf_told(kerf_test(), gap=2.2, tooth=1.8) == pytest.approx(0.2)
    assert kerf_told(kerf_test(), L=98.0) == pytest.approx(0.2)


def test_the_drawing_carries_the_formulas_and_cuts_the_outlines_last():
    drawing = kerf_drawing(kerf_test(), unit=Unit.MM)
    assert [layer.role for layer in drawing.layers] == [Role.NOTE, Role.OPENING, Role.SHEET_EDGE]
    texts = [shape.text for shape in drawing.layers[0].shapes if isinstance(shape, Text)]
    assert any("(100 - L) / 10" in text for text in texts)
    assert any("(gap - tooth) / 2" in text for text in texts)
    x0, y0, x1, y1 = drawing.box_mm
    for text in drawing.layers[0].shapes:
        assert x0 < text.at[0]
        assert y0 < text.at[1] < 0
