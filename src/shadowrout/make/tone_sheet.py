"""One picture of many designs at three shares of dark, so that a person picks with their eyes.

The amounts of line that "keep-lines" draws come first, at shares spread over what is possible, then the other methods.
"""

from __future__ import annotations

import dataclasses
import math
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.board import Resolution
from shadowrout.design.tone.choosing import choose_dark
from shadowrout.design.tone.settled_tone import settled_tone
from shadowrout.design.tone.share_score import cut_px
from shadowrout.design.tone.shares import LEAST_SHARE
from shadowrout.design.two_tone import two_tone_design
from shadowrout.errors import SettingError
from shadowrout.job.limits import GREATEST_DARK, LEAST_DARK
from shadowrout.job.options import METHODS, USUAL_LINES, Job
from shadowrout.picture.pictures import Pictures

SHARE_STEP = 1.4
"""Each share of dark over the next smaller one."""

GREATEST_SPREAD = 0.6
"""Share of dark towards which the greater one of "keep-lines" is spread: most pictures tell little past it."""

Amount = Literal["few", "some", "all", ""]
"""An amount of lines, empty where a method has none."""

COLUMNS = 3
ROWS: tuple[tuple[str, Amount], ...] = (
    ("keep-lines", "few"),
    ("keep-lines", "some"),
    ("keep-lines", "all"),
    *((method, "") for method in METHODS if method != "keep-lines"),
)
"""Method and amount of lines of each row, the amount empty where the method has none."""
TRIALS = COLUMNS * len(ROWS)

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
    lines: Amount = ""
    """The amount of lines, empty where the method has none."""
    strokes: int = 0
    """About how many full strokes its lines and walls are long."""
    chosen: bool = False
    """Whether the job makes it."""

    @property
    def label(self) -> str:
        """What stands over it."""
        told = ", ".join(filter(None, (self.method, self.lines, f"dark {self.dark:g}")))
        return ("> " if self.chosen else "") + told + (f", {self.strokes} strokes" if self.strokes else "")

    @property
    def flags(self) -> str:
        """What makes it."""
        lines = f" --lines {self.lines}" if self.lines else ""
        return f"--method {self.method}{lines} --dark {self.dark:g}"


def trials_of(
    job: Job, pictures: Pictures, resolution: Resolution, *, step: Callable[[str], None]
) -> tuple[Trial, ...]:
    """Return a trial for each row of ROWS and share of dark at one plaque's working resolution, row by row.

    The job is settled, and its own share, or that which suits its method, stands in the middle where it can. What the
    job itself makes is marked. A share that a method can't meet gives a trial with the reason. ``step`` is told each
    label as its work starts. Raises SettingError for a sheet of too many pixels, and where no design at all can be
    made.
    """
    own = _own_share(job, pictures)
    pixels = TRIALS * resolution.width_px * resolution.height_px
    if pixels > MOST_PIXELS:
        problem = f"the sheet would have {pixels / 1e6:.0f} megapixels; preview a smaller plaque or a coarser detail"
        raise SettingError("plaque.size", problem)
    trials = []
    for method, lines in ROWS:
        for share in shares_spread(own) if lines else shares_around(own):
            trial = Trial(method, share, None, lines=lines, chosen=_is_made(job, method, lines) and share == own)
            step(trial.label)
            trials.append(_tried(trial, job, pictures, resolution))
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


def shares_spread(dark: float) -> tuple[float, ...]:
    """Return three rising shares of dark, ``dark`` between two that lie half-way, by ratio, to what is possible.

    Where it is near a limit they are those of ``shares_around``.
    """
    less, more = (round(math.sqrt(dark * limit), 2) for limit in (LEAST_SHARE, GREATEST_SPREAD))
    return (less, dark, more) if less < dark < more else shares_around(dark)


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


def _is_made(job: Job, method: str, lines: str) -> bool:
    return job.tone.method == method and (not lines or (job.tone.lines or USUAL_LINES) == lines)


def _tried(trial: Trial, job: Job, pictures: Pictures, resolution: Resolution) -> Trial:
    """Return the trial with its design, or with the reason why it has none."""
    tone = dataclasses.replace(job.tone, method=trial.method, dark=trial.dark, lines=trial.lines or job.tone.lines)
    job = dataclasses.replace(job, tone=tone)
    try:
        job = settled_tone(job, pictures.photo, left=pictures.left)
        design = two_tone_design(job, pictures.photo, resolution, touch_up=pictures.touch_up)
    except SettingError as error:
        if error.key != "tone.dark":
            raise
        return dataclasses.replace(trial, problem=str(error.problem))
    shadow = design.field > 0
    if not shadow.any():
        return dataclasses.replace(trial, problem="nothing is left: every shadow is smaller than a speck")
    strokes = round(cut_px(shadow) * design.pixel_mm / job.shop.stroke_length) if trial.lines else 0
    return dataclasses.replace(trial, picture=np.where(shadow, 0, 255).astype(np.uint8), strokes=strokes)


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
