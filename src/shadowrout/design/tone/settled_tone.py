"""What the job leaves open about its tone, settled from the picture."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shadowrout.design.tone import choosing
from shadowrout.errors import SettingError
from shadowrout.job.limits import LEAST_DARK
from shadowrout.job.options import USUAL_LINES, Job, ToneOptions
from shadowrout.picture.photo import Photo
from shadowrout.picture.pictures import Pictures

MOST_OF_SUBJECT = 0.6
"""The most of a subject that becomes shadow when nobody says, once its background is dropped."""

_LESS_DARK = (
    "a share of dark of {:g} would suit the picture, but its dark parts are too few or too faint at this size; it was "
    "made with {:g}"
)


@dataclass(frozen=True)
class SettledTone:
    """A job that leaves nothing open about its tone, and sentences on what was chosen."""

    job: Job
    notes: tuple[str, ...]


def tone_for(job: Job, pictures: Pictures, *, widths_mm: Sequence[float]) -> SettledTone:
    """Return the job with the tone that suits its pictures.

    ``widths_mm`` are the picture's on the plaques: a share of dark that nobody asked for is one that all of them can
    keep, and a note says where that is less than would suit it. Raises the error of ``settled_tone``.
    """
    settled = settled_tone(settled_method(job, pictures.given), pictures.photo, left=pictures.left)
    fine = (fine_note(pictures.faces, len(job.picture.fine)),) if leaves_lines_out(settled) else ()
    if job.tone.dark is not None:
        return SettledTone(settled, fine)
    kept = kept_within_reach(settled, pictures.photo, detail_mm=job.tone.detail or 0.0, widths_mm=widths_mm)
    less = (_LESS_DARK.format(settled.tone.dark, kept.tone.dark),) if kept != settled else ()
    return SettledTone(kept, fine + less)


def leaves_lines_out(job: Job) -> bool:
    """Return whether a job with its method settled draws less than all lines of its picture."""
    return job.tone.method == "keep-lines" and job.tone.lines != "all"


def fine_note(faces: int, boxes: int) -> str:
    """Return a sentence on where the picture keeps its fine lines."""
    found = "a face was" if faces == 1 else f"{faces} faces were" if faces else "no face was"
    drawn = f" and in {boxes} {'box' if boxes == 1 else 'boxes'} under picture.fine" if boxes else ""
    if faces:
        return f"{found} found; fine lines stay there{drawn}"
    if boxes:
        return f"{found} found; fine lines stay{drawn.removeprefix(' and')}"
    return f"{found} found (a profile and an animal aren't looked for); a box under picture.fine keeps fine lines in it"


def settled_method(job: Job, photo: Photo) -> Job:
    """Return the job with the method that suits the picture as it was given, before its background is treated."""
    chosen: ToneOptions = dataclasses.replace(
        job.tone,
        method=job.tone.method or choosing.choose_method(photo),
        lines=job.tone.lines or USUAL_LINES,
    )
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
        own = choosing.choose_dark(photo, job.tone.method, job.tone.lines or USUAL_LINES)
        dark = min(own, max(LEAST_DARK, round(MOST_OF_SUBJECT * left, 3)))
    return dataclasses.replace(job, tone=dataclasses.replace(job.tone, dark=dark))


def kept_within_reach(job: Job, photo: Photo, *, detail_mm: float, widths_mm: Iterable[float]) -> Job:
    """Return the job, its share of dark no more than every plaque can keep; for shares that nobody asked for.

    ``detail_mm`` is its finest line, ``widths_mm`` are the picture's on the plaques. Faint or few dark parts leave
    less than would suit the picture.
    """
    dark = job.tone.dark
    if dark is None or job.tone.method != "keep-lines":
        return job
    smoothing = job.tone.smoothing
    for width in widths_mm:
        dark = choosing.within_reach(
            photo,
            dark=dark,
            width_mm=width,
            detail_mm=detail_mm,
            smoothing_mm=smoothing,
            lines=job.tone.lines or USUAL_LINES,
        )
    return dataclasses.replace(job, tone=dataclasses.replace(job.tone, dark=max(dark, LEAST_DARK)))
