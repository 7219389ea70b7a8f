"""V lines and flow lines that cut elsewhere, too deep, too wide, too shallow or not at all."""

from __future__ import annotations

from damage_kinds.depths import redeepened
from damage_kinds.dxf_sheet import DxfSheet, put, value_of
from damage_kinds.kinds import COMPLETE, DXF, FIGURES, MARKED, NO_GOUGE, SOUND, STAYS_DARK, SVG, drawn
from damage_kinds.svg_sheet import SvgSheet
from damage_kinds.things import NotHereError, Sheet, Thing

TOO_MUCH = (NO_GOUGE, FIGURES, MARKED)
TOO_LITTLE = (STAYS_DARK, FIGURES)
EITHER = (NO_GOUGE, STAYS_DARK, FIGURES)
SLOPE = 1.1547
"""Width of a groove for each millimetre of depth by a V tool of 60 degrees: twice the tangent of 30 degrees."""


def remade(sheet: Sheet, thing: Thing, depth, *, width: bool = True) -> None:
    """Give each vertex another depth, and the width that the tool cuts at it."""
    before = list(thing.depths)
    thing.depths = [depth(own) for own in before]
    if width:
        pairs = zip(thing.widths, before, thing.depths, strict=True)
        thing.widths = [max(0.0, own + (new - old) * SLOPE) for own, old, new in pairs]
    sheet.redraw(thing)


def all_remade(sheet: Sheet, depth, *, width: bool = True) -> None:
    for thing in sheet.paths("v-line"):
        remade(sheet, thing, depth, width=width)


@drawn("all V lines at the greatest depth", *TOO_MUCH)
def _(sheet: Sheet) -> None:
    most = max(max(thing.depths) for thing in sheet.paths("v-line"))
    all_remade(sheet, lambda depth: most)


@drawn("V lines a third deeper", *TOO_MUCH)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: depth * 1.35)


@drawn("V lines deeper by 0.4 mm, no wider by their marks", *TOO_MUCH)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: depth + 0.4, width=False)


@drawn("V lines a tenth as deep", *TOO_LITTLE, MARKED)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: depth / 10)


@drawn("V lines as deep as sanding takes", *TOO_LITTLE, MARKED)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: 0.5)


@drawn("V lines less deep by 0.4 mm", *TOO_LITTLE, MARKED)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: max(0.1, depth - 0.4))


@drawn("one long V line less deep by half", *TOO_LITTLE, MARKED)
def _(sheet: Sheet) -> None:
    remade(sheet, sheet.longest("v-line"), lambda depth: depth / 2)


@drawn("one V line as deep as the tool goes", *TOO_MUCH)
def _(sheet: Sheet) -> None:
    thin = min(sheet.paths("v-line"), key=lambda thing: max(thing.depths) - thing.length() / 10)
    remade(sheet, thin, lambda depth: 2.5)


@drawn("an end of a V line 2.3 mm wide", *TOO_MUCH)
def _(sheet: Sheet) -> None:
    thing = min(sheet.paths("v-line"), key=lambda thing: thing.depths[-1])
    thing.depths[-1], thing.widths[-1] = 2.5, 2.31
    sheet.redraw(thing)


@drawn("V lines through the board", *EITHER, MARKED)
def _(sheet: Sheet) -> None:
    all_remade(sheet, lambda depth: depth + 20)


@drawn("widths doubled, depths as before", *EITHER, MARKED)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        thing.widths = [width * 2 for width in thing.widths]
        sheet.redraw(thing)


@drawn("widths all nought, depths as before", *EITHER, MARKED)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        thing.widths = [0.0 for _ in thing.widths]
        sheet.redraw(thing)


@drawn("depths along a V line in the wrong order", *EITHER, MARKED, SOUND)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        thing.depths, thing.widths = thing.depths[::-1], thing.widths[::-1]
        sheet.redraw(thing)


@drawn("V lines level off at their mean depth", *EITHER, MARKED)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        mean = sum(thing.depths) / len(thing.depths)
        remade(sheet, thing, lambda depth, mean=mean: mean)


