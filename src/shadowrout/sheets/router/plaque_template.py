"""The router template of one plaque, its openings as lines and arcs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shadowrout.carving.plaque_carving import PlaqueCarving
from shadowrout.design.board import Design
from shadowrout.errors import SettingError
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.sheets.register import RegisterMark
from shadowrout.sheets.router.guarding import ERROR_MM
from shadowrout.sheets.router.router_template import RouterTemplate, drawn_within_mm, make_router_template
from shadowrout.words.sentences import Mm, Sentence

_ERROR_SHARE = 0.05
"""The same as a share of the tolerance, for where that is tight."""
_SPOT_MM = 0.05
"""How exactly the widest shadow is measured for a message."""


@dataclass(frozen=True, eq=False)
class PlaqueTemplate:
    """A router template and the openings of each of its sheets as lines and arcs."""

    template: RouterTemplate
    paths: tuple[tuple[ArcPath, ...], ...]


def template_of(job: Job, design: Design, carving: PlaqueCarving, marks: Sequence[RegisterMark]) -> PlaqueTemplate:
    """Return the template that guides a router over the pockets of a settled job's carving.

    What it may cut lies within the tolerance of the design and of the shadow as written.

    Raises SettingError where there are none, and the errors of ``make_router_template``.
    """
    pockets, tolerance = carving.plan.pockets, job.output.tolerance
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
        tolerance_mm=tolerance,
        may_cut=_may_cut(design.shadow, carving.written, tolerance),
        islands=job.template.islands,
        marks=marks,
    )
    drawn_within, smooth = drawn_within_mm(tolerance), job.output.smooth
    paths = tuple(fit_region(sheet, tolerance=drawn_within, smooth=smooth).paths for sheet in template.openings)
    return PlaqueTemplate(template, paths)


def _may_cut(design: Region, written: Region, tolerance_mm: float) -> Region:
    """Return what lies within the tolerance of both shadows, less by what its own errors add."""
    error = min(ERROR_MM, _ERROR_SHARE * tolerance_mm)
    near = (s.simplified(error).offset(tolerance_mm - 2 * error, error=error) for s in (design, written))
    return next(near).intersection(next(near))
