"""The sections of one plaque as lists and tables of texts, from its figures."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from shadowrout.carving.sanding import LOST_SHARE
from shadowrout.job.options import Job
from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.pocket_figures import PocketFigures
from shadowrout.report.figures.stroke_figures import LEAST_LISTED_MM, WidthClass
from shadowrout.report.jobsheet.beside_sections import sections_beside
from shadowrout.report.jobsheet.fragile_section import fragile_section
from shadowrout.report.jobsheet.tables import Facts, Section, SheetTable
from shadowrout.report.scope import Scope
from shadowrout.words.wording import Words, coats_of, counted, minutes, share

_CAPTIONS = {
    "carve": "drawing for the machine and the bench",
    "design.wkb.gz": "the sized design, by which the files can be checked",
    "left-out.png": "what was left out to keep to the hours",
    "pattern.pdf": "full-size paper pattern",
    "preview.png": "the finished look",
    "preview-sanding.png": "what sanding takes",
    "stencil": "stencil sheet",
    "stencil-design.wkb.gz": "the stencil's own design, by which its sheet can be checked",
    "stencil.png": "what holding the stencil together cost",
    "kerf-test": "a comb to measure the kerf by",
    "size.png": "what became of the strokes that were too thin",
    "template": "router template",
}


@dataclass(frozen=True)
class PlaqueSheet:
    """Everything that is told about one plaque."""

    name: str
    size: str
    look: str
    """What the finished look shows, in words."""
    planned: str
    holes: str
    """What to know of the plugged dowel holes in that picture; empty without any."""
    limit: str
    """How much to sand at most, with its reason; empty without V lines."""
    sections: tuple[Section, ...]


def plaque_of(job: Job, plaque: PlaqueFigures, scope: Scope, words: Words) -> PlaqueSheet:
    """Return the sheet of one plaque from its figures, told of what the ``scope`` has work for."""
    sections = (
        _board(job, plaque, scope, words),
        *(_pockets(plaque, scope, words) if scope.plaque else ()),
        *(_by_hand(plaque, scope, words) if scope.plaque else ()),
        *sections_beside(plaque, words),
        *((_amounts(plaque, words),) if scope.plaque else ()),
        _times(plaque, scope),
        _files(plaque),
    )
    limit = _limit(job, plaque, words) if scope.plaque else ""
    size = words.size(plaque.size_mm)
    look = (
        f"The finished plaque “{plaque.name}”, {plaque.shape}, {size}: painted shadows over "
        f"{share(plaque.dark_share)} of the picture, bare {plaque.amounts.wood} everywhere else."
    )
    holes = " The faint rings in its border are the plugs in the dowel holes." if plaque.register else ""
    return PlaqueSheet(plaque.name, size, look, words.depth(job.finish.sanding_loss), holes, limit, sections)


def _by_hand(plaque: PlaqueFigures, scope: Scope, words: Words) -> Iterator[Section]:
    yield from _strokes(plaque, words)
    yield from _flow_lines(plaque, words)
    yield from fragile_section(plaque.amounts.wood, plaque.fragile_light, words, drawn=scope.carve)
    yield from _sanding(plaque, words)


def _board(job: Job, plaque: PlaqueFigures, scope: Scope, words: Words) -> Section:
    zero = "lower left corner of the board" if job.output.origin == "corner" else "middle of the board"
    facts: Facts = (("Size", f"{words.size(plaque.size_mm)}, {plaque.shape}"), ("Zero", zero))
    if scope.plaque:
        facts += (
            ("Thickness", words.length(plaque.thickness_mm)),
            ("Wood", f"{plaque.amounts.wood}, about {words.weight(plaque.amounts.plaque_kg)} when carved"),
            (
                "Shadow",
                f"{share(plaque.dark_share)} of the picture, {counted(plaque.shadows, 'separate shadow')}"
                + _lost(plaque),
            ),
            ("Finest line", words.depth(job.tone.detail or 0.0)),
        )
    return Section("Board", facts)


def _lost(plaque: PlaqueFigures) -> str:
    """Return how much of the shadow stays dark, where that is noticeably less than all."""
    if not plaque.loses_dark:
        return ""
    left = f"{plaque.dark_left_share:.1%}".replace("%", " %")
    return f"; {left} of it stays dark after the planned sanding, the rest is too fine for the V tool"


def _pockets(plaque: PlaqueFigures, scope: Scope, words: Words) -> Iterator[Section]:
    """Yield the pockets: by cutter where a machine follows one, one by one where a drawing has their numbers."""
    pockets = plaque.pockets
    if not pockets:
        return
    rest = f"Of the shadow, {share(plaque.rest_share)} lies outside the pockets and is left to the V tool."
    tables = (
        *((_pocket_groups(plaque, words),) if scope.machine else ()),
        *((_each_pocket(plaque, scope, words),) if scope.drawn else ()),
    )
    area = words.area(sum(pocket.area_mm2 for pocket in pockets))
    yield Section("Pockets", (("Pockets", f"{len(pockets)}, {area} in all"),), tables, rest)


def _pocket_groups(plaque: PlaqueFigures, words: Words) -> SheetTable:
    groups: dict[tuple[float, float, int], list[PocketFigures]] = {}
    for pocket in plaque.pockets:
        groups.setdefault((pocket.cutter_mm, pocket.depth_mm, pocket.passes), []).append(pocket)
    rows = tuple(
        (
            words.length(cutter),
            words.depth(depth),
            f"{passes}",
            f"{len(group)}",
            words.run(sum(p.cutter_path_mm for p in group)),
        )
        for (cutter, depth, passes), group in groups.items()
    )
    return SheetTable("By cutter and depth", ("Cutter", "Depth", "Passes", "Pockets", "Cutter path"), rows)


def _each_pocket(plaque: PlaqueFigures, scope: Scope, words: Words) -> SheetTable:
    """Return the pockets by their numbers; the machine's cutters and passes only where there is one."""
    columns = [("Pocket", [f"{p.number}" for p in plaque.pockets])]
    if scope.machine:
        columns.append(("Cutter", [words.short(p.cutter_mm) for p in plaque.pockets]))
    columns.append(("Depth", [words.short(p.depth_mm) for p in plaque.pockets]))
    if scope.machine:
        columns.append(("Passes", [f"{p.passes}" for p in plaque.pockets]))
    columns.append(("Area", [words.short_area(p.area_mm2) for p in plaque.pockets]))
    head, cells = zip(*columns, strict=True)
    paper = "drawing" if scope.carve else "pattern"
    return SheetTable(f"One by one, as numbered in the {paper}", head, tuple(zip(*cells, strict=True)))


