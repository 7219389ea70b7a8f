"""What lies on which piece of stock, for the job sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.jobsheet.tables import Section, SheetTable
from shadowrout.words.wording import Words, share


def stock_sections(stock: Sequence[StockFigures], words: Words) -> Iterator[Section]:
    """Yield a section that tells where each stencil or template lies; none where none is laid out on stock."""
    tables = tuple(_table(laid, words) for laid in stock)
    if tables:
        yield Section(
            "Stock",
            tables=tables,
            remark=(
                "Places are those of a sheet's lower left corner from the stock's. Cut all openings and holes first, "
                "the sheets' edges last."
            ),
        )


def _table(laid: StockFigures, words: Words) -> SheetTable:
    rows = tuple(
        (
            f"{laid.of}-stock-{sheet.piece}",
            f"{sheet.plaque}, {sheet.drawing}",
            words.size(sheet.size_mm),
            " / ".join(words.short(axis) for axis in sheet.place_mm),
            "yes" if sheet.turned else "no",
        )
        for sheet in sorted(laid.sheets, key=lambda sheet: sheet.piece)
    )
    pieces = f"{laid.pieces} of {words.size(laid.size_mm)}"
    caption = f"Stock for {laid.of}s: {pieces}, {share(laid.used_share)} of it used"
    return SheetTable(caption, ("Drawing", "Sheet", "Size", "Place x / y", "Turned"), rows)
