"""One picture of many designs: every method at three shares of dark, so that a person picks with their eyes."""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.board import Resolution
from shadowrout.design.tone.choosing import choose_dark
from shadowrout.design.tone.settled_tone import settled_tone
from shadowrout.design.two_tone import two_tone_design
from shadowrout.errors import SettingError
from shadowrout.job.limits import GREATEST_DARK, LEAST_DARK
from shadowrout.job.options import METHODS, USUAL_LINES, Job
from shadowrout.picture.pictures import Pictures

SHARE_STEP = 1.4
"""Each share of dark over the next smaller one."""

COLUMNS = 3
TRIALS = COLUMNS * len(METHODS)

MOST_PIXELS = 150_000_000
"""The most pixels of a sheet: 450 MB in colour, before it is packed as PNG."""

_GROUND, _INK = 225, 30
_FONT = cv2.FONT_HERSHEY_SIMPLEX
_LEAST_CELL_PX = 330
_LINES_A_CELL = 16
"""Letters grow with the sheet: this many lines of text are as high as a cell is wide."""
_LETTERS_A_CELL = 30
_FONT_PX = 40
"""Height of a line at the font's scale 1."""

Picture = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Trial:
    """One design tried: black where shadow, shape (height, width); or ``problem``, why there is none."""

    method: str
    dark: float
    picture: Picture | None
    problem: str = ""

    @property
    def label(self) -> str:
        """What stands over it."""
        return f"{self.method}, dark {self.dark:g}"

    @property
    def flags(self) -> str:
        """What makes it."""
        return f"--method {self.method} --dark {self.dark:g}"


def trials_of(
    job: Job, pictures: Pictures, resolution: Resolution, *, step: Callable[[str], None]
) -> tuple[Trial, ...]:
    """Return a trial for each method and share of dark at one plaque's working resolution, method by method.

    The job is settled, and its own share, or that which suits its method, stands in the middle where it can. A
    share that a method can't meet gives a trial with the reason. ``step`` is told each label as its work starts.
    Raises SettingError for a sheet of too many pixels, and where no design at all can be made.
    """
    shares = shares_around(_own_share(job, pictures))
    pixels = TRIALS * resolution.width_px * resolution.height_px
    if pixels > MOST_PIXELS:
        problem = f"the sheet would have {pixels / 1e6:.0f} megapixels; preview a smaller plaque or a coarser detail"
        raise SettingError("plaque.size", problem)
    trials = []
    for method in METHODS:
        for share in shares:
            step(f"{method}, dark {share:g}")
            trials.append(_trial(job, pictures, resolution, method, share))
    if all(trial.picture is None for trial in trials):
        raise SettingError("tone.dark", trials[0].problem)
    return tuple(trials)


def shares_around(dark: float) -> tuple[float, ...]:
    """Return three shares of dark, rising by SHARE_STEP, ``dark`` the middle one unless a limit is in the way."""
    if dark * SHARE_STEP > GREATEST_DARK:
        powers = (-2, -1, 0)
    elif dark / SHARE_STEP < LEAST_DARK:
        powers = (0, 1, 2)
    else:
        powers = (-1, 0, 1)
    return tuple(round(dark * SHARE_STEP**power, 2 if power else 3) for power in powers)


def sheet_of(trials: Sequence[Trial], *, heading: str) -> Picture:
    """Return the sheet as sRGB, shape (height, width, 3): the trials in rows of COLUMNS, labelled, under a heading.

    They are drawn pixel for pixel. Letters other than ASCII's become question marks, since the font has no others.
    """
    height, width = next(trial.picture.shape for trial in trials if trial.picture is not None)
    width = max(width, _LEAST_CELL_PX)
    line_px = width // _LINES_A_CELL
    height = max(height, *((len(_reason(trial)) + 1) * line_px for trial in trials))
    cells = [_cell(trial, height, width, line_px) for trial in trials]
    rows = [np.hstack(cells[start : start + COLUMNS]) for start in range(0, len(cells), COLUMNS)]
    head = _ground(2 * line_px, rows[0].shape[1])
    _write(head, [heading], line_px // 2, line_px, line_px)
    return np.repeat(np.vstack([head, *rows])[:, :, None], 3, axis=2)


def _own_share(job: Job, pictures: Pictures) -> float:
    """Return the job's share of dark, else what its method takes, within the limits of the setting."""
    dark = job.tone.dark
    if dark is None:
        dark = choose_dark(pictures.photo, str(job.tone.method), job.tone.lines or USUAL_LINES)
    return min(max(dark, LEAST_DARK), GREATEST_DARK)


def _trial(job: Job, pictures: Pictures, resolution: Resolution, method: str, dark: float) -> Trial:
    job = dataclasses.replace(job, tone=dataclasses.replace(job.tone, method=method, dark=dark))
    try:
        job = settled_tone(job, pictures.photo, left=pictures.left)
        design = two_tone_design(job, pictures.photo, resolution, touch_up=pictures.touch_up)
    except SettingError as error:
        if error.key != "tone.dark":
            raise
        return Trial(method, dark, None, str(error.problem))
    shadow = design.field > 0
    if not shadow.any():
        return Trial(method, dark, None, "nothing is left: every shadow is smaller than a speck")
    return Trial(method, dark, np.where(shadow, 0, 255).astype(np.uint8))


def _cell(trial: Trial, height: int, width: int, line_px: int) -> Picture:
    """Return the trial with its label over it and a gap around; the reason where there is no design."""
    gap = line_px // 2
    cell = _ground(line_px + height + gap, width + 2 * gap)
    _write(cell, [trial.label], gap, line_px - line_px // 3, line_px)
    if trial.picture is None:
        cv2.rectangle(cell, (gap, line_px), (gap + width - 1, line_px + height - 1), _INK)
        _write(cell, _reason(trial), 2 * gap, 2 * line_px, line_px)
    else:
        rows, columns = trial.picture.shape
        cell[line_px : line_px + rows, gap : gap + columns] = trial.picture
    return cell


def _reason(trial: Trial) -> list[str]:
    """Return the lines that say why there is no design."""
    return textwrap.wrap(trial.problem, _LETTERS_A_CELL)


def _ground(height: int, width: int) -> Picture:
    return np.full((height, width), _GROUND, dtype=np.uint8)


def _write(canvas: Picture, lines: Sequence[str], x: int, y: int, line_px: int) -> None:
    """Write lines of text, the first one's foot at (x, y)."""
    scale, weight = line_px / _FONT_PX, max(1, line_px // 20)
    for number, line in enumerate(lines):
        told = line.encode("ascii", "replace").decode()
        cv2.putText(canvas, told, (x, y + number * line_px), _FONT, scale, _INK, weight, cv2.LINE_AA)
