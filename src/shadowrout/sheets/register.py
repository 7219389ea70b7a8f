"""Register marks: crosses and dowel holes that lie at the same places on the board, the pattern and the stencil."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from shadowrout.design.board import LEAST_FIELD_MM, Layout
from shadowrout.errors import SettingError
from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.region import Region

LEAST_WOOD_MM = 1.0
"""Least wood between a dowel hole and the board's edge or the design (common practice, no source)."""

TELLING_SHARE = 0.15
"""Marks are wanted whose distances differ by this share of the board's longer side: seen at a glance."""

GRID_MM = 0.1
"""Marks lie on whole steps of this, which may take 0.07 mm from what is left beside them."""

_FLATNESS_MM = 0.005
_MOST_PLACES = 56


@dataclass(frozen=True)
class RegisterMark:
    """A cross, and the dowel hole around it; ``centre`` in the plaque's mm."""

    name: str
    centre: tuple[float, float]
    dowel_mm: float


@dataclass(frozen=True)
class Distance:
    """How far two marks are apart: the figure to measure a printed pattern by."""

    first: str
    second: str
    length_mm: float


def register_marks(
    layout: Layout, *, dowel_mm: float, inset_mm: float | None, keep_clear: Region
) -> tuple[RegisterMark, ...]:
    """Return three marks near the board's edge, or none where ``dowel_mm`` is 0.

    Their triangle has three different sides: whatever is turned by any angle or flipped over can't go onto the
    same dowels, since a motion of the plane keeps lengths and a triangle's own lengths then fix every corner. The
    sides differ by the dowel's diameter at least. Among such triangles the one of the largest area is taken.

    Holes keep 1 mm of wood towards the board's edge and towards ``keep_clear``. ``inset_mm`` is the distance of
    the centres from the edge; None puts them in the middle of the margin. Raises SettingError where there is
    no room: for the inset, the dowel or the margin.
    """
    if dowel_mm == 0:
        return ()
    room = _places(layout, dowel_mm, inset_mm, keep_clear)
    best = _widest_triangle(room, least_mm=dowel_mm, wanted_mm=TELLING_SHARE * max(_sides(layout)))
    if best is None:
        raise _no_room(layout, dowel_mm, inset_mm, keep_clear)
    places = [(round(float(x), 3), round(float(y), 3)) for x, y in best]
    ordered = sorted(places, key=lambda place: (round(place[1]), round(place[0])))
    return tuple(RegisterMark(name, at, dowel_mm) for name, at in zip("ABC", ordered, strict=True))


def check_room(layout: Layout, *, dowel_mm: float, inset_mm: float | None, keep_clear: Region) -> None:
    """Raise the SettingError of ``register_marks`` where fewer than three holes have room or all lie too close.

    Quick: what passes may still have no triangle that tells every turn apart. The longest side of one that does is
    three dowels long at least, since the shortest is one and each next one more.
    """
    if dowel_mm:
        room = _places(layout, dowel_mm, inset_mm, keep_clear)
        if len(room) < 3 or np.hypot(*np.ptp(room, axis=0)) < 3 * dowel_mm:
            raise _no_room(layout, dowel_mm, inset_mm, keep_clear)


def inset_of(margin_mm: float, *, dowel_mm: float, inset_mm: float | None) -> float:
    """Return how far marks lie from the board's edge: as set, or in the middle of the margin with 1 mm of wood."""
    return max(dowel_mm / 2 + LEAST_WOOD_MM, margin_mm / 2) if inset_mm is None else inset_mm


def holes_of(marks: Sequence[RegisterMark]) -> Region:
    """Return the dowel holes as discs; empty without marks."""
    discs = [ArcPath.circle(mark.centre, mark.dowel_mm / 2).flattened(_FLATNESS_MM) for mark in marks]
    return Region.of_polygons([(disc, []) for disc in discs])


def distances(marks: tuple[RegisterMark, ...]) -> tuple[Distance, ...]:
    """Return the distance of every pair of marks, in the marks' order."""
    return tuple(Distance(a.name, b.name, math.dist(a.centre, b.centre)) for a, b in combinations(marks, 2))


