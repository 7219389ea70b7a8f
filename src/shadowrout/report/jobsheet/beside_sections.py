"""The sections of what is made beside the carving: stencil, router template, pattern, register marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.pattern_figures import PatternFigures
from shadowrout.report.figures.pocket_figures import PocketFigures
from shadowrout.report.figures.register_figures import RegisterFigures
from shadowrout.report.figures.stencil_figures import StencilFigures
from shadowrout.report.figures.template_figures import TemplateFigures
from shadowrout.report.jobsheet.tables import Facts, Section, SheetTable
from shadowrout.words.wording import Words, counted, share

_SAME_MM = 1e-3
"""Depths nearer than this are one: far below what a depth stop sets."""

_LEAST_TOLD_MM2 = 0.5
"""What is left for the gouge is told from here on: less would be told as 0 mm2."""


def sections_beside(plaque: PlaqueFigures, words: Words) -> Iterator[Section]:
    """Yield a section for each thing that was made beside the carving."""
    if plaque.stencil:
        yield _stencil(plaque.stencil, words)
    if plaque.template:
        yield _template(plaque.template, plaque.pockets, words)
    if plaque.pattern:
        yield _pattern(plaque.pattern, words)
    if plaque.register:
        yield _register(plaque.register, words)


def sheet_size(box: Sequence[float], words: Words) -> str:
    """Return width x height of a sheet given as its box."""
    x0, y0, x1, y1 = box
    return words.size((x1 - x0, y1 - y0))


def _stencil(stencil: StencilFigures, words: Words) -> Section:
    bridges = stencil.bridges
    told = f"{bridges}, together {words.depth(stencil.bridge_length_mm)} long" if bridges else "none needed"
    facts: Facts = (
        ("Sheet", sheet_size(stencil.sheet_mm, words)),
        ("Lies", _lies(stencil.sheet_mm, words)),
        ("Openings", f"{stencil.openings}"),
        ("Bridges", told),
        ("Least web", words.depth(stencil.web_mm)),
        ("Kerf", f"{words.depth(stencil.kerf_mm)}, allowed for in the drawing"),
        ("Kept closed", f"{share(stencil.dark_lost_share)} of the stencil's dark, by bridges and webs"),
        ("Light cut away", f"as much as {share(stencil.light_lost_share)} of the stencil's dark"),
        (
            "Finer lines",
            f"{share(stencil.carved_dark_closed_share)} of the carved design's dark isn't in the stencil",
        ),
    )
    if count := stencil.carved_shadows_closed.count:
        largest = words.area(stencil.carved_shadows_closed.largest_mm2)
        facts += (("Small shadows", f"{counted(count, 'shadow')} of the carved design closed, of {largest} at most"),)
    if count := stencil.carved_islands_open.count:
        largest = words.area(stencil.carved_islands_open.largest_mm2)
        told = f"{counted(count, 'island')} of the carved design cut out with the dark, of {largest} at most"
        facts += (("Finer light", told),)
    gone = tuple(
        (f"{number}", _place(island.place_mm, words), words.short_area(island.area_mm2))
        for number, island in enumerate(stencil.islands_dropped, start=1)
    )
    tables = (SheetTable("Islands left out, since they can't be held", ("Island", "Middle at x / y", "Area"), gone),)
    notices = " ".join(f"{notice.sentence[:1].upper()}{notice.sentence[1:]}." for notice in stencil.notices)
    return Section("Stencil", facts, tables if gone else (), notices)


def _template(template: TemplateFigures, pockets: Sequence[PocketFigures], words: Words) -> Section:
    bit, bush = words.length(template.bit_mm), words.length(template.bush_mm)
    sheets = template.sheets
    left = [
        f"{words.area(area_mm2)} {what}"
        for area_mm2, what in (
            (template.unreached_mm2, "that the bit can't reach"),
            (template.under_keys_mm2, "that keys of the template keep the bit from, beside narrow light"),
            (template.under_bridges_mm2, "under bridges"),
        )
        if area_mm2 >= _LEAST_TOLD_MM2
    ]
    facts: Facts = (
        ("Sheets", f"{sheets}"),
        (
            "Size of each" if sheets > 1 else "Size",
            f"{sheet_size(template.sheet_mm, words)}, {words.length(template.thickness_mm)} thick",
        ),
        ("Lies", _lies(template.sheet_mm, words)),
        ("Placed by", _placed_by(template)),
        ("Bit and bush", f"bit {bit}, bush {bush}: openings {words.depth(template.offset_mm)} larger all round"),
        ("Depth", _one_depth(template.depth_mm, pockets, words)),
        ("Bit stands out", f"{words.depth(template.bit_below_base_mm)} below the router's base"),
        ("Left for the gouge", "; ".join(left) or "nothing of the pockets"),
    )
    remark = ""
    if sheets > 1:
        remark = "Use the sheets one after the other, each in the same place: what one of them bridges, another opens."
    return Section("Router template", facts, remark=remark)


def _one_depth(depth_mm: float, pockets: Sequence[PocketFigures], words: Words) -> str:
    """Return the depth of all openings, and whether some pockets were planned less deep."""
    shallower = sum(pocket.depth_mm < depth_mm - _SAME_MM for pocket in pockets)
    less = f"; {counted(shallower, 'pocket')} of the plan would need less" if shallower else ""
    return f"{words.depth(depth_mm)}, the same in all openings{less}"


def _placed_by(template: TemplateFigures) -> str:
    """Return what puts each sheet in its place: the register marks that are holes in it, or its lines."""
    told = []
    for sheet in template.placing:
        names = ", ".join(sheet.dowels)
        by = ("its centre lines", f"dowel {names} and its centre lines", f"dowels {names}")
        told.append(by[min(len(sheet.dowels), 2)])
    if len(set(told)) == 1:
        return told[0]
    return "; ".join(f"sheet {number}: {name}" for number, name in enumerate(told, start=1))


def _pattern(pattern: PatternFigures, words: Words) -> Section:
    grid = f", in {counted(pattern.rows, 'row')} of {pattern.columns}" if pattern.sheets > 1 else ""
    facts: Facts = (
        ("Paper", f"{pattern.paper}, {counted(pattern.sheets, 'sheet')}{grid}"),
        ("First page", f"how to print, measure and {'join them' if grid else 'use it'}, and what the lines mean"),
    )
    return Section("Paper pattern", facts)


def _register(register: RegisterFigures, words: Words) -> Section:
    marks = tuple((mark.mark, words.short(mark.x_mm), words.short(mark.y_mm)) for mark in register.marks)
    apart = tuple((distance.between, words.depth(distance.length_mm)) for distance in register.distances)
    return Section(
        "Register marks",
        (("Dowel holes", f"{counted(len(marks), 'hole')}, {words.length(register.dowel_mm)} across"),),
        (
            SheetTable("Where the dowel holes are", ("Mark", "x from zero", "y from zero"), marks),
            SheetTable("Distances to measure", ("Between", "Length"), apart),
        ),
    )


def _lies(box: Sequence[float], words: Words) -> str:
    return f"its lower left corner at x {words.short(box[0])}, y {words.short(box[1])} from zero"


def _place(place_mm: tuple[float, float], words: Words) -> str:
    return " / ".join(words.short(axis) for axis in place_mm)
