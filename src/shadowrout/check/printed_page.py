"""A printed page as read back: what is painted on it, in which order and where, seen through which panes.

Curves are cubic: each piece is eight numbers, x and y of its start, of its two control points and of its end; a
straight line has its control points at a third and two thirds. What a page shows several times, or several pages
show, is held once as an ``ImprintSet``, and each ``Showing`` of it says by which matrix and through which pane.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples
from shadowrout.check.drawing_file import Box

Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f: (x, y) goes to (a x + c y + e, b x + d y + f), as in ISO 32000-1, 8.3.4."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
Colour = tuple[float, float, float]
"""Red, green and blue from 0 to 1."""

_LEVEL_SHARE = 1e-6
"""Below it a matrix doesn't turn: on the longest sheet it moves a corner by half a micrometre."""
_MOST_SAMPLES = 10_000
"""Of one piece; no curve of a plaque comes near it."""


@dataclass(frozen=True)
class Pane:
    """What may be painted: a box, and whether it is that box or only lies within it."""

    box: Box
    whole: bool = True

    def within(self, other: Pane | None) -> Pane:
        """Return what both leave open."""
        if other is None:
            return self
        (a, b, c, d), (e, f, g, h) = self.box, other.box
        return Pane((max(a, e), max(b, f), min(c, g), min(d, h)), self.whole and other.whole)

    def placed(self, matrix: Matrix) -> Pane:
        """Return the pane where a matrix puts it; turned askew, it is a box around it."""
        x0, y0, x1, y1 = self.box
        corners = moved(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), matrix)
        (left, low), (right, high) = corners.min(axis=0).tolist(), corners.max(axis=0).tolist()
        return Pane((left, low, right, high), self.whole and keeps_level(matrix))


@dataclass(frozen=True, eq=False)
class Contour:
    """One path: pieces of shape (n, 8), n >= 1, and whether it is closed."""

    pieces: NDArray[np.float64]
    closed: bool


@dataclass(frozen=True, eq=False)
class Imprint:
    """What one operator paints: ``how`` is ``fill``, ``stroke`` or ``picture``, which may be anything.

    ``matrix`` takes contours, and the pen's ``width``, to its set's space, in which ``pane`` lies. ``colour`` is None
    where the file doesn't say it in grey, RGB or CMYK. ``even_odd`` is the rule by which a fill is inside.
    """

    how: str
    contours: tuple[Contour, ...]
    matrix: Matrix
    colour: Colour | None = (0.0, 0.0, 0.0)
    width: float = 0.0
    even_odd: bool = False
    pane: Pane | None = None


@dataclass(frozen=True)
class Lettering:
    """A line of text: its words, its place and letters' size in the imprint set's space; ``shown`` unless invisible."""

    words: str
    at: tuple[float, float]
    size: float
    shown: bool = True


@dataclass(frozen=True, eq=False)
class ImprintSet:
    """Imprint and lettering in the order they are painted, all in one space."""

    every: tuple[Imprint, ...] = ()
    letterings: tuple[Lettering, ...] = ()


@dataclass(frozen=True, eq=False)
class Showing:
    """An imprint set on a page: ``matrix`` takes it to the page's mm; ``pane`` is in those, None for the whole page."""

    imprints: ImprintSet
    matrix: Matrix
    pane: Pane | None = None


@dataclass(frozen=True, eq=False)
class PrintedPage:
    """One page: its size in mm, and what it shows.

    ``odd_sizes`` says in words what would have it printed turned or in another size, ``odd_imprints`` what may be seen
    otherwise than its imprints say.
    """

    size_mm: tuple[float, float]
    showings: tuple[Showing, ...] = ()
    odd_sizes: tuple[str, ...] = ()
    odd_imprints: tuple[str, ...] = ()

    @property
    def is_blank(self) -> bool:
        """Whether nothing at all is painted on it."""
        return not any(showing.imprints.every or showing.imprints.letterings for showing in self.showings)


