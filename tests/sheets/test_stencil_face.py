"""Letters that people drew for stencils: by our own measure, too, they hold without a bridge."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from matplotlib.font_manager import FontProperties
from stencil_masks import letters, sheet_around

from shadowrout.job.sheet_options import StencilOptions
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.making import make_stencil

FACE = Path(__file__).parents[1] / "fonts" / "saira-stencil-one.woff"
"""Saira Stencil One under the SIL Open Font License 1.1; see the README beside it."""


@pytest.fixture(scope="module")
def face(tmp_path_factory: pytest.TempPathFactory) -> FontProperties:
    """Return the face, unpacked for matplotlib."""
    unpacked = tmp_path_factory.mktemp("face") / "face.ttf"
    font = TTFont(FACE)
    font.flavor = None
    font.save(unpacked)
    return FontProperties(fname=unpacked)


def stencil_of(text: str, height_mm: float, face: FontProperties, *, web: float) -> CutStencil:
    design = letters(text, height_mm, face=face)
    assert all(not holes for _, holes in design.polygons())
    stencil = make_stencil(
        design,
        sheet=sheet_around(design),
        options=StencilOptions(web=web),
        tolerance_mm=0.1,
        drop_islands=False,
    )
    assert len(stencil.openings) == len(design)
    return stencil


@pytest.mark.parametrize("text", ["ABDOPQR0468", "KMNVWXYZ", "abdegopq"])
def test_a_stencil_face_needs_no_bridge(face, text):
    """At a web narrower than the face's own, which at 40 mm is about 2 mm, all stays as it was drawn."""
    stencil = stencil_of(text, 40.0, face, web=1.5)
    assert stencil.bridges == ()
    assert stencil.islands == ()
    assert stencil.dark_lost_share < 0.002
    assert stencil.light_lost_share < 0.002


def test_webs_narrower_than_asked_for_are_widened_not_bridged(face):
    stencil = stencil_of("OD8", 40.0, face, web=2.5)
    assert stencil.bridges == ()
    assert stencil.webs_widened > 0
    assert 0.001 < stencil.dark_lost_share < 0.05
