"""Notes stand inside the plaque, in a standard height, none over another, and their leaders keep clear."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage import data, measure

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.labels_apart import placed_apart
from shadowrout.drawing.notes import HEIGHTS_MM, Note, PlacedNote, placed
from shadowrout.drawing.shapes import LETTER_SHARE
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

PAGE = (0.0, 0.0, 200.0, 150.0)
LINES = ("12: wall, depth 3 mm", "12: centre, cutter 3 mm")
STACKED = ("12: wall,", "depth 3 mm", "12: centre,", "cutter 3 mm")
NOTHING = Ink([], PAGE)


def note_of(lines, area: Region) -> Note:
    """Return a note that may be cut down to its first word."""
    return Note((tuple(lines), (lines[0].split()[0].rstrip(":"),)), (0.0, 100.0), area)


def disc(x: float, y: float, radius: float) -> Region:
    return Region.of_polygons([(ArcPath.circle((x, y), radius).flattened(0.01), [])])


def box(note: PlacedNote) -> tuple[float, float, float, float]:
    """Return the room the text needs: a letter of ISO 3098 takes 0.8 of the height at the most, with its gap."""
    half = note.height_mm * LETTER_SHARE * max(len(text) for text, _ in note.lines) / 2
    xs = [at[0] for _, at in note.lines]
    ys = [at[1] for _, at in note.lines]
    return min(xs) - half, min(ys) - note.height_mm / 2, max(xs) + half, max(ys) + note.height_mm / 2


def overlap(a, b) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def crossings(notes, areas) -> tuple[int, int, int]:
    """Return how many texts a leader runs through, leaders that cross another area, and leaders that cross."""
    texts = [shapely.box(*box(note)) for note in notes]
    leaders = {i: shapely.LineString(note.leader.vertices) for i, note in enumerate(notes) if note.leader is not None}
    struck = sum(text.intersection(line).length > 0.2 for text in texts for line in leaders.values())
    over = sum(
        line.intersection(area.shape).length > 0.8 for i, line in leaders.items() for j, area in enumerate(areas)
        if i != j
    )  # fmt: skip
    return struck, over, sum(a.crosses(b) for a, b in itertools.combinations(leaders.values(), 2))


def test_a_wide_pocket_holds_its_note():
    (note,) = placed([note_of(LINES, disc(100, 75, 50))], ink=NOTHING)
    assert note.height_mm == HEIGHTS_MM[0]
    assert note.leader is None
    assert [text for text, _ in note.lines] == list(LINES)
    assert note.lines[0][1][1] > note.lines[1][1][1], "the first line stands above the second"


def test_a_narrow_pocket_gets_a_leader():
    (note,) = placed([note_of(LINES, disc(100, 75, 2))], ink=NOTHING)
    assert note.leader is not None
    assert np.hypot(*(note.leader.vertices[-1] - [100, 75])) < 1.1
    assert not shapely.box(*box(note)).intersects(disc(100, 75, 2).shape)


def test_a_leader_leads_to_the_near_end_of_a_long_pocket():
    """All of the board left of x = 150 is full of lines, and so is the pocket, but its right end reaches out."""
    pocket = Region.box((20.0, 70.0, 160.0, 74.0))
    lines = [ArcPath(np.array([[0.0, y], [158.0, y]]), np.zeros(1), closed=False) for y in np.arange(0.5, 150, 2.0)]
    (note,) = placed([note_of(("3: wall, 3 mm",), pocket)], ink=Ink([(line, 5.0) for line in lines], PAGE))
    assert note.leader is not None
    assert note.leader.vertices[-1, 0] > 150
    assert note.leader.lengths.sum() < 10


def test_a_note_takes_the_way_of_wording_that_fits():
    ways = (LINES, STACKED, ("12",))
    tall = Region.box((90.0, 30.0, 110.0, 120.0))
    ink = Ink([(ArcPath.polygon(ring), 20.0) for ring in tall.rings()], PAGE)
    (note,) = placed([Note(ways, (0.0, 2.0, 100.0), tall)], ink=ink)
    assert tuple(text for text, _ in note.lines) == STACKED
    assert note.leader is None


def test_iso_3098_heights():
    """Nominal sizes of ISO 3098-1: 1.8, 2.5, 3.5, 5, 7 mm and up (from memory)."""
    assert set(HEIGHTS_MM) <= {1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0}


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(5, 195), st.floats(5, 145), st.floats(0.5, 4)), min_size=1, max_size=10),
)
def test_no_note_stands_over_another(places):
    notes = placed([note_of(LINES, disc(x, y, room)) for x, y, room in places], ink=NOTHING)
    boxes = [box(note) for note in notes]
    assert not any(overlap(a, b) for a, b in itertools.combinations(boxes, 2))
    assert all(b[0] >= -1e-6 and b[1] >= -1e-6 and b[2] <= 200 + 1e-6 and b[3] <= 150 + 1e-6 for b in boxes)


def test_a_crowd_keeps_every_number():
    page = (0.0, 0.0, 60.0, 60.0)
    crowd = [note_of((f"{i}: wall, 3 mm",), disc(20, 20, 1)) for i in range(60)]
    notes = placed(crowd, ink=Ink([], page))
    assert [note.lines[0][0].split(":")[0] for note in notes] == [str(i) for i in range(60)]


def test_ink_is_weighed_where_a_box_touches_it():
    """A line 10 mm long passes through 20 cells of half a millimetre, and one more where its end touches it."""
    line = ArcPath(np.array([[10.1, 10.25], [20.1, 10.25]]), np.zeros(1), closed=False)
    ink = Ink([(line, 2.0)], PAGE)
    boxes = np.array([[5.0, 5, 30, 30], [5, 5, 15, 30], [5, 12, 30, 30], [-9, -9, 999, 999]])
    assert ink.under(boxes) == pytest.approx([2 * 21, 2 * 11, 0, 2 * 21])
    ring = ArcPath.circle((100.0, 75.0), 20.0)
    # A circle of radius r passes through 8 r / c cells of side c, 4 sqrt(2) r / c of which share no more than a corner.
    circled = Ink([(ring, 1.0)], PAGE).under(np.array([[0.0, 0, 200, 150]]))[0]
    assert 4 * np.sqrt(2) * 20 / 0.5 < circled < 8 * 20 / 0.5
    both = Ink([(line, 2.0), (ring, 1.0)], PAGE)
    assert both.under(np.array([[0.0, 0, 200, 150]])) == pytest.approx([42 + circled])
    assert both.under(boxes[:1]) == pytest.approx([42]), "nothing is drawn between two paths"


def test_a_note_covers_nothing_that_a_machine_follows_while_there_is_room():
    """Pockets in rows and columns, notes three times as wide as they: all find a place between or around them."""
    spots = [(20.0 + 40 * i, 20.0 + 27 * j) for i in range(5) for j in range(5)]
    rings = [ArcPath.circle(spot, 5.0) for spot in spots]
    areas = [disc(*spot, 5) for spot in spots]
    notes = [note_of((f"{i}: wall, 3 mm", f"{i}: centre, 3 mm"), area) for i, area in enumerate(areas, 1)]
    found = placed(notes, ink=Ink([(ring, 20.0) for ring in rings], PAGE))
    texts = [shapely.box(*box(note)) for note in found]
    lines = shapely.union_all([shapely.LinearRing(ring.flattened(0.01)) for ring in rings])
    assert not any(text.intersects(lines) for text in texts)
    assert not any(a.intersection(b).area > 1e-9 for a, b in itertools.combinations(texts, 2))
    assert all(len(note.lines) == 2 for note in found)
    assert crossings(found, areas) == (0, 0, 0)


def test_leaders_on_a_picture_cross_nothing():
    """The shadows of scikit-image's coins as pockets on a board of 154 x 121 mm, 0.4 mm a pixel."""
    coins = np.flipud(data.coins()) > 150
    found = [0.4 * ring[:, ::-1] for ring in measure.find_contours(coins.astype(float), 0.5)]
    areas = [Region.of_polygons([(ring[:-1], [])]) for ring in found if len(ring) > 60]
    areas = [area for area in areas if area.area > 15]
    areas = [a for a in areas if not any(a is not b and a.shape.within(b.shape) for b in areas)]
    page = (0.0, 0.0, 154.0, 121.5)
    walls = [(ArcPath.polygon(ring), 20.0) for area in areas for ring in area.rings()]
    notes = placed([note_of((f"{i}: 3 mm",), area) for i, area in enumerate(areas, 1)], ink=Ink(walls, page))
    assert len(areas) > 20
    assert sum(note.leader is not None for note in notes) > 10
    assert crossings(notes, areas) == (0, 0, 0)
    on_lines = shapely.union_all([shapely.LinearRing(path.vertices) for path, _ in walls])
    assert sum(shapely.box(*box(note)).intersects(on_lines) for note in notes) == 0


