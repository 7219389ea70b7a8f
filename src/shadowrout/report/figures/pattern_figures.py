"""On how many sheets the paper pattern is printed."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.drawing.paper.pattern import pattern_tiling
from shadowrout.geometry.region import Box
from shadowrout.job.options import Job
from shadowrout.job.settled import settled


@dataclass(frozen=True)
class PatternFigures:
    """The pattern's sheets."""

    paper: str
    sheets: int
    """Without the first page, which says how they are printed and joined."""
    rows: int
    columns: int


def pattern_figures(job: Job, board: Box) -> PatternFigures | None:
    """Return the sheets of the pattern of a ``board``; None where the job asks for none."""
    if "pattern" not in job.output.files:
        return None
    tiling = pattern_tiling(board, job.pattern)
    return PatternFigures(settled(job.pattern.paper), tiling.sheets, tiling.rows, tiling.columns)
