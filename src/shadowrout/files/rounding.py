"""The one step from a drawing's millimetres to the rounded numbers of a file, shared by every writer.

Vertices are rounded once, here, and bulges with them, so that all formats describe the very same curve. What
rounding makes degenerate is pruned afterwards without opening a path. Steps are so fine that sizes are true to
0.001 mm and curves to 0.0005 mm; a path that would vanish raises ``PromiseError``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.drawing.shapes import Profile
from shadowrout.errors import PromiseError
from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.region import Box
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit

DECIMALS = {Unit.MM: 4, Unit.INCH: 6}
"""Decimals of a coordinate: a step is 0.0001 mm or 0.000001 in."""

MARK_DECIMALS = 6
"""Decimals of the millimetres in marks: enough for a cutter of 1/64 in, 0.396875 mm."""

BULGE_DECIMALS = 10
"""Moves the middle of an arc with a chord of 2 m by 0.0000001 mm at the most."""

STRAIGHT_MM = 0.0003
"""How far a line may lie from the arc that it replaces."""

WIDEST_RADIUS_MM = 100_000.0
"""An arc of a larger radius is written as lines. Programs that calculate in single precision, as some that show
SVG do, place its centre wrongly by a ten-millionth of the radius."""

FULLEST_BULGE = 3.0
"""An arc past this (286 degrees) is written as two. Its ends lie so close together that rounding them would
move its far side by more than they moved themselves."""


def rounded_length(length_mm: float, unit: Unit) -> float:
    """Return a length or a coordinate in the file's unit and rounded to its decimals."""
    return round(length_mm / unit.mm, DECIMALS[unit]) + 0.0


def rounded_box(box_mm: Box, unit: Unit) -> Box:
    """Return the page in the file's unit, rounded."""
    x0, y0, x1, y1 = (rounded_length(value, unit) for value in box_mm)
    return x0, y0, x1, y1


def rounded_path(path: ArcPath, unit: Unit) -> ArcPath:
    """Return a path in the file's unit, rounded and without pieces that came out empty; y stays up.

    A piece whose ends fall on one place is dropped, and its neighbours then meet there. Raises ValueError for
    coordinates or bulges that aren't finite, and PromiseError where nothing would be left of the path: no
    length of an open one, no area of a closed one.
    """
    return _rounded(path, unit)[0]


def rounded_line(path: ArcPath, profile: Profile, unit: Unit) -> tuple[ArcPath, Profile]:
    """Return a path as ``rounded_path`` does, with its profile at the vertices that came out of it."""
    rounded, places = _rounded(path, unit)
    last = [0] if path.closed else []
    known = np.arange(len(path.vertices) + len(last))
    rows = np.column_stack([profile.depths_mm, profile.widths_mm])
    depths, widths = (np.interp(places, known, np.append(row, row[last])).tolist() for row in rows.T)
    return rounded, Profile(tuple(depths), tuple(widths))


def _rounded(path: ArcPath, unit: Unit) -> tuple[ArcPath, NDArray[np.float64]]:
    """Return the rounded path and where its vertices (n,) lie on the given one: 2.5 is halfway along piece 2."""
    if not (np.isfinite(path.vertices).all() and np.isfinite(path.bulges).all()):
        raise ValueError("path: expected finite vertices and bulges")
    fine, places = _recut(path)
    vertices = np.round(fine.vertices / unit.mm, DECIMALS[unit]) + 0.0
    filled = _filled_pieces(vertices, closed=fine.closed)
    kept = _without_empty_pieces(vertices, fine.bulges, filled, closed=fine.closed)
    if kept is None or _encloses_nothing(kept):
        told = Sentence(
            "the path at {place:.3f mm} is too small to be written: rounding leaves nothing of it",
            place=Mm(*path.vertices[0], pattern="{}, {}"),
        )
        raise PromiseError(told)
    return kept, places[filled] if fine.closed else np.append(places[:-1][filled], places[-1])


def _recut(path: ArcPath) -> tuple[ArcPath, NDArray[np.float64]]:
    """Return the path, in mm, with its nearly whole turns halved and its nearly straight arcs as lines.

    An arc rises c b / 2 over its chord, and n chords of equal angle instead of one leave it by an n^2-th of that.
    Also returned is where each vertex lies on the given path, as in ``_rounded``.
    """
    chords, size = path.chords, np.abs(path.bulges)
    rise = chords * size / 2
    wide = chords * (1 + size**2) > 4 * size * WIDEST_RADIUS_MM
    flat = (size > 0) & (size <= 1) & (wide | (rise <= STRAIGHT_MM))
    full = size > FULLEST_BULGE
    if not (flat | full).any():
        return path, np.arange(len(path.vertices), dtype=np.float64)
    lines = np.maximum(1, np.ceil(np.sqrt(rise / STRAIGHT_MM))).astype(np.intp)
    counts = np.where(flat, lines, np.where(full, 2, 1))
    bulges = np.where(flat, 0.0, np.where(full, np.tan(path.angles_rad / 8), path.bulges))
    points, places = cut_up(path, counts)
    return ArcPath(points, np.repeat(bulges, counts), path.closed), places


def cut_up(path: ArcPath, counts: NDArray[np.intp]) -> tuple[Points, NDArray[np.float64]]:
    """Return the path's points when piece i is cut into ``counts[i]`` of equal angle, and where each lies on it.

    2.5 is halfway along piece 2. All vertices are among them; a closed path's first isn't repeated at the end.
    """
    points = path.points_along(counts)
    heads = np.repeat(np.cumsum(counts) - counts, counts)
    piece = np.repeat(np.arange(len(counts)), counts)
    places = piece + (np.arange(len(points)) - heads) / counts[piece]
    if not path.closed:
        points, places = np.vstack([points, path.vertices[-1:]]), np.append(places, len(counts))
    return points, places


def _filled_pieces(vertices: Points, *, closed: bool) -> NDArray[np.bool_]:
    """Return which pieces lead from one place to another, shape (pieces,)."""
    starts = vertices if closed else vertices[:-1]
    ends = np.roll(vertices, -1, axis=0) if closed else vertices[1:]
    filled: NDArray[np.bool_] = (starts != ends).any(axis=1)
    return filled


def _without_empty_pieces(
    vertices: Points, bulges: NDArray[np.float64], filled: NDArray[np.bool_], *, closed: bool
) -> ArcPath | None:
    if not filled.any():
        return None
    left = vertices[filled] if closed else np.vstack([vertices[:-1][filled], vertices[-1:]])
    return ArcPath(left, np.round(bulges[filled], BULGE_DECIMALS) + 0.0, closed)


def _encloses_nothing(path: ArcPath) -> bool:
    """Return whether a closed path runs along one line or arc and back."""
    if not path.closed:
        return False
    if len(path.vertices) == 2:
        return bool(path.bulges.sum() == 0)
    if path.bulges.any():
        return False
    x, y = (path.vertices - path.vertices[0]).T
    far = np.argmax(np.hypot(x, y))
    return bool((np.abs(x * y[far] - y * x[far]) <= 1e-12 * (x[far] ** 2 + y[far] ** 2)).all())


def decimal(value: float, decimals: int) -> str:
    """Return a number without exponent, sign of zero or trailing zeros, the same in every locale."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text
