"""One list of what to fetch for all orders of a batch, summed from the figures of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from shadowrout.make.batch.order_numbers import OrderNumbers, PlaqueNumbers
from shadowrout.report.figures.boards import Boards, BoardsOfWood, by_wood, materials
from shadowrout.report.figures.precision import fine
from shadowrout.words.columns import columns
from shadowrout.words.wording import Words, counted

_BOARD_FILES = ("carve", "pattern", "preview", "template")
"""A plaque with any of these takes a board, and paint; one with a stencil alone doesn't."""


@dataclass(frozen=True)
class HolesToFill:
    """How many holes of register marks there are for dowels of one size."""

    dowel_mm: float
    count: int


@dataclass(frozen=True)
class SheetsToFetch:
    """Sheets of one size for stencils or templates, or the stock that they are cut from."""

    for_: str
    size_mm: tuple[float, float]
    """The longer side first."""
    thickness_mm: float | None
    """None for stencils, whose thickness is not the job's to say."""
    count: int


@dataclass(frozen=True)
class PaperToFetch:
    """Sheets of paper of one size for patterns, first pages counted."""

    paper: str
    sheets: int


@dataclass(frozen=True)
class ToFetch:
    """What several orders take together."""

    orders: int
    plaques: int
    boards: tuple[Boards, ...]
    boards_by_wood: tuple[BoardsOfWood, ...]
    paint_litres: float
    holes: tuple[HolesToFill, ...]
    sheets: tuple[SheetsToFetch, ...]
    paper: tuple[PaperToFetch, ...]


def to_fetch(orders: Sequence[OrderNumbers]) -> ToFetch:
    """Return what the orders take together, each figure the sum of theirs; all empty or 0 for no orders.

    Sheets that are laid out on stock are fetched as stock.
    """
    plaques = [plaque for order in orders for plaque in order.plaques]
    carved = [plaque for plaque in plaques if _takes_a_board(plaque)]
    boards = materials(plaque.blank for plaque in carved)
    holes, paper = Counter[float](), Counter[str]()
    for register in filter(None, (plaque.register for plaque in carved)):
        holes[register.dowel_mm] += len(register.marks)
    for pattern in filter(None, (plaque.pattern for plaque in plaques)):
        paper[pattern.paper] += pattern.sheets + 1
    return ToFetch(
        orders=len(orders),
        plaques=len(plaques),
        boards=boards,
        boards_by_wood=by_wood(boards),
        paint_litres=fine(sum(plaque.amounts.paint_litres for plaque in carved)),
        holes=tuple(HolesToFill(size, holes[size]) for size in sorted(holes)),
        sheets=_summed(sheet for order in orders for sheet in _sheets(order)),
        paper=tuple(PaperToFetch(name, paper[name]) for name in sorted(paper)),
    )


def _takes_a_board(plaque: PlaqueNumbers) -> bool:
    return bool(plaque.template) or any(name.split(".")[0] in _BOARD_FILES for name in plaque.files)


def _sheets(order: OrderNumbers) -> Iterator[SheetsToFetch]:
    """Yield the stock, and the sheets of each plaque that aren't laid out on any."""
    laid_out = {stock.of for stock in order.stock}
    thickness = [plaque.template.thickness_mm for plaque in order.plaques if plaque.template]
    for stock in order.stock:
        thick = max(thickness) if stock.of == "template" else None
        yield SheetsToFetch(f"{stock.of}, stock", _longer_first(*stock.size_mm), thick, stock.pieces)
    for plaque in order.plaques:
        if (stencil := plaque.stencil) and "stencil" not in laid_out:
            yield SheetsToFetch("stencil", _size_of(stencil.sheet_mm), None, 1)
        if (template := plaque.template) and "template" not in laid_out:
            yield SheetsToFetch("template", _size_of(template.sheet_mm), template.thickness_mm, template.sheets)


def _size_of(box: tuple[float, float, float, float]) -> tuple[float, float]:
    x0, y0, x1, y1 = box
    return _longer_first(x1 - x0, y1 - y0)


def _longer_first(width: float, height: float) -> tuple[float, float]:
    return fine(max(width, height)), fine(min(width, height))


def _summed(sheets: Iterable[SheetsToFetch]) -> tuple[SheetsToFetch, ...]:
    """Return sheets of one kind, size and thickness as one, the largest of each kind first."""
    counts: Counter[SheetsToFetch] = Counter()
    for sheet in sheets:
        counts[replace(sheet, count=0)] += sheet.count
    return tuple(replace(kind, count=counts[kind]) for kind in sorted(counts, key=_largest_first))


def _largest_first(sheets: SheetsToFetch) -> tuple[str, float, float, float]:
    long, short = sheets.size_mm
    return sheets.for_, -long, -short, sheets.thickness_mm or 0.0


def as_text(fetched: ToFetch, *, unit: str) -> str:
    """Return the list as lines in columns, in millimetres, with inches beside them where ``unit`` is "in"."""
    rows = list(_rows(fetched, unit))
    head = f"to fetch for {counted(fetched.orders, 'order')}, {counted(fetched.plaques, 'plaque')}"
    return columns([(head, "size", "amount"), *rows])


def _rows(fetched: ToFetch, unit: str) -> Iterator[tuple[str, str, str]]:
    words = Words(unit)
    for board in fetched.boards:
        size = f"{words.size(board.size_mm)}, {words.length(board.thickness_mm)} thick"
        amount = f"{words.volume(board.volume_mm3)}, about {words.weight(board.weight_kg)}"
        yield counted(board.count, f"{board.wood} board"), size, amount
    sizes = Counter(board.wood for board in fetched.boards)
    for wood in (wood for wood in fetched.boards_by_wood if sizes[wood.wood] > 1):
        amount = f"{words.volume(wood.volume_mm3)}, about {words.weight(wood.weight_kg)}"
        yield counted(wood.count, f"{wood.wood} board") + " in all", "", amount
    for sheet in fetched.sheets:
        thick = "" if sheet.thickness_mm is None else f", {words.length(sheet.thickness_mm)} thick"
        kind, _, stock = sheet.for_.partition(", ")
        what = counted(sheet.count, "stock sheet" if stock else "sheet")
        yield f"{what} for {kind}s", f"{words.size(sheet.size_mm)}{thick}", ""
    if fetched.paint_litres:
        yield "paint", "", words.paint(fetched.paint_litres)
    for hole in fetched.holes:
        yield "dowels, and plugs of the boards' wood", words.length(hole.dowel_mm), f"{hole.count} holes"
    for paper in fetched.paper:
        yield "paper for patterns", paper.paper, counted(paper.sheets, "sheet")
