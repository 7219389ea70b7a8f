"""Outlines of the design, of pockets and of cutter paths that are not what was drawn."""

from __future__ import annotations

from damage_kinds.kinds import FAITHFUL, FIGURES, MARKED, NO_GOUGE, SOUND, STAYS_DARK, TRUE_SIZE, drawn
from damage_kinds.things import NotHereError, Sheet, Thing

UNCUT = (STAYS_DARK, FIGURES)
ANY_WALL = (NO_GOUGE, STAYS_DARK, FAITHFUL, FIGURES)
"""A wall that its path contradicts: too much is cut by one of the two, or too little, or the figures are others."""


@drawn("all shadows moved half a millimetre", FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("shadow"), 0.4 + 0.3j)


@drawn("the largest shadow dropped", FAITHFUL, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.largest("shadow")])


@drawn("the smallest shadow dropped", FAITHFUL, FIGURES)
def _(sheet: Sheet) -> None:
    outer = [thing for thing in sheet.paths("shadow") if thing.area() > 0]
    sheet.remove([min(outer, key=Thing.area)])


@drawn("a hole of a shadow dropped", FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.remove([min(sheet.holes("shadow"), key=Thing.area)])


@drawn("all holes of shadows dropped", FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.holes("shadow")))


@drawn("shadows mirrored", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("shadow"))


@drawn("shadows scaled by one per cent", FAITHFUL, TRUE_SIZE)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("shadow"), 1.01)


@drawn("one vertex of a shadow pulled a millimetre", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    thing = sheet.largest("shadow")
    thing.points[len(thing.points) // 2] += 0.8 - 0.6j
    sheet.redraw(thing)


@drawn("arcs of shadows bent the other way", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("shadow"):
        thing.bulges = [-bulge for bulge in thing.bulges]
        sheet.redraw(thing)


@drawn("arcs of shadows read as straight lines", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("shadow"):
        thing.bulges = [0.0 for _ in thing.bulges]
        sheet.redraw(thing)


@drawn("every second vertex of the shadows left out", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("shadow"):
        if len(thing.points) > 5:
            thing.points, thing.bulges = thing.points[::2], [0.0] * len(thing.points[::2])
            sheet.redraw(thing)


@drawn("vertices of shadows rounded to half a millimetre", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    sheet.each(sheet.paths("shadow"), lambda point: complex(round(point.real * 2) / 2, round(point.imag * 2) / 2))


@drawn("shadows grown by 0.4 mm", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("shadow"), 0.4)


@drawn("shadows shrunk by 0.3 mm", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("shadow"), -0.3)


@drawn("a shadow turned upside down where it stands", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    thing = sheet.largest("shadow")
    middle = thing.middle()
    sheet.each([thing], lambda point: 2 * middle - point)


@drawn("a foreign spot drawn on the shadow's layer", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    spot(sheet, "shadow", corner(sheet) + 3 + 3j)


@drawn("the stroke of a shadow given a spike", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    spike(sheet, sheet.largest("shadow"))


@drawn("a shadow given twice", SOUND, FAITHFUL, MARKED)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.largest("shadow"))


@drawn("a shadow's ring runs the wrong way", SOUND, MARKED, FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.reverse([sheet.largest("shadow")])


@drawn("a shadow's ring crosses itself", SOUND, FAITHFUL)
def _(sheet: Sheet) -> None:
    cross(sheet, sheet.largest("shadow"))


@drawn("a shadow's ring left open", SOUND, MARKED, FAITHFUL)
def _(sheet: Sheet) -> None:
    left_open(sheet, sheet.largest("shadow"))


@drawn("a shadow turned into a circle of its size", FAITHFUL)
def _(sheet: Sheet) -> None:
    round_off(sheet, sheet.largest("shadow"))


@drawn("one pocket's wall grown by 0.6 mm", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.grow([sheet.largest("pocket")], 0.6)


@drawn("one pocket's wall shrunk by a millimetre", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.grow([sheet.largest("pocket")], -1)


@drawn("walls and paths grown by 0.6 mm", NO_GOUGE)
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("pocket", "cutter-path"), 0.6)


@drawn("walls and paths shrunk by 0.8 mm", *UNCUT)
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("pocket", "cutter-path"), -0.8)


@drawn("walls moved 0.6 mm", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("pocket"), 0.6)


@drawn("paths moved 0.6 mm", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("cutter-path"), -0.6j)


@drawn("walls and paths moved 0.6 mm", NO_GOUGE)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("pocket", "cutter-path"), 0.4 + 0.45j)


@drawn("one pocket with its path moved 5 mm", NO_GOUGE)
def _(sheet: Sheet) -> None:
    sheet.shift([sheet.largest("pocket"), sheet.largest("cutter-path")], 3 + 4j)


@drawn("holes of walls dropped", *ANY_WALL, bases=("tone", "wide"))
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.holes("pocket")))


@drawn("holes of paths dropped", NO_GOUGE, bases=("tone", "wide"))
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.holes("cutter-path")))


@drawn("holes of walls and paths dropped", NO_GOUGE, bases=("tone", "wide"))
def _(sheet: Sheet) -> None:
    sheet.remove([*sheet.holes("pocket"), *sheet.holes("cutter-path")])


@drawn("a pocket dropped with its path", *UNCUT)
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.largest("pocket"), sheet.largest("cutter-path")])


@drawn("a wall dropped, its path left", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.largest("pocket")])


@drawn("a path dropped, its wall left", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.largest("cutter-path")])


