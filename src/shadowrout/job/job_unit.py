"""The unit that a job's files are written in: what wasn't read in it, and errors that tell their lengths in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from shadowrout.errors import ShadowroutError
from shadowrout.job.options import TABLES, Job
from shadowrout.job.schema import settings_of
from shadowrout.words.units import Bare, Sides, Unit


@dataclass(frozen=True)
class BareLength:
    """A length that was given without a unit: its key in the job file, its flag, and the millimetres it was read as."""

    key: str
    flag: str
    length_mm: float

    def told(self, name: str) -> str:
        """Return how it was read and how to write inches; ``name`` is what it was given by, and what follows that."""
        number = f"{self.length_mm:g}"
        return f'{name}{number} was read as {number} mm; write "{number}in" for inches, "{number}mm" for millimetres'


def unit_of(job: Job) -> str:
    """Return the unit of the job's files, ``mm`` or ``in``: as asked for, else inches if the first size is in them."""
    first = job.plaques[0].size
    return job.output.unit or ("in" if isinstance(first, Sides) and first.inches else "mm")


def bare_lengths(job: Job) -> tuple[BareLength, ...]:
    """Return the lengths of a job in inches that were given without a unit, each once; none for a job in millimetres.

    Nothing is as long in every unit, so a length of 0 isn't among them.
    """
    if unit_of(job) != "in":
        return ()
    found: dict[BareLength, None] = {}
    for table in TABLES:
        for section in table.sections_of(job):
            for declared in settings_of(table.section):
                value = getattr(section, declared.name)
                if isinstance(value, Bare) and value > 0.0:
                    found[BareLength(f"{table.heading}.{declared.name}", declared.flag, float(value))] = None
    return tuple(found)


@contextmanager
def errors_in_unit_of(job: Job) -> Iterator[None]:
    """Have what is raised within tell its lengths in the job's unit."""
    try:
        yield
    except ShadowroutError as error:
        unit = unit_of(job)
        raise error.in_unit(Unit(unit)) from error
