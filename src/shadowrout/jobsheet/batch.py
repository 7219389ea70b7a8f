"""What to make, to fetch and to set up for all plaques of a job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.jobsheet.amounts import materials
from shadowrout.jobsheet.parts import sheet_size
from shadowrout.jobsheet.scope import Scope
from shadowrout.jobsheet.tables import Figures, Section, Table
from shadowrout.jobsheet.wording import Words, minutes, number
from shadowrout.options import Cutter, Job

_BOARDS = (
    "Boards are counted at their finished size; add what your saw and planer take. Weights follow from the USDA Wood "
    "Handbook's average for the species at 12 % moisture; boards differ by a tenth and more."
)


def batch_of(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> tuple[Section, ...]:
    """Return what to make, fetch and plan for, over all plaques."""
    boards = (_boards(plaques, words),) if scope.plaque else ()
    sheets = tuple(_sheets(job, plaques, words))
    return (
        Section("To make", tables=(_plaques(plaques, scope, words),)),
        Section(
            "To fetch",
            facts=tuple(_to_fetch(job, plaques, scope, words)),
            tables=(*boards, *((_sheet_table(sheets),) if sheets else ())),
            remark=_BOARDS if boards else "",
        ),
    )


def tools_of(job: Job, scope: Scope, words: Words) -> Table:
    """Return the tools with what each is set to."""
    rows = [("Laser, knife or saw", "through the sheet", "", f"kerf {words.depth(job.stencil.kerf)}")]
    rows = rows if scope.stencil else []
    for cutter in job.cutters if scope.machine else ():
        depths = _pocket_depths(cutter, job, words), f"{words.depth(cutter.depth_per_pass or 0.0)} a pass at most"
        wall = f"leaves {words.depth(cutter.finishing_allowance)} at the wall"
        rows.append((f"Straight cutter, {words.length(cutter.diameter)}", *depths, wall))
    for cutter in job.cutters[:1] if scope.template else ():
        depths = words.depth(cutter.depth or 0.0), f"{words.depth(cutter.depth_per_pass or 0.0)} a pass at most"
        bush = f"follows the template with a bush of {words.length(job.template.bush)}"
        rows.append((f"Router bit, {words.length(job.template.bit)}", *depths, bush))
    if scope.hand:
        greatest = f"{words.depth(job.v_tool.greatest_depth)} at most"
        rows.append((f"V tool, {job.v_tool.angle:g}°", greatest, "by hand", "to the line"))
    return Table("Tools and depths, from the face before sanding", ("Tool", "Depth", "Passes", "Edge"), tuple(rows))


def _pocket_depths(cutter: Cutter, job: Job, words: Words) -> str:
    depth = cutter.depth or 0.0
    if job.finish.deeper_from is None:
        return words.depth(depth)
    return f"{words.depth(depth)}; broad pockets {words.depth(depth + job.finish.deeper_by)}"


def total_minutes(plaque: Figures) -> float:
    """Return the time that a plaque takes."""
    return sum(float(task["minutes"]) for task in plaque["times"])


def _plaques(plaques: Sequence[Figures], scope: Scope, words: Words) -> Table:
    """Return the plaques with what there is to do on each; columns without any work are left out."""
    columns = [
        ("Plaque", [p["name"] for p in plaques], "All"),
        ("Size", [f"{words.size(p['size_mm'])}, {p['shape']}" for p in plaques], ""),
    ]
    if scope.roughs:
        columns.append(("Pockets", [f"{len(p['pockets'])}" for p in plaques], ""))
    if scope.hand:
        columns.append(("V lines", [f"{p['v_lines']['count']}" for p in plaques], ""))
    if scope.stencil and not scope.plaque:
        columns.append(("Stencil openings", [f"{p['stencil']['openings']}" for p in plaques], ""))
    if scope.plaque:
        times = [total_minutes(p) for p in plaques]
        columns.append(("Time, about", list(map(minutes, times)), minutes(sum(times))))
    heads, cells, totals = zip(*columns, strict=True)
    rows = tuple(zip(*cells, strict=True))
    return Table("Plaques of this job", heads, rows, totals if len(rows) > 1 and scope.plaque else ())


def _boards(plaques: Sequence[Figures], words: Words) -> Table:
    boards = materials(plaques)
    rows = tuple(
        (
            f"{board['count']} x {board['wood']}",
            f"{words.size(board['size_mm'])}, {words.length(board['thickness_mm'])} thick",
            words.volume(board["volume_mm3"]),
            words.weight(board["weight_kg"]),
        )
        for board in boards
    )
    volume, weight = (sum(board[key] for board in boards) for key in ("volume_mm3", "weight_kg"))
    total = ("All", "", words.volume(volume), words.weight(weight)) if len(rows) > 1 else ()
    return Table("Boards", ("Boards", "Size", "Volume", "Weight, about"), rows, total)


def _sheets(job: Job, plaques: Sequence[Figures], words: Words) -> Iterator[tuple[str, str, str]]:
    """Yield each sheet to fetch for stencils and templates: how many, how large, for what."""
    for plaque in plaques:
        if plaque["stencil"]:
            yield "1 sheet of hardboard", sheet_size(plaque["stencil"]["sheet_mm"], words), f"stencil, {plaque['name']}"
        if plaque["template"]:
            count = plaque["template"]["sheets"]
            size = sheet_size(plaque["template"]["sheet_mm"], words)
            thick = f"{size}, {words.length(job.template.thickness)} thick"
            yield f"{count} sheet{'s' * (count > 1)} of template stock", thick, f"router template, {plaque['name']}"


def _sheet_table(sheets: tuple[tuple[str, str, str], ...]) -> Table:
    return Table("Sheets for stencils and templates", ("Sheets", "Size", "For"), sheets)


def _to_fetch(job: Job, plaques: Sequence[Figures], scope: Scope, words: Words) -> Iterator[tuple[str, str]]:
    if scope.plaque:
        litres = sum(p["amounts"]["paint_litres"] for p in plaques)
        yield (
            "Paint",
            f"{words.paint(litres)}, {number(job.finish.coats)} coats, {words.coverage(job.shop.paint_coverage)}",
        )
    if also := _also(plaques, scope, words):
        yield "Also", ", ".join(also)


def _also(plaques: Sequence[Figures], scope: Scope, words: Words) -> list[str]:
    """Return what else to have at hand, as far as the job uses it up."""
    wanted = []
    if sizes := {p["register"]["dowel_mm"] for p in plaques if p["register"]}:
        across = " and ".join(words.length(size) for size in sorted(sizes))
        wanted.append(f"dowels of {across} for the register marks")
    if scope.hand:
        pages = sum(p["pattern"]["sheets"] + 1 for p in plaques if p["pattern"])
        wanted.append(
            f"{pages} sheets of paper and glue for the pattern" if pages else "paper and glue for the drawing"
        )
    if scope.plaque:
        wanted += ["sandpaper", "scrap of the same wood to try on"]
    return wanted
