"""Register marks: where they lie, that nothing goes on turned or flipped, and what is said where there is no room."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
import shapely
from paper_plaque import layout_of

from shadowrout.errors import SettingError
from shadowrout.geometry.region import Region
from shadowrout.sheets.register import RegisterMark, check_room, distances, register_marks

BOARDS = [
    ("rectangle", 250.0, 180.0, 10.0),
    ("rectangle", 200.0, 200.0, 10.0),
    ("rounded", 200.0, 198.0, 10.0),
    ("oval", 300.0, 200.0, 12.0),
    ("round", 150.0, 150.0, 8.0),
    ("arch", 160.0, 220.0, 9.0),
    ("rectangle", 40.0, 40.0, 9.0),
    ("rectangle", 1200.0, 1200.0, 20.0),
    ("rectangle", 600.0, 60.0, 10.0),
]


def marked(shape: str, width: float, height: float, margin: float, *, dowel: float = 6.0, inset: float | None = None):
    layout = layout_of(width, height, shape=shape, margin=margin)
    return layout, register_marks(layout, dowel_mm=dowel, inset_mm=inset, keep_clear=layout.field)


def best_fit_error_mm(marks: np.ndarray, holes: np.ndarray) -> float:
    """Root of the mean square that is left when a rigid motion lays one set of points onto another.

    Kabsch 1976: the rotation comes from the singular values of the covariance, reflections excluded. The greatest
    distance of a single pair is never less than this.
    """
    a, b = marks - marks.mean(axis=0), holes - holes.mean(axis=0)
    u, s, vt = np.linalg.svd(a.T @ b)
    s[-1] *= np.sign(np.linalg.det(u @ vt))
    return float(np.sqrt(max(0.0, (a**2).sum() + (b**2).sum() - 2 * s.sum()) / len(a)))


def least_wrong_fit_mm(centres: np.ndarray) -> float:
    """How well the marks fit their own holes at best, when the board is turned by any angle or flipped over."""
    flipped = centres * [-1, 1]
    turned = [best_fit_error_mm(centres[list(p)], centres) for p in permutations(range(len(centres))) if p != (0, 1, 2)]
    over = [best_fit_error_mm(flipped[list(p)], centres) for p in permutations(range(len(centres)))]
    return min(turned + over)


@pytest.mark.parametrize(("shape", "width", "height", "margin"), BOARDS)
def test_no_board_goes_on_turned_or_flipped(shape, width, height, margin):
    _, marks = marked(shape, width, height, margin)
    assert len(marks) >= 3
    # More play than any dowel has in its hole.
    assert least_wrong_fit_mm(np.array([mark.centre for mark in marks])) > 1.0


def test_the_fit_sees_marks_that_can_be_turned_or_flipped():
    turned = np.array([[0, 0], [100, 0], [50, 50 * np.sqrt(3)]])
    flipped = np.array([[0.0, 0.0], [100.0, 0.0], [50.0, 20.0]])
    right = np.array([[0.0, 0.0], [100.0, 0.0], [0.0, 40.0]])
    assert least_wrong_fit_mm(turned) == pytest.approx(0, abs=1e-6)
    assert least_wrong_fit_mm(flipped) == pytest.approx(0, abs=1e-6)
    assert least_wrong_fit_mm(right) > 5


@pytest.mark.parametrize(("shape", "width", "height", "margin"), BOARDS)
def test_holes_lie_on_the_board_and_off_the_design(shape, width, height, margin):
    layout, marks = marked(shape, width, height, margin)
    board = shapely.Polygon(layout.edge.flattened(0.001))
    for mark in marks:
        hole = shapely.Point(mark.centre).buffer(mark.dowel_mm / 2, quad_segs=64)
        assert board.contains(hole)
        assert shapely.distance(board.exterior, hole) > 0.85
        assert shapely.distance(layout.field.shape, hole) > 0.85


def test_a_given_inset_is_kept():
    _, marks = marked("rectangle", 250, 180, 30, inset=12.0)
    for mark in marks:
        x, y = mark.centre
        assert min(x, 250 - x, y, 180 - y) == pytest.approx(12.0, abs=0.06)


def test_the_marks_are_far_apart():
    """The largest triangle in a rectangle has half its area."""
    _, marks = marked("rectangle", 250, 180, 10)
    assert shapely.Polygon([mark.centre for mark in marks]).area > 0.95 * 240 * 170 / 2


def test_marks_leave_a_design_alone_that_is_no_field():
    """A design in one corner of the field: marks go where it leaves room, here beside a strip along the left."""
    layout = layout_of(200, 150, margin=4.0)
    strip = Region.box((4.0, 4.0, 90.0, 146.0))
    marks = register_marks(layout, dowel_mm=8.0, inset_mm=8.0, keep_clear=strip)
    assert min(mark.centre[0] for mark in marks) > 90 + 4


def test_off_means_none():
    assert marked("rectangle", 200, 150, 5, dowel=0.0)[1] == ()


@pytest.mark.parametrize(
    ("margin", "dowel", "inset", "key", "words"),
    [
        (5.0, 6.0, None, "register.dowel", ["6mm", "3mm or less", "plaque.margin of 8mm"]),
        (0.0, 6.0, None, "register.dowel", ["smaller dowel", "0 for no register marks"]),
        (20.0, 6.0, 1.0, "register.inset", ["1mm", "wood outside them; give 4mm or more"]),
        (20.0, 6.0, 90.0, "register.inset", ["90mm", "a plaque of 200x150mm; give less, but 4mm or more"]),
        (20.0, 6.0, 19.0, "register.inset", ["design", "plaque.margin of 23mm"]),
    ],
)
def test_no_room_is_said(margin, dowel, inset, key, words):
    with pytest.raises(SettingError) as error:
        marked("rectangle", 200, 150, margin, dowel=dowel, inset=inset)
    assert error.value.key == key
    for word in words:
        assert word in str(error.value.problem)


@pytest.mark.parametrize("seed", range(4))
def test_the_quick_check_refuses_only_what_has_no_marks(seed):
    """Against the search for the marks itself, on random boards, dowels, insets and designs."""
    rng, refused = np.random.default_rng(seed), 0
    for shape, width, height, margin in BOARDS:
        layout = layout_of(width, height, shape=shape, margin=margin)
        x0, y0, x1, y1 = (*rng.uniform(0, 0.5, 2) * (width, height), *rng.uniform(0.5, 1, 2) * (width, height))
        asked = {"dowel_mm": rng.uniform(1, 30), "keep_clear": Region.box((x0, y0, x1, y1))}
        asked["inset_mm"] = None if rng.random() < 0.5 else rng.uniform(0, min(width, height) / 1.8)
        try:
            check_room(layout, **asked)
        except SettingError as early:
            refused += 1
            with pytest.raises(SettingError) as late:
                register_marks(layout, **asked)
            assert late.value.key == early.key
    assert refused


def test_no_margin_is_offered_that_leaves_no_field():
    with pytest.raises(SettingError) as error:
        marked("rectangle", 60, 60, 15.0, inset=18.0)
    assert "plaque.margin" not in str(error.value.problem)


def test_what_the_message_offers_works():
    assert len(marked("rectangle", 200, 150, 23.0, inset=19.0)[1]) == 3
    assert len(marked("rectangle", 200, 150, 5.0, dowel=3.0)[1]) == 3
    assert len(marked("rectangle", 200, 150, 8.0, dowel=6.0)[1]) == 3


def test_distances_are_those_of_every_pair():
    """A triangle of 3, 4 and 5 (Euclid, Elements I.47)."""
    marks = tuple(
        RegisterMark(name, at, 6.0) for name, at in [("A", (0.0, 0.0)), ("B", (40.0, 0.0)), ("C", (0.0, 30.0))]
    )
    assert [(d.first, d.second, d.length_mm) for d in distances(marks)] == [
        ("A", "B", 40.0), ("A", "C", 30.0), ("B", "C", 50.0),
    ]  # fmt: skip
    assert distances(()) == ()
