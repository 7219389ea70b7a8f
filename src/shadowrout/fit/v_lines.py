"""V lines as lines and arcs that carry their depth and width from vertex to vertex."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.fit import fit_open
from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.plan import VLine

DEPTH_ERROR_MM = 0.05
"""How far the depth between two vertices, taken as changing evenly, may lie from the planned one."""

_TOLERANCE_MM = 0.8 * DEPTH_ERROR_MM
"""The rest is for places that are the same share of the way along the path and along the line, but not opposite."""


@dataclass(frozen=True, eq=False)
class FittedVLine:
    """A V line's path with the ``depths_mm`` and ``widths_mm`` (n,) at its n vertices."""

    path: ArcPath
    depths_mm: NDArray[np.float64]
    widths_mm: NDArray[np.float64]


def fit_v_lines(lines: Sequence[VLine], *, tolerance: float) -> tuple[FittedVLine, ...]:
    """Return one path for each line, in its order and direction; none for no lines.

    A path is closed where its line is and encloses something.

    The path is within ``tolerance`` of the line and the other way round, as ``fit_open`` has it. Where the depth
    changes fast along a piece, the piece is divided: along every piece depth that changes evenly with the length
    is within DEPTH_ERROR_MM of the line's at the same share of the way. A closed line is fitted in two halves, since
    one arc can't make a whole turn.
    """
    runs = [_runs(line) for line in lines]
    flat = [line.points[run] for line, halves in zip(lines, runs, strict=True) for run in halves]
    fitted = iter(fit_open(flat, tolerance=tolerance).paths)
    paths = [
        _joined([next(fitted) for _ in halves], closed=line.closed) for line, halves in zip(lines, runs, strict=True)
    ]
    return tuple(_along(line, path) for line, path in zip(lines, paths, strict=True))


def _runs(line: VLine) -> list[NDArray[np.intp]]:
    """Return the line's points in order: all of an open one; of a closed one those of either half of its length."""
    numbers = np.arange(len(line.points))
    if not line.closed:
        return [numbers]
    way = np.cumsum(line.segments_mm)
    middle = int(np.argmin(np.abs(way[:-1] - way[-1] / 2))) + 1
    return [numbers[: middle + 1], np.append(numbers[middle:], 0)]


def _joined(paths: Sequence[ArcPath], *, closed: bool) -> ArcPath:
    """Return a closed line's halves as one path; just the first, open, where the second runs back along it."""
    if not closed or (len(paths[0].bulges) == len(paths[1].bulges) == 1 and paths[0].bulges == -paths[1].bulges):
        return paths[0]
    vertices = np.vstack([path.vertices[:-1] for path in paths])
    return ArcPath(vertices, np.concatenate([path.bulges for path in paths]), closed=True)


def _along(line: VLine, path: ArcPath) -> FittedVLine:
    """Return the path with the line's depth and width, divided where those don't change evenly along a piece."""
    way, profile = _profile(line)
    at = _places(line, path)
    vertices, bulges, rows = [], [], []
    for piece, (first, last) in enumerate(zip(at, at[1:], strict=False)):
        inner = [first + 1 + i for i in _needed(way[first : last + 1], profile[first : last + 1, 0])]
        shares = (way[[first, *inner, last]] - way[first]) / (way[last] - way[first])
        vertices.append(_points(path, piece, shares[:-1]))
        bulges.append(np.tan(np.diff(shares) * path.angles_rad[piece] / 4))
        rows += [first, *inner]
    if not path.closed:
        vertices.append(path.vertices[-1:])
        rows.append(at[-1])
    divided = ArcPath(np.vstack(vertices), np.concatenate(bulges), path.closed)
    return FittedVLine(divided, profile[rows, 0], profile[rows, 1])


def _profile(line: VLine) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the way (n,) to each point and its depth and width (n, 2); the first point again at a closed one's end."""
    profile = np.column_stack([line.depth_mm, line.width_mm])
    if line.closed:
        profile = np.vstack([profile, profile[:1]])
    return np.concatenate([[0.0], np.cumsum(line.segments_mm)]), profile


def _places(line: VLine, path: ArcPath) -> list[int]:
    """Return which of the line's points each vertex is, and for a closed path the end of its last piece."""
    places = list(_found(line.points, path.vertices))
    return [*places, len(line.points)] if path.closed else places


def _found(points: Points, vertices: Points) -> Iterator[int]:
    """Yield where each vertex stands among the points, which it is one of, in their order."""
    place = -1
    for vertex in vertices:
        matches = np.flatnonzero((points[place + 1 :] == vertex).all(axis=1))
        if not len(matches):
            raise ValueError(f"a fitted path left its line's points at {vertex}")
        place += 1 + int(matches[0])
        yield place


def _needed(way: NDArray[np.float64], depths: NDArray[np.float64]) -> Iterator[int]:
    """Yield the inner points, counted from 0, between which the depth changes evenly enough, in their order.

    Ramer's and Douglas and Peucker's method, measured along the depth.
    """
    if len(way) < 3:
        return
    off = np.abs(depths - np.interp(way, way[[0, -1]], depths[[0, -1]]))
    worst = int(np.argmax(off))
    if off[worst] <= _TOLERANCE_MM:
        return
    yield from _needed(way[: worst + 1], depths[: worst + 1])
    yield worst - 1
    yield from (worst + i for i in _needed(way[worst:], depths[worst:]))


def _points(path: ArcPath, piece: int, shares: NDArray[np.float64]) -> Points:
    """Return the points at shares (m,) of a piece's length; chord and turn as in ``ArcPath.points_along``."""
    half = path.angles_rad[piece] / 2
    ratio = shares * np.sinc(shares * half / np.pi) / np.sinc(half / np.pi)
    turn = (shares - 1) * half
    x, y = (path.ends - path.starts)[piece]
    chord = np.column_stack([x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)])
    points: Points = path.starts[piece] + ratio[:, None] * chord
    return points
