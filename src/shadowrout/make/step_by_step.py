"""The steps of a plaque one by one, for a program that wants the values in between; nothing is written.

Each gives what ``make`` would have worked out, to the last bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from shadowrout.carving.plaque_carving import PlaqueCarving
from shadowrout.design.plaque_design import PlaqueDesign, design_plaque
from shadowrout.drawing.shapes import Drawing
from shadowrout.job.job_unit import errors_in_unit_of
from shadowrout.job.options import Job
from shadowrout.make.pipeline import laid_out, read_and_settled, refuse
from shadowrout.make.plaque import MadePlaque, PlaqueToMake, carve_design
from shadowrout.make.plaque_files import carving_as_drawn
from shadowrout.make.repeatable import repeatable
from shadowrout.sheets.plaque_marks import marks_of


def plaques_of(job: Job) -> tuple[PlaqueToMake, ...]:
    """Return the job's plaques, in its order, ready to be made: the picture is read and nothing is left open.

    Each has the settled ``job``, its ``layout`` (the board and the picture's place on it, mm, y up), its
    ``resolution`` (working pixels) and the ``pictures``, of which ``pictures.photo.lightness`` is an array (height,
    width) of float32, rows downwards, in CIE L* from 0 to 100. Raises SettingError for settings that don't go together
    or that a board has no room for, and InputError for a picture that can't be read.
    """
    with _as_make_does(job):
        job, boards = laid_out(job)
        refuse(job, boards)
        settled, pictures = read_and_settled(job, boards)
        return tuple(PlaqueToMake(settled.job, *board, pictures) for board in boards)


def design_of(plaque: PlaqueToMake) -> PlaqueDesign:
    """Return what becomes shadow on a plaque.

    ``design.shadow`` is the region in mm, y up, its lines right for their size; ``mask.field`` the array (height,
    width) that it was traced from, rows downwards, positive where shadow; ``widths`` tells which strokes were widened
    or dropped. Raises InputError where nothing of the picture becomes shadow, or too much to be carved, and
    SettingError where a share of dark was asked for that can't be reached.
    """
    with _as_make_does(plaque.job):
        return design_plaque(plaque.job, plaque.layout, plaque.resolution, plaque.pictures)


def carving_of(plaque: PlaqueToMake, designed: PlaqueDesign) -> PlaqueCarving:
    """Return how a plaque's design is carved.

    ``plan`` has the pockets, the V lines and their depths, in mm below the face; ``paths`` the same as lines and arcs,
    none further than ``deviation_mm`` from the design. Raises SettingError where the register marks have no room
    beside the design, and PromiseError where no sound fit within the tolerance exists.
    """
    with _as_make_does(plaque.job):
        return carve_design(plaque, designed.design)


def drawing_of(plaque: PlaqueToMake, designed: PlaqueDesign, carving: PlaqueCarving) -> Drawing:
    """Return the drawing of what is carved: layers of paths, circles and texts in mm, y up, with role and depth.

    ``svg_bytes`` and ``dxf_bytes`` make files of it.
    """
    with _as_make_does(plaque.job):
        marks = marks_of(plaque.job, plaque.layout, designed.design.shadow, carving.plan.pockets)
        return carving_as_drawn(plaque.job, MadePlaque(designed, carving, marks, None, None))


@contextmanager
def _as_make_does(job: Job) -> Iterator[None]:
    """Work repeatably, and tell lengths in the job's unit."""
    with repeatable(), errors_in_unit_of(job):
        yield
