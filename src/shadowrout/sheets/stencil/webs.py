"""Which parts of the sheet are solid, and which thin webs between openings are kept, to be widened, or given up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.sheets.stencil.rasters import Distances, Labels, Mask, labelled, neighbours
from shadowrout.sheets.stencil.thinning import thinned

_CORE_SLACK_PX = 0.3
"""The core keeps this much more than half a web from every edge, so that the pixels' error widens no edge."""

_WORTH_WIDENING = 0.5
"""Of half the web: a thinner line of light is no shape of its own but a gap, and may close (no source)."""
_LEAST_WORTH = 0.25
"""The same for a short one, which is often all that holds two parts of a figure apart (no source)."""


@dataclass(frozen=True, eq=False)
class Webs:
    """Where the middle of solid material runs; masks of shape (rows, columns).

    ``core`` holds what lies at least half a web inside the sheet, ``lines`` the middle lines of thin webs that
    are kept. ``widened`` counts these lines, ``given_up`` those that become part of the openings beside them.
    """

    core: Mask
    lines: Mask
    widened: int
    given_up: int


def find_webs(depth: Distances, *, half_web_px: float, keep_thin: bool) -> Webs:
    """Return the core of the sheet and the thin webs worth keeping.

    ``depth`` is each pixel's distance to the sheet's nearest edge in pixels, 0 in openings, shape (rows,
    columns). A thin web is kept when its middle line lies in the median at least a quarter of the web from the
    edges, or half as much where it is no longer than a web is wide; with ``keep_thin`` that is enough for all.
    A piece of the sheet that has no core ends as a single pixel or ring of ``lines``.
    """
    core = depth >= half_web_px + _CORE_SLACK_PX
    lines = thinned(depth > 0, core) & ~core
    joints = lines & (neighbours(lines) >= 3)
    count, labels = labelled(lines & ~joints, connectivity=8)
    medians, lengths = _median_by_label(depth, labels, count)
    short = (lengths <= 2 * half_web_px) | keep_thin
    kept = (medians >= _WORTH_WIDENING * half_web_px) | (short & (medians >= _LEAST_WORTH * half_web_px))
    kept_lines = np.concatenate([[False], kept])[labels] | joints
    pruned = thinned(core | kept_lines, core) & ~core
    return Webs(core, pruned, int(kept.sum()), int(count - kept.sum()))


def _median_by_label(values: Distances, labels: Labels, count: int) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return the median value and the number of pixels of each label from 1 to ``count``."""
    inside = np.flatnonzero(labels)
    group, value = labels.ravel()[inside], values.ravel()[inside]
    order = np.lexsort([value, group])
    sizes = np.bincount(group, minlength=count + 1)[1:]
    starts = np.cumsum(sizes) - sizes
    return value[order][starts + sizes // 2].astype(np.float64), sizes
