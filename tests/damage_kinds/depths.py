"""Depths that are wrong: marks, layers, notes and elevations of pockets."""

from __future__ import annotations

import re

from damage_kinds.dxf_sheet import DxfSheet, put, set_mark, value_of
from damage_kinds.kinds import AGREE, DXF, FIGURES, MARKED, NO_GOUGE, STAYS_DARK, SVG, drawn
from damage_kinds.svg_sheet import SvgSheet
from damage_kinds.things import NotHereError, Sheet, Thing

SHALLOW = (STAYS_DARK, FIGURES, MARKED)


def layers(sheet: Sheet, *roles: str) -> list[str]:
    return list(dict.fromkeys(thing.layer for thing in sheet.paths(*roles)))


def depth_in(layer: str) -> float:
    """Return the depth that a layer's name tells, in its own unit."""
    found = re.search(r"-(\d+)_(\d+)(mm|in)", layer.lower())
    if not found:
        raise NotHereError("no depth in the layer's name")
    return float(f"{found[1]}.{found[2]}")


def redeepen(sheet: Sheet, layer: str, by: float) -> None:
    """Give all of a layer another depth, in its name too: what an editor does who means it."""
    depth, old = depth_in(layer), re.search(r"(\d+)_(\d+)", layer)
    unit = 25.4 if layer.lower().endswith("in") else 1.0
    sheet.mark_layer(layer, "depth_mm", f"{depth * by * unit:.6g}")
    digits = len(old[2])
    sheet.rename_layer(layer, layer.replace(old[0], f"{depth * by:.{digits}f}".replace(".", "_"), 1))


def redeepened(sheet: Sheet, by: float, *roles: str) -> None:
    for layer in layers(sheet, *roles):
        redeepen(sheet, layer, by)


def marked(sheet: Sheet, key: str, value: str | None, *roles: str) -> None:
    for layer in layers(sheet, *roles):
        sheet.mark_layer(layer, key, value)


BOTH_ROLES = ("pocket", "cutter-path")


@drawn("all depths tripled, names too", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 3, *BOTH_ROLES)


@drawn("all depths a third more, names too", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 4 / 3, *BOTH_ROLES)


@drawn("pockets through the board", STAYS_DARK, FIGURES, MARKED)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 8, *BOTH_ROLES)


@drawn("pockets as deep as sanding takes", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 0.15, *BOTH_ROLES)


@drawn("pockets of half their depth", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 0.5, *BOTH_ROLES)


@drawn("the walls of half their depth, the paths as before", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 0.5, "pocket")


@drawn("the paths twice as deep, the walls as before", *SHALLOW)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 2, "cutter-path")


@drawn("only the name of a pocket's layer tells another depth", *SHALLOW, unread=True)
def _(sheet: Sheet) -> None:
    layer = layers(sheet, "pocket")[0]
    sheet.rename_layer(layer, re.sub(r"\d+_\d+", lambda at: "7" + at[0][1:], layer, count=1))


@drawn("only the mark of a pocket's depth is another", *SHALLOW, unread=True)
def _(sheet: Sheet) -> None:
    for layer in layers(sheet, "pocket"):
        sheet.mark_layer(layer, "depth_mm", "7")


@drawn("a pocket's depth taken off", *SHALLOW, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "depth_mm", None, "pocket")


def bad_number(text: str, words: str) -> None:
    @drawn(f"a pocket's depth reads {words}", *SHALLOW, unread=True)
    def _(sheet: Sheet) -> None:
        for layer in layers(sheet, "pocket"):
            if isinstance(sheet, DxfSheet):
                for entity in sheet.on_layer(layer):
                    set_mark(entity, "depth_mm", text)
            else:
                sheet.mark_layer(layer, "depth_mm", text)


for _text, _words in (("3,0", "3,0"), ("nan", "nan"), ("inf", "inf"), ("", "nothing"), ("-3", "-3"), ("3mm", "3mm"),
                      ("1e400", "1e400"), ("0x3", "0x3"), ("٣", "an Arabic three")):  # fmt: skip
    bad_number(_text, _words)


@drawn("the cutter of paths twice as wide", NO_GOUGE, FIGURES, MARKED, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "cutter_mm", "6.2", "pocket", "cutter-path")


@drawn("the cutter of paths half as wide", STAYS_DARK, FIGURES, MARKED, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "cutter_mm", "0.7", "pocket", "cutter-path")


@drawn("the cutter taken off the paths", MARKED, FIGURES, NO_GOUGE, STAYS_DARK, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "cutter_mm", None, "cutter-path")


@drawn("the role of walls reads cutter-path", MARKED, NO_GOUGE, FIGURES, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "role", "cutter-path", "pocket")


@drawn("the role of walls taken off", MARKED, STAYS_DARK, FIGURES, unread=True)
def _(sheet: Sheet) -> None:
    marked(sheet, "role", None, "pocket")


@drawn("a wall on another depth's layer", *SHALLOW)
def _(sheet: Sheet) -> None:
    to_other_depth(sheet, "pocket")