@drawn("all paths dropped", *ANY_WALL, MARKED)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.paths("cutter-path")))


@drawn("all walls dropped", *ANY_WALL, MARKED)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.paths("pocket")))


@drawn("a path grown by 0.6 mm", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.grow([sheet.largest("cutter-path")], 0.6)


@drawn("paths shrunk by a millimetre", *ANY_WALL)
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("cutter-path"), -1)


@drawn("paths drawn on the walls, no radius allowed for", NO_GOUGE, *ANY_WALL)
def _(sheet: Sheet) -> None:
    walls = list(sheet.paths("pocket"))
    copies = sheet.paths("cutter-path")
    model = copies[0]
    for wall in walls:
        path = sheet.double(model)
        path.points, path.bulges = list(wall.points), list(wall.bulges)
        sheet.redraw(path)
    sheet.remove(list(copies))


@drawn("walls drawn on the paths", *ANY_WALL)
def _(sheet: Sheet) -> None:
    walls, paths = sheet.paths("pocket"), sheet.paths("cutter-path")
    for path in paths:
        wall = sheet.double(walls[0])
        wall.points, wall.bulges = list(path.points), list(path.bulges)
        sheet.redraw(wall)
    sheet.remove(list(walls))


@drawn("paths mirrored", NO_GOUGE, SOUND, STAYS_DARK)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("cutter-path"))


@drawn("walls and paths mirrored", NO_GOUGE, SOUND)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("pocket", "cutter-path"))


@drawn("arcs of paths bent the other way", NO_GOUGE, SOUND, STAYS_DARK, bases=("tone",))
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("cutter-path"):
        thing.bulges = [-bulge for bulge in thing.bulges]
        sheet.redraw(thing)


@drawn("a path crosses itself", SOUND, NO_GOUGE, STAYS_DARK)
def _(sheet: Sheet) -> None:
    cross(sheet, sheet.largest("cutter-path"))


@drawn("a wall crosses itself", SOUND, *ANY_WALL)
def _(sheet: Sheet) -> None:
    cross(sheet, sheet.largest("pocket"))


@drawn("a path runs the wrong way", SOUND, MARKED)
def _(sheet: Sheet) -> None:
    sheet.reverse([sheet.largest("cutter-path")])


@drawn("a wall runs the wrong way", SOUND, MARKED)
def _(sheet: Sheet) -> None:
    sheet.reverse([sheet.largest("pocket")])


