"""A sheet of a paper pattern put where it belongs, and how what lies off on it is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points
from shadowrout.check.distances import worst_places
from shadowrout.check.drawing_file import Box
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.printed_page import Matrix, joined, moved
from shadowrout.check.printed_sheets import Placed, SheetRead
from shadowrout.words.sentences import Mm, Sentence

Fault = tuple[Promise, Finding]

DONT_PRINT = "make the plaque again; don't print this pattern"
DONT_SCALE = "make the plaque again; don't scale or crop the pattern in another program"

ROUNDING_MM = 0.003
"""What the PDF's numbers, its curves in place of arcs, and the sampling of both may add to the tolerance."""
SAGITTA_MM = 0.001
"""A third of that."""
STEP_MM = 0.25
"""Every vertex is among the samples, so nothing that has a corner falls between two."""
MOST_FINDINGS = 3
"""Of one kind on a sheet."""

_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""


@dataclass(frozen=True, eq=False)
class SheetPlace:
    """A sheet: its window on the page, and the part of the board's plane that must show there.

    ``turned_over`` is the way from that plane as seen from the printed side to the board's.
    """

    name: str
    number: int
    read: SheetRead
    on_page_mm: Box
    seen_mm: Box
    turned_over: Matrix

    @property
    def to_printed_side(self) -> Matrix:
        """The way from the page to the board's plane, seen from the printed side."""
        return (1.0, 0.0, 0.0, 1.0, self.seen_mm[0] - self.on_page_mm[0], self.seen_mm[1] - self.on_page_mm[1])

    @property
    def onto_board(self) -> Matrix:
        """The way from the page to the board."""
        return joined(self.to_printed_side, self.turned_over)

    @property
    def window_mm(self) -> Box:
        """The part of the board that it shows."""
        corners = moved(np.array([self.seen_mm[:2], self.seen_mm[2:]]), self.turned_over)
        (x0, y0), (x1, y1) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        return x0, y0, x1, y1


def same_where_same(placed: Sequence[Placed], onto: Matrix) -> tuple[object, ...]:
    """Return a key, the same for imprints that come to lie alike to some thousandth of a millimetre."""
    matrices = [joined(each.matrix, onto) for each in placed]
    turns, shifts = np.array(matrices).reshape(-1, 6)[:, :4], np.array(matrices).reshape(-1, 6)[:, 4:]
    ids = tuple(id(each.imprint) for each in placed)
    return ids, np.round(turns, 6).tobytes(), np.round(shifts, 3).tobytes()


def inside(points: Points, box: Box) -> NDArray[np.bool_]:
    """Return which points lie in a box."""
    x, y = points.T
    within: NDArray[np.bool_] = (x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3])
    return within


def worst_faults(points: Points, off_mm: NDArray[np.float64], limit_mm: float, what: str) -> Iterator[Fault]:
    """Yield where points lie furthest off, beyond a limit; ``what`` has a place for ``off``."""
    beyond = np.where(off_mm > limit_mm, off_mm, 0.0)
    for index in worst_places(points, beyond, apart_mm=_APART_MM, most=MOST_FINDINGS):
        place = (float(points[index, 0]), float(points[index, 1]))
        yield Promise.FAITHFUL, Finding(place, Sentence(what, off=Mm(beyond[index])), DONT_PRINT)
