"""The job sheet's tables against numbers.json and the settings: a row each, cell by cell."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence

from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.jobsheet_reader import JobSheet, tables_of
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.told_against import Row
from shadowrout.check.written_lengths import agree
from shadowrout.job.options import Cutter, Job
from shadowrout.words.wording import Words, minutes, share

_SHEET = "jobsheet.html"
_BATCH = "The batch"

Cell = str | float | tuple[float, ...] | None
"""What a cell must tell: a text by itself, a length in mm, several, or anything."""


def of_plaque(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet, part: str) -> Iterator[Row]:
    """Yield what is wrong with each row of the tables on a plaque's sheet, or nothing."""
    files = set(plaque.job.output.files)
    if files - {"stencil"}:
        yield from _pockets(plaque, numbers, sheet, part)
        yield from _v_lines(numbers, Words(str(plaque.job.output.unit)), sheet, part)
    register = numbers.made("register")
    if register is not None:
        marks = [(m.text("mark"), m.number("x_mm"), m.number("y_mm")) for m in register.tables("marks")]
        apart = [(d.text("between"), d.number("length_mm")) for d in register.tables("distances")]
        yield from _table(sheet, part, "Register marks", "Where the dowel holes are", marks)
        yield from _table(sheet, part, "Register marks", "Distances to measure", apart)
    times = [(t.text("name"), _minutes(t.number("minutes")), t.text("by")) for t in numbers.tables("times")]
    total = _minutes(sum(task.number("minutes") for task in numbers.tables("times")))
    yield from _table(sheet, part, "Time", "Estimated times", [*times, ("All", total, None)])


def of_batch(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet) -> Iterator[Row]:
    """Yield what is wrong with a plaque's row among all plaques, with its board, and with the tools."""
    yield from _to_make(plaque, numbers, sheet)
    yield from _tools(plaque, numbers, sheet)
    if set(plaque.job.output.files) - {"stencil"}:
        yield from _blank_to_fetch(plaque, numbers, sheet)


def _blank_to_fetch(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet) -> Iterator[Row]:
    """Yield where the boards to fetch aren't as many of a size as there are plaques of it."""
    size, thick = sorted(numbers.numbers("size_mm", 2), reverse=True), numbers.number("thickness_mm")
    if any(map(math.isnan, [*size, thick])):
        return
    alike = [p for p in plaque.job.plaques if _blank(plaque, p.size, p.thickness, p.wood) == _own_blank(plaque)]
    wood = plaque.settings.wood or plaque.job.finish.wood
    name = f"{len(alike)} x {wood}"
    rows = [row for rows in tables_of(sheet.under(_BATCH, "To fetch"), "Boards") for row in rows[1:]]
    told = any(row[:1] == [name] and len(row) > 1 and agree(row[1], [*size, thick]) for row in rows)
    line = f"{name}, {size[0]:g} x {size[1]:g} mm, {thick:g} mm thick"
    yield "" if told else f"{_SHEET}: To fetch: no line tells {line}"


def _own_blank(plaque: PlaqueFiles) -> tuple[object, ...]:
    settings = plaque.settings
    return _blank(plaque, settings.size, settings.thickness, settings.wood)


def _blank(
    plaque: PlaqueFiles, size: tuple[float, float] | None, thickness: float, wood: str | None
) -> tuple[object, ...]:
    return (*sorted(size or ()), thickness, wood or plaque.job.finish.wood)


def _to_make(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet) -> Iterator[Row]:
    name = " ".join(str(plaque.settings.name).split())
    lines = numbers.table("v_lines")
    wanted: dict[str, Cell] = {
        "Size": numbers.numbers("size_mm", 2),
        "Pockets": f"{len(numbers.tables('pockets'))}",
        "V lines": f"{lines.number('count'):g}" if lines is not None else None,
        "Time, about": _minutes(sum(task.number("minutes") for task in numbers.tables("times"))),
    }
    found = False
    for rows in tables_of(sheet.under(_BATCH, "To make"), "Plaques of this job"):
        for row in rows[1:]:
            if row[:1] == [name] and rows and len(row) == len(rows[0]):
                found = True
                cells = [wanted.get(head) for head in rows[0][1:]]
                yield from _row(f"To make, {name}", row[1:], cells)
    yield "" if found else f"{_SHEET}: the plaque {name} isn't among those to make"


