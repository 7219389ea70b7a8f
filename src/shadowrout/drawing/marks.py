"""Lines, crosses, dashes and scale bars, as shapes of a drawing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shadowrout.drawing.shapes import Path
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Point
from shadowrout.words.units import Unit

_DASH_MM, _GAP_MM = 3.0, 5.0
"""More gap than dash, so that a dashed line is told from a drawn one at a glance."""

_TICK_MM = 1.2
"""A scale bar's usual tick; the first and the last are twice as long."""


def straight(start: Point, end: Point) -> Path:
    """Return a straight line."""
    return Path(ArcPath(np.array([start, end]), np.zeros(1), closed=False))


def cross(centre: Point, arm_mm: float) -> tuple[Path, Path]:
    """Return an upright cross with four arms of ``arm_mm``."""
    x, y = centre
    return straight((x - arm_mm, y), (x + arm_mm, y)), straight((x, y - arm_mm), (x, y + arm_mm))


def dashed(start: Point, end: Point) -> Iterator[Path]:
    """Yield the dashes of a straight line, a whole one at each end; they are about 3 mm long and 5 mm apart."""
    a, b = np.array(start), np.array(end)
    length = float(np.hypot(*(b - a)))
    gaps = max(1, round((length - _DASH_MM) / (_DASH_MM + _GAP_MM)))
    dash = length / (1 + gaps * (1 + _GAP_MM / _DASH_MM))
    for number in range(gaps + 1):
        begin = number * dash * (1 + _GAP_MM / _DASH_MM)
        ends = [a + (b - a) * share / length for share in (begin, begin + dash)]
        yield straight(*((float(x), float(y)) for x, y in ends))


def bar_mm(unit: Unit) -> float:
    """Return the length of a scale bar: 100 mm, or 4 in."""
    return 100.0 if unit is Unit.MM else 4 * unit.mm


def scale_bar(start: Point, unit: Unit, *, upright: bool) -> Iterator[Path]:
    """Yield a bar from ``start`` to the right or up: a line, and ticks above it or left of it.

    A tick stands at every 10 mm, or at every quarter inch; the first and the last are the longest, and what lies
    between their middles is the bar's length.
    """
    length, steps = bar_mm(unit), 10 if unit is Unit.MM else 16
    yield _bar_line(start, (0.0, 0.0), (length, 0.0), upright=upright)
    for number in range(steps + 1):
        at = length * number / steps
        whole = unit is Unit.MM or number % 4 == 0
        tick = _TICK_MM * (2.0 if number in (0, steps) else 1.0 if whole else 0.6)
        yield _bar_line(start, (at, 0.0), (at, tick), upright=upright)


def _bar_line(start: Point, a: Point, b: Point, *, upright: bool) -> Path:
    """Return a line given by places along and across a bar."""
    x, y = start
    ends = [(x - across, y + along) if upright else (x + along, y + across) for along, across in (a, b)]
    return straight(ends[0], ends[1])
