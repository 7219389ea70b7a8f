"""A whole job: the flat list of its steps, from the picture's file to the folder of results."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from shadowrout.carving.settled_tools import settled_tools
from shadowrout.check.verdict import Verdict
from shadowrout.design.board import Layout, Resolution, lay_out, resolution_of
from shadowrout.design.tone.settled_tone import (
    SettledTone,
    kept_within_reach,
    leaves_lines_out,
    settled_method,
    settled_tone,
    tone_for,
)
from shadowrout.drawing.paper import pattern
from shadowrout.errors import SettingError, UncheckedError, told
from shadowrout.files import result_folder
from shadowrout.files.claim import claimed
from shadowrout.files.png import png_bytes
from shadowrout.files.save import folder, save, save_all
from shadowrout.job import job_file
from shadowrout.job.job_unit import errors_in_unit_of
from shadowrout.job.options import Job, Picture
from shadowrout.job.settled_boards import settled_boards
from shadowrout.make import took
from shadowrout.make.budget import levels_of, limits_hours, plaque_within_hours
from shadowrout.make.plaque import MadePlaque, PlaqueToMake
from shadowrout.make.plaque_files import board_of, files_of, sheet_drawings
from shadowrout.make.processes import Processes
from shadowrout.make.repeatable import repeatable
from shadowrout.make.stock_files import LaidStock, notes_on_stock, stock_files, stocks_of
from shadowrout.make.tone_sheet import TRIALS, Trial, sheet_of, trials_of
from shadowrout.make.verdicts import check_in
from shadowrout.picture import reading
from shadowrout.picture.photo import Photo
from shadowrout.picture.pictures import Pictures, keeping_detail, read_pictures
from shadowrout.picture.reading import size_of
from shadowrout.report import closing
from shadowrout.report.figures.amounts import Surface, surface_of
from shadowrout.report.figures.figures_json import as_json
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures, job_figures, plaque_figures
from shadowrout.report.figures.written_figures import picture_files, written_files
from shadowrout.report.jobsheet.page import job_sheet
from shadowrout.sheets import refusals as sheets
from shadowrout.words.progress import Progress, silent
from shadowrout.words.wording import Words

REFUSALS = (sheets.refuse, pattern.refuse, took.refuse)
"""What each room has against a settled job and one of its boards, before anything is made."""

MOST_ENLARGED = 6
"""How many working pixels may stand on one of the picture's without a note."""

_STEPS_A_PLAQUE = 7
"""How many steps a plaque tells of: a share of the progress each."""

_LONG_SIDE_TO_JUDGE_PX = 1000
"""What a picture is read at to judge its tone where no board asks for more."""

Boards = list[tuple[Layout, Resolution]]
"""Each plaque's layout and working pixels, in the order of the job."""


@dataclass(frozen=True, eq=False)
class Made:
    """A finished job: as settled, its figures, what checking its written files found, and what isn't of this run.

    ``left`` names files and plaques' folders in the folder of results that an earlier run made and this one didn't.
    """

    job: Job
    figures: JobFigures
    verdict: Verdict
    left: tuple[str, ...]

    @property
    def numbers(self) -> str:
        """The figures as the text of numbers.json."""
        return as_json(self.figures)

    @property
    def closing_words(self) -> str:
        """The figures as a person reads them."""
        return closing.summary(self.figures)


@repeatable()
def make(job: Job, out: Path | str, *, workers: int = 1, progress: Progress = silent) -> Made:
    """Make everything the job asks for and write it into ``out``, which is made where it is missing.

    Nothing is written until all of it has been worked out and lies on the disk; then it takes its place, and the
    files are read back and checked. Several plaques are made and checked in ``workers`` processes at most; ``progress``
    is called with a step's name and the share done. Raises SettingError for settings that don't go together, that a
    board has no room for or that the picture can't meet, and under ``--out`` where the folder can't be written, another
    run writes to it or something of the user's stands in the way; InputError where the picture can't be read or nothing
    of it, or too much, becomes shadow; PromiseError where a promise can't be kept; OutputError where writing fails;
    UncheckedError where the files are written and could not be checked. A promise that the written files break is no
    error, but stands in the verdict.
    """
    out = Path(out)
    with errors_in_unit_of(job), claimed(out) as claim, Processes(workers) as processes:
        progress("reading the picture", 0.0)
        result_folder.check_place(out)
        worked = worked_out(job, out, processes, progress, check=lambda job: result_folder.check_plaques(job, out))
        progress("writing", 1.0)
        for plaque in worked.job.plaques:
            claim.folder(str(plaque.name), key="plaque.name")
        result_folder.check_overwritten(worked.job, worked.files)
        save_all(worked.files)
        progress("checking the files", 1.0)
        with _telling_unchecked(out):
            verdict = check_in(processes, out)
        return Made(worked.job, worked.figures, verdict, result_folder.left_over(out, worked.files))


