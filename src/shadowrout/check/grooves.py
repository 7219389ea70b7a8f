"""What the V tool cuts by a file's lines: how wide the groove is on the sanded face, all along each of them.

A groove of included angle A that is d deep is 2 (d - s) tan(A/2) wide once the sanding has taken s off the face.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, Points, cut_up, sampled_with
from shadowrout.check.drawing_file import IN_SPACE, DrawingFile, Shape
from shadowrout.check.folder import PlaqueFiles

STEP_MM = 0.1
"""Between samples: a groove as wide as that is still followed without a gap."""

_SAGITTA_MM = 0.001
"""Far below the usual tolerance."""

_SAME_MM = 0.0005
"""Some steps of the files' decimals, in either unit: what may be judged as one."""

_SAME_START_MM = 0.01
"""A flat line that starts in one cell of this side with one in space is the same line: both start on the same decimals.
"""


@dataclass(frozen=True, eq=False)
class Grooves:
    """Points (n, 2) along the middles of all grooves, and half their width on the sanded face (n,), 0 where gone."""

    points: Points
    half_widths_mm: NDArray[np.float64]


def grooves_of(plaque: PlaqueFiles, file: DrawingFile) -> Grooves:
    """Return the grooves that a file's V lines cut, by the job's V tool and sanding; none without V lines."""
    lines = list(_lines(file))
    points, depths = sampled_with(
        [curve for curve, _ in lines], [depths for _, depths in lines], sagitta_mm=_SAGITTA_MM, step_mm=STEP_MM
    )
    slope = math.tan(math.radians(plaque.job.v_tool.angle) / 2)
    return Grooves(points, np.maximum(depths - plaque.job.finish.sanding_loss, 0.0) * slope)


def told_alike(files: Sequence[DrawingFile]) -> list[tuple[list[str], DrawingFile]]:
    """Return one file of each set that tells the same grooves, an SVG before a DXF, after the names of the set."""
    files = sorted(files, key=lambda file: file.is_dxf)
    if [file.is_dxf for file in files] == [False, True] and _same(*files):
        return [([file.name for file in files], files[0])]
    return [([file.name], file) for file in files]


@lru_cache(maxsize=1)
def _same(svg: DrawingFile, dxf: DrawingFile) -> bool:
    """Return whether a DXF's lines in space are an SVG's lines, in their order, with the arcs parted into chords.

    Three promises ask it of one plaque, so it is remembered.
    """
    lines, solid = list(_lines(svg)), list(_lines(dxf))
    if len(lines) != len(solid) or any(a.closed != b.closed for (a, _), (b, _) in zip(lines, solid, strict=True)):
        return False
    if not lines:
        return True
    points = [[np.column_stack([c.vertices, d]) for c, d in each] for each in (lines, solid)]
    counts = [_parts(a, b, closed=c.closed) for a, b, (c, _) in zip(*points, lines, strict=True)]
    if not all(counts):
        return False
    parts = np.array([count for each in counts for count in each], dtype=np.intp)
    places, depths = cut_up([curve for curve, _ in lines], [depth for _, depth in lines], parts)
    expected = np.column_stack([places, depths])
    found = np.concatenate(points[1])
    return expected.shape == found.shape and bool(np.abs(expected - found).max() <= _SAME_MM)


def _parts(vertices: NDArray[np.float64], points: NDArray[np.float64], *, closed: bool) -> list[int]:
    """Return into how many chords each piece of a line is parted, 1 for an open line's end; none if it isn't followed.

    Vertices (n, 3) are to be met by the points (m, 3) one after the other.
    """
    wanted, met = vertices.tolist(), list[int]()
    for place, (x, y, z) in enumerate(points.tolist()):
        if len(met) < len(wanted):
            a, b, c = wanted[len(met)]
            if abs(x - a) <= _SAME_MM and abs(y - b) <= _SAME_MM and abs(z - c) <= _SAME_MM:
                met.append(place)
    if len(met) < len(wanted):
        return []
    ends = [*met[1:], len(points)]
    counts = [end - start for start, end in zip(met, ends, strict=True)]
    return counts if closed or counts[-1] == 1 else []


def _lines(file: DrawingFile) -> Iterator[tuple[Curve, NDArray[np.float64]]]:
    """Yield each V line with its depth at each vertex, in the file's order.

    A DXF tells those by lines in space, each in place of the flat line that starts where it does.
    """
    solid: defaultdict[tuple[int, int], list[Shape]] = defaultdict(list)
    for shape in file.of_role(f"v-line{IN_SPACE}"):
        if shape.heights_mm:
            solid[_cell(shape)].append(shape)
    for shape in file.of_role("v-line"):
        twins = solid[_cell(shape)]
        yield from _told(twins.pop(0) if twins else shape)
    for left in solid.values():
        for shape in left:
            yield from _told(shape)


def _cell(shape: Shape) -> tuple[int, int]:
    x, y = shape.place
    return round(x / _SAME_START_MM), round(y / _SAME_START_MM)


def _told(shape: Shape) -> Iterator[tuple[Curve, NDArray[np.float64]]]:
    """Yield a line's curve and its depth at each vertex; its greatest all along where it hasn't one for each."""
    if shape.curve is None:
        return
    count = len(shape.curve.vertices)
    depths = -np.array(shape.heights_mm) if shape.heights_mm else np.array(shape.profile.get("depth_mm", ()))
    yield shape.curve, depths if len(depths) == count else np.full(count, shape.marks.get("depth_mm", 0.0))