def test_a_note_for_all_stands_apart_from_areas_notes_and_lines():
    """The lower half is full of pockets and their notes, the left of the upper one of lines."""
    page = (0.0, 0.0, 100.0, 60.0)
    areas = [disc(6.0 + 8 * i, 6.0 + 8 * j, 3) for i in range(12) for j in range(3)]
    lines = [ArcPath(np.array([[0.0, y], [52.0, y]]), np.zeros(1), closed=False) for y in np.arange(30.5, 60, 2.0)]
    rings = [ArcPath.polygon(ring) for area in areas for ring in area.rings()]
    ink = Ink([(path, 20.0) for path in (*lines, *rings)], page)
    notes = placed([note_of((f"{i}: 3 mm",), area) for i, area in enumerate(areas)], ink=ink)
    ways = (("a line for all " * 8,), ("a line for all", "and one more"))
    found = placed_apart(ways, notes, areas, ink=ink)
    assert tuple(text for text, _ in found.lines) == ways[1]
    text = shapely.box(*box(found))
    assert text.within(shapely.box(*page))
    assert not any(text.intersects(area.shape) for area in areas)
    assert not any(text.intersects(shapely.box(*box(note))) for note in notes)
    assert not any(text.intersects(shapely.LineString(line.vertices)) for line in lines)
    leaders = [shapely.LineString(note.leader.vertices) for note in notes if note.leader is not None]
    assert not any(text.intersects(leader) for leader in leaders)


