"""One list of what to fetch for all orders of a batch, summed from the figures of each."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from shadowrout.errors import InputError
from shadowrout.files.result_folder import NUMBERS_FILE
from shadowrout.words.columns import columns

Figures = Mapping[str, Any]

_BOARD_FILES = ("carve", "pattern", "preview", "template")
"""A plaque with any of these takes a board, and paint; one with a stencil alone doesn't."""

_DECIMALS = 4
"""As in numbers.json."""


def figures_of(folder: Path) -> Figures:
    """Return the figures of an order's folder; InputError where they can't be read."""
    try:
        figures: Figures = json.loads((folder / NUMBERS_FILE).read_bytes())
    except (OSError, ValueError):
        raise InputError(str(folder / NUMBERS_FILE), "can't be read; make the order again") from None
    return figures


def to_fetch(orders: Sequence[Figures]) -> dict[str, Any]:
    """Return what the orders take together, each figure the sum of theirs; all empty or 0 for no orders.

    Boards as ``jobsheet.boards.materials`` counts them; ``sheets`` for stencils and templates by size, those laid out
    on stock by the stock's; ``holes`` of register marks by dowel; ``paper`` as sheets for patterns by the paper's name.
    """
    from shadowrout.report.jobsheet.boards import by_wood, materials

    plaques = [plaque for order in orders for plaque in order["plaques"]]
    carved = [plaque for plaque in plaques if _takes_a_board(plaque)]
    boards = materials(carved)
    holes = Counter(
        plaque["register"]["dowel_mm"] for plaque in carved if plaque["register"] for _ in plaque["register"]["marks"]
    )
    paper = Counter[str]()
    for plaque in plaques:
        if pattern := plaque["pattern"]:
            paper[pattern["paper"]] += pattern["sheets"] + 1
    return {
        "orders": len(orders),
        "plaques": len(plaques),
        "boards": boards,
        "boards_by_wood": by_wood(boards),
        "paint_litres": round(sum(plaque["amounts"]["paint_litres"] for plaque in carved), _DECIMALS),
        "holes": [{"dowel_mm": size, "count": holes[size]} for size in sorted(holes)],
        "sheets": _summed(sheet for order in orders for sheet in _sheets(order)),
        "paper": [{"paper": name, "sheets": paper[name]} for name in sorted(paper)],
    }


def _takes_a_board(plaque: Figures) -> bool:
    return bool(plaque["template"]) or any(name.split(".")[0] in _BOARD_FILES for name in plaque["files"])


def _sheets(order: Figures) -> Iterator[tuple[str, float, float, float | None, int]]:
    """Yield what each sheet or piece of stock is for, its long and short side, its thickness, and how many.

    A stencil's thickness is not the job's to say.
    """
    laid_out = {stock["of"]: stock for stock in order["stock"]}
    thickness = {p["template"]["thickness_mm"] for p in order["plaques"] if p["template"]}
    for kind, stock in laid_out.items():
        long, short = sorted(stock["size_mm"], reverse=True)
        yield f"{kind}, stock", long, short, max(thickness) if kind == "template" else None, stock["pieces"]
    for plaque in order["plaques"]:
        for kind in ("stencil", "template"):
            if (made := plaque[kind]) and kind not in laid_out:
                x0, y0, x1, y1 = made["sheet_mm"]
                long, short = sorted((x1 - x0, y1 - y0), reverse=True)
                yield kind, long, short, made.get("thickness_mm"), made.get("sheets", 1)


def _summed(sheets: Iterable[tuple[str, float, float, float | None, int]]) -> list[dict[str, Any]]:
    """Return sheets of one kind, size and thickness as one, the largest of each kind first."""
    counts: Counter[tuple[str, float, float, float | None]] = Counter()
    for kind, long, short, thick, count in sheets:
        counts[kind, round(long, _DECIMALS), round(short, _DECIMALS), thick] += count
    ordered = sorted(counts, key=lambda key: (key[0], -key[1], -key[2], key[3] or 0.0))
    return [
        {"for": kind, "size_mm": [long, short], "thickness_mm": thick, "count": counts[kind, long, short, thick]}
        for kind, long, short, thick in ordered
    ]


def as_text(fetched: Figures, *, unit: str) -> str:
    """Return the list as lines in columns, in millimetres, with inches beside them where ``unit`` is "in"."""
    from shadowrout.words.wording import counted

    rows = list(_rows(fetched, unit))
    head = f"to fetch for {counted(fetched['orders'], 'order')}, {counted(fetched['plaques'], 'plaque')}"
    return columns([(head, "size", "amount"), *rows])


def _rows(fetched: Figures, unit: str) -> Iterator[tuple[str, str, str]]:
    from shadowrout.words.wording import Words, counted

    words = Words(unit)
    for board in fetched["boards"]:
        size = f"{words.size(board['size_mm'])}, {words.length(board['thickness_mm'])} thick"
        amount = f"{words.volume(board['volume_mm3'])}, about {words.weight(board['weight_kg'])}"
        yield counted(board["count"], f"{board['wood']} board"), size, amount
    sizes = Counter(board["wood"] for board in fetched["boards"])
    for wood in (wood for wood in fetched["boards_by_wood"] if sizes[wood["wood"]] > 1):
        amount = f"{words.volume(wood['volume_mm3'])}, about {words.weight(wood['weight_kg'])}"
        yield counted(wood["count"], f"{wood['wood']} board") + " in all", "", amount
    for sheet in fetched["sheets"]:
        thick = "" if sheet["thickness_mm"] is None else f", {words.length(sheet['thickness_mm'])} thick"
        kind, _, stock = sheet["for"].partition(", ")
        what = counted(sheet["count"], "stock sheet" if stock else "sheet")
        yield f"{what} for {kind}s", f"{words.size(sheet['size_mm'])}{thick}", ""
    if fetched["paint_litres"]:
        yield "paint", "", words.paint(fetched["paint_litres"])
    for hole in fetched["holes"]:
        yield "dowels, and plugs of the boards' wood", words.length(hole["dowel_mm"]), f"{hole['count']} holes"
    for paper in fetched["paper"]:
        yield "paper for patterns", paper["paper"], counted(paper["sheets"], "sheet")
