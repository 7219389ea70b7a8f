"""Where the text beside each pocket goes: inside it where there is room, else beside it with a leader line.

Letters are upright, in a height of ISO 3098's series. A letter of DXF's plain stroke font is about as wide as
its capital height; with that as its measure no two notes overlap in a reader that draws them narrower.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.drawing.ink import Ink
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box

HEIGHTS_MM = (3.5, 2.5, 1.8)
"""Capital heights of ISO 3098, largest first."""

_WIDTH_SHARE = 1.0
_LINE_SHARE = 1.6
_RINGS = 40
_RING_MM = 2.0
_DIRECTIONS = 24

_NUMBER_ALONE_MM = 40.0
"""A note is cut down to its number only where the whole would stand this much worse."""


@dataclass(frozen=True)
class Note:
    """Lines of text that belong to a place on the plaque; ``room_mm`` is the radius free around that place."""

    lines: tuple[str, ...]
    place: tuple[float, float]
    room_mm: float


@dataclass(frozen=True, eq=False)
class PlacedNote:
    """A note's lines with the middle of each, their height, and the leader to the place where it stands apart."""

    lines: tuple[tuple[str, tuple[float, float]], ...]
    height_mm: float
    leader: ArcPath | None


def placed(notes: Sequence[Note], *, within: Box, ink: Ink | None = None) -> tuple[PlacedNote, ...]:
    """Return every note placed inside the box, none over another nor over another's leader, in the order given.

    Where ``ink`` tells what else is drawn, a note goes where it covers least: each unit of weight counts as much as
    a millimetre of leader. A note that finds no free spot at its full length shrinks to its first word, the
    pocket's number; should even that find none, it stands on its place, over whatever is there.
    """
    taken = np.empty((0, 4))
    result = []
    for note in notes:
        spot = _free_spot(note, taken, within, ink)
        result.append(_placed(note, spot))
        taken = np.vstack([taken, spot.box, *_along(result[-1].leader)])
    return tuple(result)


@dataclass(frozen=True)
class _Spot:
    lines: tuple[str, ...]
    centre: tuple[float, float]
    height_mm: float
    apart: bool

    @property
    def box(self) -> Box:
        half_width, half_height = _half_extent(self.lines, self.height_mm)
        x, y = self.centre
        return x - half_width, y - half_height, x + half_width, y + half_height


def _free_spot(note: Note, taken: NDArray[np.float64], within: Box, ink: Ink | None) -> _Spot:
    spots = list(_candidates(note, ink))
    boxes = np.array([spot.box for spot in spots])
    costs = np.array([_leader_mm(note, spot) for spot in spots])
    if ink is not None:
        costs += ink.under(boxes)
    inside = (boxes[:, :2] >= within[:2]).all(axis=1) & (boxes[:, 2:] <= within[2:]).all(axis=1)
    for number in np.argsort(costs, kind="stable").tolist():
        if inside[number] and not _meets(boxes[number], taken) and _leader_is_free(note, spots[number], taken):
            return spots[number]
    return _Spot(_number_alone(note), note.place, HEIGHTS_MM[-1], apart=False)


def _candidates(note: Note, ink: Ink | None) -> Iterator[_Spot]:
    """Yield where a note may stand, the best first among those of equal cost.

    On its place where its box is inside the free disc, or crosses no line at all and so stays inside its pocket.
    """
    for height in HEIGHTS_MM:
        spot = _Spot(note.lines, note.place, height, apart=False)
        fits = math.hypot(*_half_extent(note.lines, height)) <= note.room_mm
        if fits or (ink is not None and ink.under(np.array([spot.box]))[0] == 0):
            yield spot
    for lines in (note.lines, _number_alone(note)):
        for centre in _around(note.place):
            spot = _Spot(lines, centre, HEIGHTS_MM[-1], apart=True)
            if math.dist(note.place, _nearest(note.place, spot.box)) >= note.room_mm:
                yield spot


def _around(place: tuple[float, float]) -> Iterator[tuple[float, float]]:
    for ring in range(1, _RINGS + 1):
        for direction in range(_DIRECTIONS):
            angle = 2 * math.pi * direction / _DIRECTIONS
            yield place[0] + ring * _RING_MM * math.cos(angle), place[1] + ring * _RING_MM * math.sin(angle)


def _leader_mm(note: Note, spot: _Spot) -> float:
    """Return how long the leader is, as a measure of how badly the note stands; more where only its number does."""
    if not spot.apart:
        return 0.0
    cut_down = 0.0 if spot.lines == note.lines else _NUMBER_ALONE_MM
    return math.dist(note.place, _nearest(note.place, spot.box)) + cut_down


def _leader_is_free(note: Note, spot: _Spot, taken: NDArray[np.float64]) -> bool:
    return not spot.apart or not any(_meets(piece, taken) for piece in _along(_leader(note.place, spot)))


def _meets(box: NDArray[np.float64], taken: NDArray[np.float64]) -> bool:
    """Return whether a box shares area with any of the boxes (n, 4)."""
    x0, y0, x1, y1 = box
    meets = (taken[:, 0] < x1) & (taken[:, 2] > x0) & (taken[:, 1] < y1) & (taken[:, 3] > y0)
    return bool(meets.any())


def _along(leader: ArcPath | None) -> NDArray[np.float64]:
    """Return small boxes (n, 4) that cover a leader; none where there is none."""
    if leader is None:
        return np.empty((0, 4))
    start, end = leader.vertices
    count = max(2, math.ceil(math.dist(start, end)) + 1)
    stops = np.linspace(start, end, count)
    low, high = np.minimum(stops[:-1], stops[1:]), np.maximum(stops[:-1], stops[1:])
    return np.hstack([low - 0.1, high + 0.1])


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
    start = _nearest(place, spot.box)
    if math.dist(start, place) < spot.height_mm / 2:
        return None
    return ArcPath(np.array([start, place]), np.zeros(1), closed=False)


def _nearest(place: tuple[float, float], box: Box) -> tuple[float, float]:
    x0, y0, x1, y1 = box
    return min(max(place[0], x0), x1), min(max(place[1], y0), y1)
