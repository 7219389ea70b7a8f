"""The drawing of one plaque for the machine and the hand: edge, shadows, pockets, cutter paths, V lines, notes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from shadowrout.drawing.notes import Note, placed
from shadowrout.drawing.shapes import Drawing, Layer, Marks, Path, Role, Shape, Text, Unit
from shadowrout.geometry.arcs import ArcPath
from shadowrout.plan import Plan, Pocket
from shadowrout.size import Layout

_SPOT_PRECISION_MM = 0.05


@dataclass(frozen=True, eq=False)
class PocketPaths:
    """A pocket with its wall and its cutter's centre lines as lines and arcs."""

    pocket: Pocket
    wall: tuple[ArcPath, ...]
    cutter_path: tuple[ArcPath, ...]


@dataclass(frozen=True, eq=False)
class CarvePaths:
    """Everything to draw for one plaque, already fitted."""

    shadow: tuple[ArcPath, ...]
    pockets: tuple[PocketPaths, ...]
    v_lines: tuple[ArcPath, ...]


def carve_drawing(
    paths: CarvePaths, plan: Plan, layout: Layout, *, unit: Unit, title: str, description: str
) -> Drawing:
    """Return the carve drawing of one plaque, its page the board's box."""
    layers = [
        Layer(Role.PLAQUE_EDGE, (Path(layout.edge),)),
        Layer(Role.SHADOW, tuple(map(Path, paths.shadow))),
        *_pocket_layers(paths.pockets),
        *_v_line_layers(paths.v_lines, plan),
        *_note_layers(paths.pockets, layout, unit),
    ]
    return Drawing(title, description, layout.board_mm, tuple(layers), unit)


def _pocket_layers(pockets: Sequence[PocketPaths]) -> Iterator[Layer]:
    by_depth = sorted(pockets, key=lambda p: p.pocket.depth_mm)
    for depth, group in groupby(by_depth, key=lambda p: p.pocket.depth_mm):
        members = list(group)
        walls = [_marked(path, m) for m in members for path in m.wall]
        centres = [_marked(path, m) for m in members for path in m.cutter_path]
        yield Layer(Role.POCKET, tuple(walls), Marks(depth_mm=depth))
        yield Layer(Role.CUTTER_PATH, tuple(centres), Marks(depth_mm=depth))


def _marked(path: ArcPath, member: PocketPaths) -> Path:
    return Path(path, Marks(depth_mm=member.pocket.depth_mm, cutter_mm=member.pocket.cutter_mm))


def _v_line_layers(paths: Iterable[ArcPath], plan: Plan) -> Iterator[Layer]:
    shapes = tuple(
        Path(path, Marks(depth_mm=float(line.depth_mm.max()), width_mm=float(line.width_mm.max())))
        for path, line in zip(paths, plan.v_lines, strict=True)
    )
    if shapes:
        yield Layer(Role.V_LINE, shapes)


def _note_layers(pockets: Sequence[PocketPaths], layout: Layout, unit: Unit) -> Iterator[Layer]:
    notes = placed([_note(member.pocket, unit) for member in pockets], within=layout.board_mm)
    shapes: list[Shape] = []
    for note in notes:
        shapes += [Text(at, text, note.height_mm) for text, at in note.lines]
        if note.leader is not None:
            shapes.append(Path(note.leader))
    if shapes:
        yield Layer(Role.NOTE, tuple(shapes))


def _note(pocket: Pocket, unit: Unit) -> Note:
    place, room = pocket.wall.widest_spot(precision=_SPOT_PRECISION_MM)
    lines = (
        f"{pocket.number} wall {_depth(pocket.depth_mm, unit)}",
        f"{pocket.number} centre {_diameter(pocket.cutter_mm, unit)}",
    )
    return Note(lines, place, room)


def _depth(depth_mm: float, unit: Unit) -> str:
    return f"{depth_mm:.2f}mm" if unit is Unit.MM else f"{depth_mm / unit.mm:.3f}in"


def _diameter(diameter_mm: float, unit: Unit) -> str:
    return f"{round(diameter_mm / unit.mm, 4):g}{unit}"
