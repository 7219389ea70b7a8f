"""The V lines as a carver meets them: by width, and which of them sanding takes first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from shadowrout.carving.plan import Plan
from shadowrout.carving.v_lines import VLine

WIDTH_CLASSES_MM = (0.6, 0.8, 1.0, 1.5, 2.0)
"""Upper ends of the width classes; what is wider comes last."""

FIRST_TO_GO = 10
"""How many strokes are listed that sanding takes first."""

LEAST_LISTED_MM = 1.0
"""Shorter strokes are dots and touch-ups: nobody looks for them one by one."""

_CLASSES = len(WIDTH_CLASSES_MM) + 1
_DECIMALS = 3


def width_classes(v_lines: Sequence[VLine]) -> list[dict[str, Any]]:
    """Return the classes of greatest width that have strokes, narrowest first; none without V lines.

    ``from_mm`` and ``to_mm`` bound the class, ``to_mm`` None for the last; ``depth_mm`` is the least and the greatest
    depth that its strokes reach.
    """
    widths = np.array([line.width_mm.max() for line in v_lines], dtype=np.float64)
    numbers = np.searchsorted(WIDTH_CLASSES_MM, widths).tolist()
    members = [[line for line, n in zip(v_lines, numbers, strict=True) if n == number] for number in range(_CLASSES)]
    return [_class(number, lines) for number, lines in enumerate(members) if lines]


def first_to_go(plan: Plan) -> list[dict[str, Any]]:
    """Return the strokes of 1 mm and longer that sanding takes first: where their middle is, and when they go."""
    in_order = [plan.v_lines[i] for i in plan.sanding.first_to_go]
    return [_stroke(line) for line in in_order if line.length >= LEAST_LISTED_MM][:FIRST_TO_GO]


def _class(number: int, lines: Sequence[VLine]) -> dict[str, Any]:
    deepest = [float(line.depth_mm.max()) for line in lines]
    return {
        "from_mm": 0.0 if number == 0 else WIDTH_CLASSES_MM[number - 1],
        "to_mm": WIDTH_CLASSES_MM[number] if number < len(WIDTH_CLASSES_MM) else None,
        "count": len(lines),
        "length_mm": round(sum(line.length for line in lines), 1),
        "depth_mm": [round(min(deepest), _DECIMALS), round(max(deepest), _DECIMALS)],
    }


def _stroke(line: VLine) -> dict[str, Any]:
    along = np.concatenate([[0.0], np.cumsum(line.segments_mm)])
    ring = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    middle = [float(np.interp(along[-1] / 2, along, axis)) for axis in ring.T]
    return {
        "place_mm": [round(value, 1) for value in middle],
        "length_mm": round(line.length, 1),
        "width_mm": round(float(line.width_mm.max()), _DECIMALS),
        "gone_at_mm": round(float(line.depth_mm.max()), _DECIMALS),
    }
