"""V lines cut into runs of one depth class, so that a carver reads the depth off the line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import ArcPath

LEAST_RUN_MM = 6.0
"""A shorter run that is shallower than a neighbour joins it: on paper it would be but a flicker."""


@dataclass(frozen=True, eq=False)
class Run:
    """Part of a V line, drawn as one; ``class_mm`` is the depth that no part of it exceeds."""

    path: ArcPath
    class_mm: float
    depth_mm: float
    width_mm: float


def runs_of(
    path: ArcPath, depths_mm: Sequence[float], widths_mm: Sequence[float], *, step_mm: float, deepest_mm: float
) -> list[Run]:
    """Return the runs of a V line's path, in order, cut at its vertices, for each of which depth and width are given.

    A piece's class is the greater depth of its two ends, rounded up to a multiple of ``step_mm`` so that nothing is
    drawn shallower than it must be cut. The last class is ``deepest_mm``, the depth of the deepest line on the plaque,
    and takes in a class less than half a step below it, which no one could tell from it.
    """
    depths, widths = (_of_pieces(np.asarray(values), closed=path.closed) for values in (depths_mm, widths_mm))
    deepest = max(1, math.ceil(deepest_mm / step_mm - 0.5))
    classes = _joined(np.minimum(np.ceil(depths / step_mm - 1e-6).astype(np.intp), deepest), path.lengths)
    vertices = np.vstack([path.vertices, path.vertices[:1]]) if path.closed else path.vertices
    runs = []
    for step, members in groupby(range(len(classes)), key=lambda piece: int(classes[piece])):
        pieces = list(members)
        first, last = pieces[0], pieces[-1] + 1
        whole = path.closed and last - first == len(classes)
        part = path if whole else ArcPath(vertices[first : last + 1], path.bulges[first:last], closed=False)
        class_mm = deepest_mm if step == deepest else step * step_mm
        runs.append(Run(part, class_mm, float(depths[first:last].max()), float(widths[first:last].max())))
    return runs


def depth_step_mm(*, inches: bool) -> float:
    """Return the step of the depth classes: half a millimetre, or 1/32 in."""
    return 25.4 / 32 if inches else 0.5


def _joined(classes: NDArray[np.intp], lengths: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return the classes with short runs raised to the shallower of their deeper neighbours, until none is left."""
    joined = classes.copy()
    while True:
        cuts = np.flatnonzero(np.diff(joined)) + 1
        firsts, lasts = [0, *cuts.tolist()], [*cuts.tolist(), len(joined)]
        for first, last in zip(firsts, lasts, strict=True):
            beside = [joined[first - 1]] if first else []
            beside += [joined[last]] if last < len(joined) else []
            deeper = [int(b) for b in beside if b > joined[first]]
            if deeper and math.fsum(lengths[first:last]) < LEAST_RUN_MM:
                joined[first:last] = min(deeper)
                break
        else:
            return joined


def _of_pieces(values: NDArray[np.float64], *, closed: bool) -> NDArray[np.float64]:
    """Return the greater of the values at the two ends of each piece."""
    greater: NDArray[np.float64] = np.maximum(values, np.roll(values, -1))
    return greater if closed else greater[:-1]
