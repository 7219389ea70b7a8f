"""The true minimum of pieces round a ring, found by another and much slower way than the fit's.

The minimum is over all paths with vertices on the input's points whose lines and arcs, up to half a turn, pass within
the tolerance of all points and middles of segments between. Fewest arcs by shortest path: Drysdale, Rote and Sturm,
"Approximation of an open polygonal curve with a minimum number of circular arcs and biarcs", 2008.
"""

from __future__ import annotations

import numpy as np


def heights(p, q, c, b):
    """Return how far points lie to the left of the arc of bulge ``b`` from (0, 0) to (c, 0), measured to its circle."""
    above = 2 * q * c * (1 - b * b) - 4 * b * (p * p + q * q - c * p)
    return above / (c * (1 + b * b) + np.hypot(4 * b * p - 2 * b * c, 4 * b * q - c * (1 - b * b)))


def reachable(ring, start, window, tolerance):
    """Return for 1 to ``window`` points ahead whether one line or arc gets there, shape (window,).

    All heights rise with the bulge. So where one is too great and another too small, no bulge will do; where one is too
    great, only a smaller bulge will. Halving the interval of bulges decides.
    """
    around = ring[(start + np.arange(window + 1)) % len(ring)]
    z = around[:, 0] + 1j * around[:, 1] - (around[0, 0] + 1j * around[0, 1])
    samples = np.column_stack([(z[1:] + z[:-1]) / 2, z[1:]]).ravel()[None, :]
    end = z[1:, None]
    chord = np.maximum(np.abs(end), 1e-12)
    local = samples * np.conj(end) / chord
    counted = np.arange(2 * window)[None, :] < 2 * np.arange(1, window + 1)[:, None] - 1
    counted &= (np.abs(samples) > tolerance) & (np.abs(samples - end) > tolerance)
    fits = np.zeros(window, dtype=bool)
    rows = np.flatnonzero(np.abs(z[1:]) > 0)
    low, high = np.full(window, -1.0), np.full(window, 1.0)
    for _ in range(40):
        b = (low[rows] + high[rows]) / 2
        p, q, c, here = local[rows].real, local[rows].imag, chord[rows], counted[rows]
        h = heights(p, q, c, b[:, None])
        above = (here & (h > tolerance)).any(axis=1)
        below = (here & (h < -tolerance)).any(axis=1)
        beyond = (here & ((p < -tolerance) | (p > c + tolerance))).any(axis=1) & (np.abs(b) < 0.5)
        fits[rows[~above & ~below & ~beyond]] = True
        high[rows[above]], low[rows[below]] = b[above], b[below]
        rows = rows[above != below]
        if not len(rows):
            break
    fits[0] = True
    return fits


def fewest_pieces(ring, tolerance):
    """Return the least number of pieces of a closed path around the ring."""
    n = len(ring)
    reach = np.zeros((n, n - 1), dtype=bool)
    for i in range(n):
        window = min(16, n - 1)
        while True:
            fits = reachable(ring, i, window, tolerance)
            if window == n - 1 or np.flatnonzero(fits)[-1] + 1 < window // 2:
                break
            window = min(2 * window, n - 1)
        reach[i, : len(fits)] = fits
    farthest = [np.flatnonzero(row)[-1] + 1 for row in reach]
    narrow = int(np.argmin(farthest))
    return min(_lap(reach, (narrow + k) % n) for k in range(1, farthest[narrow] + 1))


def _lap(reach, start):
    n = len(reach)
    cost = np.full(n + 1, n + 1)
    cost[0] = 0
    for at in range(n):
        ahead = np.flatnonzero(reach[(start + at) % n][: n - at]) + at + 1
        cost[ahead] = np.minimum(cost[ahead], cost[at] + 1)
    return int(cost[n])