def picture(box: Box, matrix: Matrix, pane: Pane | None) -> Imprint:
    """Return a picture, or anything else without outlines, that fills a box: it can't be told in what colours."""
    x0, y0, x1, y1 = box
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    sides = np.array([(*a, *a, *b, *b) for a, b in zip(corners, corners[1:], strict=False)])
    return Imprint("picture", (Contour(sides, True),), matrix, None, pane=pane)


def joined(first: Matrix, then: Matrix) -> Matrix:
    """Return the matrix that does one after the other."""
    a, b, c, d, e, f = first
    g, h, i, j, k, m = then
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m)


def moved(points: Points, matrix: Matrix) -> Points:
    """Return points, shape (n, 2), where a matrix puts them."""
    a, b, c, d, e, f = matrix
    there: Points = points @ np.array([(a, b), (c, d)]) + (e, f)
    return there


def keeps_level(matrix: Matrix) -> bool:
    """Return whether level lines stay level, or all become upright."""
    a, b, c, d, _, _ = np.abs(matrix).tolist()
    size = max(a, b, c, d)
    return bool(max(b, c) <= _LEVEL_SHARE * size or max(a, d) <= _LEVEL_SHARE * size)


def sampled_contours(
    contours: Sequence[tuple[Contour, Matrix]], *, sagitta_mm: float, step_mm: float, close: bool
) -> Samples:
    """Return points along contours, each moved by its matrix, none further than ``step_mm`` from the next.

    With n equal steps of its parameter a cubic curve leaves its chords by 3/4 / n^2 of the larger of its two second
    differences at the most: an eighth of the step's square times its second derivative, which is six times that.
    The ends of pieces are among them. Where ``close`` is set straight lines close what is open, as filling does.
    """
    if not contours:
        return Samples(np.empty((0, 2)), np.empty(0, np.intp), np.empty(0, np.intp), 0)
    pieces = [moved(contour.pieces.reshape(-1, 2), matrix).reshape(-1, 4, 2) for contour, matrix in contours]
    counts = np.array([len(of_one) for of_one in pieces], dtype=np.intp)
    every, owner = np.concatenate(pieces), np.repeat(np.arange(len(counts)), counts)
    steps = _steps(every, sagitta_mm, step_mm)
    piece = np.repeat(np.arange(len(every)), steps)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(steps) - steps, steps)) / steps[piece]
    points, belongs = _on_curves(every[piece], share), owner[piece]
    lasts = np.cumsum(counts) - 1
    at = np.cumsum(np.bincount(belongs, minlength=len(counts)))
    points, belongs = np.insert(points, at, every[lasts, 3], axis=0), np.insert(belongs, at, np.arange(len(counts)))
    return Samples(points, belongs, _after(belongs, [close or contour.closed for contour, _ in contours]), len(counts))


def _steps(pieces: NDArray[np.float64], sagitta_mm: float, step_mm: float) -> NDArray[np.intp]:
    a, b, c, d = np.moveaxis(pieces, 1, 0)
    bent = np.maximum(np.hypot(*(a - 2 * b + c).T), np.hypot(*(b - 2 * c + d).T))
    legs = 3 * np.maximum.reduce([np.hypot(*(b - a).T), np.hypot(*(c - b).T), np.hypot(*(d - c).T)])
    wanted = np.ceil(np.maximum(np.sqrt(0.75 * bent / sagitta_mm), legs / step_mm))
    steps: NDArray[np.intp] = np.clip(wanted, 1, _MOST_SAMPLES).astype(np.intp)
    return steps


def _on_curves(pieces: NDArray[np.float64], share: NDArray[np.float64]) -> Points:
    t = share[:, None]
    s = 1 - t
    a, b, c, d = np.moveaxis(pieces, 1, 0)
    points: Points = s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d
    return points


def _after(owner: NDArray[np.intp], closed: Sequence[bool]) -> NDArray[np.intp]:
    after = np.arange(1, len(owner) + 1)
    indices = np.arange(len(closed))
    last, first = np.searchsorted(owner, indices, side="right") - 1, np.searchsorted(owner, indices)
    after[last] = np.where(closed, first, -1)
    return after
