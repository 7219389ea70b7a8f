"""What a pattern's page holds: the window onto the pattern, bars, crosses, its number, lines and fills."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points
from shadowrout.check.drawing_file import Box
from shadowrout.check.printed_page import (
    Colour,
    Contour,
    Imprint,
    Lettering,
    Matrix,
    Pane,
    PrintedPage,
    joined,
    moved,
)

SAME_MM = 0.01
"""Of what a reader takes as one place; a tenth of the thinnest pen."""

_PALEST = 0.95
"""A luminance above it is white to the eye (a judgement)."""
_LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Shares of red, green and blue (ITU-R BT.709)."""
_WIDEST_PEN_MM = 1.0
"""A line as broad hides the edges that it runs over; the pattern's own are 0.6 mm at the most."""
_LEAST_BAR_MM = 50.0
"""Half of the shortest bar."""
_LONGEST_TICK_MM = 4.0
"""Ticks of a bar are 2.4 mm long at the most."""
_NUMBER = re.compile(r"sheet (\d{1,6}) of (\d{1,6})(: row \d+ of \d+, column \d+ of \d+)?")


@dataclass(frozen=True, eq=False)
class Placed:
    """An imprint on a page: ``matrix`` takes its contours to the page's mm, ``pane`` is in those."""

    imprint: Imprint
    matrix: Matrix
    pane: Pane | None

    @cached_property
    def box(self) -> Box:
        """The box around it, its pane not regarded: curves lie within their control points."""
        points = np.concatenate([contour.pieces.reshape(-1, 2) for contour in self.imprint.contours])
        there = moved(points, self.matrix)
        (x0, y0), (x1, y1) = there.min(axis=0).tolist(), there.max(axis=0).tolist()
        return x0, y0, x1, y1

    @property
    def pen_mm(self) -> float:
        """The width of a stroke's pen."""
        a, b, c, d, _, _ = self.matrix
        return self.imprint.width * math.sqrt(abs(a * d - b * c))

    @property
    def shows(self) -> bool:
        """Whether it can be told from white paper; what has a colour that can't be told doesn't count."""
        return self.imprint.colour is not None and _luminance(self.imprint.colour) <= _PALEST

    @property
    def hides(self) -> bool:
        """Whether it covers what lies below, so that this can't be followed any more."""
        if self.imprint.how == "stroke":
            return self.pen_mm > _WIDEST_PEN_MM
        return not self.shows


@dataclass(frozen=True)
class Bar:
    """A scale bar: its ends, and how far any tick is from where an even division of ``length_mm`` has it."""

    start: tuple[float, float]
    upright: bool
    length_mm: float
    uneven_mm: float
    ticks: int


class SheetRead:
    """One page of a pattern as read."""

    def __init__(self, page: PrintedPage) -> None:
        self.page = page
        self.placed = tuple(_placed(page))
        self.letterings = tuple(_letterings(page))

    @cached_property
    def number(self) -> tuple[int, int] | None:
        """Which sheet of how many it says it is; None where it says nothing."""
        for lettering in self.letterings:
            if found := _NUMBER.fullmatch(lettering.words):
                return int(found[1]), int(found[2])
        return None

    @cached_property
    def panes(self) -> list[Pane]:
        """The panes through which fills are seen that show, the largest first."""
        every = [p.pane for p in self.placed if p.pane is not None and p.imprint.how == "fill" and p.shows]
        return sorted(every, key=lambda pane: -_area(pane.box))

    @cached_property
    def over_fills(self) -> tuple[Placed, ...]:
        """What is painted after the last fill that shows and is seen through a pane."""
        fills = [at for at, p in enumerate(self.placed) if p.imprint.how == "fill" and p.shows and p.pane is not None]
        return self.placed[max(fills, default=-1) + 1 :]

    @cached_property
    def lines(self) -> NDArray[np.float64]:
        """The page's own straight strokes that show, those seen through no pane: x0, y0, x1, y1, shape (n, 4)."""
        found = [
            (*moved(ends, placed.matrix).ravel().tolist(),)
            for placed in self.placed
            if placed.pane is None and placed.imprint.how == "stroke" and placed.shows
            for contour in placed.imprint.contours
            for ends in _straight(contour)
        ]
        return np.array(found, dtype=np.float64).reshape(-1, 4)

    @cached_property
    def bars(self) -> list[Bar]:
        """The scale bars."""
        found = []
        for upright in (False, True):
            lines = self.lines[:, [1, 0, 3, 2]] if upright else self.lines
            found += list(_bars(lines, upright))
        return found

    def crosses(self) -> Points:
        """Return the middles of upright crosses of two lines with one middle and one length, shape (n, 2)."""
        steps = self.lines[:, 2:] - self.lines[:, :2]
        middles = (self.lines[:, 2:] + self.lines[:, :2]) / 2
        lengths = np.hypot(*steps.T)
        level, upright = (np.flatnonzero(np.abs(steps[:, axis]) <= SAME_MM) for axis in (1, 0))
        if not len(level) or not len(upright):
            return np.empty((0, 2))
        apart = np.abs(middles[level][:, None] - middles[upright]).max(axis=2)
        apart = np.maximum(apart, np.abs(lengths[level][:, None] - lengths[upright]))
        crosses: Points = middles[level[(apart <= SAME_MM).any(axis=1)]]
        return crosses


