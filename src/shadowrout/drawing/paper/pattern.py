"""The full-size paper pattern of one plaque: what is roughed out, what the V tool cuts, and how deep."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby

from shadowrout.carving.carve_paths import CarvePaths, PocketPaths
from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.pockets import Pocket
from shadowrout.design.board import Layout
from shadowrout.drawing.carve_drawing import flow_line_layers, ink_of, profile_of
from shadowrout.drawing.notes import Note, note_layers, placed
from shadowrout.drawing.paper.paper_sizes import paper_mm
from shadowrout.drawing.paper.stroke_runs import Run, depth_step_mm, runs_of
from shadowrout.drawing.paper.tiles import Tiling, tiled
from shadowrout.drawing.register_layers import register_layers
from shadowrout.drawing.shapes import Drawing, Layer, Marks, Path, Role
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box, Region
from shadowrout.job.options import Job
from shadowrout.job.sheet_options import PatternOptions
from shadowrout.sheets.register import RegisterMark
from shadowrout.words.lengths import brief, shown
from shadowrout.words.units import Unit

RIM_MM = 3.0
"""Paper around the board's edge, so that the edge is printed whole."""

_UNIT_WORDS = {Unit.MM: "millimetres", Unit.INCH: "inches (and the nearest 1/64)"}

_FRAME_ERROR_MM = 0.05
"""A fifth of the pen's breadth."""

_NUMBER_ALONE_MM = 60.0
"""A note is cut down to its number only where the whole would stand this much worse."""


def refuse(job: Job, layout: Layout) -> None:
    """Raise SettingError where a settled job asks for a pattern whose margins or overlaps leave its paper no room."""
    if "pattern" in job.output.files:
        pattern_tiling(layout.board_mm, job.pattern)


def pattern_drawing(
    paths: CarvePaths,
    layout: Layout,
    marks: Sequence[RegisterMark],
    *,
    unit: Unit,
    title: str,
    description: str,
    thickness_mm: float,
    flow_lines: Sequence[FlowLine] = (),
    left: Region | None = None,
    joins: Sequence[ArcPath] = (),
) -> Drawing:
    """Return the pattern of one plaque, its page the board's box and a rim of 3 mm around it.

    Shadows; pockets by depth, and what is ``left`` in them by a router's bit; V lines by depth class and flow lines by
    depth, a layer each; register marks; the board's edge; each pocket's number and depth. ``marks`` may be empty, and
    so may every kind of path; ``flow_lines`` has one for each flow line's path. ``joins`` are what the sheets add to it
    where they are joined (``pages.joins_of``), which words keep off where they can.
    """
    step = depth_step_mm(inches=unit is Unit.INCH)
    profiles = [profile_of(line) for line in paths.v_lines]
    deepest = max((depth for profile in profiles for depth in profile.depths_mm), default=0.0)
    runs = [
        run
        for line, profile in zip(paths.v_lines, profiles, strict=True)
        for run in runs_of(line.path, profile.depths_mm, profile.widths_mm, step_mm=step, deepest_mm=deepest)
    ]
    register = list(register_layers(marks, layout, joins=joins))
    ink = ink_of(paths, register, layout, joins=joins)
    notes = placed([_note(member.pocket, unit) for member in paths.pockets], ink=ink)
    layers = [
        Layer(Role.SHADOW, tuple(map(Path, paths.shadow))),
        *_pocket_layers(paths.pockets),
        *_left_layers(left),
        *_v_line_layers(runs, unit),
        *flow_line_layers(paths.flow_lines, flow_lines),
        Layer(Role.PLAQUE_EDGE, (Path(layout.edge),)),
        *register,
        *note_layers(notes),
    ]
    properties = (
        ("board", _size_words(layout.board_mm, thickness_mm, unit)),
        ("scale", f"1:1, lengths in {_UNIT_WORDS[unit]}"),
    )
    return Drawing(title, description, pattern_box(layout.board_mm), tuple(layers), unit, properties)


def _v_line_layers(runs: Sequence[Run], unit: Unit) -> Iterator[Layer]:
    """Yield a layer for each depth class, the shallowest first; classes that a name can't tell apart share one."""
    classes: dict[str, list[Run]] = defaultdict(list)
    for run in sorted(runs, key=lambda run: run.class_mm):
        classes[Layer(Role.V_LINE, (), Marks(depth_mm=run.class_mm)).name(unit)].append(run)
    for members in classes.values():
        shapes = [Path(r.path, Marks(depth_mm=r.depth_mm, width_mm=r.width_mm)) for r in members]
        yield Layer(Role.V_LINE, tuple(shapes), Marks(depth_mm=members[-1].class_mm))


def _pocket_layers(pockets: Sequence[PocketPaths]) -> Iterator[Layer]:
    by_depth = sorted(pockets, key=lambda member: member.pocket.depth_mm)
    for depth, group in groupby(by_depth, key=lambda member: member.pocket.depth_mm):
        walls = tuple(Path(path) for member in group for path in member.wall)
        yield Layer(Role.POCKET, walls, Marks(depth_mm=depth))


def _left_layers(left: Region | None) -> Iterator[Layer]:
    if left is not None and not left.is_empty:
        rings = left.simplified(_FRAME_ERROR_MM).rings()
        yield Layer(Role.LEFT_BY_BIT, tuple(Path(ArcPath.polygon(ring)) for ring in rings))


def _note(pocket: Pocket, unit: Unit) -> Note:
    number = f"{pocket.number}"
    return Note(((number, f"{brief(pocket.depth_mm, unit)} deep"), (number,)), (0.0, _NUMBER_ALONE_MM), pocket.wall)


def pattern_tiling(board: Box, asked: PatternOptions) -> Tiling:
    """Return how the pattern of a board is cut into sheets of the paper that is asked for; the paper is settled.

    Raises SettingError for margins or overlaps that leave no room.
    """
    paper = paper_mm(asked.paper or "")
    return tiled(pattern_box(board), paper=paper, overlap=asked.overlap, printer_margin=asked.printer_margin)


def pattern_box(box: Box) -> Box:
    """Return the pattern's page around a board's box."""
    x0, y0, x1, y1 = box
    return x0 - RIM_MM, y0 - RIM_MM, x1 + RIM_MM, y1 + RIM_MM


def _size_words(box: Box, thickness_mm: float, unit: Unit) -> str:
    x0, y0, x1, y1 = box
    return f"{shown(x1 - x0, unit)} wide, {shown(y1 - y0, unit)} high, {shown(thickness_mm, unit)} thick"