def test_a_note_for_all_is_there_even_where_it_has_no_room():
    found = placed_apart((LINES, STACKED), [], [], ink=Ink([], (0.0, 0.0, 9.0, 9.0)))
    assert tuple(text for text, _ in found.lines) == STACKED
    assert np.mean([at for _, at in found.lines], axis=0) == pytest.approx([4.5, 4.5])


def test_the_count_of_crossings_sees_them():
    def led(x, y, to) -> PlacedNote:
        return PlacedNote((("1", (x, y)),), 1.8, ArcPath(np.array([[x, y - 1.0], to]), np.zeros(1), closed=False))

    notes = [led(10, 50, (50, 10)), led(50, 50, (10, 10)), led(80, 30, (80, 5))]
    areas = [disc(50, 10, 2), disc(10, 10, 2), disc(80, 5, 2)]
    assert crossings(notes, areas) == (0, 0, 1)
    assert crossings(notes[:1], [areas[0], disc(30, 30, 2)]) == (0, 1, 0)
    assert crossings([notes[0], led(30, 29.5, (30, 5))], areas)[0] == 1


def test_a_long_narrow_pocket_holds_a_note_wider_than_its_free_disc():
    area = Region.box((80.0, 70.0, 120.0, 80.0))
    wall = ArcPath.polygon(np.array([[80.0, 70], [120, 70], [120, 80], [80, 80]]))
    (note,) = placed([note_of(LINES, area)], ink=Ink([(wall, 20.0)], PAGE))
    assert note.leader is None
    x0, y0, x1, y1 = box(note)
    assert 80 < x0 < x1 < 120
    assert 70 < y0 < y1 < 80


def test_no_note_stands_in_anothers_pocket():
    """A pocket too small for its note beside one with room for many: shapely says whose wood lies under each text."""
    wide, small = Region.box((60.0, 10.0, 190.0, 140.0)), Region.box((50.0, 70.0, 56.0, 76.0))
    walls = [ArcPath.polygon(ring) for region in (wide, small) for ring in region.rings()]
    # The light around the small pocket is full of lines that a note would rather not cover.
    drawn = [*((wall, 20.0) for wall in walls), *((_line(y), 20.0) for y in np.arange(0.5, 150, 2.0))]
    notes = [note_of(LINES, wide), note_of(("2: wall, 3 mm",), small)]
    for ink in (Ink(drawn, PAGE), NOTHING):
        found = placed(notes, ink=ink)
        assert shapely.box(*box(found[0])).within(wide.shape)
        assert not shapely.box(*box(found[1])).intersects(wide.shape)


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
    inside = shapely.contains_properly(shape.shape, shapely.box(*boxes.T))
    assert rooms.holds(boxes, own=0)[inside].all()
    outside = shapely.area(shapely.difference(shapely.box(*boxes.T), shape.shape))
    assert not rooms.holds(boxes, own=0)[outside > 0.5 * shapely.length(shapely.box(*boxes.T))].any()
    assert 0 < inside.sum() <= rooms.holds(boxes, own=0).sum() < 100
    points = rng.uniform(0, 150, (500, 2))
    off = shapely.distance(shapely.points(points), shape.shape)
    assert rooms.strangers(points, own=1)[off == 0].all()
    assert not rooms.strangers(points, own=1)[off > 0.5 * np.sqrt(2)].any()
    assert not rooms.strangers(points[off == 0], own=0).any()


def _line(y_mm: float) -> ArcPath:
    return ArcPath(np.array([[0.0, y_mm], [59.0, y_mm]]), np.zeros(1), closed=False)
