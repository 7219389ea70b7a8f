"""How much of the V lines is deeper than what sanding takes, by the depth drawn at each of their vertices."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.drawing_file import Shape


@dataclass(frozen=True, eq=False)
class StrokePieces:
    """All lines and arcs of V lines: length, and the depth at the deeper and at the shallower end, (n,) mm each."""

    length_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]
    low_mm: NDArray[np.float64]

    @classmethod
    def of(cls, shapes: Iterable[Shape]) -> StrokePieces:
        """Return the pieces of all shapes; one whose depths aren't one a vertex has its greatest all along."""
        rows = [_pieces(shape) for shape in shapes if shape.curve is not None]
        lengths, here, there = (np.concatenate([np.empty(0), *(row[part] for row in rows)]) for part in range(3))
        return cls(lengths, np.maximum(here, there), np.minimum(here, there))

    @property
    def whole_mm(self) -> float:
        """The length of all pieces."""
        return float(self.length_mm.sum())

    def left_mm(self, loss_mm: float) -> float:
        """Return the length that is deeper than the loss; depth changes evenly along each line and arc."""
        even = self.high_mm == self.low_mm
        partly = np.clip((self.high_mm - loss_mm) / np.where(even, 1.0, self.high_mm - self.low_mm), 0.0, 1.0)
        return float((self.length_mm * np.where(even, self.high_mm > loss_mm, partly)).sum())


def _pieces(shape: Shape) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    curve, depths = shape.curve, np.array(shape.profile.get("depth_mm", ()))
    lengths = np.empty(0) if curve is None else curve.lengths_mm
    if curve is None or len(depths) != len(curve.vertices):
        same = np.full(len(lengths), shape.marks.get("depth_mm", 0.0))
        return lengths, same, same
    return (lengths, depths, np.roll(depths, -1)) if curve.closed else (lengths, depths[:-1], depths[1:])