def _strokes(plaque: PlaqueFigures, words: Words) -> Iterator[Section]:
    classes = plaque.v_lines.classes
    if not classes:
        return
    rows = tuple(
        (
            _class_name(c, words),
            f"{c.count}",
            words.run(c.length_mm),
            words.span(*c.depth_mm),
        )
        for c in classes
    )
    total = ("All", f"{plaque.v_lines.count}", words.run(plaque.v_lines.length_mm), "")
    head = ("Width after sanding", "Strokes", "Length", "Depth before sanding")
    remark = ""
    if plaque.uncut_share > 0:
        remark = f"Of the shadow, {share(plaque.uncut_share)} lies away from every cut and stays light."
    yield Section("V lines", tables=(SheetTable("V lines by their greatest width", head, rows, total),), remark=remark)


def _flow_lines(plaque: PlaqueFigures, words: Words) -> Iterator[Section]:
    lines = plaque.flow_lines
    if lines.count:
        facts = (
            ("Lines", f"{lines.count}, {words.run(lines.length_mm)} in all"),
            ("Depth", f"{words.depth(lines.greatest_below_floor_mm)} below the pocket's floor at most"),
        )
        yield Section("Flow lines", facts)


def _class_name(strokes: WidthClass, words: Words) -> str:
    if strokes.to_mm is None:
        return f"over {words.short(strokes.from_mm)}"
    if strokes.from_mm == 0:
        return f"up to {words.short(strokes.to_mm)}"
    return words.span(strokes.from_mm, strokes.to_mm)


