"""In what order openings are cut, and how the sheet's own edge is held until the end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.outlines import rectangle
from shadowrout.geometry.region import Box

TIE_MM = 1.0
"""Length left uncut at each tie (common practice, no source: a snap with the fingers, sanded flush)."""

_TIE_EVERY_MM = 250.0
"""Sides longer than this get more than one tie (common practice, no source)."""


def cutting_order(starts: Points, *, begin: tuple[float, float]) -> NDArray[np.intp]:
    """Return in which order to visit places, shape (n, 2), from ``begin`` on, so that the way is short.

    Nearest neighbour first, then stretches of the way are turned round as long as that shortens it (2-opt, Croes
    1958). The numbers of ``starts``, each once; empty for none. The order depends on nothing but the places.
    """
    order = _nearest_first(starts, begin)
    while len(order) > 2 and (turn := _best_turn(starts[order], begin)) is not None:
        first, last = turn
        order[first : last + 1] = order[first : last + 1][::-1]
    return order


def _nearest_first(starts: Points, begin: tuple[float, float]) -> NDArray[np.intp]:
    at = np.array(begin)
    left = np.ones(len(starts), dtype=bool)
    order = np.empty(len(starts), dtype=np.intp)
    for i in range(len(starts)):
        away = np.where(left, np.hypot(*(starts - at).T), np.inf)
        order[i] = away.argmin()
        left[order[i]] = False
        at = starts[order[i]]
    return order


def _best_turn(way: Points, begin: tuple[float, float]) -> tuple[int, int] | None:
    """Return first and last place of the stretch whose turning shortens the way most; None if none does.

    Turning i to j swaps the steps into i and out of j for those from before i to j and from i to after j; nothing
    follows the last place.
    """
    before = np.vstack([[begin], way[:-1]])
    into = np.hypot(*(way - before).T)
    out = np.append(into[1:], 0.0)
    new_in = np.hypot(*(way[None, :] - before[:, None]).transpose(2, 0, 1))
    new_out = np.zeros_like(new_in)
    new_out[:, :-1] = np.hypot(*(way[None, 1:] - way[:, None]).transpose(2, 0, 1))
    gain = np.triu(into[:, None] + out[None, :] - new_in - new_out, k=1)
    first, last = np.unravel_index(int(gain.argmax()), gain.shape)
    return (int(first), int(last)) if gain[first, last] > 1e-6 else None


def sheet_edge(sheet: Box, *, ties: bool) -> tuple[ArcPath, ...]:
    """Return the sheet's edge: one closed path, or open ones that leave ties to the stock.

    Ties are 1 mm long, one in the middle of each side, and more where a side is longer than 250 mm.
    """
    if not ties:
        return (rectangle(sheet),)
    corners = rectangle(sheet).vertices
    gaps = [_gaps(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    ends = [point for side in gaps for gap in side for point in gap]
    order = [*ends[1:], ends[0]]
    pairs = zip(order[0::2], order[1::2], strict=True)
    return tuple(_between(start, end, corners) for start, end in pairs)


def _gaps(start: Points, end: Points) -> list[tuple[Points, Points]]:
    """Return both ends of every tie on a side."""
    length = float(np.hypot(*(end - start)))
    count = max(1, int(np.ceil(length / _TIE_EVERY_MM)))
    middles = (np.arange(count) + 0.5) / count
    half = TIE_MM / 2 / length
    return [(start + (m - half) * (end - start), start + (m + half) * (end - start)) for m in middles]


def _between(start: Points, end: Points, corners: Points) -> ArcPath:
    """Return the straight path along the edge from one point to another, over the corner between them if any."""
    straight = np.isclose(start, end).any()
    via = [] if straight else [c for c in corners if (np.isclose(c, start) | np.isclose(c, end)).all()]
    points = np.array([start, *via, end])
    return ArcPath(points, np.zeros(len(points) - 1), closed=False)
