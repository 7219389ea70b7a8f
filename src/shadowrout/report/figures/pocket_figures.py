"""The pockets as a machine takes them, and the cutters that have none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shadowrout.carving.pockets import Pocket
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.report.figures.precision import fine, hundredth, place, tenth

_SPOT_MM = 0.02
"""How exactly the widest shadow is measured for a cutter that finds none wide enough: about as it is told."""


@dataclass(frozen=True)
class PocketFigures:
    """One pocket."""

    number: int
    """The one that drawing and pattern have in it."""
    place_mm: tuple[float, float]
    """A point on its cutter's path, so within its wall."""
    depth_mm: float
    cutter_mm: float
    passes: int
    area_mm2: float
    """Of its floor, up to the wall."""
    volume_mm3: float
    cutter_path_mm: float
    """Once round the lines that the cutter's centre follows, as written."""


@dataclass(frozen=True)
class IdleCutter:
    """A cutter without a pocket: the width that it needs, its allowance included, and that of the widest shadow."""

    cutter_mm: float
    needs_mm: float
    widest_shadow_mm: float
    least_pocket_mm2: float


def pocket_figures(pocket: Pocket, cutter_path: Iterable[ArcPath]) -> PocketFigures:
    """Return the figures of a pocket whose cutter's centre follows the fitted ``cutter_path``, of one ring or more."""
    paths = tuple(cutter_path)
    x, y = paths[0].vertices[0].tolist()
    return PocketFigures(
        number=pocket.number,
        place_mm=place((x, y)),
        depth_mm=fine(pocket.depth_mm),
        cutter_mm=pocket.cutter_mm,
        passes=pocket.passes,
        area_mm2=hundredth(pocket.wall.area),
        volume_mm3=tenth(pocket.volume_mm3),
        cutter_path_mm=tenth(sum(float(path.lengths.sum()) for path in paths)),
    )


def idle_cutters(job: Job, pockets: Sequence[Pocket], shadow: Region) -> tuple[IdleCutter, ...]:
    """Return the cutters of a job that have no pocket; none where nothing is carved."""
    if job.output.files == ("stencil",):
        return ()
    used = {pocket.cutter_mm for pocket in pockets}
    idle = [cutter for cutter in job.cutters if cutter.diameter not in used]
    if not idle:
        return ()
    _, radius = shadow.widest_spot(precision=_SPOT_MM)
    return tuple(
        IdleCutter(
            cutter_mm=cutter.diameter,
            needs_mm=fine(cutter.diameter + 2 * cutter.finishing_allowance),
            widest_shadow_mm=hundredth(2 * radius),
            least_pocket_mm2=cutter.least_pocket or 0.0,
        )
        for cutter in idle
    )