@drawn("all V lines moved half a millimetre", *EITHER)
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.paths("v-line"), 0.5)


@drawn("one long V line moved half a millimetre", *EITHER)
def _(sheet: Sheet) -> None:
    sheet.shift([sheet.longest("v-line")], 0.3 + 0.4j)


@drawn("V lines mirrored", *EITHER)
def _(sheet: Sheet) -> None:
    sheet.mirror(sheet.paths("v-line"))


@drawn("V lines scaled by two per cent", *EITHER)
def _(sheet: Sheet) -> None:
    sheet.scale(sheet.paths("v-line"), 1.02)


@drawn("arcs of V lines bent the other way", *EITHER)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        thing.bulges = [-bulge for bulge in thing.bulges]
        sheet.redraw(thing)


@drawn("the longest V line cut to a tenth", *TOO_LITTLE)
def _(sheet: Sheet) -> None:
    thing = sheet.longest("v-line")
    count = max(2, len(thing.points) // 10)
    thing.points, thing.bulges = thing.points[:count], [*thing.bulges[: count - 1], 0.0]
    thing.depths, thing.widths, thing.closed = thing.depths[:count], thing.widths[:count], False
    sheet.redraw(thing)


@drawn("the longest V line drawn where its neighbour is", *TOO_LITTLE, SOUND, MARKED)
def _(sheet: Sheet) -> None:
    lines = sheet.paths("v-line")
    longest = sheet.longest("v-line")
    other = lines[lines.index(longest) - 1]
    longest.points, longest.bulges, longest.closed = list(other.points), list(other.bulges), other.closed
    longest.depths, longest.widths = list(other.depths), list(other.widths)
    sheet.redraw(longest)


@drawn("the longest V line dropped", *TOO_LITTLE)
def _(sheet: Sheet) -> None:
    sheet.remove([sheet.longest("v-line")])


@drawn("every third V line dropped", *TOO_LITTLE)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("v-line")[::3])


@drawn("all V lines dropped", *TOO_LITTLE, COMPLETE, MARKED)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("v-line"))


@drawn("a V line drawn on into the light", NO_GOUGE, FIGURES)
def _(sheet: Sheet) -> None:
    thing = sheet.longest("v-line")
    way = thing.points[-1] - thing.points[-2]
    thing.closed = False
    thing.points.append(thing.points[-1] + 5 * way / abs(way))
    thing.bulges.append(0.0)
    thing.depths.append(thing.depths[-1])
    thing.widths.append(thing.widths[-1])
    sheet.redraw(thing)


@drawn("a V line too many, along the board's edge", NO_GOUGE, FIGURES)
def _(sheet: Sheet) -> None:
    twin = sheet.double(sheet.longest("v-line"))
    middle = sheet.middle()
    edge = sheet.largest("plaque-edge").points
    low = min(point.imag for point in edge)
    twin.points = [complex(middle.real - 10, low + 3), complex(middle.real + 10, low + 3)]
    twin.bulges, twin.depths, twin.widths, twin.closed = [0.0, 0.0], [2.0, 2.0], [1.73, 1.73], False
    sheet.redraw(twin)


@drawn("V lines given twice", MARKED, SOUND, FIGURES)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line")[:5]:
        sheet.double(thing)


@drawn("a V line leads back to its start", *EITHER, MARKED, SOUND)
def _(sheet: Sheet) -> None:
    thing = max((own for own in sheet.paths("v-line") if not own.closed), key=Thing.length)
    thing.closed = True
    sheet.redraw(thing)


@drawn("V lines on the layer of notes", *TOO_LITTLE, MARKED)
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("v-line"):
        sheet.to_layer(thing, sheet.some("note")[0])


@drawn("the longest flow line moved off its pocket", NO_GOUGE, FIGURES)
def _(sheet: Sheet) -> None:
    thing = sheet.longest("flow-line")
    sheet.shift([thing], sheet.largest("plaque-edge").points[0] + 3 + 3j - thing.points[0])


