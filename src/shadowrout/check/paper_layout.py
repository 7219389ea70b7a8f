"""How a paper pattern is laid out on its sheets, by what the job and its figures say of it (docs/files.md)."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.check.drawing_file import MM, Box
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.printed_page import Matrix

PAPERS_MM = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
}
"""ISO 216; ANSI/ASME Y14.1 for letter and tabloid; legal, 8 1/2 x 14 in, is common practice, no source."""

MOST_SHEETS = 2000
"""A board of 3 m by 3 m takes about 250 of A4; what says more isn't a pattern's figure."""
_FARTHEST = 1e6
_UNIT_BARS_MM = {"mm": 100.0, "in": 4 * MM["in"]}


@dataclass(frozen=True)
class PaperLayout:
    """The sheets of a pattern, in rows from the top and columns from the left, and the board that it shows."""

    rows: int
    columns: int
    paper_mm: tuple[float, float]
    overlap_mm: float
    board_mm: Box
    mirrored: bool
    bar_mm: float
    inches: bool

    @property
    def sheets(self) -> int:
        """How many sheets there are, the first page not counted."""
        return self.rows * self.columns

    def place(self, number: int) -> tuple[int, int]:
        """Return row and column of a sheet, all counted from 1."""
        row, column = divmod(number - 1, self.columns)
        return row + 1, column + 1

    def name(self, number: int) -> str:
        """Return the name that a sheet bears."""
        return "{}-{}".format(*self.place(number))

    def rims_mm(self, frame: tuple[float, float]) -> tuple[float, float]:
        """Return how far windows of one size, width and height, reach past the board: at its sides, above and below."""
        (x0, y0, x1, y1), overlap = self.board_mm, self.overlap_mm
        wide = self.columns * frame[0] - (self.columns - 1) * overlap
        high = self.rows * frame[1] - (self.rows - 1) * overlap
        return (wide - (x1 - x0)) / 2, (high - (y1 - y0)) / 2

    def window(self, number: int, frame: tuple[float, float]) -> Box:
        """Return the part of the board's plane that a sheet shows, seen from the printed side."""
        row, column = self.place(number)
        width, height = frame
        aside, above = self.rims_mm(frame)
        x = self.board_mm[0] - aside + (column - 1) * (width - self.overlap_mm)
        y = self.board_mm[3] + above - (row - 1) * (height - self.overlap_mm)
        return x, y - height, x + width, y

    def turned_over(self) -> Matrix:
        """Return the matrix from the printed side to the board: nothing, or over the board's middle if mirrored."""
        x0, _, x1, _ = self.board_mm
        return (-1.0, 0.0, 0.0, 1.0, x0 + x1, 0.0) if self.mirrored else (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def layout_of(plaque: PlaqueFiles) -> PaperLayout | None:
    """Return the layout of a plaque's pattern; None where numbers.json doesn't say what it needs."""
    told, job = plaque.figures.get("pattern"), plaque.job
    rows, columns = (_count(told.get(key)) if isinstance(told, dict) else 0 for key in ("rows", "columns"))
    width, height = plaque.settings.size or (0.0, 0.0)
    if not (0 < rows * columns <= MOST_SHEETS and min(width, height) > 0):
        return None
    unit = job.output.unit or "mm"
    shift = (-width / 2, -height / 2) if job.output.origin == "centre" else (0.0, 0.0)
    return PaperLayout(
        rows=rows,
        columns=columns,
        paper_mm=PAPERS_MM[job.pattern.paper or ("letter" if unit == "in" else "A4")],
        overlap_mm=job.pattern.overlap,
        board_mm=(*shift, shift[0] + width, shift[1] + height),
        mirrored=job.pattern.mirrored,
        bar_mm=_UNIT_BARS_MM[unit],
        inches=unit == "in",
    )


def told_number(value: object) -> float | None:
    """Return a number of numbers.json that a plaque may have; None for anything else, numbers beyond any board too."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) <= _FARTHEST:
        return None
    return float(value)


def _count(value: object) -> int:
    """Return a count from 1 on; 0 for anything else."""
    return value if isinstance(value, int) and not isinstance(value, bool) and value >= 1 else 0
