"""The hours of a plaque's work by hand, those that were asked for, and what was left out to keep to them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from shadowrout.carving.trimming import LeftOut
from shadowrout.job.options import Plaque
from shadowrout.report.figures.precision import tenth, thousandth
from shadowrout.report.figures.times import Task, by_hand


@dataclass(frozen=True)
class LeftOutFigures:
    """What was left out of a design to keep to its hours; all 0 where nothing was."""

    lines: int
    """V lines."""
    mm2: float
    """Shadow."""
    specks: int
    """Light specks that were filled in, since they would have cost strokes and broken off."""

    @property
    def any(self) -> bool:
        """Whether anything was."""
        return bool(self.lines or self.mm2 or self.specks)


@dataclass(frozen=True)
class HoursFigures:
    """How long carving by hand takes, and what was asked for; hours."""

    by_hand: float
    asked: float | None
    """None where as many as the design takes may be used."""
    asked_of: Literal["hand", "all"]
    lines: str
    """The amount of line that the plaque was drawn with."""
    left_out: LeftOutFigures


def hours_figures(plaque: Plaque, times: Iterable[Task], *, lines: str, left_out: LeftOut | None) -> HoursFigures:
    """Return the figures of a plaque whose work takes ``times``."""
    counted = LeftOutFigures(0, 0.0, 0)
    if left_out is not None:
        counted = LeftOutFigures(left_out.lines, tenth(left_out.region.area), len(left_out.filled))
    return HoursFigures(thousandth(by_hand(times) / 60), plaque.hours, plaque.hours_of, lines, counted)
