"""Leaving out what is worth least for its work: which V lines and small shadows go, and what the shadow is then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import reached
from shadowrout.carving.v_lines import STEP_MM, VLine
from shadowrout.geometry.medial import Boundary, Surroundings
from shadowrout.geometry.region import Region, parts_meeting
from shadowrout.geometry.sweeps import swept

SMALL_MM2 = 25.0
"""A shadow no larger than this, 5 mm square, goes whole or stays whole (a judgement)."""

_BESIDE_MM = 0.15
"""How far beside its line a stroke's shadow may reach, for what planning and fitting move its edge by."""

_STAYS_MM = 0.1
"""How far beside a kept cut the shadow isn't touched, likewise."""

_HAIR_MM = 0.12
"""What is left narrower than twice this where a line was taken away is a hair that no tool cuts."""

_LEAST_LEFT_MM2 = 0.3
"""What is left smaller than this of a shadow is no shadow of its own."""

_ERROR_MM = 0.01


@dataclass(frozen=True)
class Piece:
    """What goes or stays as one: a line, or a small shadow with all its cuts.

    ``lines`` and ``pockets`` are numbers in the plan, ``minutes`` is its work, ``worth`` what it is to the picture.
    """

    lines: tuple[int, ...]
    pockets: tuple[int, ...]
    minutes: float
    worth: float

    @property
    def rate(self) -> float:
        """Its worth for each minute of work."""
        return self.worth / self.minutes if self.minutes else np.inf


@dataclass(frozen=True, eq=False)
class LeftOut:
    """What of a design was left out to save work: its ground, how many V lines, and the light that was filled in."""

    region: Region
    lines: int
    filled: Region


def pieces_of(
    shadow: Region,
    plan: Plan,
    *,
    line_minutes: Sequence[float],
    pocket_minutes: Sequence[float],
    line_worths: Sequence[float],
) -> tuple[Piece, ...]:
    """Return what can be left out of a plan for ``shadow``, the most worth for its minutes first.

    All numbers are in the plan's order. Pockets of shadows over SMALL_MM2 always stay.
    """
    if not plan.v_lines and not plan.pockets:
        return ()
    small = np.array([part.area <= SMALL_MM2 for part in shadow.parts()])
    around = Surroundings(Boundary.of(shadow, step_mm=STEP_MM))
    of_lines = _parts_of(around, [line.points[0] for line in plan.v_lines])
    of_pockets = _parts_of(around, [next(p.cutter_path.polygons())[0][0] for p in plan.pockets])
    groups: dict[tuple[int, int], tuple[list[int], list[int]]] = {}
    for number, part in enumerate(of_lines):
        groups.setdefault((part, -1 if small[part] else number), ([], []))[0].append(number)
    for number, part in enumerate(of_pockets):
        if small[part]:
            groups.setdefault((part, -1), ([], []))[1].append(number)
    found = []
    for lines, pockets in groups.values():
        minutes = sum(line_minutes[n] for n in lines) + sum(pocket_minutes[n] for n in pockets)
        # A small pocket is as black as its lines are: it counts as one more line of their mean worth.
        worth = sum(line_worths[n] for n in lines) * (1 + len(pockets) / max(1, len(lines)))
        found.append(Piece(tuple(lines), tuple(pockets), minutes, worth))
    return tuple(sorted(found, key=lambda piece: (-piece.rate, piece.lines, piece.pockets)))


def kept_within(pieces: Sequence[Piece], minutes: float) -> tuple[Piece, ...]:
    """Return the first of the pieces, in their order, whose work comes to ``minutes`` at most.

    Where one is too long for what is left, those after it that do fit follow.
    """
    kept, left = [], minutes
    for piece in pieces:
        if piece.minutes <= left:
            kept.append(piece)
            left -= piece.minutes
    return tuple(kept)


def without_pieces(shadow: Region, plan: Plan, gone: Sequence[Piece]) -> Region:
    """Return a plan's shadow without the ground of the pieces that are ``gone``, but for what other cuts cover.

    What is too narrow or too small for a tool where they were goes too. The empty region where nothing stays.
    """
    lines = {number for piece in gone for number in piece.lines}
    pockets = {number for piece in gone for number in piece.pockets}
    stays = [line for number, line in enumerate(plan.v_lines) if number not in lines]
    covered = _swept(stays, 0.0).union(reached([p for n, p in enumerate(plan.pockets) if n not in pockets]))
    if covered.is_empty:
        return covered
    taken = _swept([plan.v_lines[number] for number in sorted(lines)], _BESIDE_MM)
    taken = _without_hairs(taken.difference(covered.offset(_STAYS_MM, error=_ERROR_MM)))
    left = shadow.difference(taken)
    hairs = left.difference(_without_hairs(left)).intersection(taken.offset(2 * _HAIR_MM, error=_ERROR_MM))
    left, _ = parts_meeting(left.difference(hairs), covered)
    return left.keeping(_LEAST_LEFT_MM2)


def _without_hairs(region: Region) -> Region:
    """Return a region without what is narrower than twice _HAIR_MM (morphological opening)."""
    return region.offset(-_HAIR_MM, error=_ERROR_MM).offset(_HAIR_MM, error=_ERROR_MM)


def specks_of(shadow: Region, *, below_mm2: float) -> Region:
    """Return the light specks in a shadow that are smaller than ``below_mm2``."""
    return shadow.holes(below_area=below_mm2).difference(shadow)


def _swept(lines: Sequence[VLine], beside_mm: float) -> Region:
    closed = [np.vstack([line.points, line.points[:1]]) if line.closed else line.points for line in lines]
    radii = [_half_widths(line) + beside_mm for line in lines]
    return swept(closed, radii) if lines else Region.empty()


def _half_widths(line: VLine) -> NDArray[np.float64]:
    widths = np.append(line.width_mm, line.width_mm[:1]) if line.closed else line.width_mm
    return widths / 2


def _parts_of(around: Surroundings, places: Sequence[NDArray[np.float64]]) -> list[int]:
    return around.part(np.array(places).reshape(-1, 2)).tolist() if places else []
