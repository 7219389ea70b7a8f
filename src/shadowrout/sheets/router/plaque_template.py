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
from shadowrout.words.sentences import Mm, Sentence

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
        cutters = [Sentence("{cutter}", cutter=Mm(cutter.diameter)) for cutter in job.cutters]
        make = "make" if len(job.cutters) > 1 else "makes"
        _, radius = design.shadow.widest_spot(precision=_SPOT_MM)
        raise SettingError(
            "cutter.diameter",
            Sentence(
                "{cutters} {make} no pocket on {plaque}, so that a template has nothing to guide; the widest shadow is "
                "{widest:.1f} across: give a smaller cutter, a larger plaque, more dark, or leave template out of "
                "output.files",
                cutters=Sentence.joined(cutters, " and "),
                make=make,
                plaque=str(design.layout.plaque.name),
                widest=Mm(2 * radius),
            ),
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
