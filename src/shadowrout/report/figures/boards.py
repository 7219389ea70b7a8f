"""The boards to fetch for several plaques, counted by size and by wood."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Blank:
    """The rectangular board that one plaque is cut from, without waste around it."""

    wood: str
    size_mm: tuple[float, float]
    thickness_mm: float
    volume_mm3: float
    weight_kg: float


@dataclass(frozen=True)
class Boards:
    """Boards of one wood, size and thickness; volume and weight are those of all of them."""

    wood: str
    size_mm: tuple[float, float]
    """The longer side first."""
    thickness_mm: float
    count: int
    volume_mm3: float
    weight_kg: float


@dataclass(frozen=True)
class BoardsOfWood:
    """All boards of one wood."""

    wood: str
    count: int
    volume_mm3: float
    weight_kg: float


def materials(blanks: Iterable[Blank]) -> tuple[Boards, ...]:
    """Return the boards to fetch for a batch: one entry for each size, thickness and wood, with how many.

    It doesn't matter which way a blank lies. Of each wood the largest boards come first.
    """
    alike: dict[tuple[str, float, float, float], list[Blank]] = defaultdict(list)
    for blank in blanks:
        long, short = sorted(blank.size_mm, reverse=True)
        alike[blank.wood, -long, -short, -blank.thickness_mm].append(blank)
    return tuple(
        Boards(
            wood=wood,
            size_mm=(-long, -short),
            thickness_mm=-thickness,
            count=len(group),
            volume_mm3=sum(blank.volume_mm3 for blank in group),
            weight_kg=sum(blank.weight_kg for blank in group),
        )
        for (wood, long, short, thickness), group in sorted(alike.items(), key=lambda entry: entry[0])
    )


def by_wood(boards: Iterable[Boards]) -> tuple[BoardsOfWood, ...]:
    """Return for each wood of ``materials`` its boards' count, volume and weight, in the alphabet's order."""
    woods: dict[str, list[Boards]] = defaultdict(list)
    for board in boards:
        woods[board.wood].append(board)
    return tuple(
        BoardsOfWood(
            wood=name,
            count=sum(board.count for board in woods[name]),
            volume_mm3=sum(board.volume_mm3 for board in woods[name]),
            weight_kg=sum(board.weight_kg for board in woods[name]),
        )
        for name in sorted(woods)
    )