@contextmanager
def _telling_unchecked(out: Path) -> Iterator[None]:
    """Have whatever keeps written files from being checked say that they are there, and unchecked."""
    try:
        yield
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"the files in {out} are written and whole, but not checked") from None
    except Exception as error:  # whatever it is: for want of memory anything may fail
        reason = "there is not enough memory" if isinstance(error, MemoryError) else told(error)[1]
        raise UncheckedError(f"the files in {out} are written but not checked, don't cut by them: {reason}") from error


@dataclass(frozen=True, eq=False)
class WorkedOut:
    """A job as settled, its figures, and all its files by their places, none of them written."""

    job: Job
    figures: JobFigures
    files: dict[Path, bytes]


def worked_out(
    job: Job,
    out: Path,
    processes: Processes,
    progress: Progress = silent,
    *,
    check: Callable[[Job], None] = lambda job: None,
) -> WorkedOut:
    """Return all that ``make`` would write into ``out``; ``check`` may refuse the job with its boards settled."""
    job, boards = laid_out(job)
    job_file.check_paths(job, folder=out)
    refuse(job, boards)
    check(job)
    asked = job.tone.lines
    settled, pictures = read_and_settled(job, boards)
    job = settled.job
    levels = levels_of(job, asked)
    notes = [*pictures.photo.notes, *settled.notes, *_coarse(pictures.photo, boards), *notes_on_stock(job)]
    if asked is None and limits_hours(job):  # so that the settings as used give the same again
        job = dataclasses.replace(job, tone=dataclasses.replace(job.tone, lines=None))
    plaques = _made_plaques([PlaqueToMake(job, *board, pictures, levels) for board in boards], processes, progress)
    plaques, rates = _at_its_rates(job, plaques)
    stocks = _stocks(job, plaques)
    figures = job_figures(
        job,
        [plaque.figures for plaque in plaques],
        notes=[*notes, *rates],
        stock=[stock.figures() for stock in stocks],
        made_of=picture_files(job.picture),
    )
    files = _files(out, plaques, stocks, job, figures)
    # The pictures' places depend on the folder, and figures are the same in any.
    as_listed = files | {out / result_folder.JOB_FILE: _settings(_by_name(job), Path())}
    figures = dataclasses.replace(figures, written=written_files(as_listed, out))
    # The settings come first, so that a run that is killed between two files leaves none under settings that an
    # earlier run's file seems to prove.
    settings = out / result_folder.JOB_FILE
    numbers = {settings: files[settings], out / result_folder.NUMBERS_FILE: as_json(figures).encode()}
    return WorkedOut(job, figures, numbers | files)


def refuse(job: Job, boards: Boards) -> None:
    """Raise SettingError for what a room can't make, whatever the picture."""
    for refuses in REFUSALS:
        for layout, _ in boards:
            refuses(job, layout)


def _coarse(picture: Photo, boards: Boards) -> Iterator[str]:
    """Yield a note where the picture has far fewer pixels than the largest plaque's finest lines ask for."""
    given, wanted = max(picture.full_width_px, picture.full_height_px), _long_side_px(boards)
    if wanted > MOST_ENLARGED * given:
        yield (
            f"the picture has {picture.full_width_px} x {picture.full_height_px} pixels; lines will be soft or "
            f"stepped, {round(wanted / MOST_ENLARGED)} on the long side would do"
        )


@dataclass(frozen=True, eq=False)
class TonePreview:
    """A sheet of designs that was written: the job as settled, its finest line in words, the trials in their order."""

    job: Job
    finest_line: str
    trials: tuple[Trial, ...]


