"""Edges, dowel holes, crosses, names and layers that are not as made; scale, unit and page."""

from __future__ import annotations

from damage_kinds.depths import layers
from damage_kinds.dxf_sheet import DxfSheet
from damage_kinds.kinds import (
    COMPLETE,
    DXF,
    FAITHFUL,
    FIGURES,
    MARKED,
    NO_GOUGE,
    SOUND,
    STAYS_DARK,
    SVG,
    TRUE_SIZE,
    drawn,
)
from damage_kinds.svg_sheet import SvgSheet, number
from damage_kinds.things import NotHereError, Sheet, Thing

MARKS = (MARKED, FIGURES)
SIZE = (TRUE_SIZE, FIGURES, FAITHFUL)


@drawn("the board's edge moved a millimetre", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("plaque-edge"), 1)


@drawn("the board's edge two per cent smaller", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("plaque-edge"), 0.98)


@drawn("the board's edge dropped", *SIZE, MARKED, COMPLETE)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("plaque-edge"))


@drawn("a corner of the board's edge cut off", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    thing = sheet.largest("plaque-edge")
    if len(thing.points) < 4:
        raise NotHereError("no corners")
    thing.points[0] = thing.points[0] * 0.9 + thing.points[2] * 0.1
    sheet.redraw(thing)


@drawn("the board's edge given twice", MARKED, SOUND)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.largest("plaque-edge"))


@drawn("a dowel hole moved a millimetre", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.circles()[:1], 1)


@drawn("a dowel hole half as wide again", *MARKS)
def _(sheet: Sheet) -> None:
    hole = sheet.circles()[-1]
    hole.radius *= 1.5
    sheet.redraw(hole)


@drawn("a dowel hole dropped", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.circles()[:1])


@drawn("all register marks dropped", *MARKS, COMPLETE)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.some("register")))


@drawn("a dowel hole too many, in the middle of the face", *MARKS, NO_GOUGE)
def _(sheet: Sheet) -> None:
    hole = sheet.double(sheet.circles()[0])
    sheet.shift([hole], sheet.middle() - hole.points[0])


@drawn("a dowel hole moved to the middle of the face", *MARKS, NO_GOUGE)
def _(sheet: Sheet) -> None:
    hole = sheet.circles()[0]
    sheet.shift([hole], sheet.middle() - hole.points[0])


@drawn("crosses moved off their holes", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("register"), 2)


@drawn("a cross dropped", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("register")[:2])


@drawn("names of two dowel holes exchanged", *MARKS)
def _(sheet: Sheet) -> None:
    first, second = sheet.texts("", "register")[:2]
    sheet.swapped(first, second)


@drawn("a dowel hole's name dropped", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.texts("", "register")[:1])


@drawn("register marks mirrored", *MARKS)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.some("register"))


@drawn("a dowel hole given twice", MARKED, SOUND)
def _(sheet: Sheet) -> None:
    sheet.double(sheet.circles()[0])


def hidden(role: str) -> None:
    @drawn(f"layer {role} switched off", MARKED, unread=True)
    def _(sheet: Sheet) -> None:
        for layer in {thing.layer for thing in sheet.some(role)}:
            sheet.hide_layer(layer, True)


for _role in ("shadow", "pocket", "cutter-path", "v-line", "register", "note", "plaque-edge"):
    hidden(_role)


@drawn("the layer of fragile light switched on", MARKED, unread=True)
def _(sheet: Sheet) -> None:
    sheet.hide_layer(sheet.some("fragile-light")[0].layer, False)


@drawn("a pocket's layer named pocket alone", MARKED, FIGURES, STAYS_DARK, unread=True)
def _(sheet: Sheet) -> None:
    sheet.rename_layer(layers(sheet, "pocket")[-1], "pocket")


@drawn("the shadow's layer named Ebene 2", MARKED, unread=True)
def _(sheet: Sheet) -> None:
    sheet.rename_layer(layers(sheet, "shadow")[0], "Ebene 2")


@drawn("names of the layers of walls and paths exchanged", MARKED, NO_GOUGE, FIGURES, unread=True)
def _(sheet: Sheet) -> None:
    wall = layers(sheet, "pocket")[0]
    path = next(layer for layer in layers(sheet, "cutter-path") if layer.lower() == _as_path(wall))
    sheet.rename_layer(wall, "between")
    sheet.rename_layer(path, wall)
    sheet.rename_layer("between", path)


def _as_path(layer: str) -> str:
    return layer.lower().replace("pocket", "cutter-path")


@drawn("a wall on the layer of shadows", MARKED, FAITHFUL, SOUND, STAYS_DARK, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.to_layer(sheet.largest("pocket"), sheet.paths("shadow")[0])


@drawn("a shadow on the layer of notes", MARKED, FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.to_layer(sheet.largest("shadow"), sheet.some("note")[0])


@drawn("a shadow on the layer of paths", MARKED, FAITHFUL, NO_GOUGE, FIGURES)
def _(sheet: Sheet) -> None:
    sheet.to_layer(sheet.largest("shadow"), sheet.paths("cutter-path")[0])


@drawn("the layer of shadows gone", MARKED, FAITHFUL, COMPLETE)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.some("shadow")))


