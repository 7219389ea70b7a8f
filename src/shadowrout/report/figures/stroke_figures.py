"""The V lines and flow lines as a carver meets them: by width, and which of them sanding takes first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.plan import Plan
from shadowrout.carving.sanding import SandingForecast
from shadowrout.carving.v_lines import VLine
from shadowrout.report.figures.precision import fine, place, tenth, thousandth

WIDTH_CLASSES_MM = (0.6, 0.8, 1.0, 1.5, 2.0)
"""Upper ends of the width classes; what is wider comes last.

Closest among the narrow ones, of which sanding takes the largest share of the width.
"""

FIRST_TO_GO = 10
"""How many strokes are listed that sanding takes first: as many as somebody looks for on the board with a list."""

LEAST_LISTED_MM = 1.0
"""Shorter strokes are dots and touch-ups: nobody looks for them one by one."""

_CLASSES = len(WIDTH_CLASSES_MM) + 1


@dataclass(frozen=True)
class WidthClass:
    """The strokes whose greatest width is over ``from_mm`` and up to ``to_mm``."""

    from_mm: float
    to_mm: float | None
    """None for the last class, which has no upper end."""
    count: int
    length_mm: float
    depth_mm: tuple[float, float]
    """The least and the greatest depth that its strokes reach."""


@dataclass(frozen=True)
class StrokeToGo:
    """A stroke that sanding takes early."""

    place_mm: tuple[float, float]
    """Half way along it."""
    length_mm: float
    width_mm: float
    """Its greatest."""
    gone_at_mm: float
    """The sanding loss that takes the last of it."""


@dataclass(frozen=True)
class SandingFigures:
    """What each of several sanding losses leaves of the V lines."""

    loss_mm: tuple[float, ...]
    share_left: tuple[float, ...]
    """Of all length, for each loss."""
    too_much_mm: float | None
    """The least loss that is called too much; None without V lines."""
    lengths_left_mm: tuple[tuple[float, ...], ...]
    """Of each V line, for each loss."""
    widths_left_mm: tuple[tuple[float, ...], ...]
    """The mean over what is left of each V line, for each loss."""


@dataclass(frozen=True)
class VLineFigures:
    """The V lines of a plaque."""

    count: int
    length_mm: float
    greatest_depth_mm: float
    classes: tuple[WidthClass, ...]
    first_to_go: tuple[StrokeToGo, ...]
    sanding: SandingFigures


@dataclass(frozen=True)
class FlowLineFigures:
    """The lines in the pockets' floors."""

    count: int
    length_mm: float
    greatest_below_floor_mm: float


def v_line_figures(plan: Plan) -> VLineFigures:
    """Return the figures of the V lines and of what sanding does to them."""
    return VLineFigures(
        count=len(plan.v_lines),
        length_mm=tenth(sum(line.length for line in plan.v_lines)),
        greatest_depth_mm=fine(max((float(line.depth_mm.max()) for line in plan.v_lines), default=0.0)),
        classes=width_classes(plan.v_lines),
        first_to_go=first_to_go(plan),
        sanding=_sanding(plan.sanding),
    )


def flow_line_figures(lines: Sequence[FlowLine]) -> FlowLineFigures:
    """Return the figures of the flow lines; all are 0 without any."""
    return FlowLineFigures(
        count=len(lines),
        length_mm=tenth(sum(line.length for line in lines)),
        greatest_below_floor_mm=fine(max((line.below_floor_mm for line in lines), default=0.0)),
    )


def width_classes(v_lines: Sequence[VLine]) -> tuple[WidthClass, ...]:
    """Return the classes of greatest width that have strokes, narrowest first; none without V lines."""
    widths = np.array([line.width_mm.max() for line in v_lines], dtype=np.float64)
    numbers = np.searchsorted(WIDTH_CLASSES_MM, widths).tolist()
    members = [[line for line, n in zip(v_lines, numbers, strict=True) if n == number] for number in range(_CLASSES)]
    return tuple(_class(number, lines) for number, lines in enumerate(members) if lines)


def first_to_go(plan: Plan) -> tuple[StrokeToGo, ...]:
    """Return the strokes of 1 mm and longer that sanding takes first, in that order."""
    in_order = [plan.v_lines[i] for i in plan.sanding.first_to_go]
    return tuple(_stroke(line) for line in in_order if line.length >= LEAST_LISTED_MM)[:FIRST_TO_GO]


def _class(number: int, lines: Sequence[VLine]) -> WidthClass:
    deepest = [float(line.depth_mm.max()) for line in lines]
    return WidthClass(
        from_mm=0.0 if number == 0 else WIDTH_CLASSES_MM[number - 1],
        to_mm=WIDTH_CLASSES_MM[number] if number < len(WIDTH_CLASSES_MM) else None,
        count=len(lines),
        length_mm=tenth(sum(line.length for line in lines)),
        depth_mm=(thousandth(min(deepest)), thousandth(max(deepest))),
    )


def _stroke(line: VLine) -> StrokeToGo:
    along = np.concatenate([[0.0], np.cumsum(line.segments_mm)])
    ring = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    x, y = (float(np.interp(along[-1] / 2, along, axis)) for axis in ring.T)
    return StrokeToGo(
        place_mm=place((x, y)),
        length_mm=tenth(line.length),
        width_mm=thousandth(float(line.width_mm.max())),
        gone_at_mm=thousandth(float(line.depth_mm.max())),
    )


def _sanding(sanding: SandingForecast) -> SandingFigures:
    return SandingFigures(
        loss_mm=tuple(fine(float(loss)) for loss in sanding.losses_mm),
        share_left=tuple(fine(float(share)) for share in sanding.share_left),
        too_much_mm=None if sanding.too_much_mm is None else fine(sanding.too_much_mm),
        lengths_left_mm=tuple(map(tuple, np.round(sanding.length_left_mm, 1).tolist())),
        widths_left_mm=tuple(map(tuple, np.round(sanding.width_left_mm, 2).tolist())),
    )
