"""The first page of a printed pattern: what it is, how to print it and join its sheets, and what its lines mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shadowrout.drawing.marks import bar_mm, scale_bar, straight
from shadowrout.drawing.paper.pages import Page, Window, tile_page
from shadowrout.drawing.paper.paper_sizes import paper_name
from shadowrout.drawing.paper.text_column import MIDDLE_MM, NAME_MM, SMALL_MM, Column
from shadowrout.drawing.paper.tiles import Tiling
from shadowrout.drawing.shapes import Drawing, Layer, Role, Shape, Text
from shadowrout.errors import SettingError
from shadowrout.geometry.region import Box
from shadowrout.sheets.register import Distance
from shadowrout.words.lengths import brief, shown
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit
from shadowrout.words.wording import counted

_MAP_HIGH_MM = 112.0
"""Greatest height at the foot of the page for the map of the sheets, beside the bars."""


_MAP_TEXT_MM = 1.8
"""The least capital height of ISO 3098: the map is small and its caption no measure."""


@dataclass(frozen=True)
class Bench:
    """What the pattern is worked with: the V tool's angle, and what roughs the pockets.

    That is a ``machine``, a router on a ``template``, either where both can, or the hand; ``pared`` is whether it
    leaves wood at their walls.
    """

    v_angle_deg: float
    machine: bool
    template: bool
    pared: bool

    @property
    def rougher(self) -> str:
        """What roughs the pockets; nothing where it is the hand."""
        names = [name for name, used in (("the machine", self.machine), ("the router", self.template)) if used]
        return " or ".join(names)


def pattern_pages(
    pattern: Drawing, tiling: Tiling, bench: Bench, *, distances: Sequence[Distance] = (), mirrored: bool = False
) -> tuple[Page, ...]:
    """Return the pages of a pattern: the first, that says how to use the others, and one for each tile.

    ``distances`` are those of the register marks, for the user to measure; none where there are no marks.
    """
    cover = _cover(pattern, tiling, bench, distances, mirrored=mirrored)
    return cover, *(tile_page(tile, tiling, pattern, mirrored=mirrored) for tile in tiling.tiles)


def _cover(pattern: Drawing, tiling: Tiling, bench: Bench, distances: Sequence[Distance], *, mirrored: bool) -> Page:
    """Return the first page, upright whatever way the others are held."""
    width, height = sorted(tiling.sheet_mm)
    margin = tiling.printer_margin_mm
    column = _text(pattern, tiling, bench, distances, mirrored=mirrored)
    foot = (margin, margin, width - margin, min(column.y - 4.0, margin + _MAP_HIGH_MM))
    window, grid = _map(foot, tiling, mirrored=mirrored)
    notes = Layer(Role.NOTE, (*column.shapes, *_bars(foot, pattern.unit), *grid))
    page = (0.0, 0.0, width, height)
    return Page(Drawing(pattern.title, "", page, (*column.samples, notes), pattern.unit), (window,))


def _text(pattern: Drawing, tiling: Tiling, bench: Bench, distances: Sequence[Distance], *, mirrored: bool) -> Column:
    """Return the page's text, in the largest letters that leave room for the bars; SettingError where none do."""
    width, height = sorted(tiling.sheet_mm)
    margin = tiling.printer_margin_mm
    rows = [*pattern.properties, ("sheets", _sheets(tiling, mirrored=mirrored))]
    for text_mm in (MIDDLE_MM, SMALL_MM):
        column = Column(left=margin + 0.5, right=width - margin - 0.5, top=height - margin, text_mm=text_mm)
        column.title(f"Paper pattern: {pattern.title}", rows)
        number = 1
        for head, texts in _advice(pattern, tiling, bench, marks=bool(distances), mirrored=mirrored):
            number = column.steps(head, texts, first=number)
        column.table(list(_distance_rows(distances, pattern.unit)))
        column.legend(list(_legend(pattern, bench)))
        if column.y - 3.0 >= margin + bar_mm(pattern.unit) + 5.0:
            return column
    told = Sentence(
        "{margin} leaves the first page no room for its text; give less, or larger paper", margin=Mm(margin)
    )
    raise SettingError("pattern.printer_margin", told)


def _sheets(tiling: Tiling, *, mirrored: bool) -> str:
    width, height = tiling.sheet_mm
    held = "upright" if height >= width else "on their side"
    grid = f", in {counted(tiling.rows, 'row')} and {counted(tiling.columns, 'column')}" if tiling.sheets > 1 else ""
    return f"{tiling.sheets} of {paper_name(width, height)}, {held}{grid}{', mirrored' if mirrored else ''}"


def _advice(
    pattern: Drawing, tiling: Tiling, bench: Bench, *, marks: bool, mirrored: bool
) -> Iterator[tuple[str, list[str]]]:
    bar = brief(bar_mm(pattern.unit), pattern.unit)
    yield (
        "Print",
        [
            'Print every page at 100 % ("actual size"), on one side of the paper. Switch off all fitting, shrinking '
            "and enlarging.",
            f"Lay a steel rule on both bars below and on those of {'each' if tiling.sheets > 1 else 'the'} sheet: from "
            f"the first long tick to the last they must measure {bar}, level and upright. A sheet that is off does not "
            "go on the wood.",
        ],
    )
    if tiling.sheets > 1:
        yield "Join", _joining(tiling)
    yield "On the board", list(_mounting(joined=tiling.sheets > 1, marks=marks, mirrored=mirrored))
    if order := list(_order(pattern, bench)):
        yield "Cut, in this order", order


