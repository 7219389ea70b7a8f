"""By how much drawn rings lie moved, turned, scaled or grown against an outline that most of their edge should follow.

Each sample of a ring is as far off the nearest place of the outline, along its own outward normal, as the rings are
moved there. The motion that explains most of it is found by least absolute distances, so that the parts of an edge
that have no outline to follow, bridges say, don't count: weighted least squares, repeated, each sample weighing the
less the further off it is (Schlossmacher 1973).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples
from shadowrout.check.distances import Nearest

_WINDOW_MM = 0.6
"""An edge further off follows no outline: a bridge's side, a cut corner (a judgement)."""
_ASIDE_MM = 0.15
"""A nearest place that far beside the normal belongs to another edge (a judgement)."""
_ROUNDS = 8
"""The figures move by less than a micrometre in the last of them."""
_EXACT_MM = 0.02
"""Nearer samples all weigh alike: a fifth of the usual tolerance."""
_RIDGE = 0.01
"""A motion that the edge says nothing of, as a disc's turn, is taken for none; what is told is a little too small."""


@dataclass(frozen=True)
class Motion:
    """How rings lie against the outline: moved by ``shift_mm``, and grown all round by ``grown_mm``.

    ``spread_mm`` is what turning and scaling add to the shift at the furthest sample, ``on`` how many samples follow
    the outline.
    """

    shift_mm: tuple[float, float]
    spread_mm: float
    grown_mm: float
    on: int

    @property
    def moved_mm(self) -> float:
        """How far the worst placed sample is moved."""
        return math.hypot(*self.shift_mm) + self.spread_mm


class Alignment:
    """The samples of drawn rings against an outline; ``inset_mm`` is how far within it they are meant to lie."""

    def __init__(self, drawn: Samples, outline: Samples, *, inset_mm: float) -> None:
        self.points, self.owner = drawn.points, drawn.owner
        along = drawn.points[drawn.after] - drawn.points
        length = np.maximum(np.hypot(*along.T), 1e-9)
        self.normals: Points = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        away = Nearest(outline).places(drawn.points) - drawn.points
        aside = np.abs(away[:, 0] * self.normals[:, 1] - away[:, 1] * self.normals[:, 0])
        self.off: NDArray[np.float64] = inset_mm - (away * self.normals).sum(axis=1)
        self.follows: NDArray[np.bool_] = (np.abs(self.off) < _WINDOW_MM) & (aside < _ASIDE_MM)

    def of_all(self) -> Motion | None:
        """Return how all rings lie together; None where nothing follows the outline."""
        if not self.follows.any():
            return None
        points, normals = self.points[self.follows], self.normals[self.follows]
        arms = points - points.mean(axis=0)
        reach = max(float(np.hypot(*arms.T).max()), 1e-9)
        turned = np.column_stack([-arms[:, 1], arms[:, 0]])
        terms = [normals, (normals * arms).sum(axis=1) / reach, (normals * turned).sum(axis=1) / reach]
        x, y, scaled, turn, grown = _least(np.column_stack([*terms, np.ones(len(points))]), self.off[self.follows])
        return Motion((x, y), math.hypot(scaled, turn), grown, len(points))

    def of_ring(self, number: int) -> Motion | None:
        """Return how one ring, counted from 0, lies by itself; it is neither turned nor scaled."""
        chosen = self.follows & (self.owner == number)
        if not chosen.any():
            return None
        count = int(chosen.sum())
        x, y, grown = _least(np.column_stack([self.normals[chosen], np.ones(count)]), self.off[chosen])
        return Motion((x, y), 0.0, grown, count)


def _least(terms: NDArray[np.float64], off: NDArray[np.float64]) -> list[float]:
    """Return the factors of the terms, shape (n, k), by which they explain ``off``, shape (n,)."""
    weights = np.ones(len(off))
    ridge = _RIDGE * np.eye(terms.shape[1])
    factors = np.zeros(terms.shape[1])
    for _ in range(_ROUNDS):
        weighted = terms * (weights / weights.sum())[:, None]
        factors = np.linalg.solve(weighted.T @ terms + ridge, weighted.T @ off)
        weights = 1 / np.maximum(np.abs(off - terms @ factors), _EXACT_MM)
    return [float(factor) for factor in factors]
