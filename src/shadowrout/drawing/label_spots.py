"""The spots where a note may stand, and the choice of one among notes that have theirs already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from shadowrout.drawing.ink import Rooms
from shadowrout.geometry.arcs import Points

Boxes = NDArray[np.float64]
Flags = NDArray[np.bool_]
Lines = NDArray[np.float64]
Costs = NDArray[np.float64]

_LOOKED_AT = 64
"""So many spots are judged at a time, until no later one can be better."""

_OVER_NOTE_MM = 10_000.0
_ON_LEADER_MM = 200.0
_ACROSS_LEADER_MM = 100.0
_ACROSS_AREA_MM = 100.0
"""What is worst first, in millimetres of leader: a note on another; a note on a leader; leaders that cross; a leader
over another area."""

_LEAST_MM = 1e-9
"""What a line along an axis is taken to rise, so that nothing is divided by 0."""

_ALONG = np.linspace(0.0, 1.0, 49)
"""Where a leader is looked at for the areas it crosses, as shares of its length."""


@dataclass(frozen=True, eq=False)
class Spots:
    """Where a note may stand. All arrays have one row a spot: ``boxes`` (n, 4), the others (n,).

    ``words`` is the number of the way in which the note is worded there. ``targets`` (n, 2) is where a leader leads
    to, NaN where the note needs none. ``costs`` are in millimetres of leader.
    """

    boxes: Boxes
    targets: Points
    heights_mm: NDArray[np.float64]
    words: NDArray[np.intp]
    costs: Costs

    @staticmethod
    def of(boxes: Boxes, targets: Points, costs: Costs, *, height_mm: float, words: int) -> Spots:
        """Return spots of one height and one way of wording."""
        count = len(boxes)
        return Spots(boxes, targets, np.full(count, height_mm), np.full(count, words), costs)

    @staticmethod
    def together(each: Sequence[Spots]) -> Spots:
        """Return the spots of one note, of several kinds, as one."""
        names = [field.name for field in fields(Spots)]
        return Spots(*(np.concatenate([getattr(spots, name) for spots in each]) for name in names))

    def at(self, which: Flags | NDArray[np.intp] | slice) -> Spots:
        """Return some of the spots."""
        return Spots(*(getattr(self, field.name)[which] for field in fields(Spots)))

    def dearer_by(self, costs: Costs | float) -> Spots:
        """Return the spots with a cost added to each."""
        return replace(self, costs=self.costs + costs)

    @property
    def leaders(self) -> Lines:
        """Start and end of the leader of each spot, (n, 2, 2); NaN where it has none."""
        return np.stack([nearest(self.boxes, self.targets), self.targets], axis=1)


def nearest(boxes: Boxes, places: Points) -> Points:
    """Return the point of each box (n, 4) that is nearest to its place (n, 2)."""
    points: Points = np.clip(places, boxes[:, :2], boxes[:, 2:])
    return points


class Taken:
    """The boxes and leaders of notes that have a spot; NaN, which meets nothing, for those that have none yet."""

    def __init__(self, count: int) -> None:
        self._boxes = np.full((count, 4), np.nan)
        self._leaders = np.full((count, 2, 2), np.nan)

    def enter(self, number: int, spot: Spots) -> None:
        """Let a note take the one spot that is given."""
        self._boxes[number] = spot.boxes[0]
        self._leaders[number] = spot.leaders[0]

    def best_of(self, spots: Spots, rooms: Rooms, *, own: int) -> int:
        """Return the number of the cheapest of spots in the order of their cost, for note number ``own``.

        Whatever the others have taken makes a spot that meets it dearer, and so does a leader over an area not its
        own.
        """
        others = np.arange(len(self._boxes)) != own
        boxes, leaders = self._boxes[others], self._leaders[others]
        best, least = 0, np.inf
        for first in range(0, len(spots.costs), _LOOKED_AT):
            if spots.costs[first] >= least:
                break
            some = spots.at(slice(first, first + _LOOKED_AT))
            costs = some.costs + _met(some, boxes, leaders) + _crossed(some, rooms, own=own)
            found = int(np.argmin(costs))
            if costs[found] < least:
                best, least = first + found, float(costs[found])
        return best


def _met(spots: Spots, boxes: Boxes, leaders: Lines) -> Costs:
    """Return what it costs each spot, (n,), to meet the boxes (m, 4) and leaders (m, 2, 2) of others."""
    mine = spots.leaders
    over = _overlapping(spots.boxes, boxes).sum(axis=1)
    on = _entering(mine, boxes).sum(axis=1) + _entering(leaders, spots.boxes).sum(axis=0)
    costs: Costs = _OVER_NOTE_MM * over + _ON_LEADER_MM * on + _ACROSS_LEADER_MM * _crossing(mine, leaders).sum(axis=1)
    return costs


def _crossed(spots: Spots, rooms: Rooms, *, own: int) -> Costs:
    """Return what it costs each spot, (n,), that its leader passes over other areas."""
    costs = np.zeros(len(spots.costs))
    pointed = ~np.isnan(spots.targets[:, 0])
    lines = spots.leaders[pointed]
    points = lines[:, :1] + _ALONG[:, None] * (lines[:, 1:] - lines[:, :1])
    costs[pointed] = _ACROSS_AREA_MM * rooms.strangers(points, own=own).any(axis=1)
    return costs


def _overlapping(boxes: Boxes, others: Boxes) -> Flags:
    """Return which boxes (n, 4) share area with which others (m, 4), (n, m)."""
    x0, y0, x1, y1 = boxes.T[:, :, None]
    other_x0, other_y0, other_x1, other_y1 = others.T[:, None]
    overlap: Flags = (x0 < other_x1) & (other_x0 < x1) & (y0 < other_y1) & (other_y0 < y1)
    return overlap


def _entering(lines: Lines, boxes: Boxes) -> Flags:
    """Return which straight lines (n, 2, 2) run inside which boxes (m, 4), (n, m), by the slabs that hold a box."""
    x0, y0, x1, y1 = boxes.T[:, None]
    enter, leave = np.zeros((1, 1)), np.ones((1, 1))
    for axis, low, high in ((0, x0, x1), (1, y0, y1)):
        start, way = lines[:, :1, axis], lines[:, 1:, axis] - lines[:, :1, axis]
        way = np.where(np.abs(way) < _LEAST_MM, _LEAST_MM, way)
        sides = (low - start) / way, (high - start) / way
        enter, leave = np.maximum(enter, np.minimum(*sides)), np.minimum(leave, np.maximum(*sides))
    inside: Flags = enter < leave
    return inside


def _crossing(lines: Lines, others: Lines) -> Flags:
    """Return which straight lines (n, 2, 2) cross which others (m, 2, 2), (n, m): each has its ends on both sides."""
    mine, theirs = lines[:, None], others[None]
    first = _side(mine, theirs[..., 0, :]) * _side(mine, theirs[..., 1, :])
    second = _side(theirs, mine[..., 0, :]) * _side(theirs, mine[..., 1, :])
    cross: Flags = (first < 0) & (second < 0)
    return cross


def _side(lines: Lines, points: Points) -> NDArray[np.float64]:
    """Return on which side of lines (..., 2, 2) points (..., 2) lie: positive on the left."""
    x0, y0, x1, y1 = (lines[..., end, axis] for end in (0, 1) for axis in (0, 1))
    side: NDArray[np.float64] = (x1 - x0) * (points[..., 1] - y0) - (y1 - y0) * (points[..., 0] - x0)
    return side
