"""Where the text beside each pocket goes: inside it where there is room, else beside it with a leader line.

Letters are upright, in a height of ISO 3098's series, and count as ``LETTER_SHARE`` of it wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.label_spots import Boxes, Spots, Taken, nearest
from shadowrout.drawing.shapes import LETTER_SHARE, Layer, Path, Role, Shape, Text
from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.region import Region

HEIGHTS_MM = (3.5, 2.5, 1.8)
"""Capital heights of ISO 3098, largest first."""

_LINE_SHARE = 1.6
"""From one line of a note to the next, over the capital height: what hangs below one clears the next."""

SMALLER_MM = 3.0
"""What each step to a smaller height is worth inside a pocket, in millimetres of leader."""

_POINTED_MM = 15.0
"""What it is worth to need no leader, in millimetres of leader."""

_AWAY_SHARE = 0.1
"""Inside a pocket, what a millimetre from its place is worth."""

_TURNS = np.arange(32) * np.pi / 16
_AROUND = np.vstack([r * np.column_stack([np.cos(_TURNS), np.sin(_TURNS)]) for r in np.arange(2.0, 86.0, 2.0)])
"""Where notes are tried beside a pocket, from its place: shape (n, 2)."""

_LEAST_STEP_MM, _MOST_STEPS = 1.0, 24
"""Inside a pocket they are tried in rows and columns this far apart, in so many each way at the most."""

_ON_PLACE_MM = 5000.0
"""What it costs to stand over whatever is there: less than to stand on another note."""

_SPOT_PRECISION_MM = 0.05
"""How exactly the widest spot of an area is found: finer than anybody sees where a note stands."""

_MOST_ANCHORS = 32
"""So many places in an area are looked at for the one that a leader had better lead to."""

_SWEEPS = 4
"""So often each note looks for a better spot among the others."""


@dataclass(frozen=True, eq=False)
class Note:
    """What is written beside an area: the ways in which it may be worded, the best first, the last where none fits.

    ``losses_mm`` has for each way how much longer a leader may be for a better one.
    """

    ways: tuple[tuple[str, ...], ...]
    losses_mm: tuple[float, ...]
    area: Region


@dataclass(frozen=True, eq=False)
class PlacedNote:
    """A note's lines with the middle of each, their height, and the leader to the place where it stands apart."""

    lines: tuple[tuple[str, tuple[float, float]], ...]
    height_mm: float
    leader: ArcPath | None


def note_layers(notes: Sequence[PlacedNote]) -> Iterator[Layer]:
    """Yield the layer of placed notes, texts and leaders; none where there are no notes."""
    shapes: list[Shape] = []
    for note in notes:
        shapes += [Text(at, text, note.height_mm) for text, at in note.lines]
        if note.leader is not None:
            shapes.append(Path(note.leader))
    if shapes:
        yield Layer(Role.NOTE, tuple(shapes))


def placed(notes: Sequence[Note], *, ink: Ink) -> tuple[PlacedNote, ...]:
    """Return every note placed on the ink's page, none over another, in the order given.

    No note stands in another's area, where it would read as that one's. A note goes where it covers least of the
    ink, each unit of weight counting as much as a millimetre of leader, and where its leader crosses neither another
    area nor another note or leader, if that can be had; each looks again for a better spot once all have one. A note
    that finds no free spot at its full length shrinks to its first word, the pocket's number; should even that find
    none, it stands on its place, over whatever is there.
    """
    rooms = Rooms([note.area for note in notes], ink.page)
    tried = [_tried(note, number, ink, rooms) for number, note in enumerate(notes)]
    taken, chosen = Taken(len(notes)), [-1] * len(notes)
    for _ in range(_SWEEPS):
        before = chosen.copy()
        for number, spots in enumerate(tried):
            best = chosen[number] = taken.best_of(spots, rooms, own=number)
            taken.enter(number, spots.at(slice(best, best + 1)))
        if chosen == before:
            break
    return tuple(
        placed_at(note.ways, spots.at(slice(best, best + 1)))
        for note, spots, best in zip(notes, tried, chosen, strict=True)
    )


