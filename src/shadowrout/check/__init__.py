"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.
"""

from __future__ import annotations

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
    true_size,
)
from shadowrout.check.findings import Finding, PlaqueVerdict, Promise, PromiseResult, Verdict
from shadowrout.check.folder import read_folder, read_plaque
from shadowrout.progress import Progress, silent

if TYPE_CHECKING:
    from shadowrout.check.folder import Folder, PlaqueFiles

__all__ = ["Finding", "PlaqueVerdict", "Promise", "PromiseResult", "Verdict", "check_folder"]


def check_folder(out: Path, *, progress: Progress = silent) -> Verdict:
    """Return how every promise fares on the files that ``make`` wrote into ``out``.

    A damaged or missing file of a plaque is a finding. Raises InputError where the folder isn't one that ``make``
    wrote, or its job file can't be used.
    """
    folder = read_folder(out)
    verdicts = []
    for index, settings in enumerate(folder.job.plaques):
        share = index / len(folder.job.plaques)
        progress(f"{settings.name}: reading the files back", share)
        plaque = read_plaque(out, folder, settings)
        progress(f"{settings.name}: testing the promises", share + 0.3 / len(folder.job.plaques))
        verdicts.append(PlaqueVerdict(str(settings.name), _results(plaque, folder)))
    return Verdict(tuple(verdicts))


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
