"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from shadowrout.check import (
    agreement,
    complete,
    fidelity,
    figures,
    gouge,
    metadata,
    one_piece,
    soundness,
    stays_dark,
    stock,
    true_size,
)
from shadowrout.check.findings import Finding, PlaqueVerdict, Promise, PromiseResult, Verdict
from shadowrout.check.folder import read_folder, read_plaque
from shadowrout.progress import Progress, silent
from shadowrout.side_by_side import Processes

if TYPE_CHECKING:
    from shadowrout.check.folder import Folder, PlaqueFiles
    from shadowrout.options import Plaque

__all__ = ["Finding", "PlaqueVerdict", "Promise", "PromiseResult", "Verdict", "check_folder", "check_in"]


@dataclass(frozen=True, eq=False)
class _Task:
    """One plaque of a folder, not read yet."""

    out: Path
    folder: Folder
    plaque: Plaque


def check_folder(out: Path, *, workers: int = 1, progress: Progress = silent) -> Verdict:
    """Return how every promise fares on the files that ``make`` wrote into ``out``.

    Several plaques are checked in ``workers`` processes at most. A damaged or missing file of a plaque or of the stock
    is a finding. Raises InputError where the folder isn't one that ``make`` wrote, or its job file can't be used.
    """
    with Processes(workers) as processes:
        return check_in(processes, out, progress=progress)


def check_in(processes: Processes, out: Path, *, progress: Progress = silent) -> Verdict:
    """Return what ``check_folder`` does, several plaques checked in processes that may be at hand already."""
    folder = read_folder(out)
    tasks = [_Task(out, folder, plaque) for plaque in folder.job.plaques]

    plaques = tuple(_verdicts(tasks, processes, progress))
    return Verdict(plaques, tuple(stock.verdicts(out, folder)), str(folder.job.output.unit))


def _verdicts(tasks: Sequence[_Task], processes: Processes, progress: Progress) -> list[PlaqueVerdict]:
    """Return the plaques' verdicts in their order, one plaque after the other or side by side."""
    count = len(tasks)
    if min(processes.most, count) > 1:
        return processes.results_of(
            _verdict, tasks, done=lambda done: progress(f"checked {done} of {count} plaques", done / count)
        )
    verdicts = []
    for number, task in enumerate(tasks):
        progress(f"{task.plaque.name}: reading the files back, testing the promises", number / count)
        verdicts.append(_verdict(task))
    return verdicts


def _verdict(task: _Task) -> PlaqueVerdict:
    plaque = read_plaque(task.out, task.folder, task.plaque)
    return PlaqueVerdict(str(task.plaque.name), _results(plaque, task.folder))


def _results(plaque: PlaqueFiles, folder: Folder) -> tuple[PromiseResult, ...]:
    results = [complete.check(plaque)]
    if plaque.drawings:
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
    return (*results, figures.check(plaque, folder.figures))
