"""The written outlines of the shadows: of how many lines and arcs, and how near to the design."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shadowrout.geometry.arcs import ArcPath, PathFigures
from shadowrout.report.figures.precision import fine


@dataclass(frozen=True)
class OutlineFigures:
    """What the shadows' outlines consist of."""

    pieces: int
    lines: int
    arcs: int
    longest_mm: float
    """The longest of the pieces."""
    shortest_mm: float
    largest_deviation_mm: float
    """The largest distance found between the outlines and the sized design, both ways."""


def outline_figures(paths: Iterable[ArcPath], *, deviation_mm: float) -> OutlineFigures:
    """Return the figures of fitted outlines that were found to lie within ``deviation_mm`` of the design."""
    told = PathFigures.of(paths)
    return OutlineFigures(
        told.pieces, told.lines, told.arcs, fine(told.longest), fine(told.shortest), fine(deviation_mm)
    )
