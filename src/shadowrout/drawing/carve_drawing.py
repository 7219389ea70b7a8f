"""The drawing of one plaque for the machine and the hand: edge, shadows, pockets, cutter paths, V lines, notes."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from shadowrout.carving.carve_paths import CarvePaths, PocketPaths
from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.fragile_light import LISTED, LightRidge
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_line_paths import FittedVLine
from shadowrout.design.board import Layout
from shadowrout.drawing.ink import Ink
from shadowrout.drawing.labels_apart import placed_apart
from shadowrout.drawing.notes import Note, note_layers, placed
from shadowrout.drawing.register_layers import register_layers
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Profile, Role, Shape, Text
from shadowrout.geometry.arcs import ArcPath
from shadowrout.sheets.register import RegisterMark
from shadowrout.words.lengths import brief
from shadowrout.words.units import Unit

_NUMBER_MM = 2.5
_BESIDE_MM = 1.8
_MACHINE_WEIGHT = 20.0
_HAND_WEIGHT = 0.5
"""What half a millimetre of path under a note weighs against a millimetre of leader."""

_LOSSES_MM = (0.0, 2.0, 50.0, 100.0)
"""A note is cut down to its depth, or to its number, only where the whole would stand this much worse."""


def carve_drawing(
    paths: CarvePaths,
    plan: Plan,
    layout: Layout,
    marks: Sequence[RegisterMark],
    *,
    unit: Unit,
    title: str,
    description: str,
    flat_mm: float,
) -> Drawing:
    """Return the carve drawing of one plaque, its page the board's box; ``flat_mm`` is as in ``Drawing``."""
    layers = [
        Layer(Role.PLAQUE_EDGE, (Path(layout.edge),)),
        Layer(Role.SHADOW, tuple(map(Path, paths.shadow))),
        *_pocket_layers(paths.pockets, unit),
        *_v_line_layers(paths),
        *flow_line_layers(paths.flow_lines, plan.flow_lines),
        *_fragile_light_layer(paths.fragile_light, plan.fragile_light),
        *(register := tuple(register_layers(marks, layout))),
        *_note_layers(paths, register, layout, unit),
    ]
    return Drawing(title, description, layout.board_mm, tuple(layers), unit, flat_mm=flat_mm)


def _pocket_layers(pockets: Sequence[PocketPaths], unit: Unit) -> Iterator[Layer]:
    """Yield a layer of walls and one of cutter paths for each depth and cutter, the larger cutter first.

    Pockets of two cutters overlap on purpose, so they never share a layer.
    """
    groups: dict[Marks, list[PocketPaths]] = defaultdict(list)
    for member in sorted(pockets, key=lambda m: (m.pocket.depth_mm, -m.pocket.cutter_mm)):
        groups[Marks(depth_mm=member.pocket.depth_mm, cutter_mm=member.pocket.cutter_mm)].append(member)
    names = Counter(Layer(Role.POCKET, (), marks).name(unit) for marks in groups)
    for marks, members in groups.items():
        shared = names[Layer(Role.POCKET, (), marks).name(unit)] > 1
        walls = tuple(Path(path) for member in members for path in member.wall)
        centres = tuple(Path(path) for member in members for path in member.cutter_path)
        yield Layer(Role.POCKET, walls, marks, names_cutter=shared)
        yield Layer(Role.CUTTER_PATH, centres, marks, names_cutter=shared)


def _v_line_layers(paths: CarvePaths) -> Iterator[Layer]:
    shapes = [Path(line.path, profile_of(line).greatest) for line in paths.v_lines]
    if shapes:
        yield Layer(Role.V_LINE, tuple(shapes))


def profile_of(line: FittedVLine) -> Profile:
    """Return a V line's depths and widths as a drawing carries them."""
    return Profile(tuple(line.depths_mm.tolist()), tuple(line.widths_mm.tolist()))


def flow_line_layers(paths: Sequence[ArcPath], lines: Sequence[FlowLine]) -> Iterator[Layer]:
    """Yield a layer for each depth; all lines of one depth go as far below the same floor."""
    layers: dict[Marks, list[Path]] = defaultdict(list)
    for path, line in zip(paths, lines, strict=True):
        marks = Marks(depth_mm=line.depth_mm, width_mm=line.width_mm, below_floor_mm=line.below_floor_mm)
        layers[marks].append(Path(path))
    for marks, shapes in layers.items():
        yield Layer(Role.FLOW_LINE, tuple(shapes), marks)


