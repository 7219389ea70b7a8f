"""The figures of a job: as numbers for programs, and as the closing table for people."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from shadowrout import __version__
from shadowrout.drawing.carve import PocketPaths
from shadowrout.fit import PathFigures, figures_of
from shadowrout.geometry.region import Box
from shadowrout.make_plaque import MadePlaque
from shadowrout.options import Job
from shadowrout.plan import Plan

_DECIMALS = 4


def numbers(job: Job, plaques: Sequence[MadePlaque]) -> dict[str, Any]:
    """Return all figures of a finished job as plain values; lengths in mm, areas in mm2, shares from 0 to 1."""
    return {
        "program": f"shadowrout {__version__}",
        "picture": job.picture.file.name,
        "method": job.tone.method,
        "detail_mm": job.tone.detail,
        "tolerance_mm": job.output.tolerance,
        "unit": job.output.unit,
        "plaques": [_plaque_numbers(plaque) for plaque in plaques],
    }


def as_json(figures: dict[str, Any]) -> str:
    """Return the figures as indented JSON text (RFC 8259)."""
    return json.dumps(figures, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def summary(figures: dict[str, Any]) -> str:
    """Return the closing words: how the picture was read, and the table of what was made."""
    told = f"{figures['picture']}: {figures['method']}, finest line {figures['detail_mm']:g} mm"
    return f"{told}\n\n{table(figures)}"


def table(figures: dict[str, Any]) -> str:
    """Return the closing table: one line for each plaque."""
    head = ("plaque", "size", "shadows", "pockets", "depth", "V lines", "dark", "lines + arcs", "off by", "files")
    rows = [head, *(_row(plaque) for plaque in figures["plaques"])]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


def _plaque_numbers(made: MadePlaque) -> dict[str, Any]:
    width, height = made.plaque.size or (0.0, 0.0)
    outlines = figures_of(made.paths.shadow)
    return {
        "name": made.plaque.name,
        "size_mm": [width, height],
        "shape": made.plaque.shape,
        "thickness_mm": made.plaque.thickness,
        "picture_box_mm": _rounded(made.design.layout.picture_box_mm),
        "pixel_mm": round(made.mask.pixel_mm, _DECIMALS),
        "dark_share": round(made.design.dark_share, _DECIMALS),
        "shadows": len(made.design.shadow),
        "specks_removed": made.mask.specks_removed,
        "pinholes_filled": made.mask.pinholes_filled,
        "slivers_dropped": made.design.slivers_dropped,
        "pockets": [_pocket_numbers(pocket) for pocket in made.paths.pockets],
        "rest_share": round(made.plan.rest.area / made.design.shadow.area, _DECIMALS),
        "v_lines": _v_line_numbers(made.plan),
        "outlines": {**_path_numbers(outlines), "largest_deviation_mm": round(made.deviation_mm, _DECIMALS)},
        "files": list(made.files),
    }


def _pocket_numbers(member: PocketPaths) -> dict[str, Any]:
    pocket = member.pocket
    return {
        "number": pocket.number,
        "depth_mm": round(pocket.depth_mm, _DECIMALS),
        "cutter_mm": pocket.cutter_mm,
        "passes": pocket.passes,
        "area_mm2": round(pocket.wall.area, 2),
        "cutter_path_mm": round(sum(float(path.lengths.sum()) for path in member.cutter_path), 1),
    }


def _v_line_numbers(plan: Plan) -> dict[str, Any]:
    lengths = [line.length for line in plan.v_lines]
    depths = [float(line.depth_mm.max()) for line in plan.v_lines]
    return {
        "count": len(lengths),
        "length_mm": round(sum(lengths), 1),
        "greatest_depth_mm": round(max(depths, default=0.0), _DECIMALS),
    }


def _path_numbers(figures: PathFigures) -> dict[str, Any]:
    return {
        "pieces": figures.pieces,
        "lines": figures.lines,
        "arcs": figures.arcs,
        "longest_mm": round(figures.longest, _DECIMALS),
        "shortest_mm": round(figures.shortest, _DECIMALS),
    }


def _row(plaque: dict[str, Any]) -> tuple[str, ...]:
    depths = sorted({pocket["depth_mm"] for pocket in plaque["pockets"]})
    outlines = plaque["outlines"]
    return (
        plaque["name"],
        "{:g} x {:g} mm".format(*plaque["size_mm"]),
        str(plaque["shadows"]),
        str(len(plaque["pockets"])),
        ", ".join(f"{depth:g} mm" for depth in depths) or "-",
        str(plaque["v_lines"]["count"]),
        f"{plaque['dark_share']:.0%}",
        f"{outlines['lines']} + {outlines['arcs']}",
        f"{outlines['largest_deviation_mm']:.3f} mm",
        ", ".join(plaque["files"]),
    )


def _rounded(box: Box) -> list[float]:
    return [round(side, _DECIMALS) for side in box]
