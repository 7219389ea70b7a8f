"""What stands on the job sheet against numbers.json and the settings, as a reader sees it.

Judged is the text itself: every length, count and time that decides something on wood, where it stands on the sheet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence

from shadowrout.check import jobsheet_tables
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.jobsheet_reader import JobSheet, SheetSection, facts_of
from shadowrout.check.jobsheet_settings import settings_rows
from shadowrout.check.told_against import Row
from shadowrout.check.told_values import NumbersTable
from shadowrout.check.written_lengths import agree

_SHEET = "jobsheet.html"


def compared(plaque: PlaqueFiles, numbers: NumbersTable, sheet: JobSheet) -> Iterator[Row]:
    """Yield for each line of the sheet that is judged what is wrong with it, or nothing."""
    if not sheet.sections:
        return
    name = " ".join(str(plaque.settings.name).split())
    part = f"Plaque: {name}"
    if not sheet.under(part, "Board"):
        yield f"{_SHEET}: tells nothing of the plaque {name}"
        return
    for heading, term, expected in _facts(plaque, numbers):
        values = list(facts_of(sheet.under(part, heading), term))
        yield "" if values else f"{_SHEET}: {part}, {heading}: {term} is missing"
        for value in values:
            yield _line(f"{part}, {heading}, {term}", value, *expected)
    yield from jobsheet_tables.of_plaque(plaque, numbers, sheet, part)
    yield from jobsheet_tables.of_batch(plaque, numbers, sheet)
    yield from _limit(plaque, numbers, sheet.under(part))
    yield from _steps(plaque, numbers, sheet.under("Order of work"))
    yield from settings_rows(plaque, sheet)


def _line(where: str, value: str, head: str, lengths_mm: Iterable[float]) -> Row:
    """Return what is wrong with a line that begins with a text and then tells just these lengths."""
    expected = list(lengths_mm)
    if any(map(math.isnan, expected)) or "nan" in head:
        return ""
    begins = not head or re.match(rf"{re.escape(head)}(?![\d.])", value)
    if begins and agree(value, expected):
        return ""
    figures = ", ".join([*([head] if head else []), *(f"{length:g} mm" for length in expected)])
    return f"{_SHEET}: {where} says {value!r}; numbers.json and job.toml give {figures}"


Fact = tuple[str, str, tuple[str, Sequence[float]]]
"""A heading, a fact's name, how its value begins, and the lengths that stand in it."""


def _facts(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Fact]:
    """Yield the facts that must stand on a plaque's sheet."""
    job, settings = plaque.job, plaque.settings
    files = set(job.output.files)
    size = numbers.numbers("size_mm", 2)
    yield "Board", "Size", ("", size)
    yield "Board", "Zero", ("lower left corner" if job.output.origin == "corner" else "middle of the board", ())
    if files - {"stencil"}:
        yield "Board", "Thickness", ("", (numbers.number("thickness_mm"),))
        yield "Board", "Finest line", ("", (job.tone.detail or math.nan,))
        yield "Board", "Wood", (settings.wood or job.finish.wood, ())
        pockets = numbers.tables("pockets")
        if pockets:
            yield "Pockets", "Pockets", (f"{len(pockets)}", ())
        yield from _flow(numbers)
    yield from _stencil(numbers.made("stencil"))
    yield from _template(numbers.made("template"))
    if (register := numbers.made("register")) is not None:
        marks = register.tables("marks")
        yield "Register marks", "Dowel holes", (f"{len(marks)} hole", (register.number("dowel_mm"),))
    if (pattern := numbers.made("pattern")) is not None:
        head = f"{pattern.text('paper')}, {pattern.number('sheets'):g} sheet"
        yield "Paper pattern", "Paper", (head, ())


def _flow(numbers: NumbersTable) -> Iterator[Fact]:
    flow = numbers.table("flow_lines")
    if flow is not None and flow.number("count") > 0:
        yield "Flow lines", "Depth", ("", (flow.number("greatest_below_floor_mm"),))


def _stencil(stencil: NumbersTable | None) -> Iterator[Fact]:
    if stencil is None:
        return
    x0, y0, x1, y1 = stencil.numbers("sheet_mm", 4)
    yield "Stencil", "Sheet", ("", (x1 - x0, y1 - y0))
    yield "Stencil", "Lies", ("", (x0, y0))
    yield "Stencil", "Openings", (f"{stencil.number('openings'):g}", ())
    yield "Stencil", "Least web", ("", (stencil.number("web_mm"),))
    yield "Stencil", "Kerf", ("", (stencil.number("kerf_mm"),))
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


def _limit(plaque: PlaqueFiles, numbers: NumbersTable, sections: Sequence[SheetSection]) -> Iterator[Row]:
    """Yield where the sheet allows more sanding, or less, than takes too much of the V lines."""
    lines = numbers.table("v_lines")
    sanding = lines.table("sanding") if lines is not None and lines.number("count") > 0 else None
    if sanding is None or not set(plaque.job.output.files) - {"stencil"}:
        return
    most, planned = sanding.number("too_much_mm"), plaque.job.finish.sanding_loss
    texts = [text for section in sections for text in section.texts if text.startswith("Sand no more than")]
    yield "" if texts else f"{_SHEET}: doesn't say how much to sand at most"
    for text in texts:
        yield _line("how much to sand at most", text, "", [most, *([planned] if most <= planned else [])])


def _steps(plaque: PlaqueFiles, numbers: NumbersTable, sections: Sequence[SheetSection]) -> Iterator[Row]:
    """Yield where a step of the work tells another length than the settings, or a second step has its name."""
    job = plaque.job
    lost = 2 * math.tan(math.radians(job.v_tool.angle) / 2) * job.finish.sanding_loss
    flow = numbers.table("flow_lines")
    wanted: dict[str, list[float]] = {
        "Sand": [job.finish.sanding_loss],
        "Rout": [job.template.bit, *([job.template.bush] if job.template.bush > job.template.bit else [])],
        "Cut the template": [job.template.thickness],
        "Carve": [lost] if lost else [],
        "Paint": [],
    }
    if len(job.plaques) == 1 and flow is not None:
        wanted["Flow lines"] = [flow.number("greatest_below_floor_mm")]
    found: list[str] = []
    for text in (text for section in sections for text in section.texts):
        name = text.partition(".")[0]
        if name in wanted:
            found.append(name)
            yield _line(f"the order of work, {name},", text, "", wanted[name])
    if set(job.output.files) - {"stencil", "preview"}:
        yield "" if "Sand" in found else f"{_SHEET}: the order of work doesn't say how much sanding is planned"
    for name in dict.fromkeys(found):
        yield "" if found.count(name) == 1 else f"{_SHEET}: the order of work has the step {name} twice"