@repeatable()
def preview_tone(job: Job, out: Path | str, *, progress: Progress = silent) -> TonePreview:
    """Write a sheet of what each method makes of the job's first plaque as the PNG file ``out``.

    ``progress`` is called with a step's name and the share done. Raises SettingError for settings that don't go
    together, and under ``--out`` where that doesn't end in .png, can't be written or is one of the job's own pictures;
    InputError where the picture can't be read; OutputError where writing fails.
    """
    out = Path(out)
    _check_sheet_place(job, out)
    target = folder(out.parent) / out.name
    progress("reading the picture", 0.0)
    done = itertools.count()
    with errors_in_unit_of(job):
        job, boards = laid_out(dataclasses.replace(job, plaques=job.plaques[:1]))
        settled, pictures = read_and_settled(job, boards)
        job = settled.job
        trials = trials_of(job, pictures, boards[0][1], step=lambda name: progress(name, next(done) / TRIALS))
    finest_line = Words(job.output.settled_unit).short(job.tone.detail or 0.0)
    heading = f"{job.picture.file.name}, {job.plaques[0].name}, finest line {finest_line}"
    save(target, png_bytes(sheet_of(trials, heading=heading)))
    return TonePreview(job, finest_line, trials)


def _check_sheet_place(job: Job, out: Path) -> None:
    _expect_job(job)
    if out.suffix.lower() != ".png":
        raise SettingError("--out", f"{out} can't be used; give a name that ends in .png")
    for given in (job.picture.file, job.picture.touch_up):
        if given is not None and given.resolve() == out.resolve():
            raise SettingError("--out", f"{out} is a picture of this job; give another name")


@repeatable()
def start(picture: Path | str) -> Job:
    """Return a job whose defaults fit the picture: a board in its proportions, a method, a share of dark.

    What follows from the board stays open, so that the file still fits when somebody changes the board. Raises
    InputError for a picture that can't be read or holds nothing to carve.
    """
    job = Job(Picture(Path(picture)))
    width, height = size_of(job.picture.file)
    (board,) = settled_boards(job, aspect=width / height).plaques
    job = dataclasses.replace(job, plaques=(dataclasses.replace(board, name=None),))
    read = reading.read(job.picture.file, long_side_px=_LONG_SIDE_TO_JUDGE_PX)
    with_tools, boards = laid_out(job)
    detail = with_tools.tone.detail or 0.0
    return kept_within_reach(settled_tone(job, read), read, detail_mm=detail, widths_mm=_widths_mm(boards))


def start_file(picture: Path, out: Path) -> None:
    """Write the job of ``start`` as the job file ``out``, a comment over each key; raises the errors of ``start``."""
    job = start(picture)
    save(folder(out.parent) / out.name, job_file.written(job, folder=out.parent, explained=True).encode())


def laid_out(job: Job) -> tuple[Job, Boards]:
    """Return the job with its boards and tools settled, and each plaque's layout and working pixels."""
    _expect_job(job)
    width, height = size_of(job.picture.file, crop=job.picture.crop)
    job = settled_boards(job, aspect=width / height)
    job = settled_tools(job)
    boards = []
    for plaque in job.plaques:
        layout = lay_out(plaque, aspect=width / height, origin=job.output.origin)
        boards.append((layout, resolution_of(layout, detail_mm=job.tone.detail or 0.0)))
    return job, boards


def _expect_job(job: object) -> None:
    """Raise TypeError for what is no job: a path, most likely, since the command line takes those."""
    if not isinstance(job, Job):
        raise TypeError(f"expected a Job, received {job!r:.60}; Job.from_file reads a job file, start fits a picture")


def read_and_settled(job: Job, boards: Boards) -> tuple[SettledTone, Pictures]:
    """Return the job with its tone settled too, and its pictures, as large as the largest board takes them."""
    pictures = read_pictures(job.picture, long_side_px=_long_side_px(boards))
    job = settled_method(job, pictures.given)
    if leaves_lines_out(job) or limits_hours(job):
        pictures = keeping_detail(pictures, job.picture)
    return tone_for(job, pictures, widths_mm=_widths_mm(boards)), pictures


def _long_side_px(boards: Boards) -> int:
    return max(max(resolution.width_px, resolution.height_px) for _, resolution in boards)


def _widths_mm(boards: Boards) -> list[float]:
    return [layout.picture_box_mm[2] - layout.picture_box_mm[0] for layout, _ in boards]


