"""Figures of numbers.json of stencil and template, against the settings and the drawings of their sheets."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

from shadowrout.check.curve_areas import circles_of, parts_of
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.told_against import FINE_MM, NUMBERS, Row, length, number, text, within

_JOB = "job.toml"
_MINUTES = 0.006
_ROUND_SHARE = 0.01
"""What fitting lines and arcs within the tolerance may change of a length along all openings."""


def compared(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield for each figure of the sheets cut beside the plaque what is wrong with it, or nothing."""
    for kind, judged in (("stencil", _stencil), ("template", _template)):
        made = numbers.made(kind)
        asked = kind in plaque.job.output.files
        there = any(name.startswith((f"{kind}.", f"{kind}-")) for name in plaque.drawings)
        if made is not None:
            yield from judged(plaque, made, numbers)
        elif asked and there:
            yield f"{NUMBERS}: tells nothing of the {kind}, which job.toml asks for"


def _stencil(plaque: PlaqueFiles, told: NumbersTable, numbers: NumbersTable) -> Iterator[Row]:
    options = plaque.job.stencil
    yield length(_JOB, "the stencil's least web", told.number("web_mm"), options.web)
    yield length(_JOB, "the stencil's kerf", told.number("kerf_mm"), options.kerf)
    for file in plaque.drawing("stencil"):
        if not file.shapes:
            continue
        openings = len(parts_of(file.curves("opening")))
        yield number(file.name, "the number of openings", told.number("openings"), openings)
        bridges = file.curves("bridge")
        yield number(file.name, "the number of bridges", told.number("bridges"), len(bridges))
    for key in ("carved_dark_closed_share", "dark_lost_share"):
        yield within(f"stencil.{key}", told.number(key), 0, 1)
    for key in ("bridge_length_mm", "light_lost_share", "webs_widened", "openings_merged"):
        yield within(f"stencil.{key}", told.number(key), 0, math.inf)
    told.numbers("sheet_mm", 4)
    for key in ("carved_islands_open", "carved_shadows_closed"):
        if (lost := told.table(key)) is not None:
            yield within(f"stencil.{key}.count", lost.number("count"), 0, math.inf)
            yield within(f"stencil.{key}.largest_mm2", lost.number("largest_mm2"), 0, math.inf)
    for island in told.tables("islands_dropped"):
        island.numbers("place_mm", 2)
        island.number("area_mm2")
    for notice in told.tables("notices"):
        notice.numbers("place_mm", 2)
        notice.text("sentence")


def _template(plaque: PlaqueFiles, told: NumbersTable, numbers: NumbersTable) -> Iterator[Row]:
    options = plaque.job.template
    yield length(_JOB, "the guide bush", told.number("bush_mm"), options.bush)
    yield length(_JOB, "the router bit", told.number("bit_mm"), options.bit)
    yield length(_JOB, "the template's thickness", told.number("thickness_mm"), options.thickness)
    offset = (options.bush - options.bit) / 2
    yield length(_JOB, "half the difference of bush and bit", told.number("offset_mm"), offset)
    depth, below = told.number("depth_mm"), told.number("bit_below_base_mm")
    yield length(NUMBERS, "template and depth together", below, options.thickness + depth, 2 * FINE_MM)
    pockets = [shape.marks.get("depth_mm", 0.0) for file in plaque.drawing("carve") for shape in file.of_role("pocket")]
    if pockets:
        yield length("carve", "the depth of the deepest pocket", depth, max(pockets))
    yield from _size(plaque, told)
    yield from _sheets(plaque, told, numbers)
    for key in ("unreached_mm2", "under_bridges_mm2", "rounded_off_mm2"):
        yield within(f"template.{key}", told.number(key), 0, math.inf)


def _size(plaque: PlaqueFiles, told: NumbersTable) -> Iterator[Row]:
    """Yield where the sheet doesn't stand over the board by the same on opposite sides, as far as told."""
    x0, y0, x1, y1 = told.numbers("sheet_mm", 4)
    across, along = told.numbers("overhang_mm", 2)
    width, height = plaque.settings.size or (0.0, 0.0)
    yield length(NUMBERS, "the template's overhang left and right", across, (x1 - x0 - width) / 2, 2 * FINE_MM)
    yield length(NUMBERS, "the template's overhang above and below", along, (y1 - y0 - height) / 2, 2 * FINE_MM)


def _sheets(plaque: PlaqueFiles, told: NumbersTable, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the sheets drawn aren't as many as told, or hold other dowel holes."""
    count, placing = told.number("sheets"), told.tables("placing")
    order = [sheet.number("sheet") for sheet in placing]
    yield number(NUMBERS, "the number of template sheets placed", count, len(placing))
    yield text(NUMBERS, "the order of the template's sheets", order, list(map(float, range(1, len(placing) + 1))))
    for ending in (".svg", ".dxf"):
        drawn = [name for name in plaque.drawings if name.startswith("template") and name.endswith(ending)]
        if drawn:
            yield number(f"template{ending}", "the number of sheets", count, len(drawn))
    for sheet, ending in itertools.product(placing, (".svg", ".dxf")):
        stem = "template" if sheet.number("sheet") == 1 else f"template-{sheet.number('sheet'):.0f}"
        file, dowels = plaque.drawings.get(stem + ending), sheet.texts("dowels")
        if file is not None and file.shapes:
            yield from _holes(file, dowels, numbers.made("register"))


def _holes(file: DrawingFile, dowels: Sequence[str], register: NumbersTable | None) -> Iterator[Row]:
    """Yield where a sheet's holes aren't those of the register marks that place it."""
    places = (
        {}
        if register is None
        else {m.text("mark"): (m.number("x_mm"), m.number("y_mm")) for m in register.tables("marks")}
    )
    centres = [tuple(hole.vertices.mean(axis=0)) for hole in circles_of(file)]
    yield number(file.name, "the number of dowel holes", len(dowels), len(centres))
    for name in dowels:
        place = places.get(name)
        there = place is not None and any(math.dist(place, centre) <= 2 * FINE_MM for centre in centres)
        yield "" if there else f"{file.name}: no dowel hole is where numbers.json has mark {name[:20]}"