@drawn("all coordinates 25.4 times as large", *SIZE)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.things, 25.4, 0j)


@drawn("all coordinates in inches, the unit as before", *SIZE)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.things, 1 / 25.4, 0j)


@drawn("all of it scaled by half a per cent", *SIZE)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.things, 1.005)


@drawn("all of it moved by 10 mm", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.things, 10)


@drawn("all of it mirrored", *SIZE, MARKED, SOUND)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.things)


@drawn("all of it turned by half a turn", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    middle = sheet.middle()
    sheet.each(sheet.things, lambda point: 2 * middle - point)


@drawn("all of it turned by a quarter", *SIZE, MARKED)
def _(sheet: Sheet) -> None:
    middle = sheet.middle()
    sheet.each(sheet.things, lambda point: middle + (point - middle) * 1j)


@drawn("the design moved on the board, cuts and outlines alike", FAITHFUL)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("shadow", "pocket", "cutter-path", "v-line"), 2 + 1j)


@drawn("the design scaled, cuts and outlines alike", FAITHFUL, TRUE_SIZE)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("shadow", "pocket", "cutter-path", "v-line"), 1.01)


@drawn("the design mirrored, cuts and outlines alike", FAITHFUL, SOUND)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("shadow", "pocket", "cutter-path", "v-line"))


@drawn("the lower half of everything gone", FAITHFUL, *MARKS, COMPLETE, TRUE_SIZE, STAYS_DARK)
def _(sheet: Sheet) -> None:
    low = sheet.middle().imag
    sheet.remove([thing for thing in sheet.things if Thing.middle(thing).imag < low])


def root(name: str, change, on: str = "carve", *promises: str) -> None:
    """Enter what is done to the root of an SVG file: its unit and page."""

    @drawn(name, *(promises or (TRUE_SIZE, MARKED)), on=on, forms=(SVG,), unread=True,
           bases=("photo" if on == "carve" else "tone",))  # fmt: skip
    def _(sheet: Sheet) -> None:
        if not isinstance(sheet, SvgSheet):
            raise NotHereError("SVG only")
        change(sheet.root, *sheet.box)


def _page(root, x: float, y: float, width: float, height: float) -> None:
    root.set("viewBox", " ".join(map(number, (x, y, width, height))))


for _on in ("carve", "stencil", "template"):
    root("the page in the other unit", lambda root, *box: root.set("width", f"{box[2]}pt"), _on)
    root(
        "width and height in pixels",
        lambda root, *box: (root.set("width", f"{box[2]}"), root.set("height", f"{box[3]}")),
        _on,
    )  # noqa: E501
    root(
        "the page's view two per cent larger",
        lambda root, *box: _page(root, *box[:2], box[2] * 1.02, box[3] * 1.02),
        _on,
    )  # noqa: E501
root("width and height taken off", lambda root, *box: (root.attrib.pop("width"), root.attrib.pop("height")))
root("the view taken off", lambda root, *box: root.attrib.pop("viewBox"))
root("the view moved", lambda root, *box: _page(root, box[0] + 5, *box[1:]))
root("the page's width alone scaled", lambda root, *box: root.set("width", f"{box[2] * 0.9}mm"))
root(
    "the page stretched to its frame",
    lambda root, *box: (root.set("preserveAspectRatio", "none"), root.set("height", f"{box[3] * 1.1}mm")),
)  # noqa: E501
root("the page's view has three numbers", lambda root, *box: root.set("viewBox", "0 0 110"))
root("the page's width reads nan", lambda root, *box: root.set("width", "nanmm"))
root("the page's width below nought", lambda root, *box: root.set("width", f"-{box[2]}mm"))
root("the page's width in per cent", lambda root, *box: (root.set("width", "100%"), root.set("height", "100%")))


def variable(name: str, variable: str, value: str | None, bases: tuple[str, ...] = ("photo",)) -> None:
    @drawn(name, TRUE_SIZE, MARKED, forms=(DXF,), unread=True, bases=bases)
    def _(sheet: Sheet) -> None:
        if not isinstance(sheet, DxfSheet):
            raise NotHereError("DXF only")
        sheet.set_header(variable, value)


variable("DXF's unit the inch", "$INSUNITS", "1")
variable("DXF's unit the metre", "$INSUNITS", "6")
variable("DXF has no unit", "$INSUNITS", "0")
variable("DXF's unit taken out", "$INSUNITS", None)
variable("DXF's measures said to be the other system's", "$MEASUREMENT", "0")
variable("an inch file's unit the millimetre", "$INSUNITS", "4", ("inch",))
