"""Where the register marks are, and how far apart."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.report.figures.precision import fine
from shadowrout.sheets.register import RegisterMark, distances


@dataclass(frozen=True)
class MarkFigures:
    """One mark, from the board's zero."""

    mark: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True)
class DistanceFigures:
    """What to measure on a print, ``between`` being "A and B"."""

    between: str
    length_mm: float


@dataclass(frozen=True)
class RegisterFigures:
    """The marks of one plaque, all for dowels of one size."""

    dowel_mm: float
    marks: tuple[MarkFigures, ...]
    distances: tuple[DistanceFigures, ...]


def register_figures(marks: tuple[RegisterMark, ...]) -> RegisterFigures | None:
    """Return where the register marks are and how far apart; None without marks."""
    if not marks:
        return None
    return RegisterFigures(
        dowel_mm=marks[0].dowel_mm,
        marks=tuple(MarkFigures(mark.name, *mark.centre) for mark in marks),
        distances=tuple(
            DistanceFigures(f"{apart.first} and {apart.second}", fine(apart.length_mm)) for apart in distances(marks)
        ),
    )
