"""The plan of a carving: its pockets, V lines and flow lines, what sanding leaves of them, and the light at risk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shadowrout.carving.depths import v_reach_mm
from shadowrout.carving.flow_lines import FlowLine, find_flow_lines
from shadowrout.carving.fragile_light import Grain, LightRidge, find_fragile_light
from shadowrout.carving.pockets import Pocket, find_pockets, find_rest
from shadowrout.carving.sanding import SandingForecast, forecast
from shadowrout.carving.streams import Directions
from shadowrout.carving.v_lines import STEP_MM, VLine, find_v_lines
from shadowrout.geometry.medial import Boundary, medial_axes
from shadowrout.geometry.region import Region

if TYPE_CHECKING:
    from shadowrout.job.options import Cutter, Finish, VTool


@dataclass(frozen=True, eq=False)
class Plan:
    """How a shadow is carved. All lengths in millimetres.

    ``rest`` is the shadow that no cutter reaches, ``v_lines`` cut it in the order given. ``flow_lines`` are cut into
    the pockets' floors.
    ``fragile_light`` is the narrow light between recesses, first in the ranking first, in wood whose grain runs along
    ``grain``.
    """

    pockets: tuple[Pocket, ...]
    rest: Region
    v_lines: tuple[VLine, ...]
    sanding: SandingForecast
    flow_lines: tuple[FlowLine, ...] = ()
    fragile_light: tuple[LightRidge, ...] = ()
    grain: Grain = "along-width"


def plan_carving(
    shadow: Region,
    *,
    thickness_mm: float,
    finish: Finish,
    cutters: Sequence[Cutter],
    v_tool: VTool,
    tolerance_mm: float,
    directions: Directions | None = None,
    grain: Grain = "along-width",
) -> Plan:
    """Return the plan for a shadow in mm, y up; no pockets and no lines for an empty one.

    Cutters work from the largest to the smallest, whatever their order. Flow lines are made along ``directions``,
    where they are given. Raises SettingError where a depth would not outlast the sanding or would leave too little of
    the board.
    """
    reach_mm = v_reach_mm(v_tool, finish=finish, thickness_mm=thickness_mm)
    # Outlines come at pixel density: a twentieth of the tolerance leaves the arc fit the room it needs.
    outline = shadow.simplified(0.05 * tolerance_mm)
    pockets = find_pockets(
        outline, cutters=cutters, finish=finish, thickness_mm=thickness_mm, tolerance_mm=tolerance_mm
    )
    rest = find_rest(outline, pockets)
    boundary = Boundary.of(outline, step_mm=STEP_MM)
    axes = medial_axes(outline, boundary, step_mm=STEP_MM)
    v_lines = find_v_lines(
        outline,
        rest,
        pockets,
        boundary=boundary,
        axis=axes.inside,
        reach_mm=reach_mm,
        angle_deg=v_tool.angle,
        sanding_loss_mm=finish.sanding_loss,
    )
    return Plan(
        pockets=pockets,
        rest=rest,
        v_lines=v_lines,
        sanding=forecast(v_lines, planned_mm=finish.sanding_loss, angle_deg=v_tool.angle),
        flow_lines=_flow_lines(pockets, directions, v_tool, thickness_mm),
        fragile_light=find_fragile_light(
            axes.outside,
            pockets,
            v_lines,
            grain=grain,
            angle_deg=v_tool.angle,
            sanding_loss_mm=finish.sanding_loss,
        ),
        grain=grain,
    )


def _flow_lines(
    pockets: Sequence[Pocket], directions: Directions | None, v_tool: VTool, thickness_mm: float
) -> tuple[FlowLine, ...]:
    if directions is None:
        return ()
    return find_flow_lines(
        pockets, directions, spacing_mm=v_tool.flow_spacing, angle_deg=v_tool.angle, thickness_mm=thickness_mm
    )