def _limit(job: Job, plaque: PlaqueFigures, words: Words) -> str:
    too_much = plaque.v_lines.sanding.too_much_mm
    if too_much is None:
        return ""
    limit = (
        f"Sand no more than {words.most(too_much)} off the face in all: with that much, {share(LOST_SHARE)} of the "
        "length of the V lines is gone."
    )
    if too_much <= job.finish.sanding_loss:
        limit += f" That is no more than the planned {words.depth(job.finish.sanding_loss)}: plan less sanding."
    return limit


def _sanding(plaque: PlaqueFigures, words: Words) -> Iterator[Section]:
    v_lines = plaque.v_lines
    if not v_lines.count:
        return
    left = tuple(
        (words.depth(loss), share(kept))
        for loss, kept in zip(v_lines.sanding.loss_mm, v_lines.sanding.share_left, strict=True)
    )
    first = tuple(
        (
            f"{number}",
            " / ".join(words.short(axis) for axis in stroke.place_mm),
            words.short(stroke.width_mm),
            words.short(stroke.length_mm),
            words.short(stroke.gone_at_mm),
        )
        for number, stroke in enumerate(v_lines.first_to_go, start=1)
    )
    yield Section(
        "Sanding",
        tables=(
            SheetTable("What is left of the V lines", ("Sanded off in all", "Length still showing"), left),
            SheetTable(
                "The strokes that go first: the ones to re-cut",
                ("Stroke", "Middle at x / y", "Width", "Length", "Gone at"),
                first,
            ),
        ),
        remark=(
            f"Strokes shorter than {words.short(LEAST_LISTED_MM)} are cut like the others, but not listed here. "
            "x runs to the right and y up from zero."
        ),
    )


def _amounts(plaque: PlaqueFigures, words: Words) -> Section:
    amounts = plaque.amounts
    facts = (
        ("Surface to paint", f"{words.area(amounts.painted_mm2)}, the carved face with all its walls"),
        ("Paint", f"{words.paint(amounts.paint_litres)}, {coats_of(amounts.coats)}"),
        ("Board", f"{words.volume(amounts.blank_mm3)}, about {words.weight(amounts.blank_kg)}"),
        ("Carved away", words.chips(amounts.removed_mm3)),
    )
    return Section("Amounts", facts)


def _times(plaque: PlaqueFigures, scope: Scope) -> Section:
    rows = tuple((task.name, minutes(task.minutes), task.by) for task in plaque.times)
    total = ("All", minutes(plaque.minutes), _not_counted(plaque, scope))
    return Section(
        "Time",
        tables=(SheetTable("Estimated times", ("Work", "About", "At this rate"), rows, total),),
        remark=(
            "Each time is rounded up to 5 minutes, their sum only once. Rates are starting points, to be replaced by "
            "your own under [shop] in the job file."
        ),
    )


def _not_counted(plaque: PlaqueFigures, scope: Scope) -> str:
    left_out = ["drying", "breaks"] if scope.plaque else ["breaks"]
    if scope.carve and scope.template:
        left_out.append("routing along the template in the machine's place")
    if scope.begins and plaque.register:
        left_out += ["dowel holes", "plugs"]
    if scope.begins and plaque.shape != "rectangle":
        left_out.append("cutting out")
    told = " and ".join(filter(None, (", ".join(left_out[:-1]), left_out[-1])))
    return f"{told} not counted"


def _files(plaque: PlaqueFigures) -> Section:
    """Return the files, those together that hold the same drawing."""
    drawings: dict[str, list[str]] = {}
    for name in plaque.files:
        stem, _, kind = name.rpartition(".")
        drawings.setdefault(stem if kind in ("svg", "dxf") else name, []).append(name)
    return Section("Files", tuple((", ".join(names), _caption(drawing)) for drawing, names in drawings.items()))


def _caption(drawing: str) -> str:
    """Return what a file or both files of a drawing hold; a template's further sheets are numbered."""
    numbered = re.fullmatch(r"template-(\d+)", drawing)
    if numbered:
        return f"{_CAPTIONS['template']}, sheet {numbered[1]}"
    return _CAPTIONS.get(drawing, "")