def _fragile_light_layer(paths: Sequence[ArcPath], ridges: Sequence[LightRidge]) -> Iterator[Layer]:
    """Yield the hidden layer of narrow light, the worst numbered in their order; nothing on it is cut."""
    shapes: list[Shape] = []
    for number, (path, ridge) in enumerate(zip(paths, ridges, strict=True), start=1):
        marks = Marks(width_mm=float(ridge.width_mm.mean()))
        shapes.append(Path(path, marks))
        if number <= LISTED:
            x, y = ridge.middle
            beside = (x + _BESIDE_MM, y + _BESIDE_MM)
            shapes.append(Text(beside, f"{number}", _NUMBER_MM, marks=marks))
    if shapes:
        yield Layer(Role.FRAGILE_LIGHT, tuple(shapes), hidden=True)


def _note_layers(paths: CarvePaths, register: Sequence[Layer], layout: Layout, unit: Unit) -> Iterator[Layer]:
    ink = ink_of(paths, register, layout)
    pockets = [member.pocket for member in paths.pockets]
    notes = placed([_note(pocket, unit) for pocket in pockets], ink=ink)
    if any(len(note.lines) == 1 for note in notes):
        areas = [pocket.wall for pocket in pockets]
        notes = (*notes, placed_apart(_ways_for_all(pockets, unit), notes, areas, ink=ink))
    yield from note_layers(notes)


def ink_of(paths: CarvePaths, register: Sequence[Layer], layout: Layout, *, joins: Sequence[ArcPath] = ()) -> Ink:
    """Return what is drawn where, for notes to keep off it; ``joins`` are as bad to cover as what a machine follows."""
    drawn = [(path, _MACHINE_WEIGHT) for path in (layout.edge, *joins)]
    return Ink([*drawn, *_weighed(paths, register)], layout.board_mm)


def _weighed(paths: CarvePaths, register: Sequence[Layer]) -> Iterator[tuple[ArcPath, float]]:
    """Yield every path with how bad it is to cover it: worst is what the machine follows, and register marks."""
    for member in paths.pockets:
        yield from ((path, _MACHINE_WEIGHT) for path in (*member.wall, *member.cutter_path))
    yield from ((_outline(shape), _MACHINE_WEIGHT) for layer in register for shape in layer.shapes)
    yield from (
        (path, _HAND_WEIGHT) for path in (*paths.shadow, *(line.path for line in paths.v_lines), *paths.flow_lines)
    )


def _outline(shape: Shape) -> ArcPath:
    """Return a shape's line; for a text the circle round its first letters."""
    match shape:
        case Path():
            return shape.path
        case Circle():
            return ArcPath.circle(shape.centre, shape.radius_mm)
        case Text():
            return ArcPath.circle(shape.at, shape.height_mm / 2)


def _note(pocket: Pocket, unit: Unit) -> Note:
    """Return a pocket's note: two lines, four shorter ones, its depth alone, or its number alone."""
    number, depth, cutter = f"{pocket.number}", brief(pocket.depth_mm, unit), brief(pocket.cutter_mm, unit)
    wall, centre = (f"{number}: wall,", f"depth {depth}"), (f"{number}: centre,", f"cutter {cutter}")
    ways = ((" ".join(wall), " ".join(centre)), (*wall, *centre), (f"{number}: depth {depth}",), (number,))
    return Note(ways, _LOSSES_MM, pocket.wall)


def _ways_for_all(pockets: Sequence[Pocket], unit: Unit) -> tuple[tuple[str, ...], ...]:
    """Return what a note for all pockets says, the widest way first: what notes of a single line leave out."""
    cutters = _cutters(pockets, unit)
    wall, centre = "pocket lines: wall,", "cutter-path lines: centre,"
    return (
        (f"{wall} {centre} {' '.join(cutters)}",),
        (wall, f"{centre} {' '.join(cutters)}"),
        (wall, centre, " ".join(cutters)),
        ("pocket lines:", "wall,", "cutter-path lines:", "centre,", *cutters),
    )


def _cutters(pockets: Sequence[Pocket], unit: Unit) -> list[str]:
    """Return the cutters' diameters, the largest first; where there are several, each with the pockets it takes."""
    numbers: dict[float, list[int]] = defaultdict(list)
    for pocket in sorted(pockets, key=lambda pocket: (-pocket.cutter_mm, pocket.number)):
        numbers[pocket.cutter_mm].append(pocket.number)
    told = [brief(cutter_mm, unit) for cutter_mm in numbers]
    if len(numbers) > 1:
        told = [f"{cutter} in {_counted(taken)}" for cutter, taken in zip(told, numbers.values(), strict=True)]
    return [f"{'cutter ' if i == 0 else ''}{words}{';' if i < len(told) - 1 else ''}" for i, words in enumerate(told)]


def _counted(numbers: Sequence[int]) -> str:
    """Return rising numbers as people write them down, runs of three or more by their ends.

    >>> _counted([1]), _counted([1, 2, 3, 4]), _counted([2, 3, 5, 7, 8, 9])
    ('1', '1 to 4', '2, 3, 5, 7 to 9')
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
