"""Which curves of a file can belong to a plaque: near enough, finite, and together not longer than any plaque's.

What a number far off would have sampled fills the memory, so such curves are told of and left out before anything is
measured.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, pieces_of
from shadowrout.check.drawing_file import DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import Promise
from shadowrout.check.untrusted import shown
from shadowrout.job.limits import GREATEST_SIDE_MM
from shadowrout.words.sentences import Mm, Sentence

FURTHEST_MM = 5 * GREATEST_SIDE_MM
"""No sheet, and no stock for several, is five times as large as the largest board."""

_MOST_BULGE = 1000.0
"""An arc all but a fifth of a degree round; what is written turns by half at most, and whole circles in two."""

_OUTLINED = ("shadow", "pocket", "cutter-path", "v-line", "v-line-3d")
_MOST_OUTLINED_MM = 300_000.0
"""Twice the length of outlines beyond which ``make`` refuses a plaque; walls, paths and V lines follow them."""
_MOST_MM = 3_000_000.0
"""Twice what flow lines 1 mm apart come to on the largest board, or the openings of twenty sheets on stock."""

_ADVICE = "make the plaque again; don't move or scale the file in another program"


def leave_out_what_no_plaque_has(file: DrawingFile) -> None:
    """Leave out of a file the curves that no plaque can have, and note what they are among its faults."""
    indices = [index for index, shape in enumerate(file.shapes) if shape.curve is not None]
    if not indices:
        return
    shapes = [file.shapes[index] for index in indices]
    curves = [shape.curve for shape in shapes if shape.curve is not None]
    far = _far_off(curves)
    lengths = np.where(far, 0.0, _lengths_mm(curves, far))
    roles = np.array([role_of_layer(shape.layer) for shape in shapes])
    beyond = np.zeros(len(curves), dtype=bool)
    for role in dict.fromkeys(roles.tolist()):
        own = roles == role
        most = _MOST_OUTLINED_MM if role in _OUTLINED else _MOST_MM
        beyond[own] = np.cumsum(lengths[own]) > most
        if (beyond & own).any():
            told = Sentence("its {role} lines are longer than {most:g mm}", role=role or "other", most=Mm(most))
            file.fault(Promise.TRUE_SIZE, told, _ADVICE, place=shapes[int((beyond & own).argmax())].place)
    for index in np.flatnonzero(far).tolist():
        file.fault(Promise.TRUE_SIZE, _told(shapes[index]), _ADVICE)
    if (out := far | beyond).any():
        gone = set(np.array(indices)[out].tolist())
        file.shapes[:] = [shape for index, shape in enumerate(file.shapes) if index not in gone]


def _far_off(curves: Sequence[Curve]) -> NDArray[np.bool_]:
    """Return which curves have a vertex or an arc further away than any plaque reaches."""
    starts, ends, bulges, owner = pieces_of(curves)
    with np.errstate(over="ignore", invalid="ignore"):
        reach = np.maximum(np.abs(starts.real), np.abs(starts.imag)) + np.abs(ends - starts) * np.abs(bulges) / 2
        wrong = ~(reach <= FURTHEST_MM) | ~(np.abs(bulges) <= _MOST_BULGE)
    return np.bincount(owner, weights=wrong, minlength=len(curves)) > 0


def _lengths_mm(curves: Sequence[Curve], far: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Return each curve's length, 0 for those far off: an arc of angle t over a chord c is c (t / 2) / sin(t / 2)."""
    starts, ends, bulges, owner = pieces_of(curves)
    near = ~far[owner]
    chords, half_turns = np.abs(ends - starts)[near], 2 * np.arctan(np.abs(bulges[near]))
    weights = chords / np.sinc(half_turns / np.pi)
    return np.bincount(owner[near], weights=weights, minlength=len(curves)).astype(np.float64)


def _told(shape: Shape) -> Sentence:
    return Sentence(
        "layer {layer}: a path reaches further than {most:g mm}, and isn't read",
        layer=shown(shape.layer) or "none",
        most=Mm(FURTHEST_MM),
    )
