"""The figures of a job, as plain values and as the text of numbers.json."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from shadowrout import __version__
from shadowrout.carving.carve_paths import PocketPaths
from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.plan import Plan
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.drawing.paper.pattern import pattern_tiling
from shadowrout.geometry.arcs import PathFigures
from shadowrout.geometry.region import Box, Region, parts_meeting
from shadowrout.job.options import Job
from shadowrout.make.plaque import MadePlaque
from shadowrout.report.figures.amounts import Amounts
from shadowrout.report.figures.stroke_classes import first_to_go, width_classes
from shadowrout.report.figures.times import Task
from shadowrout.report.jobsheet.fragile_section import fragile_figures
from shadowrout.sheets.register import RegisterMark, distances
from shadowrout.sheets.router.plaque_template import PlaqueTemplate
from shadowrout.sheets.stencil.plaque_stencil import PlaqueStencil

_DECIMALS = 4
_NUMBERS = re.compile(r"\[\n[-+.\deE,\s]+\]")
"""A list of numbers alone, a line for each; no text holds one, since a line's end is escaped in it."""

_LEAST_LEFT_MM2 = 0.5

_SPOT_MM = 0.02
"""How exactly the widest shadow is measured for a cutter that finds none wide enough."""


@dataclass(frozen=True, eq=False)
class Finished:
    """One plaque as it was worked out, its files by name, what it takes and how long."""

    made: MadePlaque
    files: Mapping[str, bytes]
    amounts: Amounts
    tasks: tuple[Task, ...]


def numbers(
    job: Job, plaques: Sequence[Finished], *, notes: Sequence[str], stock: Sequence[dict[str, Any]] = ()
) -> dict[str, Any]:
    """Return all figures of a finished job as plain values; lengths in mm, areas in mm2, shares from 0 to 1.

    ``notes`` are sentences on what was assumed while the picture was read, ``stock`` the figures of what is laid out
    on stock.
    """
    return {
        "program": f"shadowrout {__version__}",
        "picture": job.picture.file.name,
        "notes": list(notes),
        "method": job.tone.method,
        "detail_mm": job.tone.detail,
        "tolerance_mm": job.output.tolerance,
        "unit": job.output.unit,
        "plaques": [_plaque_numbers(job, finished) for finished in plaques],
        "stock": list(stock),
    }


def as_json(figures: dict[str, Any]) -> str:
    """Return the figures as indented JSON text (RFC 8259), each list of numbers on one line."""
    text = json.dumps(figures, indent=2, ensure_ascii=False, allow_nan=False)
    return _NUMBERS.sub(lambda found: "[" + " ".join(found[0][1:-1].split()) + "]", text) + "\n"


def _plaque_numbers(job: Job, finished: Finished) -> dict[str, Any]:
    made = finished.made
    width, height = made.plaque.size or (0.0, 0.0)
    outlines = PathFigures.of(made.carving.paths.shadow)
    return {
        "name": made.plaque.name,
        "size_mm": [width, height],
        "shape": made.plaque.shape,
        "thickness_mm": made.plaque.thickness,
        "picture_box_mm": _rounded(made.layout.picture_box_mm),
        "pixel_mm": round(made.drawn.mask.pixel_mm, _DECIMALS),
        "dark_share": round(made.drawn.design.dark_share, _DECIMALS),
        "shadows": len(made.drawn.design.shadow),
        "specks_removed": made.drawn.mask.specks_removed,
        "pinholes_filled": made.drawn.mask.pinholes_filled,
        "slivers_dropped": made.drawn.design.slivers_dropped,
        "widths": _width_numbers(made.drawn.widths),
        "pockets": [_pocket_numbers(pocket) for pocket in made.carving.paths.pockets],
        "idle_cutters": _idle_cutter_numbers(job, made),
        "rest_share": round(made.carving.plan.rest.area / made.drawn.design.shadow.area, _DECIMALS),
        "uncut_share": round(made.carving.plan.uncut_share, _DECIMALS),
        "v_lines": _v_line_numbers(made.carving.plan),
        "flow_lines": _flow_line_numbers(made.carving.plan.flow_lines),
        "fragile_light": fragile_figures(made.carving.plan),
        "outlines": {**_path_numbers(outlines), "largest_deviation_mm": round(made.carving.deviation_mm, _DECIMALS)},
        "register": _register_numbers(made.marks),
        "stencil": _stencil_numbers(made.stencil, made.drawn.design.shadow),
        "template": _template_numbers(made.template),
        "pattern": _pattern_numbers(job, made.layout.board_mm),
        "amounts": _amount_numbers(finished.amounts),
        "times": [{"name": t.name, "minutes": round(t.minutes, 2), "by": t.by} for t in finished.tasks],
        "files": list(finished.files),
    }


