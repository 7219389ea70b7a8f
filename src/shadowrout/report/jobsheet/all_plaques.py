"""What to make, to fetch and to set up for all plaques of a job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.job.options import Cutter, Job
from shadowrout.report.figures.boards import by_wood, materials
from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.jobsheet.beside_sections import sheet_size
from shadowrout.report.jobsheet.steps import scrap_of, templates_of
from shadowrout.report.jobsheet.tables import Section, SheetTable
from shadowrout.report.scope import Scope
from shadowrout.words.wording import Words, coats_of, counted, minutes

Row = tuple[str, str, str, str]

_BOARDS = (
    "Boards are counted at their finished size; add what your saw and planer take. Weights follow from the USDA Wood "
    "Handbook's average for the species at 12 % moisture; boards differ by a tenth and more."
)


def batch_of(
    job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words, *, stock: Sequence[StockFigures] = ()
) -> tuple[Section, ...]:
    """Return what to make, fetch and plan for, over all plaques; ``stock`` has what sheets are laid out on."""
    boards = tuple(_boards(plaques, words)) if scope.plaque else ()
    sheets = tuple(_sheets(job, plaques, stock, words))
    return (
        Section("To make", tables=(_plaques(plaques, scope, words),)),
        Section(
            "To fetch",
            facts=tuple(_to_fetch(job, plaques, scope, words)),
            tables=(*boards, *((_sheet_table(sheets),) if sheets else ())),
            remark=_BOARDS if boards else "",
        ),
    )


def tools_of(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> SheetTable:
    """Return the tools with what each is set to."""
    rows = [
        *(_sheet_tools(job, scope, words)),
        *(_drills(plaques, words) if scope.plaque or scope.stencil else ()),
        *(_cutters(job, plaques, words) if scope.machine else ()),
        *(_router(job, plaques, words) if scope.template else ()),
        *(_hand_tools(job, plaques, scope, words) if scope.plaque else ()),
    ]
    return SheetTable(
        "Tools and depths, from the face before sanding", ("Tool", "Depth", "Passes", "Work"), tuple(rows)
    )


def _sheet_tools(job: Job, scope: Scope, words: Words) -> Iterator[Row]:
    if scope.stencil:
        yield "Laser, knife or saw", "through the stencil", "", f"kerf {words.depth(job.stencil.kerf)}"
    if scope.template:
        yield "Laser or saw", "through the template", "", "smooth, for the bush to run along"


def _drills(plaques: Sequence[PlaqueFigures], words: Words) -> Iterator[Row]:
    for size in _dowels_mm(plaques):
        yield f"Drill, {words.length(size)}", "not through the board", "", "dowel holes"


def _cutters(job: Job, plaques: Sequence[PlaqueFigures], words: Words) -> Iterator[Row]:
    used = {pocket.cutter_mm for plaque in plaques for pocket in plaque.pockets}
    for cutter in job.cutters:
        wall = f"leaves {words.depth(cutter.finishing_allowance)} at the wall" if cutter.finishing_allowance else ""
        name = f"Straight cutter, {words.length(cutter.diameter)}"
        if cutter.diameter not in used:
            yield name, "not needed: it has no pocket", "", ""
            continue
        yield name, _pocket_depths(cutter, job, words), _a_pass(cutter, words), wall or "to the line"


def _router(job: Job, plaques: Sequence[PlaqueFigures], words: Words) -> Iterator[Row]:
    depths = sorted({template.depth_mm for template in templates_of(plaques)})
    guide = f"follows the template with a bush of {words.length(job.template.bush)}"
    if job.template.bush == job.template.bit:
        guide = "follows the template with a bearing of its own size"
    yield (
        f"Router bit, {words.length(job.template.bit)}",
        " and ".join(map(words.depth, depths)),
        _a_pass(job.cutters[0], words),
        guide,
    )


def _hand_tools(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> Iterator[Row]:
    if any(plaque.pockets for plaque in plaques):
        work = "clears the pockets, to the line" if scope.by_hand else "to the line"
        yield "Gouge", "to the pockets' floor", "by hand", work
    yield (
        f"V tool, {job.v_tool.angle:g}°",
        f"{words.depth(job.v_tool.greatest_depth)} at most",
        "by hand",
        "to the line",
    )


def _a_pass(cutter: Cutter, words: Words) -> str:
    return f"{words.depth(cutter.depth_per_pass or 0.0)} a pass at most"


def _dowels_mm(plaques: Sequence[PlaqueFigures]) -> list[float]:
    return sorted({plaque.register.dowel_mm for plaque in plaques if plaque.register})


def _pocket_depths(cutter: Cutter, job: Job, words: Words) -> str:
    depth = cutter.depth or 0.0
    if job.finish.deeper_from is None:
        return words.depth(depth)
    return f"{words.depth(depth)}; broad pockets {words.depth(depth + job.finish.deeper_by)}"


def _plaques(plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> SheetTable:
    """Return the plaques with what there is to do on each; columns without any work are left out."""
    columns = [
        ("Plaque", [p.name for p in plaques], "All"),
        ("Size", [f"{words.size(p.size_mm)}, {p.shape}" for p in plaques], ""),
    ]
    if scope.plaque:
        columns.append(("Pockets", [f"{len(p.pockets)}" for p in plaques], ""))
        columns.append(("V lines", [f"{p.v_lines.count}" for p in plaques], ""))
    if scope.stencil and not scope.plaque:
        columns.append(("Stencil openings", [f"{p.stencil.openings}" for p in plaques if p.stencil], ""))
    times = [p.minutes for p in plaques]
    columns.append(("Time, about", list(map(minutes, times)), minutes(sum(times))))
    heads, cells, totals = zip(*columns, strict=True)
    rows = tuple(zip(*cells, strict=True))
    return SheetTable("Plaques of this job", heads, rows, totals if len(rows) > 1 else ())


def _boards(plaques: Sequence[PlaqueFigures], words: Words) -> Iterator[SheetTable]:
    """Yield the boards to fetch, and their sums by wood where there are several."""
    boards = materials(plaque.blank for plaque in plaques)
    woods = by_wood(boards)
    rows = tuple(
        (
            f"{board.count} x {board.wood}",
            f"{words.size(board.size_mm)}, {words.length(board.thickness_mm)} thick",
            words.volume(board.volume_mm3),
            words.weight(board.weight_kg),
        )
        for board in boards
    )
    volume, weight = sum(board.volume_mm3 for board in boards), sum(board.weight_kg for board in boards)
    total = ("All", "", words.volume(volume), words.weight(weight)) if len(rows) > 1 else ()
    yield SheetTable("Boards", ("Number and wood", "Size", "Volume", "Weight, about"), rows, total)
    if len(woods) > 1:
        sums = tuple((w.wood, f"{w.count}", words.volume(w.volume_mm3), words.weight(w.weight_kg)) for w in woods)
        yield SheetTable("Boards by wood", ("Wood", "Boards", "Volume", "Weight, about"), sums)


def _sheets(
    job: Job, plaques: Sequence[PlaqueFigures], stock: Sequence[StockFigures], words: Words
) -> Iterator[tuple[str, str, str]]:
    """Yield each sheet to fetch for stencils and templates: how many, how large, for what.

    What is laid out on stock is fetched as stock.
    """
    thickness = f"{words.length(job.template.thickness)} thick"
    laid_out = {laid.of for laid in stock}
    for laid in stock:
        template, size = laid.of == "template", words.size(laid.size_mm)
        pieces = f"{counted(laid.pieces, 'piece')} of {'template stock' if template else 'hardboard'}"
        yield pieces, f"{size}, {thickness}" if template else size, f"{laid.of}s, as laid out under Stock"
    for plaque in plaques:
        if plaque.stencil and "stencil" not in laid_out:
            yield "1 sheet of hardboard", sheet_size(plaque.stencil.sheet_mm, words), f"stencil, {plaque.name}"
        if plaque.template and "template" not in laid_out:
            sheets = f"{counted(plaque.template.sheets, 'sheet')} of template stock"
            size = sheet_size(plaque.template.sheet_mm, words)
            yield sheets, f"{size}, {thickness}", f"router template, {plaque.name}"


def _sheet_table(sheets: tuple[tuple[str, str, str], ...]) -> SheetTable:
    return SheetTable("Sheets for stencils and templates", ("Sheets", "Size", "For"), sheets)


def _to_fetch(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> Iterator[tuple[str, str]]:
    if scope.plaque:
        litres = sum(p.amounts.paint_litres for p in plaques)
        coats = coats_of(*(p.amounts.coats for p in plaques))
        yield "Paint", f"{words.paint(litres)}, {coats}, {words.coverage(job.shop.paint_coverage)}"
    if also := _also(job, plaques, scope, words):
        yield "Also", ", ".join(also)


def _also(job: Job, plaques: Sequence[PlaqueFigures], scope: Scope, words: Words) -> list[str]:
    """Return what else to have at hand, as far as the job uses it up."""
    wanted = []
    if sizes := _dowels_mm(plaques):
        wanted.append(f"dowels of {' and '.join(map(words.length, sizes))} for the register marks")
        wanted += ["plugs of the boards' own wood for their holes"] if scope.plaque else []
    pages = sum(p.pattern.sheets + 1 for p in plaques if p.pattern)
    glue = "" if job.pattern.mirrored else " and glue"
    if pages:
        wanted.append(f"{pages} sheets of paper{glue} for the pattern")
    elif scope.begins:
        wanted.append(f"paper and glue for the {'drawing' if scope.carve else 'pattern'}")
    if scope.plaque:
        wanted += ["sandpaper", f"{scrap_of(plaques)} to try on"]
    return wanted
