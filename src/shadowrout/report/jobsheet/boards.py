"""The boards to fetch for several plaques, counted by size and by wood."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


def materials(plaques: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the boards to fetch for a batch: one entry for each size, thickness and wood, with how many.

    ``plaques`` are the plaques' figures, as ``numbers.json`` holds them. Of each wood the largest boards come first.
    """
    boards: dict[tuple[str, float, float, float], dict[str, Any]] = {}
    for plaque in plaques:
        amounts = plaque["amounts"]
        long, short = sorted(plaque["size_mm"], reverse=True)
        key = (amounts["wood"], -long, -short, -plaque["thickness_mm"])
        board = boards.setdefault(
            key,
            {
                "wood": amounts["wood"],
                "size_mm": [long, short],
                "thickness_mm": plaque["thickness_mm"],
                "count": 0,
                "volume_mm3": 0.0,
                "weight_kg": 0.0,
            },
        )
        board["count"] += 1
        board["volume_mm3"] += amounts["blank_mm3"]
        board["weight_kg"] += amounts["blank_kg"]
    return [boards[key] for key in sorted(boards)]


def by_wood(boards: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return for each wood of ``materials`` its boards' count, volume and weight, in the alphabet's order."""
    woods: dict[str, dict[str, Any]] = {}
    for board in boards:
        wood = woods.setdefault(board["wood"], {"wood": board["wood"], "count": 0, "volume_mm3": 0.0, "weight_kg": 0.0})
        for key in ("count", "volume_mm3", "weight_kg"):
            wood[key] += board[key]
    return [woods[name] for name in sorted(woods)]
