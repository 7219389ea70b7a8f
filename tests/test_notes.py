"""Notes stand inside the plaque, in a standard height, none over another."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.notes import HEIGHTS_MM, Note, PlacedNote, placed
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

PAGE = (0.0, 0.0, 200.0, 150.0)
LINES = ("12 wall 3.00mm", "12 centre 3mm")


def box(note: PlacedNote) -> tuple[float, float, float, float]:
    """Return the room the text needs, with letters as wide as they are high: plain stroke fonts draw them narrower."""
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


@settings(max_examples=40, deadline=None)
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


def test_ink_is_weighed_where_a_box_touches_it():
    """A line 10 mm long passes through 20 cells of half a millimetre, and one more where its end touches it."""
    line = ArcPath(np.array([[10.1, 10.25], [20.1, 10.25]]), np.zeros(1), closed=False)
    ink = Ink([(line, 2.0)], PAGE)
    boxes = np.array([[5.0, 5, 30, 30], [5, 5, 15, 30], [5, 12, 30, 30], [-9, -9, 999, 999]])
    assert ink.under(boxes) == pytest.approx([2 * 21, 2 * 11, 0, 2 * 21])
    ring = ArcPath.circle((100.0, 75.0), 20.0)
    # A circle of radius r passes through 8 r / c cells of side c, 4 sqrt(2) r / c of which share no more than a corner.
    assert 4 * np.sqrt(2) * 20 / 0.5 < Ink([(ring, 1.0)], PAGE).under(np.array([[0.0, 0, 200, 150]]))[0] < 8 * 20 / 0.5


def test_a_note_covers_nothing_that_a_machine_follows_while_there_is_room():
    """Pockets in rows and columns, notes twice as wide as they: all find a place between or around them."""
    spots = [(20.0 + 40 * i, 20.0 + 27 * j) for i in range(5) for j in range(5)]
    rings = [ArcPath.circle(spot, 5.0) for spot in spots]
    notes = [Note((f"{i} wall 3.00mm", f"{i} centre 3mm"), spot, 4.0) for i, spot in enumerate(spots, 1)]
    found = placed(notes, within=PAGE, ink=Ink([(ring, 20.0) for ring in rings], PAGE))
    texts = [shapely.box(*box(note)) for note in found]
    lines = shapely.union_all([shapely.LinearRing(ring.flattened(0.01)) for ring in rings])
    assert not any(text.intersects(lines) for text in texts)
    assert not any(a.intersection(b).area > 1e-9 for a, b in itertools.combinations(texts, 2))
    assert all(len(note.lines) == 2 for note in found)
    leaders = [shapely.LineString(note.leader.vertices) for note in found if note.leader is not None]
    crossed = sum(text.intersection(leader).length > 0.2 for text in texts for leader in leaders)
    assert crossed == 0
    blind = placed(notes, within=PAGE)
    assert any(shapely.box(*box(note)).intersects(lines) for note in blind)


def test_a_long_narrow_pocket_holds_a_note_wider_than_its_free_disc():
    wall = ArcPath.polygon(np.array([[80.0, 70], [120, 70], [120, 80], [80, 80]]))
    (note,) = placed([Note(LINES, (100.0, 75.0), 5.0)], within=PAGE, ink=Ink([(wall, 1.0)], PAGE))
    assert note.leader is None
    x0, y0, x1, y1 = box(note)
    assert 80 < x0 < x1 < 120
    assert 70 < y0 < y1 < 80


def test_no_note_stands_in_anothers_pocket():
    """A pocket too small for its note beside one with room for many: shapely says whose wood lies under each text."""
    wide, small = Region.box((60.0, 10.0, 190.0, 140.0)), Region.box((50.0, 70.0, 56.0, 76.0))
    walls = [ArcPath.polygon(ring) for region in (wide, small) for ring in region.rings()]
    # The light around the small pocket is full of lines that a note would rather not cover.
    ink = Ink([*((wall, 20.0) for wall in walls), *((_line(y), 20.0) for y in np.arange(0.5, 150, 2.0))], PAGE)
    notes = [Note(LINES, (125.0, 75.0), 65.0, wide), Note(("2 wall 3.00mm",), (53.0, 73.0), 3.0, small)]
    for drawn in (ink, None):
        found = placed(notes, within=PAGE, ink=drawn)
        assert shapely.box(*box(found[0])).within(wide.shape)
        assert not shapely.box(*box(found[1])).intersects(wide.shape)
    unnamed = [Note(notes[1].lines, (53.0, 73.0), 3.0)]
    assert shapely.box(*box(placed(unnamed, within=PAGE, ink=ink)[0])).intersects(wide.shape)


def test_areas_are_told_apart_to_a_cell():
    """Boxes 0.5 mm and more from a region don't touch it; those that share area with it do, by shapely."""
    shape = Region.of_polygons([(np.array([[20.0, 20], [60, 25], [40, 70]]), [])])
    other = Region.box((100.0, 100.0, 110.0, 110.0))
    rng = np.random.default_rng(4)
    low = rng.uniform(0, 140, (400, 2)) * [1, 0.9]
    boxes = np.hstack([low, low + rng.uniform(1, 12, (400, 2))])
    rooms = Rooms([shape, other], PAGE)
    away = shapely.distance(shapely.box(*boxes.T), shape.shape)
    found = rooms.foreign(boxes, own=1)
    assert found[away == 0].all()
    assert not found[away > 0.5 * np.sqrt(2)].any()
    assert 20 < found.sum() < 200
    assert not rooms.foreign(boxes[away == 0][:3], own=0).any()


def _line(y_mm: float) -> ArcPath:
    return ArcPath(np.array([[0.0, y_mm], [59.0, y_mm]]), np.zeros(1), closed=False)
