"""The register marks of one plaque, where they have room."""

from __future__ import annotations

from collections.abc import Sequence

from shadowrout.carving.pockets import Pocket
from shadowrout.design.board import Layout
from shadowrout.errors import SettingError
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.sheets.register import RegisterMark, check_room, register_marks
from shadowrout.sheets.router.placing import kept_for_openings


def check_marks(job: Job, layout: Layout, *, shadow: Region | None = None) -> None:
    """Raise SettingError where the job's register marks have no room on a board, or none beside its ``shadow``."""
    check_room(
        layout,
        dowel_mm=job.register.dowel or 0.0,
        inset_mm=job.register.inset,
        keep_clear=Region.empty() if shadow is None else shadow,
    )


def marks_of(job: Job, layout: Layout, shadow: Region, pockets: Sequence[Pocket]) -> tuple[RegisterMark, ...]:
    """Return register marks that a router template could have too or, where there is no room for such, the board.

    They don't depend on whether a template is made, so that one made later fits the board.
    """
    walls = [pocket.wall for pocket in pockets]
    kept = kept_for_openings(walls, job.template, tolerance_mm=job.output.tolerance)
    try:
        return _marks_clear_of(job, layout, shadow.union(kept))
    except SettingError:
        return _marks_clear_of(job, layout, shadow)


def _marks_clear_of(job: Job, layout: Layout, keep_clear: Region) -> tuple[RegisterMark, ...]:
    return register_marks(
        layout, dowel_mm=job.register.dowel or 0.0, inset_mm=job.register.inset, keep_clear=keep_clear
    )
