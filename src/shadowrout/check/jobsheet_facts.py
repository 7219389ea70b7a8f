"""The facts that must stand on the job sheet for a plaque: how each begins, and the lengths that it tells."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.words.wording import Words, coats_of, counted, share

Fact = tuple[str, str, tuple[str, Sequence[float]]]
"""A heading, a fact's name, how its value begins, and the lengths that stand in it; "nan" where a figure is unknown."""


def facts_to_tell(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Fact]:
    """Yield the facts that must stand on a plaque's sheet."""
    job = plaque.job
    words = Words(str(job.output.unit))
    yield "Board", "Size", ("", numbers.numbers("size_mm", 2))
    yield "Board", "Zero", ("lower left corner" if job.output.origin == "corner" else "middle of the board", ())
    if set(job.output.files) - {"stencil"}:
        yield from _board(plaque, numbers, words)
        yield from _pockets(numbers, words)
        yield from _flow(numbers)
        yield from _amounts(numbers, words)
    yield from _stencil(numbers.made("stencil"))
    yield from _template(numbers.made("template"))
    if (register := numbers.made("register")) is not None:
        marks = register.tables("marks")
        yield "Register marks", "Dowel holes", (f"{len(marks)} hole", (register.number("dowel_mm"),))
    if (pattern := numbers.made("pattern")) is not None:
        sheets, rows, columns = (pattern.number(key) for key in ("sheets", "rows", "columns"))
        grid = f", in {counted(round(rows), 'row')} of {columns:g}" if sheets > 1 and not math.isnan(rows) else ""
        yield "Paper pattern", "Paper", (f"{pattern.text('paper')}, {sheets:g} sheet{'s' * (sheets > 1)}{grid}", ())


def _board(plaque: PlaqueFiles, numbers: NumbersTable, words: Words) -> Iterator[Fact]:
    amounts = numbers.table("amounts")
    wood = plaque.settings.wood or plaque.job.finish.wood
    weight = _told(words.weight, amounts.number("plaque_kg")) if amounts is not None else "nan"
    shadows = numbers.number("shadows")
    told = "nan" if math.isnan(shadows) else counted(round(shadows), "separate shadow")
    yield "Board", "Thickness", ("", (numbers.number("thickness_mm"),))
    yield "Board", "Finest line", ("", (plaque.job.tone.detail or math.nan,))
    yield "Board", "Wood", (f"{wood}, about {weight} when carved", ())
    yield "Board", "Shadow", (f"{_told(share, numbers.number('dark_share'))} of the picture, {told}", ())


def _pockets(numbers: NumbersTable, words: Words) -> Iterator[Fact]:
    pockets = numbers.tables("pockets")
    if pockets:
        area = _told(words.area, sum(pocket.number("area_mm2") for pocket in pockets))
        yield "Pockets", "Pockets", (f"{len(pockets)}, {area} in all", ())


def _flow(numbers: NumbersTable) -> Iterator[Fact]:
    flow = numbers.table("flow_lines")
    if flow is not None and flow.number("count") > 0:
        yield "Flow lines", "Depth", ("", (flow.number("greatest_below_floor_mm"),))


def _amounts(numbers: NumbersTable, words: Words) -> Iterator[Fact]:
    amounts = numbers.table("amounts")
    if amounts is None:
        return
    board = _told(words.volume, amounts.number("blank_mm3"))
    weight = _told(words.weight, amounts.number("blank_kg"))
    paint = _told(words.paint, amounts.number("paint_litres"))
    yield "Amounts", "Surface to paint", (_told(words.area, amounts.number("painted_mm2")), ())
    yield "Amounts", "Paint", (f"{paint}, {_told(coats_of, amounts.number('coats'))}", ())
    yield "Amounts", "Board", (f"{board}, about {weight}", ())
    yield "Amounts", "Carved away", (_told(words.chips, amounts.number("removed_mm3")), ())


def _stencil(stencil: NumbersTable | None) -> Iterator[Fact]:
    if stencil is None:
        return
    x0, y0, x1, y1 = stencil.numbers("sheet_mm", 4)
    yield "Stencil", "Sheet", ("", (x1 - x0, y1 - y0))
    yield "Stencil", "Lies", ("", (x0, y0))
    yield "Stencil", "Openings", (f"{stencil.number('openings'):g}", ())
    yield "Stencil", "Least web", ("", (stencil.number("web_mm"),))
    yield "Stencil", "Kerf", ("", (stencil.number("kerf_mm"),))
    yield "Stencil", "Kept closed", (f"{_told(share, stencil.number('dark_lost_share'))} of", ())
    yield "Stencil", "Finer lines", (f"{_told(share, stencil.number('carved_dark_closed_share'))} of", ())
    bridges = stencil.number("bridges")
    if bridges > 0:
        yield "Stencil", "Bridges", (f"{bridges:g}", (stencil.number("bridge_length_mm"),))


def _template(template: NumbersTable | None) -> Iterator[Fact]:
    if template is None:
        return
    x0, y0, x1, y1 = template.numbers("sheet_mm", 4)
    sheets = template.number("sheets")
    heading = "Router template"
    yield heading, "Sheets", (f"{sheets:g}", ())
    size = (x1 - x0, y1 - y0, template.number("thickness_mm"))
    yield heading, "Size of each" if sheets > 1 else "Size", ("", size)
    yield heading, "Lies", ("", (x0, y0))
    bit, bush, offset = (template.number(key) for key in ("bit_mm", "bush_mm", "offset_mm"))
    yield heading, "Bit and bush", ("bit", (bit, bush, offset))
    yield heading, "Depth", ("", (template.number("depth_mm"),))
    yield heading, "Bit stands out", ("", (template.number("bit_below_base_mm"),))


def _told(words: Callable[[float], str], value: float) -> str:
    """Return a figure in words, "nan" for one that couldn't be read."""
    return "nan" if math.isnan(value) else words(value)
