"""What is raised while a job is made tells its lengths in the job's unit."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from shadowrout.errors import ShadowroutError
from shadowrout.job_unit import unit_of
from shadowrout.options import Job
from shadowrout.units import spoken, written_size


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