def _placed(page: PrintedPage) -> Iterator[Placed]:
    for showing in page.showings:
        panes: dict[int, Pane | None] = {id(None): showing.pane}
        for imprint in showing.imprints.every:
            if id(imprint.pane) not in panes and imprint.pane is not None:
                panes[id(imprint.pane)] = imprint.pane.placed(showing.matrix).within(showing.pane)
            yield Placed(imprint, joined(imprint.matrix, showing.matrix), panes[id(imprint.pane)])


def _letterings(page: PrintedPage) -> Iterator[Lettering]:
    for showing in page.showings:
        a, b, c, d, _, _ = showing.matrix
        scale = abs(a * d - b * c) ** 0.5
        for lettering in showing.imprints.letterings:
            ((x, y),) = moved(np.array([lettering.at]), showing.matrix).tolist()
            if lettering.shown:
                yield Lettering(lettering.words, (x, y), lettering.size * scale)


def _straight(contour: Contour) -> Iterator[Points]:
    """Yield the two ends of an open contour of one straight piece."""
    if len(contour.pieces) == 1 and not contour.closed:
        points = contour.pieces.reshape(4, 2)
        if np.abs(np.diff(points, 2, axis=0)).max() <= 1e-6 * (1 + np.abs(points).max()):
            yield points[[0, 3]]


def _bars(lines: NDArray[np.float64], upright: bool) -> Iterator[Bar]:
    """Yield the bars among lines, of which the first number of each pair counts along a bar."""
    steps = lines[:, 2:] - lines[:, :2]
    ticks = lines[(np.abs(steps[:, 0]) <= SAME_MM) & (np.abs(steps[:, 1]) <= _LONGEST_TICK_MM)]
    for start, across, end, _ in lines[(np.abs(steps[:, 1]) <= SAME_MM) & (np.abs(steps[:, 0]) >= _LEAST_BAR_MM)]:
        low, high = min(start, end), max(start, end)
        on = (
            (np.abs(ticks[:, 1:4:2] - across).min(axis=1) <= SAME_MM)
            & (ticks[:, 0] >= low - 1)
            & (ticks[:, 0] <= high + 1)
        )
        at = np.sort(ticks[on, 0])
        if len(at) < 3:
            continue
        even = np.linspace(at[0], at[-1], len(at))
        uneven = max(float(np.abs(at - even).max()), abs(at[0] - low), abs(at[-1] - high))
        yield Bar((across, low) if upright else (low, across), upright, float(at[-1] - at[0]), uneven, len(at))


def covers(pane: Pane | None, box: Box, *, within_mm: float) -> bool:
    """Return whether all of a box is seen through a pane."""
    if pane is None:
        return True
    (a, b, c, d), (x0, y0, x1, y1) = pane.box, box
    return pane.whole and max(a - x0, b - y0, x1 - c, y1 - d) <= within_mm


def meet(box: Box, other: Box) -> bool:
    """Return whether two boxes have a place in common."""
    return box[0] <= other[2] and other[0] <= box[2] and box[1] <= other[3] and other[1] <= box[3]


def contours_of(placed: Sequence[Placed], onto: Matrix) -> list[tuple[Contour, Matrix]]:
    """Return the contours of imprints, each with the matrix that takes it to where ``onto`` takes the page."""
    return [(contour, joined(each.matrix, onto)) for each in placed for contour in each.imprint.contours]


def _luminance(colour: Colour) -> float:
    return sum(share * part for share, part in zip(_LUMINANCE, colour, strict=True))


def _area(box: Box) -> float:
    return max(0.0, box[2] - box[0]) * max(0.0, box[3] - box[1])
