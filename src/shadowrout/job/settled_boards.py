"""What a job leaves open about its boards, settled from its other settings and the picture's proportions.

The result says every setting, so that making it again gives the same files.
"""

from __future__ import annotations

import dataclasses
import math

from shadowrout.errors import SettingError
from shadowrout.job.job_unit import unit_of
from shadowrout.job.options import GREATEST_SIDE_MM, LEAST_SIDE_MM, Job, Plaque, Register
from shadowrout.words.units import MM_PER_INCH, written_size

LONG_SIDE_MM = 200.0
"""The longer side of a board whose size nobody says: a plaque for a wall (common practice, no source)."""
_DOWELS_MM = {"mm": (6.0, 2.0, 1.0), "in": (MM_PER_INCH / 4, MM_PER_INCH / 8, MM_PER_INCH / 16)}
"""The dowel where there is room, the least one, and the step between: as a shop in either unit can buy them (common
practice, no source)."""

_WOOD_BESIDE_MM = 2.0
"""Wood left on both sides of a dowel whose size the program chooses (common practice, no source)."""


def settled_boards(job: Job, *, aspect: float) -> Job:
    """Return the job with every plaque's size and name, the unit and the paper.

    ``aspect`` is the picture's width / height. A shop that writes its first size in inches gets its files in inches,
    and its patterns on letter paper. Raises SettingError where two plaques would share a folder.
    """
    plaques = tuple(_settled_plaque(plaque, aspect) for plaque in job.plaques)
    seen: set[str] = set()
    for plaque in plaques:
        name = str(plaque.name)
        if name.casefold() in seen:
            raise SettingError("plaque.name", f"two plaques are called {name!r}; give each a name of its own")
        seen.add(name.casefold())
    margin = min(plaque.margin for plaque in plaques)
    unit = unit_of(job)
    return dataclasses.replace(
        job,
        plaques=plaques,
        pattern=dataclasses.replace(job.pattern, paper=job.pattern.paper or ("letter" if unit == "in" else "A4")),
        register=_settled_register(job.register, margin, unit),
        output=dataclasses.replace(job.output, unit=unit),
    )


def _settled_register(register: Register, margin_mm: float, unit: str) -> Register:
    """Return the register with a dowel that the margin has room for, with wood left on both sides; 0 where none."""
    if register.dowel is not None:
        return register
    usual, least, step = _DOWELS_MM[unit]
    room = math.floor((margin_mm - 2 * _WOOD_BESIDE_MM) / step + 1e-9) * step
    return dataclasses.replace(register, dowel=min(usual, room) if room >= least else 0.0)


def _settled_plaque(plaque: Plaque, aspect: float) -> Plaque:
    size = plaque.size or _size_for(plaque, aspect)
    return dataclasses.replace(plaque, size=size, name=plaque.name or written_size(size))


def _size_for(plaque: Plaque, aspect: float) -> tuple[float, float]:
    """Return a board of LONG_SIDE_MM whose field within the margin has the picture's proportions."""
    if plaque.shape == "round":
        return LONG_SIDE_MM, LONG_SIDE_MM
    field = max(LONG_SIDE_MM - 2 * plaque.margin, LEAST_SIDE_MM)
    short = float(round(field * min(aspect, 1 / aspect) + 2 * plaque.margin))
    short = min(max(short, LEAST_SIDE_MM), GREATEST_SIDE_MM)
    return (LONG_SIDE_MM, short) if aspect >= 1 else (short, LONG_SIDE_MM)
