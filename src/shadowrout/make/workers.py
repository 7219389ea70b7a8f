"""How many processes the work is shared among."""

from __future__ import annotations

import os

from shadowrout.errors import SettingError

MOST_WORKERS = 64
"""More processes than any shop's computer has processors."""


def workers_asked(asked: str | None) -> int:
    """Return how many processes to use; one for each processor when nobody says."""
    if asked is None:
        return _processors()
    if not (asked.isdecimal() and 1 <= int(asked) <= MOST_WORKERS):
        raise SettingError("--workers", f"{asked!r} can't be used; give a whole number from 1 to {MOST_WORKERS}")
    return int(asked)


def _processors() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
