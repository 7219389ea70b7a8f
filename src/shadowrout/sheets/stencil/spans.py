"""Places where a bridge could join two bodies, each with its cost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.sheets.stencil.bodies import Bodies
from shadowrout.sheets.stencil.rasters import Mask

Pixels = NDArray[np.intp]

_SAMPLES = 48
"""On a bridge of 15 mm, the longest that is usual, every 0.3 mm: no web of the least 0.5 mm lies between two."""


@dataclass(frozen=True, eq=False)
class Ground:
    """What a crossing runs over; arrays of shape (rows, columns).

    ``forbidden`` marks where the middle line of no bridge may run.
    """

    opening: Mask
    forbidden: Mask
    pixel_mm: float


@dataclass(frozen=True, eq=False)
class Crossings:
    """Straight lines from a pixel of one body to a pixel of another, n of them.

    ``start`` and ``end`` have shape (n, 2): row and column. ``one`` and ``other`` are the bodies' numbers,
    ``dark_mm`` the length over openings, ``cost`` what choosing it costs the looks, in millimetres of dark.
    """

    start: Pixels
    end: Pixels
    one: NDArray[np.intp]
    other: NDArray[np.intp]
    dark_mm: NDArray[np.float64]
    cost: NDArray[np.float64]

    def __len__(self) -> int:
        return len(self.cost)

    def chosen(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> Crossings:
        """Return the crossings of these numbers, or those marked, in that order."""
        return Crossings(
            self.start[which],
            self.end[which],
            self.one[which],
            self.other[which],
            self.dark_mm[which],
            self.cost[which],
        )

    @property
    def middle(self) -> NDArray[np.float64]:
        """Middle of each crossing as (row, column), shape (n, 2)."""
        return (self.start + self.end) / 2


def find_crossings(bodies: Bodies, ground: Ground) -> Crossings:
    """Return every crossing worth a look: the shortest ones between neighbours, and all upright and level ones.

    Shortest: each pair of neighbouring pixels that are nearest to different bodies gives the line between the
    body pixels nearest to them. Upright and level: from body to next body along each column and row. Crossings
    that would run over forbidden ground are left out.
    """
    pairs = np.vstack([_shortest(bodies), _straight(bodies.labels), _straight(bodies.labels.T, turned=True)])
    pairs = np.unique(np.sort(pairs, axis=1), axis=0)
    return _costed(pairs, bodies, ground)


def _shortest(bodies: Bodies) -> Pixels:
    labels, nearest = bodies.labels.ravel(), bodies.nearest
    found = []
    for a, b in ((nearest[:, :-1], nearest[:, 1:]), (nearest[:-1], nearest[1:])):
        meets = labels[a] != labels[b]
        found.append(np.column_stack([a[meets], b[meets]]))
    return np.vstack(found)


def _straight(labels: NDArray[np.int32], *, turned: bool = False) -> Pixels:
    """Return pairs of flat indices of pixels that face each other along a row, or a column where ``turned``."""
    row, column = np.nonzero(labels)
    number = labels[row, column]
    faces = np.flatnonzero((row[1:] == row[:-1]) & (number[1:] != number[:-1]))
    flat = column * labels.shape[0] + row if turned else row * labels.shape[1] + column
    return np.column_stack([flat[faces], flat[faces + 1]])


def _costed(pairs: Pixels, bodies: Bodies, ground: Ground) -> Crossings:
    width = bodies.labels.shape[1]
    start, end = (np.column_stack(np.divmod(pairs[:, side], width)) for side in (0, 1))
    share = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    line = np.rint(start[:, None] + share[None, :, None] * (end - start)[:, None]).astype(np.intp)
    at = line[..., 0] * width + line[..., 1]
    free = ~ground.forbidden.ravel()[at].any(axis=1)
    start, end, at, pairs = start[free], end[free], at[free], pairs[free]
    length = np.hypot(*(end - start).T) * ground.pixel_mm
    dark = ground.opening.ravel()[at].mean(axis=1) * length
    labels = bodies.labels.ravel()
    one, other = labels[pairs[:, 0]].astype(np.intp), labels[pairs[:, 1]].astype(np.intp)
    cost = (dark + 0.05 * length + 0.3) * _looks(start, end, one, other, bodies)
    return Crossings(start, end, one, other, dark, cost)


def _looks(
    start: Pixels, end: Pixels, one: NDArray[np.intp], other: NDArray[np.intp], bodies: Bodies
) -> NDArray[np.float64]:
    """Return a factor from 1 for an upright or level line towards the smaller body's middle to 1.7 for the worst."""
    smaller = np.where(bodies.area_px[one] < bodies.area_px[other], one, other)
    along = (end - start).astype(np.float64)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    away = bodies.centre[smaller] - start
    aside = np.abs(along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0])
    radius = np.sqrt(np.maximum(bodies.area_px[smaller], 1) / np.pi)
    slant = np.sqrt(np.abs(2 * along[:, 0] * along[:, 1]))  # the root makes a slight lean count too
    factor: NDArray[np.float64] = 1 + 0.3 * np.minimum(aside / radius, 1.5) + 0.25 * slant
    return factor
