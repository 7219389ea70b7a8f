"""What a stencil costs the design: dark and light lost, islands dropped, openings merged. Masks are (rows, columns)."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.grid import Grid
from shadowrout.sheets.stencil.openings import LEAST_AREA_MM2
from shadowrout.sheets.stencil.rasters import Mask, labelled
from shadowrout.sheets.stencil.stencil_values import DroppedIsland, Notice
from shadowrout.words.sentences import Mm, Sentence

MUCH = 0.1
"""Share of the design's dark from which a loss is worth a notice."""


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
