"""A stencil as it will be cut, and what it costs the design: dark and light lost, islands dropped, openings merged.

All lengths are millimetres, y up; masks are (rows, columns).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region
from shadowrout.sheets.stencil.openings import LEAST_AREA_MM2
from shadowrout.sheets.stencil.rasters import Mask, labelled
from shadowrout.words.sentences import Mm, Sentence

MUCH = 0.1
"""Share of the design's dark from which a loss is worth a notice."""

Place = tuple[float, float]


@dataclass(frozen=True)
class Bridge:
    """A strip of sheet left across an opening; start and end are where its middle line enters the sheet."""

    start: Place
    end: Place
    width_mm: float
    by_hand: bool = False

    @property
    def length_mm(self) -> float:
        """Length over the opening."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True)
class DroppedIsland:
    """An island of the design that isn't held and became part of the opening around it."""

    place: Place
    area_mm2: float


@dataclass(frozen=True)
class Notice:
    """Something to look at before cutting: one sentence and where."""

    place: Place
    sentence: str | Sentence


@dataclass(frozen=True, eq=False)
class CutStencil:
    """A sheet with openings that stays in one piece.

    ``openings`` are what is open after cutting, ``drawn`` the same inset by half the kerf: the line that the
    beam's middle follows. ``dark_lost_share`` is the share of the design's dark that isn't open, ``light_lost_share``
    what is open of its light, over the same. ``webs_widened`` counts thin webs of the design made as wide as the
    least web, ``web_middles``, shape (n, 2), are points all along their middles; ``openings_merged`` counts openings
    that became one with another because the web between them was too thin to save.
    """

    openings: Region
    drawn: Region
    sheet: Box
    web_mm: float
    kerf_mm: float
    bridges: tuple[Bridge, ...]
    dark_lost_share: float
    light_lost_share: float
    islands: tuple[DroppedIsland, ...]
    webs_widened: int
    web_middles: Points
    openings_merged: int
    notices: tuple[Notice, ...]

    @property
    def islands_dropped(self) -> int:
        """How many islands of the design aren't held."""
        return len(self.islands)

    @property
    def bridge_length_mm(self) -> float:
        """Length of all bridges over openings."""
        return sum(bridge.length_mm for bridge in self.bridges)


def lost_shares(cover: NDArray[np.float32], opened: NDArray[np.float32]) -> tuple[float, float]:
    """Return the design's dark that isn't open, and the light that is, both over its dark; 0 where it has none.

    ``cover`` and ``opened`` are the shares of each pixel that the design darkens and that the stencil opens.
    """
    dark, both = float(cover.sum()), float(np.minimum(cover, opened).sum())
    return (1 - both / dark, (float(opened.sum()) - both) / dark) if dark else (0.0, 0.0)


def fidelity_notices(dark_lost: float, light_lost: float, grid: Grid) -> Iterator[Notice]:
    """Yield a notice for each share that is large, mostly since the design is too fine for the web."""
    x0, y0, x1, y1 = grid.box
    for share, what in ((dark_lost, "dark stays closed"), (light_lost, "light becomes opening")):
        if share > MUCH:
            yield Notice(
                ((x0 + x1) / 2, (y0 + y1) / 2),
                f"{what}, as much as {share:.0%} of the design's dark; a coarser or larger design loses less, and so "
                "does a narrower web",
            )


def dropped_islands(dark: Mask, openings: Mask, grid: Grid) -> Iterator[DroppedIsland]:
    """Yield the islands of the design of which less than half is still sheet, the largest first."""
    count, islands = labelled(~dark, connectivity=4)
    whole = np.bincount(islands.ravel(), minlength=count + 1)
    gone = np.bincount(islands.ravel(), openings.ravel(), minlength=count + 1)
    rows, columns = np.nonzero(islands)
    number = islands[rows, columns]
    place = [np.bincount(number, axis, minlength=count + 1) / np.maximum(whole, 1) for axis in (rows, columns)]
    lost = [n for n in range(1, count + 1) if 2 * gone[n] > whole[n]]
    for n in sorted(lost, key=lambda n: -whole[n]):
        yield DroppedIsland(grid.place(place[0][n], place[1][n]), float(whole[n]) * grid.pixel_mm**2)


def merged_openings(dark: Mask, openings: Mask, grid: Grid) -> int:
    """Return how many openings of the design became one with another, those they share 1 mm2 with counted."""
    _, shadows = labelled(dark, connectivity=8)
    count, numbers = labelled(openings, connectivity=8)
    both = dark & openings
    pairs, sizes = np.unique(shadows[both].astype(np.int64) * (count + 1) + numbers[both], return_counts=True)
    members = np.bincount(pairs[sizes * grid.pixel_mm**2 >= 1] % (count + 1))
    return int(np.maximum(members - 1, 0).sum())


def margin_notices(beyond: NDArray[np.float32], margin_mm: float, grid: Grid) -> Iterator[Notice]:
    """Yield a notice where much of the design, given as shares of pixels, lies in the sheet's margin."""
    area = float(beyond.sum()) * grid.pixel_mm**2
    if area > LEAST_AREA_MM2:
        rows, columns = np.nonzero(beyond > 0)
        yield Notice(
            grid.place(float(rows[0]), float(columns[0])),
            Sentence(
                "{area:.0f} of the design lie within {margin} of the sheet's edge and stay uncut; give a larger sheet "
                "or a smaller margin",
                area=Mm.area(area),
                margin=Mm(margin_mm),
            ),
        )