def _tools(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet) -> Iterator[Row]:
    """Yield where a tool isn't of the size or the depth that it is set to.

    Cutters and bits may have other pockets on another plaque, so they are judged where there is one plaque alone.
    """
    job, alone = plaque.job, len(plaque.job.plaques) == 1
    files = set(job.output.files)
    every = [row for rows in tables_of(sheet.under(_BATCH, "Tools"), "Tools and depths") for row in rows[1:]]
    if files - {"stencil"}:
        v_tool = (f"V tool, {job.v_tool.angle:g}°", job.v_tool.greatest_depth, None, None)
        yield from _tool_lines(every, "V tool", [v_tool])
    if "carve" in files and alone:
        used = {pocket.number("cutter_mm") for pocket in numbers.tables("pockets")}
        yield from _tool_lines(every, "Straight cutter", [_cutter(c, job, used) for c in job.cutters])
    template = numbers.made("template")
    if template is not None and alone:
        yield from _tool_lines(every, "Router bit", [_router_bit(job, template)])
    register = numbers.made("register")
    if register is not None and alone:
        yield from _tool_lines(every, "Drill", [(register.number("dowel_mm"), None, None, None)])
    if "stencil" in files:
        yield from _tool_lines(every, "Laser, knife or saw", [(None, None, None, job.stencil.kerf)])
    for kind in ("stencil", "template"):
        yield from _sheet_to_fetch(plaque, numbers, sheet, kind)


def _sheet_to_fetch(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet, kind: str) -> Iterator[Row]:
    """Yield where the sheet to fetch for a plaque's stencil or templates is of another size or number."""
    made = numbers.made(kind)
    if made is None or getattr(plaque.job.stock, kind) is not None:
        return
    x0, y0, x1, y1 = made.numbers("sheet_mm", 4)
    count = made.number("sheets") if kind == "template" else 1
    thick = (made.number("thickness_mm"),) if kind == "template" else ()
    name = " ".join(str(plaque.settings.name).split())
    told = f"{'router ' if kind == 'template' else ''}{kind}, {name}"
    tables = tables_of(sheet.under(_BATCH, "To fetch"), "Sheets for stencils and templates")
    rows = [row for rows in tables for row in rows[1:] if row[-1:] == [told]]
    yield "" if rows else f"{_SHEET}: To fetch: no line tells of the sheet for {told}"
    for row in rows:
        yield from _row(f"To fetch, {told}", row[1:2], [(x1 - x0, y1 - y0, *thick)])
        if row[0].partition(" ")[0] != f"{count:g}" and not math.isnan(count):
            yield f"{_SHEET}: To fetch, {told}: says {row[0]!r}; {count:g} is what is planned"


def _router_bit(job: Job, template: NumbersTable) -> Sequence[Cell]:
    options = job.template
    bush = None if options.bush == options.bit else options.bush
    return options.bit, template.number("depth_mm"), job.cutters[0].depth_per_pass or math.nan, bush


def _cutter(cutter: Cutter, job: Job, used: Collection[float]) -> Sequence[Cell]:
    if cutter.diameter not in used:
        return cutter.diameter, None, None, None
    depth = cutter.depth or 0.0
    depths = (depth,) if job.finish.deeper_from is None else (depth, depth + job.finish.deeper_by)
    return cutter.diameter, depths, cutter.depth_per_pass or math.nan, cutter.finishing_allowance or None


def _tool_lines(every: Sequence[list[str]], kind: str, tools: Sequence[Sequence[Cell]]) -> Iterator[Row]:
    rows = [row for row in every if len(row) == 4 and row[0].startswith(kind)]
    if len(rows) != len(tools):
        yield f"{_SHEET}: Tools: {len(rows)} lines tell of a {kind}, not {len(tools)}"
        return
    for row, cells in zip(rows, tools, strict=True):
        yield from _row(f"Tools, {kind}", row, cells)


def _pockets(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet, part: str) -> Iterator[Row]:
    """Yield what is wrong with the pockets one by one, in the order of their numbers, and by cutter and depth."""
    pockets = numbers.tables("pockets")
    files = set(plaque.job.output.files)
    if not pockets:
        return
    machine = "carve" in files or not files & {"carve", "pattern", "template"}
    words = Words(str(plaque.job.output.unit))
    if files & {"carve", "pattern"}:
        rows: list[Sequence[Cell]] = []
        for p in pockets:
            across, depth, passes = (p.number(key) for key in ("cutter_mm", "depth_mm", "passes"))
            area = _in_words(words.short_area, p.number("area_mm2"))
            cells = (across, depth, f"{passes:g}") if machine else (depth,)
            rows.append((f"{p.number('number'):g}", *cells, area))
        yield from _table(sheet, part, "Pockets", "One by one", rows)
    if machine:
        groups: dict[tuple[float, float, float], list[float]] = {}
        for p in pockets:
            key = (p.number("cutter_mm"), p.number("depth_mm"), p.number("passes"))
            groups.setdefault(key, []).append(p.number("cutter_path_mm"))
        grouped = [
            (cutter, depth, f"{passes:g}", f"{len(group)}", _in_words(words.run, sum(group)))
            for (cutter, depth, passes), group in groups.items()
        ]
        yield from _table(sheet, part, "Pockets", "By cutter and depth", grouped)


