"""How far a beam travels from cut to cut."""

from __future__ import annotations

import numpy as np


def travel_mm(starts: np.ndarray, order: np.ndarray, *, begin: tuple[float, float]) -> float:
    """Return the straight way from ``begin`` over the places (n, 2) in that order."""
    way = np.vstack([[begin], starts[order]])
    return float(np.hypot(*np.diff(way, axis=0).T).sum())
