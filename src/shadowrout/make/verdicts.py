"""A folder of results checked, several plaques side by side."""

from __future__ import annotations

from pathlib import Path

from shadowrout.check.checking import check_folder
from shadowrout.check.verdict import Verdict
from shadowrout.make.processes import Processes
from shadowrout.words.progress import Progress, silent


def check(out: Path | str, *, workers: int = 1, progress: Progress = silent) -> Verdict:
    """Return how every promise fares on the files that ``make`` wrote into ``out``, by ``workers`` processes at most.

    ``progress`` is called with a step's name and the share done. A damaged or missing file of a plaque or of the stock
    is a finding. Raises InputError where the folder isn't one that ``make`` wrote, or its job file can't be used.
    """
    with Processes(workers) as processes:
        return check_in(processes, Path(out), progress=progress)


def check_in(processes: Processes, out: Path, *, progress: Progress = silent) -> Verdict:
    """Return what ``check`` does, the plaques checked in processes that may be at hand already."""
    side_by_side = processes.results_of if processes.most > 1 else None
    return check_folder(out, side_by_side=side_by_side, progress=progress)
