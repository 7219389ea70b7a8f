"""The stencil and the router template of one plaque, worked out and fitted."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

from shadowrout.design import trace
from shadowrout.design.board import Layout, resolution_of, sized
from shadowrout.errors import InputError, SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region
from shadowrout.job.options import Job, Plaque
from shadowrout.make.job_pictures import Pictures
from shadowrout.make.plaque import MadePlaque, check_marks, least_shadow_mm2, two_tone_design
from shadowrout.sheets.register import GRID_MM, LEAST_WOOD_MM, holes_of, inset_of
from shadowrout.sheets.router.router_template import RouterTemplate, check_template, make_router_template
from shadowrout.sheets.stencil import stencil_checks
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.sheets.stencil.making import make_stencil

DETAIL_OF_WEB = 4 / 3
"""Finest line of a stencil's own design over its web: finer ones would be lost again between webs."""

_SPOT_MM = 0.05
"""How exactly the widest shadow is measured for a message."""

SHEET_RIM_MM = 6.0
"""How far a stencil's sheet reaches past the plaque where its size isn't set and its dowel holes don't need more."""


@dataclass(frozen=True, eq=False)
class MadeStencil:
    """A stencil, the design it was made from, and its openings as lines and arcs for the beam's middle."""

    stencil: CutStencil
    shadow: Region
    paths: tuple[ArcPath, ...]


@dataclass(frozen=True, eq=False)
class MadeTemplate:
    """A router template and the openings of each of its sheets as lines and arcs."""

    template: RouterTemplate
    paths: tuple[tuple[ArcPath, ...], ...]


@dataclass(frozen=True, eq=False)
class MadeTemplates:
    """What was asked for of the two."""

    stencil: MadeStencil | None = None
    template: MadeTemplate | None = None


def check_settings(job: Job, layouts: Sequence[Layout]) -> None:
    """Raise SettingError for what a job with settled boards asks of stencils and templates that no design can have."""
    for plaque, layout in zip(job.plaques, layouts, strict=True):
        x0, y0, x1, y1 = layout.field.bounds
        if "stencil" in job.output.files:
            if job.stencil.web > min(x1 - x0, y1 - y0) / 2:
                raise SettingError(
                    "stencil.web",
                    f"{job.stencil.web:g}mm is too wide for the design of {x1 - x0:g}x{y1 - y0:g}mm on the plaque of "
                    f"{_size_of(layout)}; give less than {min(x1 - x0, y1 - y0) / 2:g}mm",
                )
            sheet = _sheet(job, plaque, layout)
            stencil_checks.check_settings(Region.empty(), sheet, job.stencil, layout.board_mm)
            _check_room_for_holes(job, plaque, layout)
            stencil_checks.check_keep_out((x0, y0, x1, y1), job.stencil)
        if "template" in job.output.files:
            check_template(job.template, job.template.islands)


def make_templates(job: Job, made: MadePlaque, *, stencil_shadow: Region | None) -> MadeTemplates:
    """Return the stencil and the router template that a settled job asks for; nothing where it asks for none.

    ``stencil_shadow`` is the stencil's own design, None where no stencil is asked for.
    """
    stencil = None if stencil_shadow is None else _made_stencil(job, made, stencil_shadow)
    template = _made_template(job, made) if "template" in job.output.files else None
    return MadeTemplates(stencil, template)


def stencil_shadow(job: Job, plaque: Plaque, layout: Layout, pictures: Pictures) -> Region | None:
    """Return the design that a stencil of a settled job is made from; None where none is asked for.

    Raises SettingError where so coarse a design can't be had, or can't be used with the stencil's settings.
    """
    if "stencil" not in job.output.files:
        return None
    shadow = _coarse_shadow(job, layout, pictures)
    stencil_checks.check_settings(shadow, _sheet(job, plaque, layout), job.stencil, layout.board_mm)
    return shadow


def _made_stencil(job: Job, made: MadePlaque, shadow: Region) -> MadeStencil:
    layout = made.design.layout
    stencil = make_stencil(
        shadow,
        sheet=_sheet(job, made.plaque, layout),
        options=job.stencil,
        tolerance_mm=job.output.tolerance,
        drop_islands=job.tone.method != "two-tone",
        plaque=layout.board_mm,
        holes=holes_of(made.marks),
    )
    paths = fit_region(stencil.drawn, tolerance=job.output.tolerance, smooth=job.output.smooth).paths
    return MadeStencil(stencil, shadow, paths)


