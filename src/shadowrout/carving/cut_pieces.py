"""The straight pieces of many V lines in one set of arrays, for sums and pictures over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points

if TYPE_CHECKING:
    from shadowrout.carving.v_lines import VLine


@dataclass(frozen=True, eq=False)
class CutPieces:
    """All points of some lines, one line after the other, and the pieces between them.

    ``points`` (n, 2), ``width_mm`` and ``depth_mm`` (n,) are those of the lines; piece k runs from point ``here[k]`` to
    ``there[k]``, belongs to line ``line[k]`` and is ``length_mm[k]`` long.
    """

    points: Points
    width_mm: NDArray[np.float64]
    depth_mm: NDArray[np.float64]
    line: NDArray[np.intp]
    here: NDArray[np.intp]
    there: NDArray[np.intp]
    length_mm: NDArray[np.float64]

    @classmethod
    def of(cls, v_lines: Sequence[VLine]) -> CutPieces:
        """Return the pieces of the lines; none for no lines."""
        counts = np.array([len(line.points) for line in v_lines], dtype=np.intp)
        closed = np.array([line.closed for line in v_lines], dtype=bool)
        points = np.concatenate([np.zeros((0, 2)), *(line.points for line in v_lines)])
        ends = np.cumsum(counts)
        line = np.repeat(np.arange(len(counts)), counts)
        following = np.arange(1, len(points) + 1)
        following[ends - 1] = ends - counts
        here = np.delete(np.arange(len(points)), (ends - 1)[~closed])
        there = following[here]
        return cls(
            points,
            np.concatenate([np.zeros(0), *(line.width_mm for line in v_lines)]),
            np.concatenate([np.zeros(0), *(line.depth_mm for line in v_lines)]),
            line[here],
            here,
            there,
            np.hypot(*(points[there] - points[here]).T),
        )
