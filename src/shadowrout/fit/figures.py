"""What a set of paths consists of, for the tables and the job sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.arcs import ArcPath


@dataclass(frozen=True)
class PathFigures:
    """Number of pieces, straight and curved, and the lengths of the longest and shortest, in the paths' unit."""

    pieces: int
    lines: int
    arcs: int
    longest: float
    shortest: float


def figures_of(paths: Iterable[ArcPath]) -> PathFigures:
    """Return the figures of all ``paths`` together; all are 0 where there is no path."""
    every = list(paths)
    if not every:
        return PathFigures(0, 0, 0, 0.0, 0.0)
    bulges = np.concatenate([path.bulges for path in every])
    lengths = np.concatenate([path.lengths for path in every])
    lines = int((bulges == 0).sum())
    return PathFigures(len(bulges), lines, len(bulges) - lines, float(lengths.max()), float(lengths.min()))
