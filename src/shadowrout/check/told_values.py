"""Values out of numbers.json, which may hold anything: what isn't of the kind that is asked for counts as missing."""

from __future__ import annotations

import math
from typing import Any


def number_of(value: Any) -> float | None:
    """Return a finite number; None for everything else, truth values among it."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if abs(value) < _LARGEST and math.isfinite(value) else None


_LARGEST = 1e300
"""A whole number of hundreds of digits is no float, and no figure of a plaque either."""


def numbers_of(value: Any, *keys: str) -> list[float]:
    """Return what stands under the keys, one within the other, as numbers: one, or a list's; none where it is no such.

    >>> numbers_of({"a": {"b": [1, 2.5]}}, "a", "b"), numbers_of({"a": 3}, "a"), numbers_of({"a": "3"}, "a", "b")
    ([1.0, 2.5], [3.0], [])
    """
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    found = [number_of(item) for item in (value if isinstance(value, list) else [value])]
    return [number for number in found if number is not None] if None not in found else []


def lists_of(value: Any, *keys: str) -> list[list[Any]]:
    """Return the lists of a list that stands under the keys; none where it is no list of lists."""
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    return value if isinstance(value, list) and all(isinstance(item, list) for item in value) else []


def tables_of(value: Any, key: str) -> list[dict[str, Any]]:
    """Return the tables of a list that stands under a key; none where it is no list of tables."""
    value = value.get(key) if isinstance(value, dict) else None
    return value if isinstance(value, list) and all(isinstance(item, dict) for item in value) else []