@drawn("a path on another depth's layer", *SHALLOW)
def _(sheet: Sheet) -> None:
    to_other_depth(sheet, "cutter-path")


@drawn("a wall and its path on another depth's layer", *SHALLOW)
def _(sheet: Sheet) -> None:
    to_other_depth(sheet, "pocket")
    to_other_depth(sheet, "cutter-path")


def to_other_depth(sheet: Sheet, role: str) -> None:
    """Put the largest ring of the deepest layer on the least deep one."""
    names = sorted(layers(sheet, role), key=depth_in)
    if len(names) < 2 or depth_in(names[0]) == depth_in(names[-1]):
        raise NotHereError("one depth only")
    ring = max((thing for thing in sheet.paths(role) if thing.layer == names[-1]), key=Thing.area)
    sheet.to_layer(ring, next(thing for thing in sheet.paths(role) if thing.layer == names[0]))


@drawn("a wall on the layer of the other cutter", *SHALLOW, NO_GOUGE)
def _(sheet: Sheet) -> None:
    to_other_cutter(sheet, "pocket")


@drawn("a path on the layer of the larger cutter", *SHALLOW, NO_GOUGE)
def _(sheet: Sheet) -> None:
    to_other_cutter(sheet, "cutter-path")


def to_other_cutter(sheet: Sheet, role: str) -> None:
    small = [thing for thing in sheet.paths(role) if "1_50mm" in thing.layer]
    large = [thing for thing in sheet.paths(role) if thing.layer.endswith("3_00mm-3_00mm")]
    if not small or not large:
        raise NotHereError("one cutter only")
    sheet.to_layer(max(small, key=Thing.area), large[0])


@drawn("notes of two depths exchanged", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    notes = sheet.texts("depth 3 mm", "note"), sheet.texts("depth 5 mm", "note")
    first, second = notes[0][0].text, notes[1][0].text
    sheet.words(notes[0][0], first.replace("3 mm", "5 mm"))
    sheet.words(notes[1][0], second.replace("5 mm", "3 mm"))


@drawn("numbers of two pockets exchanged on their notes", MARKED, FIGURES, bases=("tone", "wide"))
def _(sheet: Sheet) -> None:
    walls = sheet.texts(": wall", "note")
    sheet.swapped(walls[0], walls[1])


@drawn("a note tells another depth", MARKED, FIGURES, bases=("tone", "photo"))
def _(sheet: Sheet) -> None:
    note = sheet.texts("depth", "note")[0]
    sheet.words(note, re.sub(r"depth [\d.]+", "depth 8", note.text))


@drawn("a note tells another cutter", MARKED, FIGURES, bases=("tone", "photo"))
def _(sheet: Sheet) -> None:
    note = sheet.texts("cutter", "note")[0]
    sheet.words(note, re.sub(r"cutter [\d./]+", "cutter 9", note.text))


@drawn("a note calls the wall centre", MARKED, FIGURES, NO_GOUGE, bases=("tone",))
def _(sheet: Sheet) -> None:
    note = sheet.texts(": wall", "note")[0]
    sheet.words(note, note.text.replace("wall", "centre"))


@drawn("a pocket's notes dropped", MARKED, FIGURES, bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.texts("1: ", "note"))


@drawn("all notes dropped", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.some("note")))


@drawn("notes mirrored about the board's middle", MARKED, FIGURES, bases=("tone", "photo"))
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.some("note"))


@drawn("notes moved 15 mm", MARKED, FIGURES, bases=("tone",))
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.some("note"), -15)


@drawn("a deeper pocket's elevation as of the others", *SHALLOW, AGREE, forms=(DXF,), unread=True)
def _(sheet: Sheet) -> None:
    lifted(sheet, -1.0)


@drawn("elevations above the face", *SHALLOW, AGREE, forms=(DXF,), unread=True)
def _(sheet: Sheet) -> None:
    lifted(sheet, 3.0)


@drawn("elevations lost", *SHALLOW, AGREE, forms=(DXF,), unread=True)
def _(sheet: Sheet) -> None:
    lifted(sheet, 0.0)


def lifted(sheet: Sheet, z: float) -> None:
    for thing in sheet.paths("pocket", "cutter-path"):
        entity = thing.source
        put(entity[0], 38 if value_of(entity[0], 38) else 30, z)
        for vertex in entity[1:-1]:
            put(vertex, 30, z)


@drawn("depth marks in inches, said to be millimetres", *SHALLOW, unread=True)
def _(sheet: Sheet) -> None:
    for layer in layers(sheet, *BOTH_ROLES):
        unit = 25.4 if layer.lower().endswith("in") else 1.0
        sheet.mark_layer(layer, "depth_mm", f"{depth_in(layer) * unit / 25.4:.4f}")


@drawn("a mark of its own makes one wall shallow", *SHALLOW, forms=(SVG,), unread=True)
def _(sheet: Sheet) -> None:
    if not isinstance(sheet, SvgSheet):
        raise NotHereError("SVG only")
    sheet.largest("pocket").source[1].set("data-depth-mm", "0.3")
