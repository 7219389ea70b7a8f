"""The stencils and the router templates of a job laid out on stock, and the files of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from shadowrout.drawing.shapes import Drawing
from shadowrout.drawing.stock_drawing import stock_drawings
from shadowrout.job.options import Job
from shadowrout.make.plaque_files import Files, svg_and_dxf
from shadowrout.report.figures.stock_figures import StockFigures, StockKind, lying_sheet, stock_figures
from shadowrout.sheets.packing import Placement, packed

Size = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Sheet:
    """One sheet: its plaque's name, the drawing's name there, and where it lies on the stock."""

    plaque: str
    name: str
    drawing: Drawing
    place: Placement

    @property
    def size_mm(self) -> Size:
        """Width and height before any turn."""
        x0, y0, x1, y1 = self.drawing.box_mm
        return x1 - x0, y1 - y0


@dataclass(frozen=True, eq=False)
class LaidStock:
    """All sheets of one kind on as few pieces of stock as were found; lengths in mm."""

    of: StockKind
    size_mm: Size
    gap_mm: float
    sheets: tuple[Sheet, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The drawings' names without the ending, one a piece of stock."""
        pieces = sorted({sheet.place.stock for sheet in self.sheets})
        return tuple(f"{self.of}-stock-{piece + 1}" for piece in pieces)

    def figures(self) -> StockFigures:
        """Return its figures."""
        return stock_figures(
            self.of,
            self.size_mm,
            gap_mm=self.gap_mm,
            drawings=self.names,
            sheets=[lying_sheet(sheet.plaque, sheet.name, sheet.size_mm, sheet.place) for sheet in self.sheets],
            sheets_mm2=sum(width * height for width, height in (sheet.size_mm for sheet in self.sheets)),
        )


def stocks_of(job: Job, plaques: Sequence[tuple[str, Mapping[str, Drawing]]]) -> tuple[LaidStock, ...]:
    """Return the sheets of all plaques laid out as the job asks: stencils on their stock, templates on theirs.

    ``plaques`` has each plaque's name and its sheets' drawings by name. Stencils and templates are of different
    boards, so no stock holds both. Raises SettingError for a sheet larger than its stock.
    """
    asked: tuple[tuple[StockKind, Size | None], ...] = (
        ("stencil", job.stock.stencil),
        ("template", job.stock.template),
    )
    sheets = {kind: _of_kind(kind, plaques) for kind, _ in asked}
    return tuple(
        _laid_out(kind, size, job.stock.gap, sheets[kind]) for kind, size in asked if size is not None and sheets[kind]
    )


def notes_on_stock(job: Job) -> Iterator[str]:
    """Yield a note for stock that is set while nothing of its kind is made."""
    for name in ("stencil", "template"):
        if getattr(job.stock, name) is not None and name not in job.output.files:
            yield f"stock.{name} is set but no {name} is made; add {name} to output.files, or --only {name}"


def stock_files(stock: LaidStock, job: Job) -> Files:
    """Return the SVG and the DXF of each piece of stock by name."""
    drawings = stock_drawings(
        [sheet.drawing for sheet in stock.sheets],
        [sheet.place for sheet in stock.sheets],
        stock=stock.size_mm,
        title=f"{job.picture.file.stem}, {stock.of} stock",
    )
    files: Files = {}
    for name, drawing in zip(stock.names, drawings, strict=True):
        files |= svg_and_dxf(name, drawing, job)
    return files


def _of_kind(kind: str, plaques: Sequence[tuple[str, Mapping[str, Drawing]]]) -> list[tuple[str, str, Drawing]]:
    return [
        (plaque, name, drawing)
        for plaque, drawings in plaques
        for name, drawing in drawings.items()
        if name.partition("-")[0] == kind
    ]


def _laid_out(kind: StockKind, size: Size, gap_mm: float, sheets: Sequence[tuple[str, str, Drawing]]) -> LaidStock:
    boxes = [drawing.box_mm for _, _, drawing in sheets]
    places = packed(
        [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes],
        stock=size,
        gap_mm=gap_mm,
        key=f"stock.{kind}",
        names=[f"{plaque}/{name}" for plaque, name, _ in sheets],
    )
    return LaidStock(
        kind, size, gap_mm, tuple(Sheet(*sheet, place) for sheet, place in zip(sheets, places, strict=True))
    )