def _tried(note: Note, number: int, ink: Ink, rooms: Rooms) -> Spots:
    """Return where a note may stand, the cheapest first; the last is in its area's widest spot, whatever is there."""
    place, room = note.area.widest_spot(precision=_SPOT_PRECISION_MM)
    anchors = np.vstack([[place], _anchors(note.area, room)])
    ways = range(len(note.ways))
    inside = Spots.together([_inside(note, anchors[0], way) for way in ways])
    inside = inside.at(rooms.holds(inside.boxes, own=number))
    targets = _targets(anchors)
    spots = Spots.together([inside, *(_beside(note, targets, anchors[0], way) for way in ways)])
    low, high = np.array(ink.page[:2]), np.array(ink.page[2:])
    fits = (spots.boxes[:, :2] >= low).all(axis=1) & (spots.boxes[:, 2:] <= high).all(axis=1)
    spots = spots.at(fits & ~rooms.foreign(spots.boxes, own=number))
    spots = spots.dearer_by(ink.under(spots.boxes))
    spots = Spots.together([spots, _on_place(note, anchors[:1])])
    return spots.at(np.argsort(spots.costs, kind="stable"))


def _anchors(area: Region, room_mm: float) -> Points:
    """Return places (n, 2) all over an area, where it is at least half as wide as at its widest spot."""
    every = np.vstack(area.offset(-room_mm / 2, error=0.05 * room_mm).rings())
    return every[:: math.ceil(len(every) / _MOST_ANCHORS)]


def _inside(note: Note, place: Points, way: int) -> Spots:
    """Return spots in the box of a note's area, where it needs no leader."""
    x0, y0, x1, y1 = note.area.bounds
    across, up = (np.linspace(a, b, _steps(b - a)) for a, b in ((x0, x1), (y0, y1)))
    centres = np.vstack([[place], np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)])
    costs = _AWAY_SHARE * np.hypot(*(centres - place).T) + note.losses_mm[way]
    none = np.full_like(centres, np.nan)
    each = [
        (boxes_at(centres, note.ways[way], height), costs + SMALLER_MM * step, height)
        for step, height in enumerate(HEIGHTS_MM)
    ]
    return Spots.together([Spots.of(boxes, none, costs, height_mm=height, words=way) for boxes, costs, height in each])


def _steps(side_mm: float) -> int:
    return min(_MOST_STEPS, 1 + math.ceil(side_mm / _LEAST_STEP_MM))


def _targets(anchors: Points) -> Points:
    """Return the anchor, of (m, 2), that is nearest to each place around the first of them, shape (n, 2)."""
    (x, y), (anchor_x, anchor_y) = (_AROUND + anchors[0]).T, anchors.T
    away = np.hypot(x[:, None] - anchor_x, y[:, None] - anchor_y)
    targets: Points = anchors[np.argmin(away, axis=1)]
    return targets


def _beside(note: Note, targets: Points, middle: Points, way: int) -> Spots:
    """Return spots around an area's widest spot, ``middle`` (2,), each as dear as its leader is long."""
    height = HEIGHTS_MM[-1]
    boxes = boxes_at(_AROUND + middle, note.ways[way], height)
    leaders = np.hypot(*(nearest(boxes, targets) - targets).T)
    far = leaders >= height / 2
    return Spots.of(
        boxes[far], targets[far], _POINTED_MM + leaders[far] + note.losses_mm[way], height_mm=height, words=way
    )


def _on_place(note: Note, place: Points) -> Spots:
    box = boxes_at(place, note.ways[-1], HEIGHTS_MM[-1])
    none, cost = np.full((1, 2), np.nan), np.array([_ON_PLACE_MM])
    return Spots.of(box, none, cost, height_mm=HEIGHTS_MM[-1], words=len(note.ways) - 1)


def boxes_at(centres: Points, lines: Sequence[str], height: float) -> Boxes:
    """Return the box (n, 4) that lines of a height take about each centre (n, 2)."""
    half = np.array([LETTER_SHARE * max(map(len, lines)), _LINE_SHARE * len(lines)]) * height / 2
    return np.hstack([centres - half, centres + half])


def placed_at(ways: Sequence[tuple[str, ...]], spot: Spots) -> PlacedNote:
    """Return a note that may be worded in these ways on the one spot that is given."""
    (x0, y0, x1, y1), height = spot.boxes[0].tolist(), float(spot.heights_mm[0])
    words = ways[spot.words[0]]
    top = (y0 + y1) / 2 + height * _LINE_SHARE * (len(words) - 1) / 2
    lines = tuple((text, ((x0 + x1) / 2, top - i * height * _LINE_SHARE)) for i, text in enumerate(words))
    leader = None if np.isnan(spot.targets[0, 0]) else ArcPath(spot.leaders[0], np.zeros(1), closed=False)
    return PlacedNote(lines, height, leader)