@drawn("a flow line drawn on across the light", NO_GOUGE, FIGURES)
def _(sheet: Sheet) -> None:
    thing = sheet.longest("flow-line")
    way = thing.points[-1] - thing.points[-2]
    thing.points.append(thing.points[-1] + 12 * way / abs(way))
    thing.bulges.append(0.0)
    sheet.redraw(thing)


@drawn("flow lines deeper than the board is thick", STAYS_DARK, FIGURES, MARKED)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 4.47, "flow-line")


@drawn("flow lines above their pocket's floor", STAYS_DARK, FIGURES, MARKED)
def _(sheet: Sheet) -> None:
    redeepened(sheet, 0.3, "flow-line")


@drawn("flow lines three times as far below the floor by their mark", STAYS_DARK, FIGURES, MARKED, unread=True)
def _(sheet: Sheet) -> None:
    sheet.mark_layer(sheet.paths("flow-line")[0].layer, "below_floor_mm", "2.4")


@drawn("flow lines dropped", FIGURES, COMPLETE)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("flow-line"))


@drawn("a ridge of fragile light dropped", FIGURES, MARKED)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.paths("fragile-light")[:1])


@drawn("all of fragile light dropped", FIGURES, MARKED)
def _(sheet: Sheet) -> None:
    sheet.remove(list(sheet.some("fragile-light")))


def listed(name: str, change, key: str = "data-depth-mm") -> None:
    """Enter what an editor of SVG does to the numbers of a V line."""

    @drawn(name, *EITHER, MARKED, forms=(SVG,), unread=True)
    def _(sheet: Sheet) -> None:
        if not isinstance(sheet, SvgSheet):
            raise NotHereError("SVG only")
        element = sheet.longest("v-line").source[1]
        element.set(key, " ".join(change(element.get(key).split())))


listed("a V line's depths one too few", lambda numbers: numbers[:-1])
listed("a V line's depths one too many", lambda numbers: [*numbers, numbers[-1]])
listed("a V line's depths with one below nought", lambda numbers: ["-1.0", *numbers[1:]])
listed("a V line's depths with a word among them", lambda numbers: ["deep", *numbers[1:]])
listed("a V line's depths with nan", lambda numbers: [*numbers[:-1], "nan"])
listed("a V line's depths with inf", lambda numbers: [*numbers[:-1], "inf"])
listed("a V line's depths all one number", lambda numbers: numbers[:1])
listed("a V line's depths gone", lambda numbers: [])
listed("a V line's widths one too few", lambda numbers: numbers[:-1], "data-width-mm")
listed("a V line's widths gone", lambda numbers: [], "data-width-mm")


def deep(name: str, change, *promises: str) -> None:
    """Enter what is done to the straight lines at true depth, which the flat lines don't show."""

    @drawn(name, *(promises or EITHER), MARKED, forms=(DXF,), unread=True)
    def _(sheet: Sheet) -> None:
        if not isinstance(sheet, DxfSheet):
            raise NotHereError("DXF only")
        change(sheet, sheet.twins[id(sheet.longest("v-line"))])


def all_vertices(code: int, change):
    def run(sheet: DxfSheet, twin: list) -> None:
        for vertex in twin[1:-1]:
            put(vertex, code, change(float(value_of(vertex, code))))

    return run


deep("a V line at true depth stands above the face", all_vertices(30, lambda z: -z))
deep("a V line at true depth lies on the face", all_vertices(30, lambda z: 0.0))
deep("a V line at true depth twice as deep", all_vertices(30, lambda z: 2 * z))
deep("a V line at true depth moved half a millimetre", all_vertices(10, lambda x: x + 0.5))
deep("a V line at true depth dropped", lambda sheet, twin: sheet._take(twin))
deep("a V line at true depth given twice", lambda sheet, twin: sheet.added(twin))
deep(
    "half the vertices of a V line at true depth gone", lambda sheet, twin: twin.__setitem__(slice(1, -2), twin[1:-2:6])
)
deep("one vertex of a V line at true depth 10 mm deep", lambda sheet, twin: put(twin[len(twin) // 2], 30, -10.0))
