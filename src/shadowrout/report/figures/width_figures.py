"""What became of the strokes below the finest line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shadowrout.design.widths.stretch import Stretch, WidthReport
from shadowrout.report.figures.precision import hundredth, place, tenth


@dataclass(frozen=True)
class DroppedStroke:
    """A stretch of a stroke that was too thin and too short to widen, and was left out."""

    place_mm: tuple[float, float]
    width_mm: float
    length_mm: float


@dataclass(frozen=True)
class WidthFigures:
    """How much was kept as it was, widened and left out; lengths along the strokes' middle lines."""

    finest_mm: float
    kept_mm: float
    widened: int
    widened_mm: float
    dropped: tuple[DroppedStroke, ...]
    dropped_mm: float


def width_figures(report: WidthReport) -> WidthFigures:
    """Return the figures of what was done to the strokes."""
    return WidthFigures(
        finest_mm=report.finest_mm,
        kept_mm=_together_mm(report.kept),
        widened=len(report.widened),
        widened_mm=_together_mm(report.widened),
        dropped=tuple(
            DroppedStroke(place(stretch.place), hundredth(stretch.width_mm), tenth(stretch.length_mm))
            for stretch in report.dropped
        ),
        dropped_mm=_together_mm(report.dropped),
    )


def _together_mm(stretches: Iterable[Stretch]) -> float:
    return tenth(sum(stretch.length_mm for stretch in stretches))
