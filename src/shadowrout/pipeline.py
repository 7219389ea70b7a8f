"""A whole job: the flat list of its steps, from the picture's file to the folder of results."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shadowrout import jobfile, photo, report, size
from shadowrout.make_plaque import MadePlaque, make_plaque
from shadowrout.options import Job, Picture
from shadowrout.photo import Photo
from shadowrout.plaque_files import Files, files_of
from shadowrout.progress import Progress, silent
from shadowrout.settle import settled_boards, settled_tone, settled_tools
from shadowrout.size import Layout, Resolution
from shadowrout.writers.save import folder, save

_STEPS_A_PLAQUE = 5
_LONG_SIDE_TO_JUDGE_PX = 1000


@dataclass(frozen=True, eq=False)
class Made:
    """A finished job: as settled, and its figures."""

    job: Job
    figures: dict[str, Any]


def make(job: Job, out: Path, *, progress: Progress = silent) -> Made:
    """Make everything the job asks for and write it into ``out``, which is made where it is missing.

    Nothing is written until all of it has been worked out. Raises the errors of the rooms.
    """
    target = folder(out)
    progress("reading the picture", 0.0)
    job, boards = _laid_out(job)
    picture = photo.read(job.picture.file, crop=job.picture.crop, long_side_px=_long_side_px(boards))
    job = settled_tone(job, picture)
    plaques = _made_plaques(job, boards, picture, progress)
    figures = report.numbers(job, plaques)
    progress("writing", 1.0)
    _write(target, plaques, job, figures)
    return Made(job, figures)


def start(picture: Path) -> Job:
    """Return a job whose defaults fit the picture: a board in its proportions, a method, a share of dark."""
    job = Job(Picture(picture))
    width, height = photo.size_of(picture)
    job = settled_boards(job, aspect=width / height)
    return settled_tone(job, photo.read(picture, long_side_px=_LONG_SIDE_TO_JUDGE_PX))


def _laid_out(job: Job) -> tuple[Job, list[tuple[Layout, Resolution]]]:
    """Return the job with its boards and tools settled, and each plaque's layout and working pixels."""
    width, height = photo.size_of(job.picture.file, crop=job.picture.crop)
    job = settled_tools(settled_boards(job, aspect=width / height))
    boards = []
    for plaque in job.plaques:
        layout = size.lay_out(plaque, aspect=width / height, origin=job.output.origin)
        boards.append((layout, size.resolution(layout, detail_mm=job.tone.detail or 0.0)))
    return job, boards


def _long_side_px(boards: list[tuple[Layout, Resolution]]) -> int:
    return max(max(resolution.width_px, resolution.height_px) for _, resolution in boards)


def _made_plaques(
    job: Job, boards: list[tuple[Layout, Resolution]], picture: Photo, progress: Progress
) -> list[tuple[MadePlaque, Files]]:
    steps = len(boards) * _STEPS_A_PLAQUE
    done = 0
    made = []
    for plaque, (layout, resolution) in zip(job.plaques, boards, strict=True):

        def step(name: str, plaque_name: str = str(plaque.name)) -> None:
            nonlocal done
            progress(f"{plaque_name}: {name}", done / steps)
            done += 1

        worked_out = make_plaque(job, plaque, layout, resolution, picture, step=step)
        step("files")
        made.append((worked_out, files_of(job, worked_out)))
    return made


def _write(target: Path, plaques: list[tuple[MadePlaque, Files]], job: Job, figures: dict[str, Any]) -> None:
    for made, files in plaques:
        place = folder(target / str(made.plaque.name))
        for name, content in files.items():
            save(place / name, content)
    save(target / "numbers.json", report.as_json(figures).encode())
    save(target / "job.toml", jobfile.written(job, folder=target).encode())