@drawn("a path left open", SOUND, MARKED, *ANY_WALL)
def _(sheet: Sheet) -> None:
    left_open(sheet, sheet.largest("cutter-path"))


@drawn("a wall left open", SOUND, MARKED, *ANY_WALL)
def _(sheet: Sheet) -> None:
    left_open(sheet, sheet.largest("pocket"))


@drawn("a path's spike runs across the light", NO_GOUGE, SOUND)
def _(sheet: Sheet) -> None:
    spike(sheet, sheet.largest("cutter-path"), 6)


@drawn("a wall's spike runs across the light", NO_GOUGE, SOUND, FIGURES)
def _(sheet: Sheet) -> None:
    spike(sheet, sheet.largest("pocket"), 6)


@drawn("a pocket too many, with a path, in the light", NO_GOUGE)
def _(sheet: Sheet) -> None:
    spot(sheet, "pocket", corner(sheet) + 3 + 3j, 2.5)
    spot(sheet, "cutter-path", corner(sheet) + 3 + 3j, 0.4)


@drawn("a wall given twice", SOUND, MARKED)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.largest("pocket"))


@drawn("a path given twice", SOUND, MARKED)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.largest("cutter-path"))


@drawn("a wall exchanged for a copy of another", *ANY_WALL, SOUND, MARKED)
def _(sheet: Sheet) -> None:
    walls = sorted((thing for thing in sheet.paths("pocket") if thing.area() > 0), key=Thing.area)
    if len(walls) < 2:
        raise NotHereError("one pocket only")
    walls[-1].points, walls[-1].bulges = list(walls[-2].points), list(walls[-2].bulges)
    sheet.redraw(walls[-1])


def corner(sheet: Sheet) -> complex:
    """Return the lower left corner of the design."""
    at = [point for thing in sheet.paths("shadow") for point in thing.points]
    return complex(min(point.real for point in at), min(point.imag for point in at)) - 6 - 6j


def spot(sheet: Sheet, role: str, middle: complex, radius: float = 1.0) -> None:
    """Add a round ring to the layer of a role's first path."""
    ring = sheet.double(sheet.paths(role)[0])
    ring.points, ring.bulges, ring.closed = [middle - radius, middle + radius], [1.0, 1.0], True
    sheet.redraw(ring)


def spike(sheet: Sheet, thing: Thing, length: float = 3.0) -> None:
    """Pull a path out to a point far outside, and back."""
    at = max(range(len(thing.points)), key=lambda number: abs(thing.points[number] - thing.middle()))
    away = thing.points[at] - thing.middle()
    tip = thing.points[at] + length * away / abs(away)
    thing.points[at + 1 : at + 1] = [tip, thing.points[at] + 0.05 * 1j * away / abs(away)]
    thing.bulges[at : at + 1] = [0.0, 0.0, 0.0]
    sheet.redraw(thing)


def cross(sheet: Sheet, thing: Thing) -> None:
    """Exchange two neighbouring vertices, so that the ring crosses itself."""
    count = len(thing.points)
    if count < 4:
        thing.points = [*thing.points, thing.points[0] * 0.3 + thing.points[1] * 0.7 + 2]
        thing.bulges = [-thing.bulges[0], thing.bulges[1], 0.0, 0.0][: count + 1]
    else:
        far = max(range(count), key=lambda number: abs(thing.points[number] - thing.points[number - 1]))
        thing.points[far], thing.points[far - 1] = thing.points[far - 1], thing.points[far]
    sheet.redraw(thing)


def left_open(sheet: Sheet, thing: Thing) -> None:
    """Leave out what closes a ring, and with it its last piece."""
    thing.closed = False
    thing.bulges = [*thing.bulges[:-1], 0.0]
    sheet.redraw(thing)


def round_off(sheet: Sheet, thing: Thing) -> None:
    radius = (abs(thing.area()) / 3.1416) ** 0.5
    middle = thing.middle()
    thing.points, thing.bulges = [middle - radius, middle + radius], [1.0, 1.0]
    sheet.redraw(thing)