def _joining(tiling: Tiling) -> list[str]:
    sides = [side for side, many in (("left", tiling.columns > 1), ("upper", tiling.rows > 1)) if many]
    return [
        "Sheets are named by row and column; the map below shows where each belongs. 1-1 stays uncut.",
        f"On every other sheet cut off the strip beyond the dashed line on its {' and '.join(sides)} side, where it "
        "has one. Lay the cut edge on the dashed line of the neighbour, crosses on crosses, and glue.",
    ]


def _mounting(*, joined: bool, marks: bool, mirrored: bool) -> Iterator[str]:
    if marks:
        yield (
            f"Measure the {'joined ' * joined}pattern between the register marks and write it beside what the table "
            "says: paper stretches in damp air and under wet glue. Pin the crosses onto the board's dowel holes."
        )
    if mirrored:
        yield "This print is mirrored: it goes face down on the board, for transfer by heat or carbon."
    yield (
        "Depths are below the face before sanding. They are starting points: confirm them on scrap of the same wood."
    )


def _order(pattern: Drawing, bench: Bench) -> Iterator[str]:
    """Yield what is cut first and what then, of all that the pattern shows."""
    roles = {layer.role for layer in pattern.layers if layer.shapes}
    v_tool = f"with the V tool of {bench.v_angle_deg:g}°"
    if Role.POCKET in roles and bench.rougher:
        yield f"Hatched pockets: {bench.rougher} roughs them before this paper is on the board."
    elif Role.POCKET in roles:
        yield "Hatched pockets: take each down to the depth noted in it."
    if Role.LEFT_BY_BIT in roles:
        yield "Framed in them: what the template keeps the bit from. Clear it by hand, to the depth beside it."
    if Role.POCKET in roles and bench.pared:
        yield "Pockets' walls: with the gouge, to the edge of the shadow."
    if Role.FLOW_LINE in roles:
        yield f"Flow lines: {v_tool}, into the pockets' floors."
    if Role.V_LINE in roles:
        yield f"V lines: {v_tool}, along their middle."


def _distance_rows(distances: Sequence[Distance], unit: Unit) -> Iterator[tuple[str, ...]]:
    if distances:
        yield "register marks", "distance", "measured"
    for distance in distances:
        length = shown(distance.length_mm, unit, decimals=2 if unit is Unit.MM else 3)
        yield f"{distance.first} to {distance.second}", length, "........................"


def _legend(pattern: Drawing, bench: Bench) -> Iterator[tuple[Layer, str]]:
    """Yield each layer of the pattern that needs explaining, and the words for it."""
    roughed = f"roughed by {bench.rougher}" if bench.rougher else "pocket, to clear by hand"
    for layer in pattern.layers:
        depth = brief(layer.marks.depth_mm or 0.0, pattern.unit)
        below = brief(layer.marks.below_floor_mm or 0.0, pattern.unit)
        words = {
            Role.SHADOW: "shadow, to end below the face",
            Role.POCKET: f"{roughed}, {depth} deep",
            Role.LEFT_BY_BIT: "left by the router's bit",
            Role.V_LINE: f"V line, up to {depth} deep",
            Role.FLOW_LINE: f"flow line, {below} into the floor",
            Role.PLAQUE_EDGE: "the board's edge",
            Role.REGISTER: "register mark: cross and dowel hole",
        }
        if layer.role in words and layer.shapes:
            yield layer, words[layer.role]


def _bars(foot: Box, unit: Unit) -> Iterator[Shape]:
    x0, y0, _, _ = foot
    x, y, length = x0 + 5.0, y0 + 2.0, bar_mm(unit)
    yield from scale_bar((x, y), unit, upright=False)
    yield from scale_bar((x, y), unit, upright=True)
    yield Text((x + length / 2, y + 5.0), brief(length, unit), MIDDLE_MM)
    yield Text((x + 2.0, y + length - 2.0), brief(length, unit), MIDDLE_MM, centred=False)


def _map(foot: Box, tiling: Tiling, *, mirrored: bool) -> tuple[Window, list[Shape]]:
    """Return the pattern small, right of the upright bar, and over it the sheets' seams and names."""
    x0, y0, x1, y1 = foot[0] + 24.0, foot[1] + 11.0, foot[2], foot[3]
    bx0, by0, bx1, by1 = tiling.box_mm
    scale = min((x1 - x0) / (bx1 - bx0), (y1 - y0) / (by1 - by0))
    left, low = (x0 + x1 - scale * (bx1 - bx0)) / 2, y0
    frame = (left, low, left + scale * (bx1 - bx0), low + scale * (by1 - by0))
    side = (-scale, left + scale * bx1) if mirrored else (scale, left - scale * bx0)
    window = Window(frame, (side[0], 0.0, 0.0, scale, side[1], low - scale * by0), with_words=False)
    told = Text((frame[0], frame[3] + 0.8), "map, not to scale", _MAP_TEXT_MM, centred=False)
    return window, [told, *_grid(frame, tiling)]


def _grid(frame: Box, tiling: Tiling) -> Iterator[Shape]:
    """Yield the seams across the map and each sheet's name at the middle of its window; nothing for one sheet."""
    (x0, y0, x1, y1), (left, low, right, _) = frame, tiling.box_mm
    scale = (x1 - x0) / (right - left)
    upright, level = tiling.seams_mm
    for x in upright:
        yield straight((x0 + scale * (x - left), y0), (x0 + scale * (x - left), y1))
    for y in level:
        yield straight((x0, y0 + scale * (y - low)), (x1, y0 + scale * (y - low)))
    for tile in tiling.tiles if tiling.sheets > 1 else ():
        wx0, wy0, wx1, wy1 = tile.window_mm
        middle = (x0 + scale * ((wx0 + wx1) / 2 - left), y0 + scale * ((wy0 + wy1) / 2 - low))
        yield Text(middle, tile.label, NAME_MM)
