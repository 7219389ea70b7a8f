"""Text that belongs to no area, on the emptiest spot of a page: a note for all pockets, what a sheet has to say."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from shadowrout.drawing.ink import Ink, Rooms
from shadowrout.drawing.label_spots import Spots, Taken
from shadowrout.drawing.notes import HEIGHTS_MM, SMALLER_MM, PlacedNote, boxes_at, placed_at
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Box, Region

_STEP_MM, _MOST_STEPS = 1.0, 100
_LESS_GOOD_MM = 2.0
"""What each later way of wording is worth, in the millimetres of leader that notes are weighed in."""

_IN_AREA_MM = 1000.0
"""What it costs to stand in an area, where it would read as a pocket's, or fall out with an opening; and again for
each square millimetre of text that does."""


def placed_apart(
    ways: Sequence[tuple[str, ...]], notes: Sequence[PlacedNote], areas: Sequence[Region], *, ink: Ink
) -> PlacedNote:
    """Return a note that belongs to none of the areas, on the emptiest spot of the ink's page.

    ``ways`` are those in which it may be worded, the best first and the narrowest last; ``notes`` are those that
    stand already, and none need be. On a page too small for any way it stands in the middle, in the last.
    """
    taken = Taken(len(notes) + 1)
    for number, note in enumerate(notes):
        taken.enter(number, _spot_of(note))
    rooms = Rooms([*areas, Region.empty()], ink.page)
    spots = Spots.together(list(_spots(ways, ink.page)))
    in_area = rooms.foreign(spots.boxes, own=len(areas)) * (
        1 + np.prod(spots.boxes[:, 2:] - spots.boxes[:, :2], axis=1)
    )
    spots = spots.dearer_by(ink.under(spots.boxes) + _IN_AREA_MM * in_area)
    spots = spots.at(np.argsort(spots.costs, kind="stable"))
    best = taken.best_of(spots, rooms, own=len(notes))
    return placed_at(ways, spots.at(slice(best, best + 1)))


def _spots(ways: Sequence[tuple[str, ...]], page: Box) -> Iterator[Spots]:
    """Yield spots all over the page for each way and height; where none fits, one in its middle."""
    low, high = np.array(page[:2]), np.array(page[2:])
    centres = _centres(page)
    fitted = False
    for way, words in enumerate(ways):
        for step, height in enumerate(HEIGHTS_MM):
            boxes = boxes_at(centres, words, height)
            boxes = boxes[(boxes[:, :2] >= low).all(axis=1) & (boxes[:, 2:] <= high).all(axis=1)]
            fitted |= len(boxes) > 0
            costs = np.full(len(boxes), SMALLER_MM * step + _LESS_GOOD_MM * way)
            yield Spots.of(boxes, np.full((len(boxes), 2), np.nan), costs, height_mm=height, words=way)
    if not fitted:
        boxes = boxes_at((low + high)[None] / 2, ways[-1], HEIGHTS_MM[-1])
        yield Spots.of(boxes, np.full((1, 2), np.nan), np.zeros(1), height_mm=HEIGHTS_MM[-1], words=len(ways) - 1)


def _centres(page: Box) -> Points:
    """Return places (n, 2) in rows and columns all over the page, from the lower left."""
    x0, y0, x1, y1 = page
    across, up = (
        np.linspace(a, b, min(_MOST_STEPS, 1 + math.ceil((b - a) / _STEP_MM))) for a, b in ((x0, x1), (y0, y1))
    )
    return np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)


def _spot_of(note: PlacedNote) -> Spots:
    """Return the spot that a note has taken."""
    texts, places = zip(*note.lines, strict=True)
    boxes = boxes_at(np.array(places).mean(axis=0)[None], texts, note.height_mm)
    targets = np.full((1, 2), np.nan) if note.leader is None else note.leader.vertices[-1:]
    return Spots.of(boxes, targets, np.zeros(1), height_mm=note.height_mm, words=0)
