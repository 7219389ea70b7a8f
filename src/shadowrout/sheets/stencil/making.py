"""A stencil that stays in one piece: from the shadows of a design to openings with bridges."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from shadowrout.errors import PromiseError, SettingError
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box, Region
from shadowrout.sheets.criterion import holds
from shadowrout.sheets.stencil.cut_stencil import (
    CutStencil,
    dropped_islands,
    fidelity_notices,
    lost_shares,
    margin_notices,
    merged_openings,
)
from shadowrout.sheets.stencil.holding import Held, Wishes, hold_together
from shadowrout.sheets.stencil.legibility import losses, refusal
from shadowrout.sheets.stencil.openings import (
    LEAST_AREA_MM2,
    LEAST_FIN_MM,
    Field,
    Fringe,
    design_field,
    opening_field,
    region_of,
)
from shadowrout.sheets.stencil.stencil_checks import check_holes, check_settings
from shadowrout.words.sentences import Mm, Sentence

if TYPE_CHECKING:
    from shadowrout.job.sheet_options import StencilOptions

_PIXELS_A_WEB = 15
"""Webs are built to half a pixel, a thirtieth of their width, and outlines traced between pixels."""
_LEAST_PIXEL_MM = 0.1
"""The usual tolerance."""
_MOST_PIXELS = 16_000_000
"""64 MB for each field in single precision, of which a few are in use at a time."""
_PIXEL_ALLOWANCE = 0.5
"""Of a pixel: depths are exact to so much (``depth_px``), and webs are built that much wider."""
_FRINGES = ((0.8, 0.25), (0.25, 0.25), (0.1, 0.1), (0.0, 0.0))
"""How far light of the design may stand out from the solid sheet, in webs, where it hangs on one place and where it
touches several: tried in turn until the sheet holds."""

_KERF_ERROR_MM = 0.003
"""A thirtieth of the usual tolerance."""
_HOLE_ERROR_MM = 0.01
"""A tenth of the usual tolerance; the discs' own flatness is half of it."""
_SPOT_MM = 0.05
"""How exactly the widest shadow is measured for a message."""


def make_stencil(
    shadow: Region,
    *,
    sheet: Box,
    options: StencilOptions,
    tolerance_mm: float,
    drop_islands: bool = True,
    plaque: Box | None = None,
    holes: Region | None = None,
) -> CutStencil:
    """Return the stencil of a design on a sheet, all in mm.

    ``shadow`` is a design coarse enough for the web: details below it are widened or lost. ``holes`` are cut as well,
    for dowels: openings keep a web away from them, and they aren't among the stencil's openings. The sheet holds at the
    web asked for, holes cut, even when the lines drawn leave ``openings`` and ``drawn`` by ``tolerance_mm``.

    With ``drop_islands``, meant for photos, islands not worth a bridge become part of the opening around them and
    are listed; islands that fill much of their opening, as the counter of a letter does, are held all the same.
    Without it, for text and clip art, nothing is dropped: where an island or a stroke can't be held at this size,
    PromiseError says so and names the least height at which all can. An empty shadow gives a sheet without openings.

    Raises SettingError for a web wider than the design, a least opening wider than all shadows, a kerf as wide as the
    least opening, a sheet smaller than the plaque or the design, a bridge off the sheet, a hole too near the sheet's
    edge; PromiseError where nothing is left to open or no sheet was found that holds.
    """
    holes = Region.empty() if holes is None else holes
    check_settings(shadow, sheet, options, plaque)
    check_holes(holes, sheet, options.web + 2 * tolerance_mm)
    grid = _grid(sheet, options)
    wishes = Wishes(options.bridges, options.keep_out, drop_islands, keep=grid.covered(holes) > 0.5)
    bench = _Bench.of(shadow, grid, options, wishes, tolerance_mm, holes)
    held, field, openings = _held_sheet(bench, options, tolerance_mm)
    nothing_open = openings.is_empty and not shadow.is_empty
    if nothing_open:
        _check_least_opening(shadow, options)
    if not drop_islands and held.unheld:
        first = held.unheld[0]
        told = Sentence("stencil: at {place:.1f} {reason}", place=Mm.place(*first.place), reason=first.sentence)
        raise PromiseError(told)
    if not drop_islands and (lost := losses(bench.inside > 0.5, field > 0, bench.grid, options.web)):
        raise refusal(lost, shadow, lambda factor: _works_at(factor, shadow, sheet, options, tolerance_mm))
    if nothing_open:
        told = Sentence(
            "stencil: no opening is left with webs of {web} and openings of {opening} and {area} at least; give a "
            "larger plaque, more dark, or a smaller stencil.web and stencil.least_opening",
            web=Mm(options.web),
            opening=Mm(options.least_opening),
            area=Mm.area(LEAST_AREA_MM2),
        )
        raise PromiseError(told)
    return _described(bench, held, field, openings, options)


def _check_least_opening(shadow: Region, options: StencilOptions) -> None:
    """Raise SettingError where no shadow is as wide as the least opening."""
    _, radius = shadow.widest_spot(precision=_SPOT_MM)
    if options.least_opening >= 2 * radius:
        raise SettingError(
            "stencil.least_opening",
            Sentence(
                "{opening}: no opening is left, since the design's widest shadow is {widest:.1f} across; give less "
                "than that, or a larger plaque",
                opening=Mm(options.least_opening),
                widest=Mm(2 * radius),
            ),
        )


