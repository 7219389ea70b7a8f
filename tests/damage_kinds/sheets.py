"""Stencils, templates, the kerf test and stock that would be cut wrong."""

from __future__ import annotations

import re

from damage_kinds.kinds import (
    APART,
    COMPLETE,
    FAITHFUL,
    FIGURES,
    MARKED,
    NO_GOUGE,
    ONE_PIECE,
    SOUND,
    STAYS_DARK,
    TRUE_SIZE,
    drawn,
)
from damage_kinds.outlines import cross, left_open, spike, spot
from damage_kinds.things import Sheet, Thing

OPENING = (FAITHFUL, FIGURES, ONE_PIECE)
ROUTED = (NO_GOUGE, FAITHFUL, FIGURES, STAYS_DARK, ONE_PIECE)
SHEETS = ("stencil", "template")


def on_both(name: str, *promises: str, template: tuple[str, ...] = ()):
    """Enter a kind of damage for stencil and template: what is faithful to a stencil may be a gouge of a template."""

    def enter(spoil):
        drawn(name, *promises, on="stencil", bases=("tone", "r12"))(spoil)
        drawn(name, *promises, *template, on="template", bases=("tone",))(spoil)
        return spoil

    return enter


@on_both("the largest opening dropped", *OPENING, template=(STAYS_DARK,))
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.largest("opening")])


@on_both("an opening moved a millimetre", *OPENING, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.shift([sheet.largest("opening")], 0.8 + 0.6j)


@on_both("all openings moved a millimetre", *OPENING, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("opening"), 1)


@on_both("openings grown by 0.5 mm", *OPENING, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("opening"), 0.5)


@on_both("openings shrunk by a millimetre", *OPENING, template=(STAYS_DARK,))
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("opening"), -1)


@on_both("openings mirrored", *OPENING, SOUND, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("opening"))


@on_both("openings scaled by half a per cent", *OPENING, TRUE_SIZE, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("opening"), 1.005)


@on_both("an opening turned into a circle of its size", *OPENING, template=(NO_GOUGE, STAYS_DARK))
def _(sheet: Sheet) -> None:
    thing = sheet.largest("opening")
    radius, middle = (abs(thing.area()) / 3.1416) ** 0.5, thing.middle()
    thing.points, thing.bulges = [middle - radius, middle + radius], [1.0, 1.0]
    sheet.redraw(thing)


@on_both("openings whose arcs read as straight lines", *OPENING, template=(NO_GOUGE, STAYS_DARK))
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("opening"):
        thing.bulges = [0.0 for _ in thing.bulges]
        sheet.redraw(thing)


