"""Text in columns."""

from __future__ import annotations

from collections.abc import Sequence


def columns(rows: Sequence[Sequence[str]]) -> str:
    """Return rows of as many cells each as lines in columns, the first as a head with a rule below it.

    >>> print(columns([("plaque", "depth"), ("rex", "3 mm")]))
    plaque  depth
    ------  -----
    rex     3 mm
    """
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)