@dataclass(frozen=True, eq=False)
class Finished:
    """One plaque as it was worked out, its files by name, and its figures."""

    made: MadePlaque
    files: Mapping[str, bytes]
    figures: PlaqueFigures
    surface: Surface


def _made_plaques(tasks: Sequence[PlaqueToMake], processes: Processes, progress: Progress) -> list[Finished]:
    """Return the plaques in their order, made one after the other or side by side: the result is the same."""
    if min(processes.most, len(tasks)) > 1:
        progress(f"{len(tasks)} plaques side by side", 0.0)
        largest_first = sorted(range(len(tasks)), key=lambda number: -tasks[number].pixels)  # else one may end alone
        finished = processes.results_of(
            _finished_plaque,
            [tasks[number] for number in largest_first],
            done=lambda done: progress(f"{done} of {len(tasks)} plaques", done / len(tasks)),
        )
        return [finished[largest_first.index(number)] for number in range(len(tasks))]
    steps = itertools.count()
    share = 1 / (len(tasks) * _STEPS_A_PLAQUE)

    def made(task: PlaqueToMake) -> Finished:
        return _finished_plaque(task, step=lambda name: progress(f"{task.name}: {name}", next(steps) * share))

    return [made(task) for task in tasks]


@repeatable()  # for the processes that only come here
def _finished_plaque(task: PlaqueToMake, *, step: Callable[[str], None] = lambda name: None) -> Finished:
    made = plaque_within_hours(task, step=step)
    step("files")
    return _finished(task.job, made)


def _finished(job: Job, made: MadePlaque) -> Finished:
    board = board_of(job, made)
    files, surface = files_of(job, made, board), surface_of(board)
    return Finished(made, files, _figures(job, made, tuple(files), surface), surface)


def _figures(job: Job, made: MadePlaque, files: tuple[str, ...], surface: Surface) -> PlaqueFigures:
    return plaque_figures(
        job,
        made.drawn,
        made.carving,
        marks=made.marks,
        stencil=made.stencil,
        template=made.template,
        surface=surface,
        files=files,
        lines=made.lines,
        left_out=made.left_out,
    )


def _at_its_rates(job: Job, plaques: list[Finished]) -> tuple[list[Finished], list[str]]:
    """Return the plaques with figures at the rates that follow from what the first one took, and a note on those."""
    if job.shop.took is None:
        return plaques, []
    scaled = took.at_its_rates(job, plaques[0].figures.times)
    told = [dataclasses.replace(p, figures=_figures(scaled, p.made, tuple(p.files), p.surface)) for p in plaques]
    return told, [took.told_rates(scaled)]


def _stocks(job: Job, plaques: list[Finished]) -> tuple[LaidStock, ...]:
    """Return the stencils and templates of all plaques laid out on stock, as far as the job asks for that."""
    if job.stock.stencil is None and job.stock.template is None:
        return ()
    return stocks_of(job, [(str(p.made.plaque.name), sheet_drawings(job, p.made)) for p in plaques])


def _files(
    out: Path, plaques: list[Finished], stocks: tuple[LaidStock, ...], job: Job, figures: JobFigures
) -> dict[Path, bytes]:
    """Return all files of the job by their place in ``out`` but its figures, which tell of these files."""
    settings = job_file.written(_by_name(job), folder=Path())  # a printed sheet doesn't tell where the shop keeps them
    sheet = job_sheet(job, figures, files={str(p.made.plaque.name): p.files for p in plaques}, settings=settings)
    files = {out / result_folder.JOB_FILE: _settings(job, out), out / result_folder.SHEET_FILE: sheet}
    for plaque in plaques:
        place = out / str(plaque.made.plaque.name)
        files |= {place / name: content for name, content in plaque.files.items()}
    for stock in stocks:
        files |= {out / name: content for name, content in stock_files(stock, job).items()}
    return files


def _by_name(job: Job) -> Job:
    """Return the job with its pictures by their names alone."""
    return job.with_paths(lambda path: Path(path.name))


def _settings(job: Job, out: Path) -> bytes:
    """Return the file of the settings as used, for the folder ``out``."""
    return f"{result_folder.JOB_FILE_HEAD}\n\n{job_file.written(job, folder=out)}".encode()
