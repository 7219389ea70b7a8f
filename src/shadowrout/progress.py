"""How a step of the work tells how far it is."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, float], None]
"""Called with a step's name and the share of the whole work done so far, from 0 to 1."""


def silent(step: str, share: float) -> None:
    """Report nothing."""
