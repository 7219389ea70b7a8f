"""How every promise fares on a folder of results."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeVar

from shadowrout.check import (
    agreement,
    complete,
    contradictions,
    digests,
    dowels,
    fidelity,
    gouge,
    kerf_test,
    metadata,
    one_piece,
    pattern_pages,
    result_pictures,
    sheet_edges,
    soundness,
    stays_dark,
    stencil_openings,
    stock,
    template_openings,
    told_figures,
    told_sheets,
    true_size,
)
from shadowrout.check.findings import Promise, PromiseResult
from shadowrout.check.folder import read_folder, read_plaque
from shadowrout.check.jobsheet_reader import JobSheet, read_job_sheet
from shadowrout.check.verdict import PlaqueVerdict, Verdict
from shadowrout.job.job_unit import unit_of
from shadowrout.words.progress import Progress, silent
from shadowrout.words.sentences import Sentence

if TYPE_CHECKING:
    from shadowrout.check.folder import Folder, PlaqueFiles
    from shadowrout.job.options import Plaque

_OF_SHEETS = (stencil_openings, template_openings, sheet_edges, dowels, kerf_test, told_sheets)
"""Judges of what is cut and drilled beside the carving: each tells which promise a fault breaks."""

Task = TypeVar("Task")
Result = TypeVar("Result")


class SideBySide(Protocol):
    """Independent pieces of work at the same time: what ``work`` makes of each task, in the tasks' order."""

    def __call__(
        self, work: Callable[[Task], Result], tasks: Sequence[Task], *, done: Callable[[int], None]
    ) -> list[Result]:
        """``done`` is told how many tasks are done after each."""


@dataclass(frozen=True, eq=False)
class _PlaqueTask:
    """One plaque of a folder, not read yet."""

    out: Path
    folder: Folder
    sheet: JobSheet
    plaque: Plaque


def check_folder(out: Path, *, side_by_side: SideBySide | None = None, progress: Progress = silent) -> Verdict:
    """Return how every promise fares on the files that ``make`` wrote into ``out``.

    Several plaques are checked one after the other, or by ``side_by_side`` where it is given. A damaged or missing file
    of a plaque or of the stock is a finding. Raises InputError where the folder isn't one that ``make`` wrote, or its
    job file can't be used.
    """
    folder = read_folder(out)
    sheet = read_job_sheet(out / digests.SHEET)
    tasks = [_PlaqueTask(out, folder, sheet, plaque) for plaque in folder.job.plaques]
    plaques = tuple(_verdicts(tasks, side_by_side, progress))
    laid_out = tuple(stock.verdicts(out, folder))
    changed = digests.changed(out, folder.figures, [*plaques, *laid_out])
    return Verdict(plaques, laid_out, unit_of(folder.job), changed)


def _verdicts(tasks: Sequence[_PlaqueTask], side_by_side: SideBySide | None, progress: Progress) -> list[PlaqueVerdict]:
    """Return the plaques' verdicts in their order."""
    count = len(tasks)
    if side_by_side is not None and count > 1:
        return side_by_side(
            _verdict, tasks, done=lambda done: progress(f"checked {done} of {count} plaques", done / count)
        )
    verdicts = []
    for number, task in enumerate(tasks):
        progress(f"{task.plaque.name}: reading the files back, testing the promises", number / count)
        verdicts.append(_verdict(task))
    return verdicts


def _verdict(task: _PlaqueTask) -> PlaqueVerdict:
    plaque = read_plaque(task.out, task.folder, task.plaque)
    plaque.faults += [(Promise.COMPLETE, finding) for finding in task.sheet.faults]
    told = contradictions.compared(plaque, task.folder.figures, task.sheet)
    return PlaqueVerdict(str(task.plaque.name), _results(plaque, task.folder, told))


def _results(plaque: PlaqueFiles, folder: Folder, told: Sequence[str | Sentence]) -> tuple[PromiseResult, ...]:
    pattern = pattern_pages.judged(plaque)
    if pattern is not None:
        plaque.faults += pattern.faults
        plaque.pattern_off_mm = pattern.off_mm
    plaque.faults += result_pictures.faults(plaque)
    results = [complete.check(plaque)]
    if plaque.drawings:
        plaque.faults += [fault for judge in _OF_SHEETS for fault in judge.faults(plaque)]
        results += [
            gouge.check(plaque),
            fidelity.check(plaque),
            soundness.check(plaque),
            one_piece.check(plaque),
            stays_dark.check(plaque),
            true_size.check(plaque),
            agreement.check(plaque),
            metadata.check(plaque),
        ]
    elif pattern is not None:
        results += [fidelity.check(plaque), true_size.check(plaque), metadata.check(plaque)]
    return (*results, told_figures.check(plaque, folder.figures, told))
