"""V lines as lines and arcs that carry their depth and width from vertex to vertex."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.depths import half_angle_tan
from shadowrout.carving.v_lines import VLine
from shadowrout.fit.fitting import fit_open
from shadowrout.geometry.arcs import ArcPath, Points, points_at
from shadowrout.geometry.arrays import spread

DEPTH_ERROR_MM = 0.05
"""How far the depth between two vertices, taken as changing evenly, may lie from the planned one at the most."""

EDGE_SHARE = 0.3
"""What an error of its depth may move a groove's edge by, as a share of the tolerance: a depth that is d too great has
the edge d tan(A/2) too far out, and the path itself may lie off by half the tolerance."""

_FITTED_SHARE = 0.8
"""What the fit may use of that error; the rest is for places that are the same share of the way along the path and
along the line, but not opposite."""


@dataclass(frozen=True, eq=False)
class FittedVLine:
    """A V line's path with the ``depths_mm`` and ``widths_mm`` (n,) at its n vertices."""

    path: ArcPath
    depths_mm: NDArray[np.float64]
    widths_mm: NDArray[np.float64]


def depth_error_mm(tolerance_mm: float, angle_deg: float) -> float:
    """Return how far a V line's depth may lie from the planned one, with a tool of an included angle."""
    return min(DEPTH_ERROR_MM, EDGE_SHARE * tolerance_mm / half_angle_tan(angle_deg))


def as_cut(line: FittedVLine, flatness_mm: float) -> VLine:
    """Return a line as it will be cut, its arcs flattened to within ``flatness_mm``."""
    path = line.path
    piece, number = spread(counts := path.chords_for(flatness_mm))
    share = number / counts[piece]
    points = points_at(path.starts, path.ends, path.angles_rad, piece, share)
    rows = np.column_stack([line.widths_mm, line.depths_mm])
    following = np.roll(rows, -1, axis=0)
    along = rows[piece] + share[:, None] * (following[piece] - rows[piece])
    if not path.closed:
        points, along = np.vstack([points, path.vertices[-1:]]), np.vstack([along, rows[-1:]])
    return VLine(points, along[:, 0], along[:, 1], path.closed)


def fit_v_lines(
    lines: Sequence[VLine], *, tolerance: float, depth_error_mm: float = DEPTH_ERROR_MM
) -> tuple[FittedVLine, ...]:
    """Return one path for each line, in its order and direction; none for no lines.

    A path is closed where its line is and encloses something.

    The path is within ``tolerance`` of the line and the other way round, as ``fit_open`` has it. Where the depth
    changes fast along a piece, the piece is divided: along every piece depth that changes evenly with the length
    is within ``depth_error_mm`` of the line's at the same share of the way. A closed line is fitted in two halves,
    since one arc can't make a whole turn.
    """
    runs = [_runs(line) for line in lines]
    flat = [line.points[run] for line, halves in zip(lines, runs, strict=True) for run in halves]
    fitted = iter(fit_open(flat, tolerance=tolerance).paths)
    paths = [
        _joined([next(fitted) for _ in halves], closed=line.closed) for line, halves in zip(lines, runs, strict=True)
    ]
    return tuple(_along(line, path, _FITTED_SHARE * depth_error_mm) for line, path in zip(lines, paths, strict=True))


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


def _along(line: VLine, path: ArcPath, depth_off_mm: float) -> FittedVLine:
    """Return the path with the line's depth and width, divided where those don't change evenly along a piece."""
    at = _places(line, path)
    way, profile = (along[: at[-1] + 1] for along in _profile(line))
    rows, depths = _evenly_changing(way, profile[:, 0], at, depth_off_mm)
    pieces = np.searchsorted(at, rows, side="right") - 1
    vertices, bulges = [], []
    for piece, (first, last) in enumerate(zip(at, at[1:], strict=False)):
        shares = (way[[*rows[pieces == piece], last]] - way[first]) / (way[last] - way[first])
        here = np.full(len(shares) - 1, piece)
        vertices.append(points_at(path.starts, path.ends, path.angles_rad, here, shares[:-1]))
        bulges.append(np.tan(np.diff(shares) * path.angles_rad[piece] / 4))
    if path.closed:
        depths = depths[:-1]
    else:
        vertices.append(path.vertices[-1:])
    divided = ArcPath(np.vstack(vertices), np.concatenate(bulges), path.closed)
    return FittedVLine(divided, depths, _widths(profile, depths))


def _widths(profile: NDArray[np.float64], depths: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the width that goes with each depth: a V's follows from its depth alone, and evenly."""
    order = np.argsort(profile[:, 0], kind="stable")
    widths: NDArray[np.float64] = np.interp(depths, profile[order, 0], profile[order, 1])
    return widths


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


def _evenly_changing(
    way: NDArray[np.float64], depths: NDArray[np.float64], needed: Sequence[int], off_mm: float
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return few of the line's points, the ``needed`` ones, the first and the last among them, and a depth for each.

    Depth that changes evenly from one to the next is within ``off_mm`` of all points between them, and neither
    shallower nor deeper than the line is anywhere; the first and the last point keep theirs. From each point on the
    range of slopes that pass every point so far is narrowed, until none is left: the last one passed is the next.
    """
    low, high = (np.clip(depths + off, depths.min(), depths.max()) for off in (-off_mm, off_mm))
    low[[0, -1]] = high[[0, -1]] = depths[[0, -1]]
    steps, wanted, lows, highs = way.tolist(), depths.tolist(), low.tolist(), high.tolist()
    stops = set(needed)
    rows, chosen = [0], wanted[:1]
    while rows[-1] < len(steps) - 1:
        last, depth = rows[-1], chosen[-1]
        least, most = -np.inf, np.inf
        for row in range(last + 1, len(steps)):
            far = steps[row] - steps[last]
            flattest, steepest = max(least, (lows[row] - depth) / far), min(most, (highs[row] - depth) / far)
            if flattest > steepest:
                break
            least, most, there = flattest, steepest, row
            if row in stops:
                break
        far = steps[there] - steps[last]
        rows.append(there)
        chosen.append(min(max(wanted[there], depth + least * far, lows[there]), depth + most * far, highs[there]))
    # Clipped last: from one point to the next a depth of 0 may come out a rounding below it.
    return np.array(rows), np.clip(chosen, depths.min(), depths.max())
