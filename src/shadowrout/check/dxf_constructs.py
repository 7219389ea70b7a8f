"""What may stand in a DXF file: known entities with known group codes, drawn in the plane, visible, in model space.

Whatever else there is, a thickness, a width, an extrusion, a block, a sheet of paper, may hide, move or change what is
cut, and programs differ in what they make of it. None of it is followed: each is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache

from shadowrout.check.dxf_records import DxfRecord, DxfRecords
from shadowrout.check.findings import Promise
from shadowrout.check.untrusted import number, shown

APPLICATION = "SHADOWROUT"

STANDING = frozenset({"0", "defpoints", "*adsk_constraints"})
"""Layers that programs put into every file; nothing that is cut lies on them."""

_EVERYWHERE = frozenset({5, 8, 100, 102, 330, 360, 999})
"""Handle, layer, the marks of subclasses, owner, what belongs to it, and remarks (DXF Reference)."""

_REPEATED = frozenset({100, 102, 330, 360, 999})
_VERTEX_CODES = frozenset({10, 20, 40, 41, 42, 91})
"""An LWPOLYLINE has these once a vertex."""
_FIRST_EXTENDED = 1000

_KNOWN = {
    "LWPOLYLINE": frozenset({10, 20, 38, 42, 70, 90, 91}),
    "POLYLINE": frozenset({10, 20, 30, 66, 70}),
    "VERTEX": frozenset({10, 20, 30, 42, 70, 91}),
    "SEQEND": frozenset[int](),
    "CIRCLE": frozenset({10, 20, 30, 40}),
    "TEXT": frozenset({1, 7, 10, 11, 20, 21, 30, 31, 40, 41, 50, 72, 73}),
}
"""The group codes that are read of each kind of entity, or that change nothing of what is cut."""

_NEEDED = {
    "LWPOLYLINE": frozenset({10, 20, 90}),
    "VERTEX": frozenset({10, 20}),
    "CIRCLE": frozenset({10, 20, 40}),
    "TEXT": frozenset({1, 10, 20}),
}
"""Without these an entity has no place or no size."""

_FLAGS = {"LWPOLYLINE": 1 | 128, "POLYLINE": 1 | 8 | 128, "VERTEX": 32}
"""What group code 70 may say: closed, in space, line types that run on. Curve fitting and meshes may it not."""

_UNREAD = {"POLYLINE": (10, 20, 30), "TEXT": (30, 31)}
"""Numbers of known kinds that must be 0; the third is the height of a polyline in the plane."""
_LETTERS, _LARGEST = (40, 41, 50), 1e6
"""Height, width and turn of letters, which cut nothing, and what none of them comes near (a judgement)."""

_NEUTRAL: dict[int, tuple[str, ...]] = {6: ("BYLAYER", "CONTINUOUS"), 410: ("MODEL",)}
_NEUTRAL_NUMBER = {39: 0, 40: 0, 41: 0, 43: 0, 48: 1, 50: 0, 51: 0, 60: 0, 62: 256, 67: 0, 70: 0, 71: 0, 72: 0, 73: 0}
_NEUTRAL_NUMBER |= {74: 0, 75: 0, 210: 0, 220: 0, 230: 1, 370: -1}
"""Values that mean nothing: of the layer, none, or upright (DXF Reference, common group codes and LWPOLYLINE)."""

_WORDS = {
    6: "a line type of its own",
    39: "a thickness",
    40: "a width",
    41: "a width",
    43: "a width",
    60: "switched off",
    62: "a colour of its own",
    67: "on a sheet of paper",
    70: "a curve fitted to it",
    210: "turned out of its plane (extrusion)",
    220: "turned out of its plane (extrusion)",
    230: "turned out of its plane (extrusion)",
    370: "a line weight of its own",
    410: "on a sheet of paper",
    420: "a colour of its own",
    440: "transparency",
}
_SIZING = frozenset({210, 220, 230})

_XREF = 4 | 8 | 16 | 32
"""Flags of group code 70 of blocks that stand for another file (DXF Reference, BLOCK)."""
_FROZEN_IN_NEW, _CLOSED_TO_PLOT = 2, 290
_ORIGINS = {"$INSBASE": (0, 0, 0), "$UCSORG": (0, 0, 0), "$UCSXDIR": (1, 0, 0), "$UCSYDIR": (0, 1, 0)}
"""Header variables that move or turn a drawing in programs that go by them, and what leaves it in its place."""


def odd_entity(entity: DxfRecord) -> Iterator[tuple[Promise, str]]:
    """Yield what isn't promised of an entity, or a vertex, of a known kind; words follow after "a LWPOLYLINE ".

    Raises ValueError where a number is none.
    """
    kind = entity.kind
    if kind not in _KNOWN:
        return
    codes = frozenset(entity.codes)
    odd, lacking = _odd_codes(kind, codes)
    for code in lacking:
        yield Promise.COMPLETE, f"has no group code {code}, so its place or size is unknown"
    for code in odd:
        value = entity.text(code)
        if not _is_neutral(code, value):
            promise = Promise.TRUE_SIZE if code in _SIZING else Promise.MARKED
            yield promise, f"has {_WORDS.get(code, 'what is not promised')}: group code {code} is {shown(value)}"
    for code in _UNREAD.get(kind, ()):
        if entity.number(code) != 0 and not (code == 30 and kind == "POLYLINE" and not entity.whole(70) & 8):
            yield Promise.MARKED, f"lies off its plane: group code {code} is {shown(entity.text(code))}"
    for code in _LETTERS if kind == "TEXT" else ():
        if not abs(entity.number(code)) <= _LARGEST:
            yield Promise.COMPLETE, f"has letters of no size: group code {code} is {shown(entity.text(code))}"
    if entity.whole(70) & ~_FLAGS.get(kind, -1):
        yield Promise.MARKED, f"is of a kind that is not promised: group code 70 is {entity.whole(70)}"
    if len(codes) < len(entity.codes):
        yield from _repeats(entity)


@lru_cache(maxsize=1024)
def _odd_codes(kind: str, codes: frozenset[int]) -> tuple[list[int], list[int]]:
    """Return in their order the codes that need a look at their values, and those that are missing."""
    odd = codes - _KNOWN[kind] - _EVERYWHERE
    lacking = _NEEDED.get(kind, frozenset()) - codes
    return sorted(code for code in odd if code < _FIRST_EXTENDED), sorted(lacking)


def _is_neutral(code: int, value: str) -> bool:
    if code in _NEUTRAL:
        return value.strip().upper() in _NEUTRAL[code]
    return code in _NEUTRAL_NUMBER and number(value) == _NEUTRAL_NUMBER[code]


def _repeats(entity: DxfRecord) -> Iterator[tuple[Promise, str]]:
    often = _REPEATED | (_VERTEX_CODES if entity.kind == "LWPOLYLINE" else frozenset())
    for code, times in Counter(entity.codes).items():
        if times > 1 and code < _FIRST_EXTENDED and code not in often:
            yield Promise.MARKED, f"says its group code {code} twice"
    if entity.codes.count(10) != entity.codes.count(20):
        yield Promise.COMPLETE, "has vertices without an x or a y"


def odd_records(records: DxfRecords) -> Iterator[tuple[Promise, str]]:
    """Yield what isn't promised beside the entities: origins, blocks, layers; words follow after the file's name.

    Raises ValueError where a number is none.
    """
    for name, origin in _ORIGINS.items():
        point = records.header.get(name)
        if point is not None and point.point() != origin:
            yield Promise.TRUE_SIZE, f"{name} is {point.point()}: a program may move or turn the drawing by it"
    if (space := records.header.get("$TILEMODE")) is not None and space.whole(70) != 1:
        yield Promise.MARKED, "opens on a sheet of paper ($TILEMODE), not on the drawing"
    for table in records.table("UCS"):
        yield Promise.TRUE_SIZE, f"has a coordinate system of its own, {shown(table.text(2))}"
    for line_type in records.table("LTYPE"):
        if line_type.text(2).upper() in ("CONTINUOUS", "BYLAYER", "BYBLOCK") and line_type.whole(73):
            yield Promise.MARKED, f"its line type {shown(line_type.text(2))} has gaps"
    yield from _odd_blocks(records.section("BLOCKS"))
    for layer in records.table("LAYER"):
        if layer.text(2).lower() not in STANDING:
            yield from ((Promise.MARKED, f"layer {layer.text(2)} {what}") for what in _odd_layer(layer))


def _odd_layer(layer: DxfRecord) -> Iterator[str]:
    if layer.text(6, "CONTINUOUS").strip().upper() not in _NEUTRAL[6]:
        yield f"has the line type {shown(layer.text(6))}: machines may cut its gaps and strokes"
    if layer.whole(_CLOSED_TO_PLOT, 1) == 0:
        yield "is kept off the plot"
    if layer.whole(70) & _FROZEN_IN_NEW:
        yield "is frozen in new views"
    for code in (2, 6, 62, 70, _CLOSED_TO_PLOT):
        if layer.codes.count(code) > 1:
            yield f"says its group code {code} twice"


def _odd_blocks(records: Sequence[DxfRecord]) -> Iterator[tuple[Promise, str]]:
    block = ""
    for record in records:
        if record.kind == "BLOCK":
            block = shown(record.text(2))
            if record.whole(70) & _XREF:
                yield Promise.MARKED, f"its block {block} stands for another file"
            if any(record.point()[:2]):
                yield Promise.TRUE_SIZE, f"its block {block} has its base at {record.point()[:2]}"
        elif record.kind == "ENDBLK":
            block = ""
        else:
            yield Promise.MARKED, f"its block {block or 'without a name'} holds a {shown(record.kind)}"
