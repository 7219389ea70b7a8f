"""What sanding leaves of the V lines: which strokes go first, and how much is too much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.cut_pieces import CutPieces
from shadowrout.carving.depths import half_angle_tan
from shadowrout.carving.v_lines import VLine

LOST_SHARE = 0.05
"""Share of the stroke length whose loss is called too much sanding."""

LOSSES = (1.0, 1.25, 1.5, 2.0, 3.0)
"""Sanding losses looked at, as multiples of the planned one."""

_LEAST_PLANNED_MM = 0.1
"""What is looked at where no loss is planned, since multiples of nothing tell nothing."""


@dataclass(frozen=True, eq=False)
class SandingForecast:
    """The V lines after sanding. Rows follow the plan's V lines, columns ``losses_mm`` (m,), least first.

    ``length_left_mm`` (lines, m) is the length that still shows, ``width_left_mm`` (lines, m) the mean width
    over it, 0 where nothing shows; ``share_left`` (m,) is the share of all length, 1 without lines.
    ``gone_at_mm`` (lines,) is the loss at which the whole line is gone, and ``first_to_go`` (lines,) lists the
    lines in that order. ``too_much_mm`` is the least loss that takes 5 % of the length of all lines together;
    None without lines.
    """

    losses_mm: NDArray[np.float64]
    length_left_mm: NDArray[np.float64]
    width_left_mm: NDArray[np.float64]
    share_left: NDArray[np.float64]
    gone_at_mm: NDArray[np.float64]
    first_to_go: NDArray[np.intp]
    too_much_mm: float | None


def forecast(v_lines: Sequence[VLine], *, planned_mm: float, angle_deg: float) -> SandingForecast:
    """Return what is left of the lines after the planned loss and after 1.25, 1.5, 2 and 3 times as much.

    A groove of depth d is w = 2 (d - s) tan(A/2) wide after a loss s and gone at s = d. Losses are at least
    0.1 mm apart where no sanding is planned.
    """
    depths = _Depths(v_lines)
    losses = np.array(LOSSES) * planned_mm
    if planned_mm < _LEAST_PLANNED_MM:
        losses = planned_mm + _LEAST_PLANNED_MM * np.arange(len(LOSSES), dtype=np.float64)
    lengths = np.column_stack([depths.by_line(depths.left_mm(loss)) for loss in losses])
    areas = np.column_stack([depths.by_line(depths.profile_mm2(loss)) for loss in losses])
    widths = 2 * half_angle_tan(angle_deg) * areas / np.where(lengths > 0, lengths, np.inf)
    whole = float(depths.pieces.length_mm.sum())
    gone = np.array([line.depth_mm.max() for line in v_lines], dtype=np.float64)
    return SandingForecast(
        losses_mm=losses,
        length_left_mm=lengths,
        width_left_mm=widths,
        share_left=lengths.sum(axis=0) / whole if whole > 0 else np.ones(len(losses)),
        gone_at_mm=gone,
        first_to_go=np.argsort(gone, kind="stable"),
        too_much_mm=loss_that_takes(LOST_SHARE, v_lines),
    )


def loss_that_takes(share: float, v_lines: Sequence[VLine]) -> float | None:
    """Return the least sanding loss in mm that takes ``share`` of the lines' length; None without lines."""
    if not v_lines:
        return None
    depths = _Depths(v_lines)
    goal = (1 - share) * depths.pieces.length_mm.sum()
    low, high = 0.0, float(depths.high.max())
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if depths.left_mm(middle).sum() > goal else (low, middle)
    return high


class _Depths:
    """Straight pieces of all lines and the depth at their deeper and their shallower end, (k,) mm."""

    def __init__(self, v_lines: Sequence[VLine]) -> None:
        self.pieces = CutPieces.of(v_lines)
        self.lines = len(v_lines)
        ends = self.pieces.depth_mm[self.pieces.here], self.pieces.depth_mm[self.pieces.there]
        self.high, self.low = np.maximum(*ends), np.minimum(*ends)

    def left_mm(self, loss_mm: float) -> NDArray[np.float64]:
        """Return the length of each piece that is deeper than the loss: depth changes evenly along a piece."""
        even = self.high == self.low
        partly = np.clip((self.high - loss_mm) / np.where(even, 1.0, self.high - self.low), 0.0, 1.0)
        share: NDArray[np.float64] = np.where(even, (self.high > loss_mm).astype(np.float64), partly)
        left: NDArray[np.float64] = self.pieces.length_mm * share
        return left

    def profile_mm2(self, loss_mm: float) -> NDArray[np.float64]:
        """Return the integral of the depth left along the length left of each piece."""
        high, low = np.maximum(self.high - loss_mm, 0.0), np.maximum(self.low - loss_mm, 0.0)
        profile: NDArray[np.float64] = self.left_mm(loss_mm) * (high + low) / 2
        return profile

    def by_line(self, amounts: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the sum of the pieces' amounts (k,) for each line, shape (lines,)."""
        sums: NDArray[np.float64] = np.bincount(self.pieces.line, amounts, minlength=self.lines).astype(np.float64)
        return sums
