"""What the job leaves open about its boards and tools is settled here, from its other settings.

The result says every setting, so that making it again gives the same files.
"""

from __future__ import annotations

import dataclasses
import math

from shadowrout.carving.cutters import check_sizes
from shadowrout.carving.depths import deeper_depth_mm, half_angle_tan, pocket_depth_mm, v_reach_mm
from shadowrout.errors import SettingError
from shadowrout.job.job_unit import unit_of
from shadowrout.job.limits import GREATEST_SIDE_MM, LEAST_SIDE_MM
from shadowrout.job.options import Cutter, Finish, Job, Plaque, VTool
from shadowrout.job.sheet_options import RegisterOptions
from shadowrout.words.units import MM_PER_INCH, written_size

LONG_SIDE_MM = 200.0
_DOWELS_MM = {"mm": (6.0, 2.0, 1.0), "in": (MM_PER_INCH / 4, MM_PER_INCH / 8, MM_PER_INCH / 16)}
"""The dowel where there is room, the least one, and the step between: as a shop in either unit can buy them (common
practice, no source)."""

_WOOD_BESIDE_MM = 2.0
"""Wood left on both sides of a dowel whose size the program chooses (common practice, no source)."""

LEAST_VISIBLE_MM = 0.5
"""The narrowest stroke that reads as a line on the wall (common practice, no source)."""


def settled_boards(job: Job, *, aspect: float) -> Job:
    """Return the job with every plaque's size and name, the unit and the paper.

    ``aspect`` is the picture's width / height. A shop that writes its first size in inches gets its files in inches,
    and its patterns on letter paper. Raises SettingError where two plaques would share a folder.
    """
    plaques = tuple(_settled_plaque(plaque, aspect) for plaque in job.plaques)
    seen: set[str] = set()
    for plaque in plaques:
        name = str(plaque.name)
        if name.casefold() in seen:
            raise SettingError("plaque.name", f"two plaques are called {name!r}; give each a name of its own")
        seen.add(name.casefold())
    margin = min(plaque.margin for plaque in plaques)
    unit = unit_of(job)
    return dataclasses.replace(
        job,
        plaques=plaques,
        pattern=dataclasses.replace(job.pattern, paper=job.pattern.paper or ("letter" if unit == "in" else "A4")),
        register=_settled_register(job.register, margin, unit),
        output=dataclasses.replace(job.output, unit=unit),
    )


def _settled_register(register: RegisterOptions, margin_mm: float, unit: str) -> RegisterOptions:
    """Return the register with a dowel that the margin has room for, with wood left on both sides; 0 where none."""
    if register.dowel is not None:
        return register
    usual, least, step = _DOWELS_MM[unit]
    room = math.floor((margin_mm - 2 * _WOOD_BESIDE_MM) / step + 1e-9) * step
    return dataclasses.replace(register, dowel=min(usual, room) if room >= least else 0.0)


def _settled_plaque(plaque: Plaque, aspect: float) -> Plaque:
    size = plaque.size or _size_for(plaque, aspect)
    return dataclasses.replace(plaque, size=size, name=plaque.name or written_size(size))


def _size_for(plaque: Plaque, aspect: float) -> tuple[float, float]:
    """Return a board of LONG_SIDE_MM whose field within the margin has the picture's proportions."""
    if plaque.shape == "round":
        return LONG_SIDE_MM, LONG_SIDE_MM
    field = max(LONG_SIDE_MM - 2 * plaque.margin, LEAST_SIDE_MM)
    short = float(round(field * min(aspect, 1 / aspect) + 2 * plaque.margin))
    short = min(max(short, LEAST_SIDE_MM), GREATEST_SIDE_MM)
    return (LONG_SIDE_MM, short) if aspect >= 1 else (short, LONG_SIDE_MM)


def settled_tools(job: Job) -> Job:
    """Return the job with the finest line and with every cutter's depth, passes and least pocket.

    Depths must suit the thinnest board, since the tools are set once; raises SettingError where one can't, for
    two cutters of one size, and for deeper pockets beside a router template, which guides to one depth.
    """
    if job.finish.deeper_from is not None and "template" in job.output.files:
        problem = "a router template guides every pocket to one depth; leave this unset, or template out"
        raise SettingError("finish.deeper_from", f"{problem} of output.files")
    detail = finest_line_mm(job.v_tool, job.finish) if job.tone.detail is None else job.tone.detail
    thinnest = min(plaque.thickness for plaque in job.plaques)
    largest_first = sorted(job.cutters, key=lambda cutter: -cutter.diameter)
    check_sizes(cutter.diameter for cutter in job.cutters)
    cutters = tuple(_settled_cutter(cutter, job.finish, thinnest) for cutter in largest_first)
    v_reach_mm(job.v_tool, finish=job.finish, thickness_mm=thinnest)  # refused here, before anything is made
    return dataclasses.replace(job, tone=dataclasses.replace(job.tone, detail=detail), cutters=cutters)


def finest_line_mm(v_tool: VTool, finish: Finish) -> float:
    """Return the finest line worth drawing, rounded up to 0.05 mm.

    It still leaves a stroke of LEAST_VISIBLE_MM when the sanding takes half as much again as planned: a V
    groove loses 2 tan(A/2) of width for each millimetre sanded.
    """
    lost = 2 * half_angle_tan(v_tool.angle) * finish.sanding_loss / 2
    return round(math.ceil((LEAST_VISIBLE_MM + lost) / 0.05 - 1e-9) * 0.05, 2)


def _settled_cutter(cutter: Cutter, finish: Finish, thickness_mm: float) -> Cutter:
    area = math.pi * cutter.diameter**2 / 4
    depth = pocket_depth_mm(cutter, finish=finish, thickness_mm=thickness_mm)
    deeper_depth_mm(depth, finish=finish, thickness_mm=thickness_mm)  # refused here, before anything is made
    return dataclasses.replace(
        cutter,
        depth=math.floor(depth * 1e6 + 1e-3) / 1e6,  # a length that a job file can hold, and no deeper
        depth_per_pass=round(cutter.depth_per_pass or cutter.diameter / 2, 6),
        least_pocket=round(3 * area, 2) if cutter.least_pocket is None else cutter.least_pocket,
    )
