"""Whether a cut sheet stays in one piece, and stays one when every edge wears: judged in two ways.

With w the least web and r just under w / 2: M is the largest piece of the sheet worn back by r, B is M grown by
r again. The sheet holds if it is one piece, nothing of it lies further than w from B, and no piece of what B
leaves touches B in two places while reaching more than 0.35 w away from it. That the worn sheet is one piece
would be too much to ask: every sharp corner of light would fail. One judge counts pixels, the other offsets
polygons.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.contacts import contacts, standing_out
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region
from shadowrout.sheets.stencil.rasters import Mask, around, deep, distance_px, labelled, largest_part, widened

TWO_TOUCH_REACH = 0.35
"""How far a piece held at two ends may reach from the solid sheet, over the web: more is a web that is too thin."""

_PIXELS_A_WEB = 30
"""Edges are known to the pixel, so a web to a fifteenth of its width."""
_LEAST_PIXEL_MM = 0.05
"""Half the usual tolerance: lines are no truer than that."""
_MOST_PIXELS = 40_000_000
"""160 MB for distances in single precision."""
_VECTOR_SLACK_MM = 0.02
"""What offsets and the flattening of arcs may take from a web: twice their error and more."""
_VECTOR_ERROR_MM = 0.008
"""A twelfth of the usual tolerance."""
_LEAST_AREA_MM2 = 1e-3
"""Slivers that two offsets of one outline leave between them."""


@dataclass(frozen=True)
class Fault:
    """One reason why a sheet doesn't hold, and where: x and y in mm."""

    reason: str
    place: tuple[float, float]


@dataclass(frozen=True)
class Judgement:
    """What a judge found; the sheet holds if it found no fault."""

    faults: tuple[Fault, ...]

    @property
    def holds(self) -> bool:
        """Whether the sheet stays in one piece."""
        return not self.faults

    def __bool__(self) -> bool:
        return self.holds


def holds(openings: Region, *, sheet: Box, web: float, pixel_mm: float | None = None) -> Judgement:
    """Return whether a sheet with these openings, all in mm, stays one piece with every web at least ``web`` wide.

    By pixels of a thirtieth of the web, at least 0.05 mm and larger on a sheet that would need over 40 million, or
    as given: webs that miss the width by less than about two pixels pass. Openings beyond the sheet are cut off at
    its edge. No openings hold. Raises ValueError for a web that isn't positive.
    """
    _check(web)
    pixel = pixel_mm or max(
        web / _PIXELS_A_WEB, _LEAST_PIXEL_MM, ((sheet[2] - sheet[0]) * (sheet[3] - sheet[1]) / _MOST_PIXELS) ** 0.5
    )
    grid = Grid(sheet, pixel)
    return Judgement(tuple(_raster_faults(grid.covered(openings) < 0.5, grid, web)))


def holds_by_vector(openings: Region, *, sheet: Box, web: float) -> Judgement:
    """Return the same judgement as ``holds`` by offsets of polygons, exact to about 0.05 mm of the web."""
    _check(web)
    return Judgement(tuple(_vector_faults(Region.box(sheet).difference(openings), web)))


def _check(web: float) -> None:
    if not web > 0:
        raise ValueError(f"web: expected a positive width, got {web}")


def _raster_faults(solid: Mask, grid: Grid, web: float) -> Iterator[Fault]:
    pixel = grid.pixel_mm
    count, _ = labelled(solid, connectivity=4)
    if count != 1:
        yield from _loose_parts(solid, grid)
        return
    worn_px = web / 2 / pixel - 1
    core = largest_part(deep(solid, worn_px), connectivity=4)
    if not core.any():
        yield Fault(f"no part of the sheet is {web:g}mm wide", _centre(solid, grid))
        return
    beyond_px = distance_px(core) - (worn_px + 1.5)
    rest = solid & (beyond_px > 0)
    body = solid & ~rest
    _, labels = labelled(rest, connectivity=8)
    suspects = np.unique(labels[rest & (beyond_px > TWO_TOUCH_REACH * web / pixel)])
    for number in suspects:
        part = labels == number
        window = around(part)
        piece = part[window]
        if beyond_px[window][piece].max() > web / pixel:
            yield Fault(f"a part reaches more than {web:g}mm from the solid sheet", _centre(part, grid))
        elif labelled(widened(piece) & body[window], connectivity=8)[0] > 1:
            yield Fault(f"a web is thinner than {web:g}mm", _centre(part, grid))


def _loose_parts(solid: Mask, grid: Grid) -> Iterator[Fault]:
    count, labels = labelled(solid, connectivity=4)
    if count == 0:
        x0, y0, x1, y1 = grid.box
        yield Fault("nothing is left of the sheet", ((x0 + x1) / 2, (y0 + y1) / 2))
        return
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    for number in range(1, count + 1):
        if number != sizes.argmax():
            yield Fault("a part falls out of the sheet", _centre(labels == number, grid))


def _centre(mask: Mask, grid: Grid) -> tuple[float, float]:
    row, column = np.argwhere(mask).mean(axis=0)
    return grid.place(float(row), float(column))


def _vector_faults(solid: Region, web: float) -> Iterator[Fault]:
    parts = sorted(solid.parts(), key=lambda part: -part.area)
    if len(parts) != 1:
        for part in parts[1:]:
            yield Fault("a part falls out of the sheet", _middle(part))
        if not parts:
            yield Fault("nothing is left of the sheet", (0.0, 0.0))
        return
    worn = solid.offset(-(web / 2 - _VECTOR_SLACK_MM), error=_VECTOR_ERROR_MM)
    if worn.is_empty:
        yield Fault(f"no part of the sheet is {web:g}mm wide", _middle(solid))
        return
    core = max(worn.parts(), key=lambda part: part.area)
    body = core.offset(web / 2, error=_VECTOR_ERROR_MM)
    rest = solid.difference(body).keeping(_LEAST_AREA_MM2)
    for piece, near in standing_out(rest, body, by=TWO_TOUCH_REACH * web):
        if next(standing_out(piece, near, by=web), None) is not None:
            yield Fault(f"a part reaches more than {web:g}mm from the solid sheet", _middle(piece))
        elif contacts(piece, near, within=2 * _VECTOR_SLACK_MM) > 1:
            yield Fault(f"a web is thinner than {web:g}mm", _middle(piece))


def _middle(region: Region) -> tuple[float, float]:
    return region.widest_spot(precision=0.1)[0]
