"""How much of a V line is deeper than what sanding takes, by the depth drawn at each of its vertices."""

from __future__ import annotations

import numpy as np

from shadowrout.check.drawing_file import Shape


def left_mm(shape: Shape, loss_mm: float) -> float:
    """Return the length of a V line that is deeper than the loss; depth changes evenly along each line and arc.

    A line with one depth is deep or gone as a whole, and so is one whose depths are not one a vertex.
    """
    curve = shape.curve
    if curve is None:
        return 0.0
    depths = np.array(shape.profile.get("depth_mm", ()))
    lengths = curve.lengths_mm
    if len(depths) != len(curve.vertices) or not len(lengths):
        return curve.length_mm if shape.marks.get("depth_mm", 0.0) > loss_mm else 0.0
    here, there = (depths, np.roll(depths, -1)) if curve.closed else (depths[:-1], depths[1:])
    high, low = np.maximum(here, there), np.minimum(here, there)
    even = high == low
    share = np.where(even, high > loss_mm, np.clip((high - loss_mm) / np.where(even, 1, high - low), 0, 1))
    return float((lengths * share).sum())