def _places(layout: Layout, dowel_mm: float, inset_mm: float | None, keep_clear: Region) -> Points:
    """Return the places along the board's edge where a hole has room, shape (n, 2), at steps of 0.1 mm."""
    board = Region.of_polygons([(layout.edge.flattened(_FLATNESS_MM), [])])
    needed = dowel_mm / 2 + LEAST_WOOD_MM
    inset = inset_of(_margin(layout), dowel_mm=dowel_mm, inset_mm=inset_mm)
    track = board.offset(-inset, error=_FLATNESS_MM)
    if inset < needed - 1e-9 or track.is_empty:
        raise _no_room(layout, dowel_mm, inset_mm, Region.empty())
    ring = track.rings()[0]
    spots = np.vstack([_at_even_steps(ring), _extremes(ring)])
    spots = np.unique(np.round(spots / GRID_MM) * GRID_MM, axis=0)
    # Rounding to the grid may take a place up to 0.07 mm towards the edge or the design.
    inside = board.offset(-(needed - GRID_MM), error=_FLATNESS_MM).within(spots)
    return spots[inside & (keep_clear.distances(spots) > needed - GRID_MM)]


def _at_even_steps(ring: Points) -> Points:
    closed = np.vstack([ring, ring[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    at = np.linspace(0.0, along[-1], _MOST_PLACES, endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])])


def _extremes(ring: Points) -> Points:
    """Return the ring's points furthest out in eight directions: the corners, where it has any."""
    turns = np.arange(8) * np.pi / 4
    out = ring @ np.array([np.cos(turns), np.sin(turns)])
    furthest: Points = ring[np.argmax(np.round(out, 6), axis=0)]
    return furthest


def _widest_triangle(places: Points, *, least_mm: float, wanted_mm: float) -> Points | None:
    """Return the corners (3, 2) of the best triangle of places; None where no triangle tells every turn apart.

    Its area counts in proportion to how well it tells, up to ``wanted_mm``; of equal ones, the longest way round.
    """
    if len(places) < 3:
        return None
    triples = np.array(list(combinations(range(len(places)), 3)), dtype=np.intp)
    corners = places[triples]
    sides = np.sort(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2), axis=1)
    (x1, y1), (x2, y2) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    area = np.abs(x1 * y2 - y1 * x2) / 2
    telling = np.minimum(np.diff(sides, axis=1).min(axis=1), 2 * area / sides[:, 2])
    telling = np.minimum(telling, sides[:, 0])
    score = area * np.minimum(1.0, telling / max(wanted_mm, least_mm)) + 1e-6 * sides.sum(axis=1)
    score[telling < least_mm] = -np.inf
    best = int(np.argmax(score))
    return corners[best] if np.isfinite(score[best]) else None


def _margin(layout: Layout) -> float:
    return layout.field.bounds[0] - layout.board_mm[0]


def _sides(layout: Layout) -> tuple[float, float]:
    x0, y0, x1, y1 = layout.board_mm
    return x1 - x0, y1 - y0


def _no_room(layout: Layout, dowel_mm: float, inset_mm: float | None, keep_clear: Region) -> SettingError:
    if inset_mm is None:
        return _no_room_in_margin(layout, dowel_mm)
    needed = math.ceil((dowel_mm / 2 + LEAST_WOOD_MM) * 10 - 1e-6) / 10
    problem, ways = f"leave less than {LEAST_WOOD_MM:g}mm of wood outside them", [f"{needed:g}mm or more"]
    if inset_mm >= needed:
        ways = [f"less, but {needed:g}mm or more"]
        problem = f"fall on the design or leave less than {LEAST_WOOD_MM:g}mm of wood beside it"
        if keep_clear.is_empty:
            problem = f"don't come far enough apart on a plaque of {layout.board_words}"
    ways += ["a smaller register.dowel", *_wider_margin(layout, math.ceil((inset_mm + needed) * 10) / 10)]
    told = f"three holes of {dowel_mm:g}mm at {inset_mm:g}mm from the edge {problem}; give {_either(ways)}"
    return SettingError("register.inset", told)


def _no_room_in_margin(layout: Layout, dowel_mm: float) -> SettingError:
    fits = math.floor((_margin(layout) - 2 * LEAST_WOOD_MM) * 2) / 2
    smaller = f"a register.dowel of {fits:g}mm or less" if 0 < fits < dowel_mm else "a smaller dowel"
    least = math.ceil((dowel_mm + 2 * LEAST_WOOD_MM) * 10 - 1e-6) / 10
    ways = [smaller, *_wider_margin(layout, least), "0 for no register marks"]
    problem = f"three holes of {dowel_mm:g}mm find no room between the design and the board's edge"
    return SettingError("register.dowel", f"{problem}; give {_either(ways)}")


def _wider_margin(layout: Layout, margin_mm: float) -> list[str]:
    """Return the words that offer a wider margin; none where that would leave the board no field."""
    fits = min(_sides(layout)) - 2 * margin_mm >= LEAST_FIELD_MM
    return [f"a plaque.margin of {margin_mm:g}mm or more"] if fits and margin_mm > _margin(layout) else []


def _either(ways: Sequence[str]) -> str:
    return f"{', '.join(ways[:-1])}, or {ways[-1]}"
