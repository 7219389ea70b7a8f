"""Where the text beside each pocket goes: inside it where there is room, else beside it with a leader line.

Letters are upright, in a height of ISO 3098's series. A letter of DXF's plain stroke font is about as wide as
its capital height; with that as its measure no two notes overlap in a reader that draws them narrower.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.shapes import Layer, Path, Role, Shape, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region

Boxes = NDArray[np.float64]

HEIGHTS_MM = (3.5, 2.5, 1.8)
"""Capital heights of ISO 3098, largest first."""

_WIDTH_SHARE = 1.0
_LINE_SHARE = 1.6
_MOST_LOOKED_AT = 200
"""So many free spots are looked at for one whose leader crosses no other note."""

_LEADER_MM = 0.1
_TURNS = np.arange(24) * np.pi / 12
_AROUND = np.vstack([r * np.column_stack([np.cos(_TURNS), np.sin(_TURNS)]) for r in np.arange(2.0, 86.0, 2.0)])
"""Where notes are tried, from their place: shape (n, 2)."""

_NUMBER_ALONE_MM = 40.0
"""A note is cut down to its number only where the whole would stand this much worse."""


@dataclass(frozen=True, eq=False)
class Note:
    """Lines of text that belong to a place on the plaque; ``room_mm`` is the radius free around that place.

    ``area`` is what the note names, where it is more than the place: no other note may stand in it.
    """

    lines: tuple[str, ...]
    place: tuple[float, float]
    room_mm: float
    area: Region = field(default_factory=Region.empty)


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


def placed(notes: Sequence[Note], *, within: Box, ink: Ink | None = None) -> tuple[PlacedNote, ...]:
    """Return every note placed inside the box, none over another nor over another's leader, in the order given.

    No note stands in another's area, where it would read as that one's. Where ``ink`` tells what else is drawn, a note
    goes where it covers least: each unit of weight counts as much as a millimetre of leader. A note that finds no free
    spot at its full length shrinks to its first word, the pocket's number; should even that find none, it stands on its
    place, over whatever is there.
    """
    texts, leaders = np.empty((0, 4)), np.empty((0, 4))
    rooms = Rooms([note.area for note in notes], within)
    result = []
    for number, note in enumerate(notes):
        tried = _candidates(note, ink)
        tried = tried.at(~rooms.foreign(tried.boxes, own=number))
        spot = _free_spot(note, tried, texts, leaders, within)
        result.append(_placed(note, spot))
        texts = np.vstack([texts, _box(spot)])
        leaders = np.vstack([leaders, _along(result[-1].leader)])
    return tuple(result)


@dataclass(frozen=True)
class _Spot:
    lines: tuple[str, ...]
    centre: tuple[float, float]
    height_mm: float
    apart: bool


@dataclass(frozen=True, eq=False)
class _Candidates:
    """Where a note may stand: (n,) styles, the boxes (n, 4), and what each costs (n,), in millimetres of leader."""

    styles: tuple[tuple[tuple[str, ...], float, bool], ...]
    style: NDArray[np.intp]
    boxes: Boxes
    costs: NDArray[np.float64]

    def at(self, keep: NDArray[np.bool_]) -> _Candidates:
        """Return those that are flagged, (n,)."""
        return _Candidates(self.styles, self.style[keep], self.boxes[keep], self.costs[keep])

    def spot(self, number: int) -> _Spot:
        lines, height, apart = self.styles[self.style[number]]
        x0, y0, x1, y1 = self.boxes[number].tolist()
        return _Spot(lines, ((x0 + x1) / 2, (y0 + y1) / 2), height, apart)


def _free_spot(note: Note, tried: _Candidates, texts: Boxes, leaders: Boxes, within: Box) -> _Spot:
    """Return the cheapest spot that is free; one whose leader crosses something only where there is no other."""
    low, high = tried.boxes[:, :2], tried.boxes[:, 2:]
    inside = (low >= within[:2]).all(axis=1) & (high <= within[2:]).all(axis=1)
    free = tried.at(inside & ~_meets(tried.boxes, texts))
    cheapest: list[int] = np.argsort(free.costs, kind="stable").tolist()
    clear = ~_meets(free.boxes, leaders)
    for number in [n for n in cheapest if clear[n]][:_MOST_LOOKED_AT]:
        spot = free.spot(number)
        leader = _along(_leader(note.place, spot) if spot.apart else None)
        if not _meets(leader, texts).any():
            return spot
    return free.spot(cheapest[0]) if cheapest else _Spot(_number_alone(note), note.place, HEIGHTS_MM[-1], apart=False)


def _candidates(note: Note, ink: Ink | None) -> _Candidates:
    """Return where a note may stand and what each spot costs.

    On its place it may stand where its box is inside the free disc, or crosses no line at all and so stays inside its
    pocket.
    """
    least = HEIGHTS_MM[-1]
    on_place = [(note.lines, height, False) for height in HEIGHTS_MM if _fits(note, height, ink)]
    boxes = [_boxes_at(np.array([note.place]), lines, height) for lines, height, _ in on_place]
    costs = [np.zeros(len(boxes))]
    for lines, cut_down in ((note.lines, 0.0), (_number_alone(note), _NUMBER_ALONE_MM)):
        leader = np.hypot(*np.maximum(np.abs(_AROUND) - _half_extent(lines, least), 0).T)
        apart = leader >= note.room_mm
        boxes.append(_boxes_at(_AROUND[apart] + note.place, lines, least))
        costs.append(leader[apart] + cut_down)
    styles = (*on_place, (note.lines, least, True), (_number_alone(note), least, True))
    every, cost = np.vstack(boxes), np.concatenate(costs)
    style = np.repeat(np.arange(len(styles)), [len(some) for some in boxes])
    return _Candidates(styles, style, every, cost if ink is None else cost + ink.under(every))


def _fits(note: Note, height: float, ink: Ink | None) -> bool:
    in_disc = math.hypot(*_half_extent(note.lines, height)) <= note.room_mm
    return in_disc or (ink is not None and ink.under(_boxes_at(np.array([note.place]), note.lines, height))[0] == 0)


def _boxes_at(centres: NDArray[np.float64], lines: Sequence[str], height: float) -> Boxes:
    half = np.array(_half_extent(lines, height))
    return np.hstack([centres - half, centres + half])


def _box(spot: _Spot) -> Box:
    half_width, half_height = _half_extent(spot.lines, spot.height_mm)
    x, y = spot.centre
    return x - half_width, y - half_height, x + half_width, y + half_height


def _meets(boxes: Boxes, taken: Boxes) -> NDArray[np.bool_]:
    """Return for each box (n, 4) whether it shares area with any of the taken ones (m, 4)."""
    low = np.maximum(boxes[:, None, :2], taken[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], taken[None, :, 2:])
    overlaps = (low[..., 0] < high[..., 0]) & (low[..., 1] < high[..., 1])
    return np.asarray(np.any(overlaps, axis=1), dtype=np.bool_)


def _along(leader: ArcPath | None) -> Boxes:
    """Return small boxes (n, 4) that cover a leader; none where there is none."""
    if leader is None:
        return np.empty((0, 4))
    start, end = leader.vertices
    stops = np.linspace(start, end, max(2, math.ceil(math.dist(start, end)) + 1))
    low, high = np.minimum(stops[:-1], stops[1:]), np.maximum(stops[:-1], stops[1:])
    return np.hstack([low - _LEADER_MM, high + _LEADER_MM])


def _number_alone(note: Note) -> tuple[str, ...]:
    return (note.lines[0].split()[0],)


def _half_extent(lines: Sequence[str], height: float) -> tuple[float, float]:
    return height * _WIDTH_SHARE * max(map(len, lines)) / 2, height * _LINE_SHARE * len(lines) / 2


def _placed(note: Note, spot: _Spot) -> PlacedNote:
    x, y = spot.centre
    top = y + spot.height_mm * _LINE_SHARE * (len(spot.lines) - 1) / 2
    lines = tuple((text, (x, top - i * spot.height_mm * _LINE_SHARE)) for i, text in enumerate(spot.lines))
    return PlacedNote(lines, spot.height_mm, _leader(note.place, spot) if spot.apart else None)


def _leader(place: tuple[float, float], spot: _Spot) -> ArcPath | None:
    """Return a straight line from the nearest point of the note's box to its place; None where that is close by."""
    start = _nearest(place, _box(spot))
    if math.dist(start, place) < spot.height_mm / 2:
        return None
    return ArcPath(np.array([start, place]), np.zeros(1), closed=False)


def _nearest(place: tuple[float, float], box: Box) -> tuple[float, float]:
    x0, y0, x1, y1 = box
    return min(max(place[0], x0), x1), min(max(place[1], y0), y1)
