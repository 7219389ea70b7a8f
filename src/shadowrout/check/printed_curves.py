"""Whether printed contours are the curves of the carve drawing, found without measuring along them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, Points, middles, pieces_of, vertices
from shadowrout.check.distances import Neighbours
from shadowrout.check.printed_page import Contour, Matrix, moved

SAME_MM = 0.002
"""How far a place may be off: twice the files' rounding."""

_LENGTH_SHARE = 1e-5
"""Of a length: more than the sums below are off for a quarter turn, 1e-7 of it."""
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(6)
_SHARES = (_NODES + 1) / 2


class PrintedCurves:
    """Contours where they lie on the board: the ends and the middle of every piece, and each contour's length."""

    def __init__(self, contours: Sequence[tuple[Contour, Matrix]]) -> None:
        pieces = [moved(contour.pieces.reshape(-1, 2), matrix).reshape(-1, 4, 2) for contour, matrix in contours]
        every = np.concatenate([np.empty((0, 4, 2)), *pieces])
        a, b, c, d = np.moveaxis(every, 1, 0)
        self.points: Points = np.concatenate([a, d, (a + 3 * b + 3 * c + d) / 8])
        owner = np.repeat(np.arange(len(pieces)), [len(of_one) for of_one in pieces])
        self.owner = np.tile(owner, 3)
        middle = self.points[2 * len(every) :]
        count = len(pieces)
        self.lengths_mm = np.zeros(count) + np.bincount(owner, weights=_lengths(every), minlength=count)
        areas = np.bincount(owner, weights=_cross(a, middle) + _cross(middle, d), minlength=count)
        self.turns = np.sign(np.zeros(count) + areas)
        self.neighbours = Neighbours(self.points) if len(every) else None

    def pass_through(self, curves: Sequence[Curve]) -> NDArray[np.intp] | None:
        """Return which contour passes each vertex and each piece's middle of curves; None where one isn't passed."""
        wanted = np.vstack([vertices(curves), middles(curves)])
        if self.neighbours is None:
            return None
        nearest = self.neighbours.indices(wanted)[:, 0]
        if np.abs(self.points[nearest] - wanted).max(initial=0.0) > SAME_MM:
            return None
        passed: NDArray[np.intp] = self.owner[nearest]
        return passed

    def are_rings(self, curves: Sequence[Curve]) -> bool:
        """Return whether these are as many as the closed curves, pass all their points, and run and measure alike."""
        passing = self.pass_through(curves) if len(curves) == len(self.lengths_mm) else None
        if passing is None:
            return False
        first = np.cumsum([0, *(len(curve.vertices) for curve in curves)])[:-1]
        a, b, _, owner = pieces_of(curves)
        starts, ends, middle = (np.column_stack([z.real, z.imag]) for z in (a, b, _complex(middles(curves))))
        turns = np.sign(np.bincount(owner, weights=_cross(starts, middle) + _cross(middle, ends)))
        lengths = np.array([curve.length_mm for curve in curves])
        ours = passing[first]
        once = len(np.unique(ours)) == len(ours)
        return once and bool((alike(lengths, self.lengths_mm[ours]) & (turns == self.turns[ours])).all())


def alike(ours_mm: NDArray[np.float64], theirs_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which lengths are the same but for rounding."""
    same: NDArray[np.bool_] = np.abs(ours_mm - theirs_mm) <= SAME_MM + _LENGTH_SHARE * theirs_mm
    return same


def _complex(points: Points) -> NDArray[np.complex128]:
    z: NDArray[np.complex128] = points[:, 0] + 1j * points[:, 1]
    return z


def _cross(a: Points, b: Points) -> NDArray[np.float64]:
    """Return twice the signed area between the origin and each line from a to b."""
    areas: NDArray[np.float64] = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return areas


def _lengths(pieces: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the length of cubic pieces, shape (n, 4, 2), by Gauss and Legendre's sum over six places."""
    legs = np.diff(pieces, axis=1)
    t, s = _SHARES, 1 - _SHARES
    speeds = 3 * np.einsum("kj,nkx->njx", np.array([s**2, 2 * s * t, t**2]), legs)
    lengths: NDArray[np.float64] = np.hypot(speeds[..., 0], speeds[..., 1]) @ (_WEIGHTS / 2)
    return lengths
