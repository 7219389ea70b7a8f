"""Levels: where a range of values is best cut in two, and where so that a wanted share lies above."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone.fields import Field

BINS = 256
"""Bins of the histogram that a level is looked for in: as many as a picture of eight bits has steps."""
PLATEAU = 1e-3
"""Loss of variance between the classes that counts as none."""


def otsu_level(values: NDArray[np.float32]) -> float:
    """Return the value that splits ``values`` (any shape) by Otsu's method on 256 bins between their extremes.

    That is the split of the greatest variance between the classes (Otsu, A Threshold Selection Method from Gray-Level
    Histograms, 1979). Between two peaks many splits are as good within a thousandth; among those the one nearest to
    midway between the classes' means is returned, which is where the best split of a smooth histogram lies. Values
    that are all equal raise ValueError.
    """
    lowest, highest = float(values.min()), float(values.max())
    if not highest > lowest:
        raise ValueError("values: expected at least two that differ")
    counts, edges = np.histogram(values, bins=BINS, range=(lowest, highest))
    variance = _variance_between(counts)
    best = int(np.argmax(variance))
    alike = np.flatnonzero(variance >= variance.max() * (1 - PLATEAU))
    centres = (edges[:-1] + edges[1:]) / 2
    low = np.average(centres[: best + 1], weights=counts[: best + 1])
    high = np.average(centres[best + 1 :], weights=counts[best + 1 :])
    return float(np.clip((low + high) / 2, edges[alike[0] + 1], edges[alike[-1] + 1]))


def _variance_between(counts: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the variance between the classes for a split after each bin but the last, not normalised."""
    weight = np.cumsum(counts, dtype=np.float64)
    total = np.cumsum(counts * np.arange(len(counts), dtype=np.float64))
    low, high = weight[:-1], weight[-1] - weight[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = total[:-1] / low - (total[-1] - total[:-1]) / high
        between: NDArray[np.float64] = np.nan_to_num(low * high * gap**2, posinf=0.0)
    return between


def level_at_share(values: Field, share: float) -> float:
    """Return the level whose share of values above it is nearest to ``share``, a number from 0 to 1.

    It lies midway between two values that occur, so that no value equals it. Where many values are equal no level
    passes between them, and the share that it gives is off: it is the caller's to judge. A level below all values or
    above them is never returned; values that are all equal raise ValueError.
    """
    wanted = round((1 - share) * values.size)
    middle = min(max(wanted, 0), values.size - 1)
    pivot = np.partition(values, middle, axis=None)[middle]
    below, above = values < pivot, values > pivot
    cuts = {}
    if below.any():
        cuts[np.count_nonzero(below)] = (float(values[below].max()), float(pivot))
    if above.any():
        cuts[values.size - np.count_nonzero(above)] = (float(pivot), float(values[above].min()))
    if not cuts:
        raise ValueError("values: expected at least two that differ")
    start = min(cuts, key=lambda count: abs(count - wanted))
    return sum(cuts[start]) / 2
