"""The neutral drawing: names, marks, colours, and what it refuses."""

from __future__ import annotations

import matplotlib
import numpy as np
import pytest

from shadowrout.drawing import palette
from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Profile, Role, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.words.units import Unit

PAGE = (0.0, 0.0, 10.0, 10.0)


def test_an_inch_is_25_4_mm():
    """NIST Special Publication 811: exactly 25.4 mm."""
    assert Unit.INCH.mm == 25.4
    assert Unit.MM.mm == 1.0


@pytest.mark.parametrize(
    ("depth", "unit", "name"),
    [
        (None, Unit.MM, "pocket"),
        (3.0, Unit.MM, "pocket-3_00mm"),
        (3.0, Unit.INCH, "pocket-0_118in"),
        (12.7, Unit.INCH, "pocket-0_500in"),
        (0.0, Unit.MM, "pocket-0_00mm"),
    ],
)
def test_a_layer_is_named_by_role_and_depth(depth, unit, name):
    assert Layer(Role.POCKET, (), Marks(depth_mm=depth)).name(unit) == name


@pytest.mark.parametrize(
    ("unit", "name"), [(Unit.MM, "cutter-path-3_00mm-6_00mm"), (Unit.INCH, "cutter-path-0_118in-0_236in")]
)
def test_a_layer_may_name_its_cutter(unit, name):
    assert Layer(Role.CUTTER_PATH, (), Marks(depth_mm=3.0, cutter_mm=6.0), names_cutter=True).name(unit) == name


def test_a_layer_without_a_cutter_can_not_name_it():
    with pytest.raises(ValueError, match="names_cutter"):
        Layer(Role.POCKET, (), Marks(depth_mm=3.0), names_cutter=True)


def test_every_name_is_legal_in_r12():
    """DXF Reference, R12: up to 31 of A to Z, 0 to 9, $ _ and -."""
    legal = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789$_-")
    for role in Role:
        for unit in Unit:
            marks = Marks(depth_mm=99.9951, cutter_mm=50.0)  # the deepest and widest that can be set
            name = Layer(role, (), marks, names_cutter=True).name(unit).upper()
            assert set(name) <= legal
            assert len(name) <= 31


def test_two_layers_of_one_name_are_refused():
    same = (Layer(Role.POCKET, (), Marks(depth_mm=3.0)), Layer(Role.POCKET, (), Marks(depth_mm=3.001)))
    with pytest.raises(ValueError, match="pocket-3_00mm"):
        Drawing("", "", PAGE, same)
    apart = (Layer(Role.POCKET, (), Marks(depth_mm=3.0)), Layer(Role.POCKET, (), Marks(depth_mm=3.1)))
    assert len(Drawing("", "", PAGE, apart).layers) == 2


def test_own_marks_win_over_common_ones():
    assert Marks(depth_mm=4.0).over(Marks(depth_mm=3.0, cutter_mm=6.0)) == Marks(depth_mm=4.0, cutter_mm=6.0)
    assert Marks(depth_mm=0.0).over(Marks(depth_mm=3.0)) == Marks(depth_mm=0.0)


@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_marks_are_lengths(value):
    with pytest.raises(ValueError, match="depth_mm"):
        Marks(depth_mm=value)


def test_a_profile_has_one_depth_a_vertex():
    path = ArcPath(np.array([[0.0, 0.0], [5.0, 0.0]]), np.zeros(1), closed=False)
    profile = Profile((1.0, 2.0), (0.5, 1.5))
    assert Path(path, profile.greatest).marks.items() == [("depth_mm", 2.0), ("width_mm", 1.5)]
    with pytest.raises(ValueError, match="expected 2 depths, got 3"):
        Path(path, Marks(profile=Profile((1.0, 2.0, 1.0), (0.5, 1.5, 0.5))))
    with pytest.raises(ValueError, match="as many"):
        Profile((1.0, 2.0), (0.5,))
    with pytest.raises(ValueError, match="0 or more"):
        Profile((1.0, -2.0), (0.5, 0.5))


@pytest.mark.parametrize("text", ["", "  ", "two\nlines", "bell\x07", "half a pair \ud83d", "\ufffe"])
def test_text_that_no_file_holds_is_refused(text):
    with pytest.raises(ValueError, match="text"):
        Text((0, 0), text, 3.0)


def test_shapes_without_size_are_refused():
    with pytest.raises(ValueError, match="radius_mm"):
        Circle((0, 0), 0.0)
    with pytest.raises(ValueError, match="height_mm"):
        Text((0, 0), "a", -1.0)
    with pytest.raises(ValueError, match="box_mm"):
        Drawing("", "", (0, 0, 0, 5), ())
    with pytest.raises(ValueError, match="properties"):
        Drawing("", "", PAGE, (), properties=(("a", "b\0"),))


def test_every_role_has_a_colour_of_okabe_and_ito():
    """Okabe and Ito 2008, as matplotlib's colour map ``okabe_ito`` gives them."""
    published = {tuple(round(255 * v) for v in colour) for colour in matplotlib.colormaps["okabe_ito"].colors}
    assert set(COLOURS) == set(Role)
    assert set(COLOURS.values()) <= published


def test_roles_of_one_file_differ_in_colour():
    """What a person has to tell apart in one file; black is shared by edges and notes."""
    carved = [Role.PLAQUE_EDGE, Role.SHADOW, Role.POCKET, Role.CUTTER_PATH, Role.V_LINE, Role.FLOW_LINE, Role.REGISTER]
    sheet = [Role.SHEET_EDGE, Role.OPENING, Role.BRIDGE, Role.REGISTER]
    for roles in (carved, sheet):
        assert len({COLOURS[role] for role in roles}) == len(roles)
    assert COLOURS[Role.NOTE] == palette.BLACK
