"""Where the text beside each pocket goes: inside it where there is room, else beside it with a leader line.

Letters are upright, in a height of ISO 3098's series. A letter of DXF's plain stroke font is about as wide as
its capital height; with that as its measure no two notes overlap in a reader that draws them narrower.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box

HEIGHTS_MM = (3.5, 2.5, 1.8)
"""Capital heights of ISO 3098, largest first."""

_WIDTH_SHARE = 1.0
_LINE_SHARE = 1.6
_RINGS = 24
_DIRECTIONS = 16


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


def placed(notes: Sequence[Note], *, within: Box) -> tuple[PlacedNote, ...]:
    """Return every note placed inside the box, none over another, in the order given.

    A note that finds no free spot at its full length shrinks to its first word, the pocket's number; should
    even that find none, it stands on its place, over whatever is there. Nearer spots are tried first.
    """
    taken = np.empty((0, 4))
    result = []
    for note in notes:
        spot = _free_spot(note, taken, within)
        result.append(_placed(note, spot))
        taken = np.vstack([taken, spot.box])
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


def _free_spot(note: Note, taken: np.ndarray, within: Box) -> _Spot:
    for spot in _candidates(note):
        x0, y0, x1, y1 = spot.box
        if x0 < within[0] or y0 < within[1] or x1 > within[2] or y1 > within[3]:
            continue
        meets = (taken[:, 0] < x1) & (taken[:, 2] > x0) & (taken[:, 1] < y1) & (taken[:, 3] > y0)
        if not meets.any():
            return spot
    return _Spot(_number_alone(note), note.place, HEIGHTS_MM[-1], apart=False)


def _candidates(note: Note) -> Iterator[_Spot]:
    for height in HEIGHTS_MM:
        if math.hypot(*_half_extent(note.lines, height)) <= note.room_mm:
            yield _Spot(note.lines, note.place, height, apart=False)
    least = HEIGHTS_MM[-1]
    for lines in (note.lines, _number_alone(note)):
        for centre in _around(note.place, step=2 * least):
            spot = _Spot(lines, centre, least, apart=True)
            if math.dist(note.place, _nearest(note.place, spot.box)) >= note.room_mm:
                yield spot


def _around(place: tuple[float, float], *, step: float) -> Iterator[tuple[float, float]]:
    for ring in range(1, _RINGS + 1):
        for direction in range(_DIRECTIONS):
            angle = 2 * math.pi * direction / _DIRECTIONS
            yield place[0] + ring * step * math.cos(angle), place[1] + ring * step * math.sin(angle)


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
