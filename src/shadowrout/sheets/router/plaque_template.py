"""The router template of one plaque, its openings as lines and arcs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shadowrout.carving.pockets import Pocket
from shadowrout.design.board import Design
from shadowrout.errors import SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.job.options import Job
from shadowrout.sheets.register import RegisterMark
from shadowrout.sheets.router.router_template import RouterTemplate, make_router_template

_SPOT_MM = 0.05
"""How exactly the widest shadow is measured for a message."""


@dataclass(frozen=True, eq=False)
class PlaqueTemplate:
    """A router template and the openings of each of its sheets as lines and arcs."""

    template: RouterTemplate
    paths: tuple[tuple[ArcPath, ...], ...]


def template_of(job: Job, design: Design, pockets: Sequence[Pocket], marks: Sequence[RegisterMark]) -> PlaqueTemplate:
    """Return the template that guides a router over a settled job's pockets.

    Raises SettingError where there are none, and the errors of ``make_router_template``.
    """
    if not pockets:
        cutters = " and ".join(f"{cutter.diameter:g}mm" for cutter in job.cutters)
        make = "make" if len(job.cutters) > 1 else "makes"
        _, radius = design.shadow.widest_spot(precision=_SPOT_MM)
        raise SettingError(
            "cutter.diameter",
            f"{cutters} {make} no pocket on {design.layout.plaque.name}, so that a template has nothing to guide; the "
            f"widest shadow is {2 * radius:.1f}mm across: give a smaller cutter, a larger plaque, more dark, or leave "
            "template out of output.files",
        )
    template = make_router_template(
        [pocket.wall for pocket in pockets],
        depth_mm=max((pocket.depth_mm for pocket in pockets), default=0.0),
        plaque=design.layout.board_mm,
        options=job.template,
        tolerance_mm=job.output.tolerance,
        islands=job.template.islands,
        marks=marks,
    )
    tolerance, smooth = job.output.tolerance, job.output.smooth
    paths = tuple(fit_region(sheet, tolerance=tolerance, smooth=smooth).paths for sheet in template.openings)
    return PlaqueTemplate(template, paths)
