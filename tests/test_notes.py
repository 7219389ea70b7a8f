"""Notes stand inside the plaque, in a standard height, none over another."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from shadowrout.drawing.notes import HEIGHTS_MM, Note, PlacedNote, placed

PAGE = (0.0, 0.0, 200.0, 150.0)
LINES = ("12 wall 3.00mm", "12 centre 3mm")


def box(note: PlacedNote) -> tuple[float, float, float, float]:
    """Return the room the text needs, with letters half as wide again as those of a plain stroke font are on average."""
    half = note.height_mm * max(len(text) for text, _ in note.lines) / 2
    xs = [at[0] for _, at in note.lines]
    ys = [at[1] for _, at in note.lines]
    return min(xs) - half, min(ys) - note.height_mm / 2, max(xs) + half, max(ys) + note.height_mm / 2


def overlap(a, b) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_a_wide_pocket_holds_its_note():
    (note,) = placed([Note(LINES, (100.0, 75.0), 40.0)], within=PAGE)
    assert note.height_mm == HEIGHTS_MM[0]
    assert note.leader is None
    assert [text for text, _ in note.lines] == list(LINES)
    assert note.lines[0][1][1] > note.lines[1][1][1], "the first line stands above the second"


def test_a_narrow_pocket_gets_a_leader():
    (note,) = placed([Note(LINES, (100.0, 75.0), 2.0)], within=PAGE)
    assert note.leader is not None
    assert np.allclose(note.leader.vertices[-1], [100, 75])
    x0, y0, x1, y1 = box(note)
    assert not (x0 < 100 < x1 and y0 < 75 < y1)


def test_iso_3098_heights():
    """Nominal sizes of ISO 3098-1: 1.8, 2.5, 3.5, 5, 7 mm and up (from memory)."""
    assert set(HEIGHTS_MM) <= {1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0}


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.floats(5, 195), st.floats(5, 145), st.floats(0.5, 30)), min_size=1, max_size=12),
)
def test_no_note_stands_over_another(places):
    notes = placed([Note(LINES, (x, y), room) for x, y, room in places], within=PAGE)
    boxes = [box(note) for note in notes]
    assert not any(overlap(a, b) for a, b in itertools.combinations(boxes, 2))
    assert all(b[0] >= -1e-6 and b[1] >= -1e-6 and b[2] <= 200 + 1e-6 and b[3] <= 150 + 1e-6 for b in boxes)


def test_a_crowd_keeps_every_number():
    crowd = [Note((f"{i} wall 3.00mm",), (20.0, 20.0), 1.0) for i in range(300)]
    notes = placed(crowd, within=(0.0, 0.0, 60.0, 60.0))
    assert [note.lines[0][0].split()[0] for note in notes] == [str(i) for i in range(300)]