@on_both("an opening too many", *OPENING, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    edge = sheet.longest("sheet-edge").points
    low = complex(min(point.real for point in edge), min(point.imag for point in edge))
    spot(sheet, "opening", low + 12 + 12j, 5)


@on_both("an opening given twice", SOUND, MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.largest("opening"))


@on_both("an opening crosses itself", SOUND, *OPENING, template=(NO_GOUGE, STAYS_DARK))
def _(sheet: Sheet) -> None:
    cross(sheet, sheet.largest("opening"))


@on_both("an opening runs the wrong way", SOUND, MARKED)
def _(sheet: Sheet) -> None:
    sheet.reverse([sheet.largest("opening")])


@on_both("an opening left open", SOUND, MARKED, *OPENING)
def _(sheet: Sheet) -> None:
    left_open(sheet, sheet.largest("opening"))


@on_both("an opening's spike runs to the sheet's edge", *OPENING, SOUND, APART, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    spike(sheet, sheet.largest("opening"), 60)


@on_both("the sheet's edge dropped", MARKED, COMPLETE, TRUE_SIZE, FIGURES, ONE_PIECE)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("sheet-edge"))


@on_both("the sheet's edge ten per cent smaller", TRUE_SIZE, FIGURES, ONE_PIECE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("sheet-edge"), 0.9)


@on_both("the sheet's edge moved 2 mm", TRUE_SIZE, FIGURES, ONE_PIECE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("sheet-edge"), 2)


@on_both("a dowel hole moved a millimetre", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.circles()[:1], 0.8 - 0.6j)


@on_both("a dowel hole twice as wide", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    hole = sheet.circles()[0]
    hole.radius *= 2
    sheet.redraw(hole)


@on_both("a dowel hole dropped", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.circles()[:1])


@on_both("a dowel hole in the middle of the sheet", MARKED, FIGURES, ONE_PIECE)
def _(sheet: Sheet) -> None:
    hole = sheet.circles()[-1]
    sheet.shift([hole], sheet.middle() - hole.points[0])


@on_both("names of dowel holes exchanged", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    first, second = (next(own for own in sheet.texts("", "note") if own.text == name) for name in "AB")
    sheet.swapped(first, second)


@on_both("the words on how it is placed tell another edge", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    note = sheet.texts("inside this edge")[0]
    sheet.words(note, re.sub(r"board [\d.]+", "board 25.0", note.text))


@on_both("the words on how it is placed dropped", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.texts("place by"))


@on_both("it says that it is another plaque's", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    note = sheet.texts(", ")[0]
    sheet.words(note, note.text.replace("tone, ", "tone, other "))


@on_both("all of it scaled by half a per cent", TRUE_SIZE, *OPENING, MARKED, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.things, 1.005)


@on_both("all of it mirrored", *OPENING, SOUND, MARKED, TRUE_SIZE, template=(NO_GOUGE,))
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.things)


@on_both("openings on the layer of notes", MARKED, *OPENING, COMPLETE, template=(STAYS_DARK,))
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("opening"):
        sheet.to_layer(thing, sheet.some("note")[0])


@drawn("the layer of openings off", MARKED, on="stencil", bases=("tone",), unread=True)
def _(sheet: Sheet) -> None:
    sheet.hide_layer("opening", True)


@drawn("a bridge cut through", ONE_PIECE, FAITHFUL, FIGURES, on="stencil", bases=("tone", "r12"))
def _(sheet: Sheet) -> None:
    bridge, cut = sheet.paths("bridge")[0], sheet.double(sheet.paths("opening")[0])
    a, b = bridge.points[0], bridge.points[-1]
    way = (b - a) / abs(b - a)
    cut.points = [a - way - 0.3j * way, b + way - 0.3j * way, b + way + 0.3j * way, a - way + 0.3j * way]
    cut.bulges, cut.closed = [0.0] * 4, True
    sheet.redraw(cut)


@drawn("the bridge lines dropped", MARKED, FIGURES, on="stencil", bases=("tone", "r12"))
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("bridge"))


@drawn("a bridge line moved 10 mm", MARKED, FIGURES, on="stencil", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("bridge")[:1], 10)


@drawn("a web half as wide", ONE_PIECE, FAITHFUL, FIGURES, on="stencil", bases=("tone",))
def _(sheet: Sheet) -> None:
    rings = [thing for thing in sheet.paths("opening") if thing.area() > 0]
    sheet.grow(rings[1:2], 0.7)


@drawn("the kerf not allowed for", FAITHFUL, FIGURES, ONE_PIECE, on="stencil", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("opening"), 0.2)


@drawn("openings as large as the pockets, no bush allowed for", *ROUTED, on="template", bases=("tone", "stock"))
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("opening"), -1.5)


@drawn("openings larger by the bush, not half of it", *ROUTED, on="template", bases=("tone", "stock"))
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("opening"), 2)


@drawn(
    "a tip of light cut off: one vertex of an opening pulled outwards", *ROUTED, SOUND, on="template", bases=("tone",)
)
def _(sheet: Sheet) -> None:
    thing = sheet.largest("opening")
    at = max(range(len(thing.points)), key=lambda number: abs(thing.points[number] - thing.middle()))
    away = thing.points[at] - thing.middle()
    thing.points[at] += 5 * away / abs(away)
    sheet.redraw(thing)


def noted(name: str, find: str, old: str, new: str, on: str = "template") -> None:
    @drawn(name, MARKED, FIGURES, on=on, bases=("tone",))
    def _(sheet: Sheet) -> None:
        note = sheet.texts(find)[0]
        sheet.words(note, re.sub(old, new, note.text))


noted("the template tells another bush", "bush", r"bush [\d.]+", "bush 12.0")
noted("the template tells another bit", "bush", r"bit [\d.]+", "bit 6.0")
noted("the template tells another offset", "larger all round", r"openings [\d.]+", "openings 5.0")
noted("the template tells how far the bit stands out otherwise", "below the base", r"bit [\d.]+", "bit 15.0")
noted("the template tells another depth", "below the base", r"depth [\d.]+", "depth 6.0")
noted("the template says that it is another of three", "template 1", "template 1", "template 2")
noted("the template names other dowels", "place by", "A, B, C", "A, B")
noted("the stencil tells other webs", "webs", r"webs [\d.]+", "webs 5.0", "stencil")
noted("the stencil tells another size", "webs", r"^[\d.]+", "222.0", "stencil")
noted("the kerf test's formula divides by 9", "/ 10", r"/ 10", "/ 9", "kerf-test")
noted("the kerf test's formula from 101", "100 - L", "100", "101", "kerf-test")
noted("the comb's formula not halved", "comb", "/ 2", "/ 1", "kerf-test")


@drawn("the template's outline of the board moved", MARKED, FIGURES, on="template", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.shift([max(sheet.paths("note"), key=Thing.area)], 2)


@drawn("the template's centre lines moved", MARKED, FIGURES, on="template", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.shift([thing for thing in sheet.paths("note") if not thing.closed], 2 + 2j)


KERF = (TRUE_SIZE, FAITHFUL, FIGURES, MARKED)


@drawn("the kerf test scaled by two per cent", *KERF, on="kerf-test", bases=("tone", "r12"))
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.things, 0.98, 0j)


@drawn("the kerf test's bars shorter by a millimetre", *KERF, on="kerf-test", bases=("tone",))
def _(sheet: Sheet) -> None:
    bar = sheet.paths("sheet-edge")[0]
    most = max(point.real for point in bar.points)
    bar.points = [point - 1 if point.real == most else point for point in bar.points]
    sheet.redraw(bar)


@drawn("a slit of the kerf test dropped", *KERF, on="kerf-test", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("opening")[:1])


@drawn("a slit of the kerf test moved", *KERF, on="kerf-test", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("opening")[3:4], 1)


@drawn("the comb's teeth of unlike width", *KERF, on="kerf-test", bases=("tone",))
def _(sheet: Sheet) -> None:
    comb = sheet.paths("sheet-edge")[1]
    comb.points = [point + 1 if abs(point.real - 25) < 0.01 else point for point in comb.points]
    sheet.redraw(comb)


@drawn("the comb dropped", *KERF, COMPLETE, on="kerf-test", bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("sheet-edge")[1:])
