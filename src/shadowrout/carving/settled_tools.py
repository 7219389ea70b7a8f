"""What a job leaves open about its tools, settled from its other settings alone: no picture is needed."""

from __future__ import annotations

import dataclasses
import math

from shadowrout.carving.depths import check_sizes, deeper_depth_mm, half_angle_tan, pocket_depth_mm, v_reach_mm
from shadowrout.errors import SettingError
from shadowrout.job.options import Cutter, Finish, Job, VTool

LEAST_VISIBLE_MM = 0.5
"""The narrowest stroke that reads as a line on the wall (common practice, no source)."""


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