def _width_numbers(report: WidthReport) -> dict[str, Any]:
    """Return what became of the strokes below the finest line; lengths along their middle lines."""
    return {
        "finest_mm": report.finest_mm,
        "kept_mm": round(sum(s.length_mm for s in report.kept), 1),
        "widened": len(report.widened),
        "widened_mm": round(sum(s.length_mm for s in report.widened), 1),
        "dropped": [
            {
                "place_mm": [round(c, 1) for c in stretch.place],
                "width_mm": round(stretch.width_mm, 2),
                "length_mm": round(stretch.length_mm, 1),
            }
            for stretch in report.dropped
        ],
        "dropped_mm": round(sum(s.length_mm for s in report.dropped), 1),
    }


def _register_numbers(marks: tuple[RegisterMark, ...]) -> dict[str, Any]:
    """Return where the register marks are and how far apart; empty without marks."""
    if not marks:
        return {}
    return {
        "dowel_mm": marks[0].dowel_mm,
        "marks": [{"mark": m.name, "x_mm": m.centre[0], "y_mm": m.centre[1]} for m in marks],
        "distances": [
            {"between": f"{d.first} and {d.second}", "length_mm": round(d.length_mm, _DECIMALS)}
            for d in distances(marks)
        ],
    }


def _stencil_numbers(made: PlaqueStencil | None, carved: Region) -> dict[str, Any]:
    """Return what holds the stencil together and what that cost; empty without a stencil.

    ``dark_lost_share`` is of the stencil's own coarse design, ``carved_dark_closed_share`` of the carved one's shadow;
    ``carved_islands_open`` are the carved design's islands of light that are dark in it, ``carved_shadows_closed``
    its shadows of which nothing is open.
    """
    if made is None:
        return {}
    stencil = made.stencil
    closed = carved.difference(stencil.openings).area / carved.area
    return {
        "carved_dark_closed_share": round(closed, _DECIMALS),
        "carved_islands_open": _islands_open(carved, made.shadow),
        "carved_shadows_closed": _left_without(carved, carved.intersection(stencil.openings)),
        "sheet_mm": _rounded(stencil.sheet),
        "web_mm": stencil.web_mm,
        "kerf_mm": stencil.kerf_mm,
        "openings": len(stencil.openings),
        "bridges": len(stencil.bridges),
        "bridge_length_mm": round(stencil.bridge_length_mm, 1),
        "dark_lost_share": round(stencil.dark_lost_share, _DECIMALS),
        "light_lost_share": round(stencil.light_lost_share, _DECIMALS),
        "islands_dropped": [
            {"place_mm": [round(c, 1) for c in island.place], "area_mm2": round(island.area_mm2, 1)}
            for island in stencil.islands
        ],
        "webs_widened": stencil.webs_widened,
        "openings_merged": stencil.openings_merged,
        "notices": [
            {"place_mm": [round(c, 1) for c in notice.place], "sentence": notice.sentence} for notice in stencil.notices
        ],
    }


def _islands_open(carved: Region, coarse: Region) -> dict[str, Any]:
    """Return how many islands of light of the carved design a coarser one leaves nothing of, and the largest area."""
    islands = carved.holes(below_area=math.inf).difference(carved)
    return _left_without(islands, islands.difference(coarse))


def _left_without(parts: Region, left: Region) -> dict[str, Any]:
    """Return how many of the parts hold nothing of what is left of them, and the largest's area.

    Of what is left, pieces under half a square millimetre don't count.
    """
    _, gone = parts_meeting(parts, left.keeping(_LEAST_LEFT_MM2))
    return {"count": len(gone), "largest_mm2": round(max((part.area for part in gone.parts()), default=0.0), 1)}


def _template_numbers(made: PlaqueTemplate | None) -> dict[str, Any]:
    """Return the template's stack and what it leaves; empty without a template."""
    if made is None:
        return {}
    template = made.template
    return {
        "sheets": len(template.openings),
        "placing": [
            {"sheet": number, "dowels": [mark.name for mark in holes]}
            for number, holes in enumerate(template.holes, start=1)
        ],
        "overhang_mm": [round(over, _DECIMALS) for over in template.overhang_mm],
        "sheet_mm": _rounded(template.sheet),
        "bush_mm": template.bush_mm,
        "bit_mm": template.bit_mm,
        "offset_mm": template.offset_mm,
        "thickness_mm": template.stack.thickness,
        "depth_mm": round(template.stack.depth, _DECIMALS),
        "bit_below_base_mm": template.stack.bit_below_base,
        "unreached_mm2": round(template.unreached.area, 1),
        "under_bridges_mm2": round(template.under_bridges.area, 1),
        "rounded_off_mm2": round(template.rounded_off.area, 1),
    }


