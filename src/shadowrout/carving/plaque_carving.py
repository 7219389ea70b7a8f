"""How one plaque is carved, from its design to lines and arcs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shadowrout.carving.carve_paths import CarvePaths, as_fitted, carve_paths, shadow_as_cut
from shadowrout.carving.cuts import CutShadow
from shadowrout.carving.fragile_light import grain_on
from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.streams import Directions
from shadowrout.design.board import Design, on_board
from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.job.settled import settled

_ROUNDING_MM = 0.001
"""What rounding in a writer may add to a deviation."""

_FLATNESS_MM = 0.005
"""How far arcs, flattened for the plan, may lie from themselves: what is planned then agrees with them to 0.01 mm."""
_FLATNESS_SHARE = 0.1
"""The same as a share of the tolerance, for where that is tight."""


@dataclass(frozen=True, eq=False)
class PlaqueCarving:
    """A plan, its paths, the shadow as written, how far that and the design are apart, both ways, and what is cut."""

    plan: Plan
    paths: CarvePaths
    written: Region
    deviation_mm: float
    cut: CutShadow


def carve_plaque(
    job: Job, design: Design, *, directions: Directions | None, step: Callable[[str], None]
) -> PlaqueCarving:
    """Return how a design of a settled job is carved; ``step`` is told the name of each step as it starts.

    Outlines are fitted first, and the plan works on them as they will be written, so that what is cut agrees with
    them. Flow lines are made along ``directions``, where they are given. Raises the errors of ``plan_carving``, and
    PromiseError where no sound fit exists.
    """
    step("lines and arcs")
    tolerance, smooth = job.output.tolerance, job.output.smooth
    fitted = fit_region(design.shadow, tolerance=tolerance - _ROUNDING_MM, smooth=smooth)
    step("pockets and V lines")
    plaque = design.layout.plaque
    flatness = min(_FLATNESS_MM, _FLATNESS_SHARE * tolerance)
    written = on_board(as_fitted(design.shadow, fitted.paths, flatness), design.layout)
    plan = plan_carving(
        written,
        thickness_mm=plaque.thickness,
        finish=job.finish,
        cutters=job.cutters,
        v_tool=job.v_tool,
        tolerance_mm=tolerance,
        directions=directions,
        grain=grain_on(settled(plaque.size), job.wood.grain),
    )
    paths = carve_paths(plan, fitted.paths, tolerance_mm=tolerance, v_angle_deg=job.v_tool.angle, smooth=smooth)
    return PlaqueCarving(plan, paths, written, fitted.deviation, shadow_as_cut(paths, written, flatness_mm=flatness))
