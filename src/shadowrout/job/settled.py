"""Settings that a job may leave open until they are settled."""

from __future__ import annotations

from typing import TypeVar

Value = TypeVar("Value")


def settled(value: Value | None) -> Value:
    """Return a setting's value; raises ValueError while nobody has settled it."""
    if value is None:
        raise ValueError("the job must be settled before a plaque is made")
    return value
