"""What the job leaves open is settled here, from the picture and from the job's other settings.

The result says every setting, so that making it again gives the same files.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable

from shadowrout import tone
from shadowrout.errors import SettingError
from shadowrout.job_unit import unit_of
from shadowrout.options import (
    GREATEST_SIDE_MM,
    LEAST_DARK,
    LEAST_SIDE_MM,
    Job,
    Plaque,
    Register,
    ToneOptions,
)
from shadowrout.photo import Photo
from shadowrout.settle_tools import finest_line_mm
from shadowrout.units import MM_PER_INCH, written_size

LONG_SIDE_MM = 200.0
_DOWELS_MM = {"mm": (6.0, 2.0, 1.0), "in": (MM_PER_INCH / 4, MM_PER_INCH / 8, MM_PER_INCH / 16)}
"""The dowel where there is room, the least one, and the step between: as a shop in either unit can buy them (common
practice, no source)."""

_WOOD_BESIDE_MM = 2.0
"""Wood left on both sides of a dowel whose size the program chooses (common practice, no source)."""
MOST_OF_SUBJECT = 0.6
"""The most of a subject that becomes shadow when nobody says, once its background is dropped."""


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


def settled_method(job: Job, photo: Photo) -> Job:
    """Return the job with the method that suits the picture as it was given, before its background is treated."""
    chosen: ToneOptions = dataclasses.replace(job.tone, method=job.tone.method or tone.choose_method(photo))
    return dataclasses.replace(job, tone=chosen)


def settled_tone(job: Job, photo: Photo, *, left: float = 1.0) -> Job:
    """Return the job with the method and the share of dark that suit the picture.

    ``left`` is the share of the picture that may become shadow at all. Raises SettingError where more was asked for.
    """
    job = settled_method(job, photo)
    dark = job.tone.dark
    if dark is not None and dark > left:
        problem = f"{dark:g} is more than the subject's share of the picture; give {MOST_OF_SUBJECT * left:.2f} or so"
        raise SettingError("tone.dark", f"{problem}, or picture.background = fade, or a crop round the subject")
    if dark is None and job.tone.method == "keep-lines":
        dark = min(tone.choose_dark(photo, job.tone.method), max(LEAST_DARK, round(MOST_OF_SUBJECT * left, 3)))
    return dataclasses.replace(job, tone=dataclasses.replace(job.tone, dark=dark))


def within_reach(job: Job, photo: Photo, *, widths_mm: Iterable[float]) -> Job:
    """Return the job, its share of dark no more than every plaque can keep; for shares that nobody asked for.

    ``widths_mm`` are the picture's on the plaques. Faint or few dark parts leave less than would suit the picture.
    """
    dark = job.tone.dark
    if dark is None or job.tone.method != "keep-lines":
        return job
    detail = job.tone.detail or finest_line_mm(job.v_tool, job.finish)
    for width in widths_mm:
        dark = tone.within_reach(photo, dark=dark, width_mm=width, detail_mm=detail, smoothing_mm=job.tone.smoothing)
    return dataclasses.replace(job, tone=dataclasses.replace(job.tone, dark=max(dark, LEAST_DARK)))


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