@dataclass(frozen=True, eq=False)
class _Bench:
    """One design on pixels: what it is, and what is asked for."""

    grid: Grid
    cover: NDArray[np.float32]
    """Share of each pixel that the whole design darkens, before anything is left out."""
    inside: NDArray[np.float32]
    """The same within the margin alone."""
    design: Field
    wishes: Wishes
    web_mm: float
    """The width that webs are built at: as asked, and what the tolerance and the pixels may take."""
    least_opening_px: float
    least_area_px: float
    holes: Region

    @classmethod
    def of(
        cls,
        shadow: Region,
        grid: Grid,
        options: StencilOptions,
        wishes: Wishes,
        tolerance_mm: float,
        holes: Region,
    ) -> _Bench:
        pixel = grid.pixel_mm
        web_mm = options.web + 2 * tolerance_mm + _PIXEL_ALLOWANCE * pixel
        cover = grid.covered(shadow)
        around_holes = grid.covered(holes.offset(web_mm, error=_HOLE_ERROR_MM))
        inside = np.minimum(_inside_margin(cover, max(options.margin, web_mm), pixel), 1 - around_holes)
        least_opening_px, least_area_px = options.least_opening / pixel, LEAST_AREA_MM2 / pixel**2
        design = design_field(inside, least_opening_px=least_opening_px, least_area_px=least_area_px)
        return cls(grid, cover, inside, design, wishes, web_mm, least_opening_px, least_area_px, holes)


def _grid(sheet: Box, options: StencilOptions) -> Grid:
    area = (sheet[2] - sheet[0]) * (sheet[3] - sheet[1])
    return Grid(sheet, max(options.web / _PIXELS_A_WEB, _LEAST_PIXEL_MM, math.sqrt(area / _MOST_PIXELS)))


def _inside_margin(cover: NDArray[np.float32], margin_mm: float, pixel_mm: float) -> NDArray[np.float32]:
    margin = math.ceil(margin_mm / pixel_mm - 1e-6)
    inside = np.zeros_like(cover)
    middle = np.s_[margin:-margin, margin:-margin]
    inside[middle] = cover[middle]
    return inside


def _held_sheet(bench: _Bench, options: StencilOptions, tolerance_mm: float) -> tuple[Held, Field, Region]:
    """Return what was done to hold the sheet, its openings as a field and as outlines."""
    held = hold_together(bench.design, bench.grid, bench.wishes, web_mm=bench.web_mm)
    least_mm = options.web + 2 * tolerance_mm
    web_px = options.web / bench.grid.pixel_mm
    for fin, link in _FRINGES:
        field = opening_field(
            bench.design,
            held.middle,
            half_web_px=bench.web_mm / 2 / bench.grid.pixel_mm,
            fringe=Fringe(fin * web_px, link * web_px),
            least_opening_px=bench.least_opening_px,
            least_area_px=bench.least_area_px,
            least_fin_px=LEAST_FIN_MM / bench.grid.pixel_mm,
        )
        openings = region_of(field, bench.grid)
        cut = openings.union(bench.holes)
        judgement = holds(cut, sheet=bench.grid.box, web=least_mm)
        if judgement:
            return held, field, openings
    fault = judgement.faults[0]
    told = Sentence(
        "stencil: no sheet was found that stays in one piece: {reason} at {place:.1f}; try a narrower web or a larger "
        "size",
        reason=fault.reason,
        place=Mm.place(*fault.place),
    )
    raise PromiseError(told)


def _works_at(factor: float, shadow: Region, sheet: Box, options: StencilOptions, tolerance_mm: float) -> bool:
    """Return whether the design scaled by ``factor`` loses nothing, on a sheet that leaves it the same border."""
    x0, y0, x1, y1 = shadow.bounds
    larger = shadow.mapped((factor, factor), (x0 * (1 - factor), y0 * (1 - factor)))
    grown = (sheet[0], sheet[1], sheet[2] + (factor - 1) * (x1 - x0), sheet[3] + (factor - 1) * (y1 - y0))
    grid = _grid(grown, options)
    wishes = Wishes((), (), drop_islands=False, keep=np.zeros(grid.shape, dtype=bool))
    bench = _Bench.of(larger, grid, options, wishes, tolerance_mm, Region.empty())
    try:
        _, field, _ = _held_sheet(bench, options, tolerance_mm)
    except PromiseError:
        return False
    return not losses(bench.inside > 0.5, field > 0, bench.grid, options.web)


def _described(bench: _Bench, held: Held, field: Field, openings: Region, options: StencilOptions) -> CutStencil:
    grid, opened = bench.grid, field > 0
    dark_lost, light_lost = lost_shares(bench.cover, np.clip(field + 0.5, 0, 1))
    notices = (
        *margin_notices(bench.cover - bench.inside, options.margin, grid),
        *held.unheld,
        *held.notices,
        *fidelity_notices(dark_lost, light_lost, grid),
    )
    return CutStencil(
        openings=openings,
        drawn=openings.offset(-options.kerf / 2, error=_KERF_ERROR_MM),
        sheet=grid.box,
        web_mm=options.web,
        kerf_mm=options.kerf,
        bridges=held.bridges,
        dark_lost_share=dark_lost,
        light_lost_share=light_lost,
        islands=tuple(dropped_islands(bench.inside > 0.5, opened, grid)),
        webs_widened=held.webs_widened,
        web_middles=grid.places(held.web_lines),
        openings_merged=merged_openings(bench.design > 0, opened, grid),
        notices=notices,
    )
