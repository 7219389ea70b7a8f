"""The stencil of one plaque: its sheet, its openings as lines and arcs, and what is refused before any work."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shadowrout.design.board import Layout
from shadowrout.errors import SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region
from shadowrout.job.options import Job, Plaque
from shadowrout.sheets.plaque_marks import check_marks
from shadowrout.sheets.register import GRID_MM, LEAST_WOOD_MM, RegisterMark, holes_of, inset_of
from shadowrout.sheets.stencil import stencil_checks
from shadowrout.sheets.stencil.making import make_stencil
from shadowrout.sheets.stencil.stencil_values import Stencil

SHEET_RIM_MM = 6.0
"""How far a stencil's sheet reaches past the plaque where its size isn't set and its dowel holes don't need more."""


@dataclass(frozen=True, eq=False)
class PlaqueStencil:
    """A stencil, the design it was made from, and its openings as lines and arcs for the beam's middle."""

    stencil: Stencil
    shadow: Region
    paths: tuple[ArcPath, ...]


def refuse_stencil(job: Job, layout: Layout) -> None:
    """Raise SettingError for what a job with settled boards asks of a stencil that no design can have."""
    x0, y0, x1, y1 = layout.field.bounds
    if job.stencil.web > min(x1 - x0, y1 - y0) / 2:
        raise SettingError(
            "stencil.web",
            f"{job.stencil.web:g}mm is too wide for the design of {x1 - x0:g}x{y1 - y0:g}mm on the plaque of "
            f"{layout.board_words}; give less than {min(x1 - x0, y1 - y0) / 2:g}mm",
        )
    stencil_checks.check_settings(Region.empty(), _sheet(job, layout), job.stencil, layout.board_mm)
    _check_room_for_holes(job, layout)
    stencil_checks.check_keep_out((x0, y0, x1, y1), job.stencil)


def check_coarse(job: Job, layout: Layout, shadow: Region) -> None:
    """Raise SettingError where a stencil's own coarse design can't be used with its settings."""
    stencil_checks.check_settings(shadow, _sheet(job, layout), job.stencil, layout.board_mm)


def stencil_of(job: Job, layout: Layout, shadow: Region, marks: Sequence[RegisterMark]) -> PlaqueStencil:
    """Return the stencil of a settled job's plaque from its coarse design; its holes are those of ``marks``."""
    stencil = make_stencil(
        shadow,
        sheet=_sheet(job, layout),
        options=job.stencil,
        tolerance_mm=job.output.tolerance,
        drop_islands=job.tone.method != "two-tone",
        plaque=layout.board_mm,
        holes=holes_of(marks),
    )
    paths = fit_region(stencil.drawn, tolerance=job.output.tolerance, smooth=job.output.smooth).paths
    return PlaqueStencil(stencil, shadow, paths)


def stencil_sheet_mm(job: Job, plaque: Plaque) -> tuple[float, float]:
    """Return width and height of a stencil's sheet for a settled plaque: as set, or large enough for its holes."""
    return job.stencil.sheet or _sheet_that_fits_mm(job, plaque)


def _sheet_that_fits_mm(job: Job, plaque: Plaque) -> tuple[float, float]:
    """Return the plaque's size with a rim that leaves a web between the dowel holes and the sheet's edge."""
    width, height = plaque.size or (0.0, 0.0)
    rim = SHEET_RIM_MM
    if dowel := job.register.dowel:
        beside = inset_of(plaque.margin, dowel_mm=dowel, inset_mm=job.register.inset) - dowel / 2
        rim = max(rim, math.ceil(_web_of_holes(job) + GRID_MM - beside - 1e-6))
    return width + 2 * rim, height + 2 * rim


def _web_of_holes(job: Job) -> float:
    return job.stencil.web + 2 * job.output.tolerance


def _check_room_for_holes(job: Job, layout: Layout) -> None:
    """Raise SettingError where a sheet of the size that was set has no web for dowel holes, wherever they come."""
    if not (job.stencil.sheet and job.register.dowel):
        return
    x0, y0, x1, y1 = _sheet(job, layout)
    rim = _web_of_holes(job) - LEAST_WOOD_MM
    far = Region.box((x0 - rim, y0 - rim, x1 + rim, y1 + rim))
    try:
        check_marks(job, layout, shadow=far.difference(Region.box((x0 + rim, y0 + rim, x1 - rim, y1 - rim))))
    except SettingError:
        width, height = _sheet_that_fits_mm(job, layout.plaque)
        raise SettingError(
            "stencil.sheet",
            f"a sheet of {x1 - x0:g}x{y1 - y0:g}mm leaves less than {job.stencil.web:g}mm beside dowel holes of "
            f"{job.register.dowel:g}mm; give {width:g}x{height:g}mm or more, or none for one that fits",
        ) from None


def _sheet(job: Job, layout: Layout) -> Box:
    """Return the sheet around the middle of the board."""
    x0, y0, x1, y1 = layout.board_mm
    width, height = stencil_sheet_mm(job, layout.plaque)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2
