"""What the DXF Reference can say of a drawing that these files don't use, and that moves, hides or adds to it."""

from __future__ import annotations

import copy

from damage_kinds.dxf_sheet import DxfSheet, Tags, value_of
from damage_kinds.kinds import (
    COMPLETE,
    DXF,
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
from damage_kinds.things import NotHereError, Sheet

ANYTHING = (MARKED, TRUE_SIZE, FAITHFUL, NO_GOUGE, STAYS_DARK, FIGURES)
XDATA = (1001, "SHADOWROUT")


def construct(name: str, *promises: str, on: str = "carve", bases: tuple[str, ...] = ("photo", "r12")):
    def enter(spoil):
        @drawn(f"DXF: {name}", *(promises or ANYTHING), on=on, forms=(DXF,), unread=True, bases=bases)
        def _(sheet: Sheet) -> None:
            if not isinstance(sheet, DxfSheet):
                raise NotHereError("DXF only")
            spoil(sheet)

        return spoil

    return enter


def before_marks(tags: Tags, *more: tuple[int, str]) -> None:
    """Put tags into an entity before its extended data."""
    at = next((number for number, tag in enumerate(tags) if tag == XDATA), len(tags))
    tags[at:at] = more


def tagged(words: str, role: str, *more: tuple[int, str], promises: tuple[str, ...] = ANYTHING) -> None:
    """Enter tags that are added to all entities of a role."""

    @construct(words, *promises)
    def _(sheet: DxfSheet) -> None:
        for thing in sheet.some(role):
            before_marks(thing.source[0], *more)


MIRROR = ((210, "0.0"), (220, "0.0"), (230, "-1.0"))
tagged("shadows extruded downwards, so mirrored", "shadow", *MIRROR)
tagged("paths extruded downwards, so mirrored", "cutter-path", *MIRROR)
tagged("dowel holes extruded downwards, so mirrored", "register", *MIRROR, promises=(MARKED, FIGURES))
tagged("walls extruded sideways", "pocket", (210, "1.0"), (220, "0.0"), (230, "0.0"))


def early(tags: Tags, *more: tuple[int, str]) -> None:
    """Put tags of all entities right after the layer's name."""
    at = next(number for number, (code, _) in enumerate(tags) if code == 8) + 1
    tags[at:at] = more


def common(words: str, role: str, *more: tuple[int, str], promises: tuple[str, ...] = (MARKED, COMPLETE)) -> None:
    @construct(words, *promises)
    def _(sheet: DxfSheet) -> None:
        for thing in sheet.some(role):
            for part in thing.source:
                if value_of(part, 8):
                    early(part, *more)


common("walls invisible", "pocket", (60, "1"))
common("shadows in paper space", "shadow", (67, "1"), promises=(MARKED, COMPLETE, FAITHFUL))
common("paths in paper space", "cutter-path", (67, "1"), promises=(MARKED, COMPLETE, STAYS_DARK, FIGURES))


def before_points(tags: Tags, *more: tuple[int, str]) -> None:
    at = next(number for number, (code, _) in enumerate(tags) if code == 10)
    tags[at:at] = more


def entity(kind: str, layer: str, role: str, *tags: tuple[int, str]) -> list[Tags]:
    head: Tags = [(0, kind), (5, "FFFF01"), (100, "AcDbEntity"), (8, layer)]
    return [[*head, *tags, XDATA, (1000, f"role={role}"), (1000, "depth_mm=3"), (1000, "cutter_mm=3")]]


def added(words: str, role: str, kind: str, *tags: tuple[int, str], marked: bool = True) -> None:
    """Enter an entity of a kind that the files don't use, on a role's layer."""

    @construct(words, MARKED, SOUND, NO_GOUGE, FAITHFUL, FIGURES)
    def _(sheet: DxfSheet) -> None:
        layer = sheet.some(role)[0].layer
        new = entity(kind, layer, role, *tags)
        if not marked:
            new[0] = new[0][: new[0].index(XDATA)]
        if value_of(sheet.entities[0][0], 100) == "":
            new[0] = [tag for tag in new[0] if tag[0] != 100]
        sheet.entities.append(new)


LINE = ((100, "AcDbLine"), (10, "2.0"), (20, "2.0"), (30, "0.0"), (11, "70.0"), (21, "2.0"), (31, "0.0"))
CIRCLE = ((100, "AcDbCircle"), (10, "20.0"), (20, "3.0"), (30, "0.0"), (40, "2.0"))
ARC = (*CIRCLE, (100, "AcDbArc"), (50, "0.0"), (51, "180.0"))
ELLIPSE = ((100, "AcDbEllipse"), (10, "20.0"), (20, "30.0"), (30, "0.0"), (11, "9.0"), (21, "0.0"), (31, "0.0"),
           (40, "0.5"), (41, "0.0"), (42, "6.283185"))  # fmt: skip
POINT = ((100, "AcDbPoint"), (10, "20.0"), (20, "30.0"), (30, "0.0"))
SPLINE = ((100, "AcDbSpline"), (70, "8"), (71, "3"), (72, "8"), (73, "4"), (74, "0"),
          *((40, knot) for knot in ("0", "0", "0", "0", "1", "1", "1", "1")),
          *(tag for x in ("10", "30", "50", "70") for tag in ((10, x), (20, "3.0"), (30, "0.0"))))  # fmt: skip
FACE = (
    (100, "AcDbFace"),
    *((code + step, "5.0" if step != 1 else "9.0") for code in (10, 20, 30) for step in range(4)),
)
MTEXT = ((100, "AcDbMText"), (10, "20.0"), (20, "20.0"), (30, "0.0"), (40, "3.0"), (71, "1"), (1, "depth 9 mm"))

added("a line on the layer of paths", "cutter-path", "LINE", *LINE)
added("a line without marks on the layer of paths", "cutter-path", "LINE", *LINE, marked=False)
added("a line on the layer of V lines", "v-line", "LINE", *LINE)
added("an arc on the layer of walls", "pocket", "ARC", *ARC)
added("a circle on the layer of shadows", "shadow", "CIRCLE", *CIRCLE)
added("a circle on the layer of walls", "pocket", "CIRCLE", *CIRCLE)
added("an ellipse on the layer of shadows", "shadow", "ELLIPSE", *ELLIPSE)
added("a spline on the layer of paths", "cutter-path", "SPLINE", *SPLINE)
added("a point on the layer of paths", "cutter-path", "POINT", *POINT)
added("a face on the layer of walls", "pocket", "3DFACE", *FACE)
added("a text on the layer of walls", "pocket", "MTEXT", *MTEXT)
added("an entity of a kind that nobody knows", "pocket", "SHADOWBOX", (10, "5.0"), (20, "5.0"))
added("a reference to a block that isn't there", "pocket", "INSERT", (100, "AcDbBlockReference"), (2, "NOBLOCK"),
      (10, "5.0"), (20, "5.0"), (30, "0.0"))  # fmt: skip


@construct("a path without marks on the layer of paths", MARKED, SOUND, NO_GOUGE, STAYS_DARK, FIGURES)
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("cutter-path"):
        tags = thing.source[0]
        del tags[tags.index(XDATA) :]


@construct("marks under another application's id", MARKED, STAYS_DARK, FIGURES, FAITHFUL, COMPLETE)
def _(sheet: DxfSheet) -> None:
    for own in sheet.entities:
        own[0][:] = [(1001, "ACAD") if tag == XDATA else tag for tag in own[0]]


@construct("a depth mark given twice, the second another", MARKED, STAYS_DARK, FIGURES)
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("pocket", "cutter-path"):
        thing.source[0].append((1000, "depth_mm=9"))


@construct("a depth mark given twice, the first another", MARKED, STAYS_DARK, FIGURES)
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("pocket", "cutter-path"):
        tags = thing.source[0]
        tags.insert(tags.index(XDATA) + 1, (1000, "depth_mm=9"))


@construct("a role given twice", MARKED, FAITHFUL)
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("shadow"):
        thing.source[0].append((1000, "role=note"))


@construct("an elevation given twice", MARKED, STAYS_DARK, SOUND, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("pocket"):
        before_points(thing.source[0], (38, "-9.0"))


@construct("a path's first vertex given no y", MARKED, SOUND, COMPLETE, *ANYTHING, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    tags = sheet.largest("cutter-path").source[0]
    del tags[next(number for number, (code, _) in enumerate(tags) if code == 20)]


@construct("a bulge of 1e9", SOUND, *ANYTHING, COMPLETE, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    first_of(sheet.largest("shadow").source[0], 42, "1e9")


@construct("a coordinate of nan", SOUND, COMPLETE, *ANYTHING, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    first_of(sheet.largest("cutter-path").source[0], 10, "nan")


@construct("a coordinate with a decimal comma", SOUND, COMPLETE, *ANYTHING, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    first_of(sheet.largest("cutter-path").source[0], 10, "12,5")


@construct("a coordinate of 1e308", SOUND, COMPLETE, *ANYTHING, bases=("photo",))
def _(sheet: DxfSheet) -> None:
    first_of(sheet.largest("cutter-path").source[0], 20, "1e308")


def first_of(tags: Tags, code: int, value: str) -> None:
    at = next(number for number, (own, _) in enumerate(tags) if own == code)
    tags[at] = (code, value)


@construct("all shadows in a block that is placed larger", MARKED, FAITHFUL, COMPLETE, TRUE_SIZE, bases=("r12",))
def _(sheet: DxfSheet) -> None:
    blocked(sheet, "shadow", 1.01)


@construct("all paths in a block", MARKED, STAYS_DARK, COMPLETE, FIGURES, bases=("r12",))
def _(sheet: DxfSheet) -> None:
    blocked(sheet, "cutter-path", 1.0)


@construct("a block of a further pocket is placed in the light", MARKED, NO_GOUGE, FIGURES, bases=("r12",))
def _(sheet: DxfSheet) -> None:
    blocked(sheet, "pocket", 1.0, keep=True)


def blocked(sheet: DxfSheet, role: str, scale: float, *, keep: bool = False) -> None:
    """Move a role's entities into a block, as grouping in an editor does, and refer to it."""
    things = sheet.paths(role)
    layer = things[0].layer
    parts = [part for thing in things for part in copy.deepcopy(thing.source)]
    if not keep:
        sheet.remove(list(things))
    block: Tags = [(0, "BLOCK"), (8, layer), (2, "GROUP1"), (70, "0"), (10, "0.0"), (20, "0.0"), (30, "0.0")]
    block += [(3, "GROUP1"), (1, ""), *(tag for part in parts for tag in part), (0, "ENDBLK"), (8, layer)]
    head = sheet.head
    at = next((at for at, tag in enumerate(head) if tag == (2, "BLOCKS")), None)
    if at is None:
        sheet.head += [(0, "SECTION"), (2, "BLOCKS"), *block, (0, "ENDSEC")]
        end = max(number for number, tag in enumerate(sheet.head[: -len(block) - 3]) if tag == (0, "SECTION"))
        sheet.head.append(sheet.head.pop(end))
    else:
        end = next(number for number in range(at, len(head)) if head[number] == (0, "ENDSEC"))
        head[end:end] = block
    place: Tags = [(0, "INSERT"), (8, layer), (2, "GROUP1"), (10, "3.0" if keep else "0.0"), (20, "0.0"), (30, "0.0")]
    place += [(41, f"{scale}"), (42, f"{scale}"), (43, "1.0")]
    sheet.entities.append([place])


def row(words: str, change, *promises: str) -> None:
    """Enter a change to the layer table's row of walls."""

    @construct(words, *(promises or (MARKED, COMPLETE)))
    def _(sheet: DxfSheet) -> None:
        where = sheet.layer_row(sheet.paths("pocket")[0].layer)
        change(sheet, where)


def _frozen(sheet: DxfSheet, where: range) -> None:
    at = next(at for at in where if sheet.head[at][0] == 70)
    sheet.head[at] = (70, str(int(sheet.head[at][1]) | 1))


def _gone(sheet: DxfSheet, where: range) -> None:
    start = max(at for at in range(where.start) if sheet.head[at] == (0, "LAYER"))
    del sheet.head[start : where.stop]


row("the layer of walls frozen", _frozen, MARKED)
row("the layer of walls gone from the table", _gone)


@construct("the section of entities empty", COMPLETE, MARKED, FAITHFUL, *ANYTHING)
def _(sheet: DxfSheet) -> None:
    sheet.entities.clear()


@construct("the section of entities named otherwise", COMPLETE, MARKED, FAITHFUL, *ANYTHING)
def _(sheet: DxfSheet) -> None:
    sheet.section[:] = [(2, "ENTITES")]


@construct("the section of entities given twice", COMPLETE, MARKED, SOUND, *ANYTHING)
def _(sheet: DxfSheet) -> None:
    body = [tag for own in sheet.entities for part in own for tag in part]
    sheet.tail[:0] = [(0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES"), *body]


@construct("the file's end gone", COMPLETE)
def _(sheet: DxfSheet) -> None:
    sheet.tail.clear()


@construct("vertices of an R12 path end without SEQEND", COMPLETE, SOUND, MARKED, *ANYTHING, bases=("r12",))
def _(sheet: DxfSheet) -> None:
    sheet.largest("cutter-path").source.pop()


@construct("a stencil's openings extruded downwards", *ANYTHING, ONE_PIECE, on="stencil", bases=("tone", "r12"))
def _(sheet: DxfSheet) -> None:
    for thing in sheet.paths("opening"):
        before_marks(thing.source[0], *MIRROR)
