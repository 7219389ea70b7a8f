"""Thinning of a mask to lines between parts that stay, with nothing joined, cut, filled or opened."""

from __future__ import annotations

import numpy as np

from shadowrout.sheets.stencil.rasters import Mask

_STEPS = ((0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0), (1, 1))
"""The eight neighbours counter-clockwise from the right one, as (row, column) steps."""


def _simple_codes() -> Mask:
    """Return for each of the 256 neighbourhoods whether its middle can go without changing what hangs together.

    That is so where Yokoi's number for 8-connected dark is 1 (Yokoi, Toriwaki and Fukumura 1975):
    the sum over the four side neighbours k of c(k) - c(k) c(k+1) c(k+2), c being 1 where the neighbour is empty.
    """
    codes = np.arange(256)
    empty = [1 - (codes >> k & 1) for k in range(8)]
    number = sum(empty[k] - empty[k] * empty[k + 1] * empty[(k + 2) % 8] for k in (0, 2, 4, 6))
    return np.asarray(number == 1)


_SIMPLE = _simple_codes()


def thinned(mask: Mask, kept: Mask) -> Mask:
    """Return ``mask`` peeled down to ``kept`` and the lines, one pixel wide, that its pieces need to hang together.

    Both have shape (rows, columns); ``kept`` lies within ``mask`` and is never touched. 8-connected pieces and
    4-connected gaps stay as many as they are: a piece that holds nothing of ``kept`` ends as one pixel, or as a
    ring where it has a gap inside. Lines with a free end vanish. Pixels go layer by layer, in four classes none
    of which has two neighbours, so that taking out a whole class at once is safe.
    """
    padded = np.pad(mask, 1)
    width = padded.shape[1]
    flat = padded.ravel()
    steps = np.array([row * width + column for row, column in _STEPS])
    loose = np.flatnonzero(np.pad(mask & ~kept, 1).ravel())
    while len(loose):
        layer = loose[~flat[loose[:, None] + steps[::2]].all(axis=1)]
        classes = layer // width % 2 * 2 + layer % width % 2
        before = len(loose)
        for number in range(4):
            asked = layer[classes == number]
            codes = (flat[asked[:, None] + steps] << np.arange(8)).sum(axis=1)
            flat[asked[_SIMPLE[codes]]] = False
        loose = loose[flat[loose]]
        if len(loose) == before:
            break
    return padded[1:-1, 1:-1]
