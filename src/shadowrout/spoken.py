"""In which unit a job speaks to its shop."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from shadowrout.errors import ShadowroutError
from shadowrout.options import Job
from shadowrout.units import Sides, spoken, written_size


def unit_of(job: Job) -> str:
    """Return "mm" or "in": the unit that was asked for, else that in which the first plaque's size was written."""
    first = job.plaques[0].size
    return job.output.unit or ("in" if isinstance(first, Sides) and first.inches else "mm")


@contextmanager
def errors_in_unit_of(job: Job) -> Iterator[None]:
    """Have what is raised within tell its lengths in the job's unit."""
    try:
        yield
    except ShadowroutError as error:
        unit = unit_of(job)
        if unit == "mm":
            raise
        names = [plaque.name or written_size(plaque.size or (0, 0)) for plaque in job.plaques]
        raise error.reworded(lambda words: spoken(words, unit, names=names)) from error
