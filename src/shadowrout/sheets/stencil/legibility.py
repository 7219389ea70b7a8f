"""What a stencil may not lose of text and clip art, and at what size it would lose nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import PromiseError
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.sheets.stencil.rasters import Labels, Mask, depth_px, labelled
from shadowrout.words.sentences import Mm, Sentence

LEAST_STROKE_LEFT = 0.6
"""Share of a stroke's dark that must stay open for it to be read."""

_LEAST_ISLAND_LEFT = 0.5
"""As ``dropped_islands`` counts: with less than half still sheet it is gone."""
_FIRST_GUESS = 1.1
"""Where nothing tells by how much the design is too small."""
_STEP = 1.25
"""Coarse, since each height tried is a stencil made; the last step is halved afterwards."""
_MOST_STEPS = 6
"""To over three times the height: a design that fails at that needs bolder shapes."""


@dataclass(frozen=True)
class Loss:
    """One thing lost: what and where in mm, and by what factor the design must at least grow to keep it."""

    reason: str | Sentence
    place: tuple[float, float]
    factor: float


def losses(design: Mask, openings: Mask, grid: Grid, web_mm: float) -> tuple[Loss, ...]:
    """Return the islands that aren't held or are narrower than the web, and the strokes that bridges close.

    ``design`` and ``openings`` have the grid's shape: what should be open, and what is.
    """
    return (*_lost_islands(design, openings, grid, web_mm), *_lost_strokes(design, openings, grid))


def _lost_islands(design: Mask, openings: Mask, grid: Grid, web_mm: float) -> Iterator[Loss]:
    count, islands = labelled(~design, connectivity=4)
    inscribed = np.zeros(count + 1, dtype=np.float32)
    np.maximum.at(inscribed, islands.ravel(), depth_px(~design).ravel())
    share = _shares(islands, ~openings, count)
    for number in range(1, count + 1):
        if number == islands[0, 0]:
            continue
        width = 2 * float(inscribed[number]) * grid.pixel_mm
        if width < web_mm:
            yield Loss(
                Sentence("an island is {width:.1f} wide, less than the web of {web}", width=Mm(width), web=Mm(web_mm)),
                _middle(islands == number, grid),
                web_mm / width,
            )
        elif share[number] < _LEAST_ISLAND_LEFT:
            yield Loss("an island can't be held", _middle(islands == number, grid), _FIRST_GUESS)


def _lost_strokes(design: Mask, openings: Mask, grid: Grid) -> Iterator[Loss]:
    count, strokes = labelled(design, connectivity=8)
    share = _shares(strokes, openings, count)
    for number in range(1, count + 1):
        if share[number] < LEAST_STROKE_LEFT:
            yield Loss(
                f"{1 - share[number]:.0%} of a stroke would be closed", _middle(strokes == number, grid), _FIRST_GUESS
            )


def _shares(labels: Labels, mask: Mask, count: int) -> NDArray[np.float64]:
    whole = np.bincount(labels.ravel(), minlength=count + 1)
    return np.bincount(labels.ravel(), mask.ravel(), minlength=count + 1) / np.maximum(whole, 1)


def _middle(mask: Mask, grid: Grid) -> tuple[float, float]:
    row, column = np.argwhere(mask).mean(axis=0)
    return grid.place(float(row), float(column))


def refusal(lost: Sequence[Loss], shadow: Region, works: Callable[[float], bool]) -> PromiseError:
    """Return the error for a design that can't be held at its size, with the least height at which it can.

    ``works`` says whether the design holds when scaled by a factor.
    """
    first = lost[0]
    _, y0, _, y1 = shadow.bounds
    height = y1 - y0
    least = _least_height(height, max(loss.factor for loss in lost), works)
    advice: str | Sentence = "use bolder shapes or a narrower web"
    if least is not None:
        advice = Sentence(
            "it works from a height of {least}, on a larger plaque, or try a narrower web",
            least=Mm(least, bound="least"),
        )
    told = Sentence(
        "stencil: the design of {height:.1f} height can't be held: {reason} at {place:.1f}; {advice}",
        height=Mm(height),
        reason=first.reason,
        place=Mm.place(*first.place),
        advice=advice,
    )
    return PromiseError(told)


def _least_height(height: float, factor: float, works: Callable[[float], bool]) -> int | None:
    """Return the least whole number of millimetres found at which the design works, from ``factor`` upwards.

    Heights grow by steps until one works, and the last step is halved until it is a twentieth of the height.
    None where none works up to several times the height. The height returned has been tried.
    """
    fails, good = 0, math.ceil(height * factor - 1e-6)
    for _ in range(_MOST_STEPS):
        if works(good / height):
            break
        fails, good = good, math.ceil(good * _STEP)
    else:
        return None
    while fails and good - fails > max(1, good / 20):
        middle = (fails + good) // 2
        fails, good = (fails, middle) if works(middle / height) else (middle, good)
    return good