def _v_lines(numbers: NumbersTable, words: Words, sheet: JobSheet, part: str) -> Iterator[Row]:
    """Yield what is wrong with the V lines by their width, with what sanding leaves, and with the strokes to re-cut."""
    lines = numbers.table("v_lines")
    if lines is None or not lines.number("count") > 0:
        return
    classes: list[Sequence[Cell]] = []
    for told in lines.tables("classes"):
        start = told.number("from_mm")
        bounds = (start, *([] if told.values.get("to_mm") is None else [told.number("to_mm")]))
        bounds = tuple(bound for bound in bounds if bound > 0)
        least, most = told.numbers("depth_mm", 2)
        depths: Cell = None if f"{least:.2f}" == f"{most:.2f}" or most - least < 0.03 else (least, most)
        classes.append((bounds, f"{told.number('count'):g}", _in_words(words.run, told.number("length_mm")), depths))
    total = ("All", f"{lines.number('count'):g}", _in_words(words.run, lines.number("length_mm")), None)
    yield from _table(sheet, part, "V lines", "V lines by their greatest width", [*classes, total])
    sanding = lines.table("sanding")
    left: list[Sequence[Cell]] = []
    if sanding is not None:
        left += [
            (loss, share(kept)) for loss, kept in zip(sanding.row("loss_mm"), sanding.row("share_left"), strict=False)
        ]
    yield from _table(sheet, part, "Sanding", "What is left of the V lines", left)
    strokes = [
        (f"{count}", s.numbers("place_mm", 2), s.number("width_mm"), s.number("length_mm"), s.number("gone_at_mm"))
        for count, s in enumerate(lines.tables("first_to_go"), start=1)
    ]
    yield from _table(sheet, part, "Sanding", "The strokes that go first", strokes)


def _table(sheet: JobSheet, part: str, heading: str, caption: str, expected: Sequence[Sequence[Cell]]) -> Iterator[Row]:
    """Yield what is wrong with the rows of a table, which must stand there as they are expected, in their order."""
    tables = list(tables_of(sheet.under(part, heading), caption))
    where = f"{part}, {caption}"
    yield "" if tables or not expected else f"{_SHEET}: {where}: the table is missing"
    for rows in tables:
        if len(rows) - 1 != len(expected):
            yield f"{_SHEET}: {where} has {len(rows) - 1} lines, numbers.json tells of {len(expected)}"
            continue
        for row, cells in zip(rows[1:], expected, strict=True):
            yield from _row(f"{where}, {row[0] if row else ''}", row, cells)


def _row(where: str, row: Sequence[str], cells: Sequence[Cell]) -> Iterator[Row]:
    if len(row) != len(cells):
        yield f"{_SHEET}: {where}: the line has {len(row)} cells, not {len(cells)}"
        return
    for text, cell in zip(row, cells, strict=True):
        yield "" if _tells(text, cell) else f"{_SHEET}: {where} says {text!r}; {_expected(cell)} is what is planned"


def _tells(text: str, cell: Cell) -> bool:
    if cell is None:
        return True
    if isinstance(cell, str):
        return "nan" in cell.split() or " ".join(text.split()) == " ".join(cell.split())
    lengths = cell if isinstance(cell, tuple) else (cell,)
    return any(map(math.isnan, lengths)) or agree(text, lengths)


def _expected(cell: Cell) -> str:
    if isinstance(cell, tuple):
        return " / ".join(f"{length:g} mm" for length in cell)
    return f"{cell:g} mm" if isinstance(cell, float) else repr(cell)


def _minutes(value: float) -> str | None:
    return None if math.isnan(value) or value < 0 else minutes(value)


def _in_words(words: Callable[[float], str], value: float) -> str | None:
    """Return a figure in words; None for one that couldn't be read."""
    return None if math.isnan(value) else words(value)
