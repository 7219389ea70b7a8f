"""What numbers.json tells against the settings, the drawings and the job sheet: a row for each figure compared."""

from __future__ import annotations

from typing import Any

from shadowrout.check import digests, drawn_figures, jobsheet_figures, planned_figures, sheet_figures
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.jobsheet_reader import JobSheet
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.words.sentences import Sentence


def compared(plaque: PlaqueFiles, whole: dict[str, Any], sheet: JobSheet) -> list[str | Sentence]:
    """Return for each figure of a plaque what is wrong with it, or nothing; ``whole`` is all of numbers.json."""
    if not plaque.figures:
        return []
    faults: list[str] = []
    job = NumbersTable(whole, "", faults)
    numbers = NumbersTable(plaque.figures, f"{plaque.settings.name}: ", faults)
    rows: list[str | Sentence] = [
        *digests.compared(whole, str(plaque.settings.name)),
        *planned_figures.of_job(plaque, job),
        *planned_figures.of_plaque(plaque, numbers),
        *drawn_figures.compared(plaque, numbers),
        *sheet_figures.compared(plaque, numbers),
        *jobsheet_figures.compared(plaque, numbers, sheet),
    ]
    return [*rows, *dict.fromkeys(faults)]
