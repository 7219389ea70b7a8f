"""What a batch needs to know of an order that is made, read back from its numbers.json: the fields are its keys."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from shadowrout.errors import InputError
from shadowrout.files.result_folder import NUMBERS_FILE
from shadowrout.report.figures.boards import Blank
from shadowrout.report.figures.figures_json import EMPTY_WHERE_NONE, from_json
from shadowrout.report.figures.written_figures import WrittenFile

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class RegisterNumbers:
    """The dowels of a plaque's register marks, and the marks, of which only their number counts here."""

    dowel_mm: float
    marks: tuple[object, ...]


@dataclass(frozen=True)
class StencilNumbers:
    """Lower left and upper right corner of a stencil's sheet. A stencil's thickness is not the job's to say."""

    sheet_mm: Box


@dataclass(frozen=True)
class TemplateNumbers:
    """Size, thickness and number of a template's sheets."""

    sheets: int
    sheet_mm: Box
    thickness_mm: float


@dataclass(frozen=True)
class PatternNumbers:
    """A pattern's paper, and its sheets without the first page."""

    paper: str
    sheets: int


@dataclass(frozen=True)
class AmountNumbers:
    """What a plaque takes."""

    wood: str
    blank_mm3: float
    blank_kg: float
    paint_litres: float


@dataclass(frozen=True)
class PlaqueNumbers:
    """One plaque of an order; None for what wasn't made."""

    name: str
    size_mm: tuple[float, float]
    thickness_mm: float
    register: RegisterNumbers | None = field(metadata=EMPTY_WHERE_NONE)
    stencil: StencilNumbers | None = field(metadata=EMPTY_WHERE_NONE)
    template: TemplateNumbers | None = field(metadata=EMPTY_WHERE_NONE)
    pattern: PatternNumbers | None = field(metadata=EMPTY_WHERE_NONE)
    amounts: AmountNumbers
    files: tuple[str, ...]

    @property
    def blank(self) -> Blank:
        """The board that it is cut from."""
        amounts = self.amounts
        return Blank(amounts.wood, self.size_mm, self.thickness_mm, amounts.blank_mm3, amounts.blank_kg)


@dataclass(frozen=True)
class StockNumbers:
    """What sheets of one kind are laid out on."""

    of: str
    size_mm: tuple[float, float]
    pieces: int


@dataclass(frozen=True)
class OrderNumbers:
    """One order."""

    unit: str
    plaques: tuple[PlaqueNumbers, ...]
    stock: tuple[StockNumbers, ...]
    written: tuple[WrittenFile, ...] = ()


def numbers_of(folder: Path) -> OrderNumbers:
    """Return the numbers of an order's folder; InputError where they can't be read."""
    try:
        return from_json(OrderNumbers, (folder / NUMBERS_FILE).read_bytes())
    except (OSError, ValueError):
        raise InputError(str(folder / NUMBERS_FILE), "can't be read; make the order again") from None
