"""What stands on the job sheet against numbers.json and the settings, as a reader sees it.

Judged is the text itself: every length, count and time that decides something on wood, where it stands on the sheet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence

from shadowrout.check import jobsheet_tables
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.jobsheet_facts import facts_to_tell
from shadowrout.check.jobsheet_reader import JobSheet, SheetSection, facts_of
from shadowrout.check.jobsheet_settings import settings_rows
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.told_against import Row
from shadowrout.check.written_lengths import agree
from shadowrout.words.wording import coats_of

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
    for heading, term, expected in facts_to_tell(plaque, numbers):
        values = list(facts_of(sheet.under(part, heading), term))
        yield "" if values else f"{_SHEET}: {part}, {heading}: {term} is missing"
        for value in values:
            yield _line(f"{part}, {heading}, {term}", value, *expected)
    yield from jobsheet_tables.of_plaque(plaque, numbers, sheet, part)
    yield from jobsheet_tables.of_batch(plaque, numbers, sheet)
    for text in (
        text for section in sheet.under(part) for text in section.texts if text.startswith("The finished look")
    ):
        yield _line(f"{part}, the finished look", text, "", [plaque.job.finish.sanding_loss])
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
    }
    if len(job.plaques) == 1 and flow is not None:
        wanted["Flow lines"] = [flow.number("greatest_below_floor_mm")]
    found: list[str] = []
    coats = numbers.table("amounts")
    for text in (text for section in sections for text in section.texts):
        name = text.partition(".")[0]
        if name == "Paint" and len(job.plaques) == 1 and coats is not None and not math.isnan(coats.number("coats")):
            told = coats_of(coats.number("coats"))
            yield "" if f"face, {told}, down" in text else f"{_SHEET}: the order of work, Paint, doesn't say {told}"
        if name in wanted:
            found.append(name)
            yield _line(f"the order of work, {name},", text, "", wanted[name])
    if set(job.output.files) - {"stencil", "preview"}:
        yield "" if "Sand" in found else f"{_SHEET}: the order of work doesn't say how much sanding is planned"
    for name in dict.fromkeys(found):
        yield "" if found.count(name) == 1 else f"{_SHEET}: the order of work has the step {name} twice"