def _pattern_numbers(job: Job, board: Box) -> dict[str, Any]:
    """Return on how many sheets the paper pattern is printed, its first page not counted; empty without one."""
    if "pattern" not in job.output.files:
        return {}
    tiling = pattern_tiling(board, job.pattern)
    return {"paper": job.pattern.paper, "sheets": tiling.sheets, "rows": tiling.rows, "columns": tiling.columns}


def _amount_numbers(amounts: Amounts) -> dict[str, Any]:
    surface = amounts.surface
    return {
        "wood": amounts.wood,
        "coats": amounts.coats,
        "blank_mm3": round(amounts.blank_mm3, 1),
        "blank_kg": round(amounts.blank_kg, _DECIMALS),
        "plaque_kg": round(amounts.plaque_kg, _DECIMALS),
        "face_mm2": round(surface.face_mm2, 1),
        "painted_mm2": round(surface.painted_mm2, 1),
        "removed_mm3": round(surface.removed_mm3, 1),
        "paint_litres": round(amounts.paint_litres, _DECIMALS),
    }


def _pocket_numbers(member: PocketPaths) -> dict[str, Any]:
    pocket = member.pocket
    return {
        "number": pocket.number,
        "depth_mm": round(pocket.depth_mm, _DECIMALS),
        "cutter_mm": pocket.cutter_mm,
        "passes": pocket.passes,
        "area_mm2": round(pocket.wall.area, 2),
        "volume_mm3": round(pocket.volume_mm3, 1),
        "cutter_path_mm": round(sum(float(path.lengths.sum()) for path in member.cutter_path), 1),
    }


def _idle_cutter_numbers(job: Job, made: MadePlaque) -> list[dict[str, float]]:
    """Return the cutters that have no pocket, each with the width it needs and that of the widest shadow."""
    if job.output.files == ("stencil",):
        return []  # nothing is carved
    used = {pocket.cutter_mm for pocket in made.carving.plan.pockets}
    idle = [cutter for cutter in job.cutters if cutter.diameter not in used]
    if not idle:
        return []
    _, radius = made.drawn.design.shadow.widest_spot(precision=_SPOT_MM)
    return [
        {
            "cutter_mm": cutter.diameter,
            "needs_mm": round(cutter.diameter + 2 * cutter.finishing_allowance, _DECIMALS),
            "widest_shadow_mm": round(2 * radius, 2),
            "least_pocket_mm2": cutter.least_pocket or 0.0,
        }
        for cutter in idle
    ]


def _v_line_numbers(plan: Plan) -> dict[str, Any]:
    """Return the strokes' figures and what sanding does to them; None where there is none to lose."""
    lengths = [line.length for line in plan.v_lines]
    depths = [float(line.depth_mm.max()) for line in plan.v_lines]
    return {
        "count": len(lengths),
        "length_mm": round(sum(lengths), 1),
        "greatest_depth_mm": round(max(depths, default=0.0), _DECIMALS),
        "classes": width_classes(plan.v_lines),
        "first_to_go": first_to_go(plan),
        "sanding": {
            "loss_mm": [round(float(loss), _DECIMALS) for loss in plan.sanding.losses_mm],
            "share_left": [round(float(share), _DECIMALS) for share in plan.sanding.share_left],
            "too_much_mm": None if plan.sanding.too_much_mm is None else round(plan.sanding.too_much_mm, _DECIMALS),
            "lengths_left_mm": np.round(plan.sanding.length_left_mm, 1).tolist(),
            "widths_left_mm": np.round(plan.sanding.width_left_mm, 2).tolist(),
        },
    }


def _flow_line_numbers(lines: Sequence[FlowLine]) -> dict[str, Any]:
    return {
        "count": len(lines),
        "length_mm": round(sum(line.length for line in lines), 1),
        "greatest_below_floor_mm": round(max((line.below_floor_mm for line in lines), default=0.0), _DECIMALS),
    }


def _path_numbers(figures: PathFigures) -> dict[str, Any]:
    return {
        "pieces": figures.pieces,
        "lines": figures.lines,
        "arcs": figures.arcs,
        "longest_mm": round(figures.longest, _DECIMALS),
        "shortest_mm": round(figures.shortest, _DECIMALS),
    }


def _rounded(box: Box) -> list[float]:
    return [round(side, _DECIMALS) for side in box]