def _coarse_shadow(job: Job, layout: Layout, pictures: Pictures) -> Region:
    """Return a design of the plaque whose finest line suits the web: a stencil isn't the carved drawing with gaps.

    Where so coarse a design can't have the share of dark that the carved one has, it has the nearest that it can.
    """
    detail = max(job.tone.detail or 0.0, DETAIL_OF_WEB * job.stencil.web)
    coarse = dataclasses.replace(job, tone=dataclasses.replace(job.tone, detail=detail))
    resolution = resolution_of(layout, detail_mm=job.tone.detail or detail)
    least = _least_mm2(coarse)
    try:
        mask = two_tone_design(
            coarse, pictures.photo, resolution, touch_up=pictures.touch_up, or_nearest=True, least_mm2=least
        )
        return sized(trace.outline_of(mask), layout, least_area_mm2=least).shadow
    except (SettingError, InputError):
        raise SettingError(
            "stencil.web",
            f"{job.stencil.web:g}mm asks for a design so coarse that nothing of the picture is left on a plaque of "
            f"{_size_of(layout)}; give a narrower web, or a larger plaque",
        ) from None


def _size_of(layout: Layout) -> str:
    x0, y0, x1, y1 = layout.board_mm
    return f"{x1 - x0:g}x{y1 - y0:g}mm"


def _least_mm2(coarse: Job) -> float:
    """Return the area under which a stencil's design leaves shadows and lights out.

    Letters and clip art keep theirs as long as they are a web wide, since none of them may be lost unsaid: what the
    stencil can't hold is refused. A photo's are worth as much as a finest line.
    """
    least = least_shadow_mm2(coarse)
    return min(least, coarse.stencil.web**2) if coarse.tone.method == "two-tone" else least


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


def _check_room_for_holes(job: Job, plaque: Plaque, layout: Layout) -> None:
    """Raise SettingError where a sheet of the size that was set has no web for dowel holes, wherever they come."""
    if not (job.stencil.sheet and job.register.dowel):
        return
    x0, y0, x1, y1 = _sheet(job, plaque, layout)
    rim = _web_of_holes(job) - LEAST_WOOD_MM
    far = Region.box((x0 - rim, y0 - rim, x1 + rim, y1 + rim))
    try:
        check_marks(job, layout, shadow=far.difference(Region.box((x0 + rim, y0 + rim, x1 - rim, y1 - rim))))
    except SettingError:
        width, height = _sheet_that_fits_mm(job, plaque)
        raise SettingError(
            "stencil.sheet",
            f"a sheet of {x1 - x0:g}x{y1 - y0:g}mm leaves less than {job.stencil.web:g}mm beside dowel holes of "
            f"{job.register.dowel:g}mm; give {width:g}x{height:g}mm or more, or none for one that fits",
        ) from None


def _sheet(job: Job, plaque: Plaque, layout: Layout) -> Box:
    """Return the sheet around the middle of the board."""
    x0, y0, x1, y1 = layout.board_mm
    width, height = stencil_sheet_mm(job, plaque)
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def _made_template(job: Job, made: MadePlaque) -> MadeTemplate:
    if not made.plan.pockets:
        cutters = " and ".join(f"{cutter.diameter:g}mm" for cutter in job.cutters)
        make = "make" if len(job.cutters) > 1 else "makes"
        _, radius = made.design.shadow.widest_spot(precision=_SPOT_MM)
        raise SettingError(
            "cutter.diameter",
            f"{cutters} {make} no pocket on {made.plaque.name}, so that a template has nothing to guide; the widest "
            f"shadow is {2 * radius:.1f}mm across: give a smaller cutter, a larger plaque, more dark, or leave "
            "template out of output.files",
        )
    template = make_router_template(
        [pocket.wall for pocket in made.plan.pockets],
        depth_mm=max((pocket.depth_mm for pocket in made.plan.pockets), default=0.0),
        plaque=made.design.layout.board_mm,
        options=job.template,
        tolerance_mm=job.output.tolerance,
        islands=job.template.islands,
        marks=made.marks,
    )
    tolerance, smooth = job.output.tolerance, job.output.smooth
    paths = tuple(fit_region(sheet, tolerance=tolerance, smooth=smooth).paths for sheet in template.openings)
    return MadeTemplate(template, paths)
