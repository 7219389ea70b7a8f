"""The kind of value that a time of work is: hours, or hours and minutes as people write them."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from numbers import Real

from shadowrout.job.value_kinds import toml_text

LEAST_HOURS = 0.05
"""Three minutes: less is no work to plan (a judgement)."""
GREATEST_HOURS = 1000.0
"""Half a year of work (a judgement)."""

_WRITTEN = re.compile(r"(?:(?P<hours>\d+(?:\.\d+)?)\s*h)?\s*(?:(?P<minutes>\d+(?:\.\d+)?)\s*(?P<unit>min)?)?", re.ASCII)
"""Hours, minutes or both: "3h", "3h20", "3 h 20 min", "45min", and "3" of no unit."""


@dataclass(frozen=True)
class Duration:
    """A time in hours between two limits: a plain number of hours, or text such as "3h20" or "45min"."""

    least: float
    greatest: float

    @property
    def allowed(self) -> str:
        """What may be given, as it stands in messages and in the reference."""
        return f"a time from {told_time(self.least)} to {told_time(self.greatest)}, as in 3, 3h20 or 45min"

    def read(self, value: object) -> float:
        """Return the hours that were given; raises ValueError saying what is wrong."""
        hours = _hours_in(value) if isinstance(value, str) else value
        if not isinstance(hours, Real) or isinstance(hours, bool) or not math.isfinite(float(hours)):
            raise ValueError("not a time")
        if not self.least <= float(hours) <= self.greatest:
            raise ValueError("too short" if float(hours) < self.least else "too long")
        return round(float(hours), 6)

    held = read

    def write(self, value: float) -> str:
        """Return hours as TOML, such that ``read`` gives the same back."""
        minutes = value * 60
        whole = abs(minutes - round(minutes)) < 1e-3 and self.read(told_time(value)) == value
        return toml_text(told_time(value)) if whole else repr(value)


def told_time(hours: float) -> str:
    """Return hours as a job file holds them, to the nearest minute.

    >>> told_time(3.0), told_time(3 + 1 / 3), told_time(0.75), told_time(2.05)
    ('3h', '3h20', '45min', '2h03')
    """
    whole, minutes = divmod(round(hours * 60), 60)
    if not whole:
        return f"{minutes}min"
    return f"{whole}h{minutes:02}" if minutes else f"{whole}h"


def _hours_in(text: str) -> float:
    """Return the hours that a text names; raises ValueError for what is no time."""
    found = _WRITTEN.fullmatch(text.strip().lower())
    if not found or not text.strip():
        raise ValueError("not a time")
    hours, minutes, unit = found["hours"], found["minutes"], found["unit"]
    if hours is None and unit is None:
        return float(minutes)
    if hours is not None and minutes is not None and float(minutes) >= 60:
        raise ValueError("60 minutes and more are an hour")
    return float(hours or 0) + float(minutes or 0) / 60
