"""The sections of the sheet as lists and tables of texts, from the figures of a job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shadowrout.jobsheet.amounts import materials
from shadowrout.jobsheet.strokes import LEAST_LISTED_MM
from shadowrout.jobsheet.wording import Words, labelled, litres, minutes, number, share, told
from shadowrout.options import Job
from shadowrout.plan.sanding import LOST_SHARE

Figures = Mapping[str, Any]
Facts = tuple[tuple[str, str], ...]

PARTS = (
    ("flow_lines", "Flow lines"),
    ("stencil", "Stencil"),
    ("template", "Router template"),
    ("pattern", "Paper pattern"),
    ("register", "Register marks"),
)
"""Figures of a plaque that have a section of their own where they are there."""

_CAPTIONS = {
    "carve.svg": "drawing for the machine and the bench, SVG",
    "carve.dxf": "the same drawing, DXF",
    "design.wkb.gz": "the sized design, by which the files can be checked",
    "pattern.pdf": "full-size paper pattern",
    "preview.png": "the finished look",
    "preview-sanding.png": "what sanding takes",
    "stencil.svg": "stencil sheet, SVG",
    "stencil.dxf": "stencil sheet, DXF",
    "template.svg": "router template, SVG",
    "template.dxf": "router template, DXF",
}


@dataclass(frozen=True)
class Table:
    """A table of texts; the first cell of each row names the row, ``total`` is its last row where there is one."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """A heading with facts and tables under it, and a remark."""

    heading: str
    facts: Facts = ()
    tables: tuple[Table, ...] = ()
    remark: str = ""


@dataclass(frozen=True)
class PlaqueSheet:
    """Everything that is told about one plaque."""

    name: str
    size: str
    look: str
    """What the finished look shows, in words."""
    planned: str
    limit: str
    """How much to sand at most, with its reason; empty without V lines."""
    sections: tuple[Section, ...]


def batch_of(job: Job, plaques: Sequence[Figures], words: Words) -> tuple[Section, ...]:
    """Return what to make, fetch and plan for, over all plaques."""
    return (
        Section("To make", tables=(_plaques_table(plaques, words),)),
        Section(
            "To fetch",
            facts=(
                ("Paint", f"{litres(sum(p['amounts']['paint_litres'] for p in plaques))}, by {_coverage(job)}"),
                ("Also", _also(plaques)),
            ),
            tables=(_boards_table(plaques, words),),
            remark=(
                "Boards are counted at their finished size; add what your saw and planer take. Weights follow from "
                "the USDA Wood Handbook's average for the species at 12 % moisture; boards differ by a tenth and more."
            ),
        ),
    )


def tools_of(job: Job, words: Words) -> Table:
    """Return the tools with what each is set to."""
    rows = [
        (
            f"Straight cutter, {words.length(cutter.diameter)}",
            words.depth(cutter.depth or 0.0),
            f"{words.depth(cutter.depth_per_pass or 0.0)} a pass at most",
            f"leaves {words.depth(cutter.finishing_allowance)} at the wall",
        )
        for cutter in job.cutters
    ]
    rows.append(
        (
            f"V tool, {job.v_tool.angle:g}°",
            f"{words.depth(job.v_tool.greatest_depth)} at most",
            "by hand",
            "to the line",
        )
    )
    return Table("Tools and depths, from the face before sanding", ("Tool", "Depth", "Passes", "Edge"), tuple(rows))


def plaque_of(job: Job, plaque: Figures, words: Words) -> PlaqueSheet:
    """Return the sheet of one plaque from its figures."""
    sections = (
        _board(job, plaque, words),
        *_pockets(plaque, words),
        *_strokes(plaque, words),
        *_sanding(plaque, words),
        *(_part(title, plaque[key], words) for key, title in PARTS if _made(plaque.get(key))),
        _amounts(plaque, words),
        _times(plaque),
        _files(plaque),
    )
    size = words.size(plaque["size_mm"])
    look = (
        f"The finished plaque “{plaque['name']}”, {plaque['shape']}, {size}: painted shadows over "
        f"{share(plaque['dark_share'])} of the picture, bare {job.finish.wood} everywhere else."
    )
    return PlaqueSheet(
        plaque["name"], size, look, words.depth(job.finish.sanding_loss), _limit(job, plaque, words), sections
    )


def _plaques_table(plaques: Sequence[Figures], words: Words) -> Table:
    rows = tuple(
        (
            p["name"],
            f"{words.size(p['size_mm'])}, {p['shape']}",
            f"{len(p['pockets'])}",
            f"{p['v_lines']['count']}",
            minutes(_total_minutes(p)),
        )
        for p in plaques
    )
    total = ("All", "", "", "", minutes(sum(map(_total_minutes, plaques))))
    head = ("Plaque", "Size", "Pockets", "V lines", "Time, about")
    return Table("Plaques of this job", head, rows, total if len(rows) > 1 else ())


def _boards_table(plaques: Sequence[Figures], words: Words) -> Table:
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


def _also(plaques: Sequence[Figures]) -> str:
    """Return what else to have at hand: sheets for the parts that were made, and what every job uses up."""
    sheets = {"stencil": "a sheet for each stencil", "template": "a sheet for each router template"}
    wanted = [sheet for key, sheet in sheets.items() if any(p.get(key) for p in plaques)]
    if any(p.get("register") for p in plaques):
        wanted.append("dowels for the register marks")
    return ", ".join([*wanted, "paper and glue for the pattern", "sandpaper", "scrap of the same wood to try on"])


def _coverage(job: Job) -> str:
    return f"{number(job.finish.coats)} coats at {number(job.shop.paint_coverage)} m² a litre"


def _board(job: Job, plaque: Figures, words: Words) -> Section:
    facts = (
        ("Size", f"{words.size(plaque['size_mm'])}, {plaque['shape']}"),
        ("Thickness", words.length(plaque["thickness_mm"])),
        ("Wood", f"{job.finish.wood}, about {words.weight(plaque['amounts']['plaque_kg'])} when carved"),
        ("Zero", "lower left corner of the board" if job.output.origin == "corner" else "middle of the board"),
        ("Shadow", f"{share(plaque['dark_share'])} of the picture, {plaque['shadows']} separate shadows"),
        ("Finest line", words.depth(job.tone.detail or 0.0)),
    )
    return Section("Board", facts)


def _pockets(plaque: Figures, words: Words) -> Iterator[Section]:
    pockets = plaque["pockets"]
    if not pockets:
        return
    groups: dict[tuple[float, float, int], list[Figures]] = {}
    for pocket in pockets:
        groups.setdefault((pocket["cutter_mm"], pocket["depth_mm"], pocket["passes"]), []).append(pocket)
    settings = tuple(
        (
            words.length(cutter),
            words.depth(depth),
            f"{passes}",
            f"{len(group)}",
            words.run(sum(p["cutter_path_mm"] for p in group)),
        )
        for (cutter, depth, passes), group in groups.items()
    )
    each = tuple(
        (
            f"{p['number']}",
            words.short(p["cutter_mm"]),
            words.short(p["depth_mm"]),
            f"{p['passes']}",
            words.short_area(p["area_mm2"]),
        )
        for p in pockets
    )
    yield Section(
        "Pockets",
        tables=(
            Table("By cutter and depth", ("Cutter", "Depth", "Passes", "Pockets", "Cutter path"), settings),
            Table("One by one, as numbered in the drawing", ("Pocket", "Cutter", "Depth", "Passes", "Area"), each),
        ),
        remark=f"Of the shadow, {share(plaque['rest_share'])} is too narrow for the cutters and is left to the V tool.",
    )


def _strokes(plaque: Figures, words: Words) -> Iterator[Section]:
    classes = plaque["v_lines"]["classes"]
    if not classes:
        return
    rows = tuple(
        (
            _class_name(c, words),
            f"{c['count']}",
            words.run(c["length_mm"]),
            words.span(*c["depth_mm"]),
        )
        for c in classes
    )
    total = ("All", f"{plaque['v_lines']['count']}", words.run(plaque["v_lines"]["length_mm"]), "")
    head = ("Width after sanding", "Strokes", "Length", "Depth before sanding")
    remark = ""
    if plaque["uncut_share"] > 0:
        remark = f"Of the shadow, {share(plaque['uncut_share'])} lies away from every cut and stays light."
    yield Section("V lines", tables=(Table("V lines by their greatest width", head, rows, total),), remark=remark)


def _class_name(figures: Figures, words: Words) -> str:
    if figures["to_mm"] is None:
        return f"over {words.short(figures['from_mm'])}"
    if figures["from_mm"] == 0:
        return f"up to {words.short(figures['to_mm'])}"
    return words.span(figures["from_mm"], figures["to_mm"])


def _limit(job: Job, plaque: Figures, words: Words) -> str:
    too_much = plaque["v_lines"]["sanding"]["too_much_mm"]
    if too_much is None:
        return ""
    limit = (
        f"Sand no more than {words.depth(too_much)} off the face in all: with that much, {share(LOST_SHARE)} of the "
        "length of the V lines is gone."
    )
    if too_much <= job.finish.sanding_loss:
        limit += f" That is no more than the planned {words.depth(job.finish.sanding_loss)}: plan less sanding."
    return limit


def _sanding(plaque: Figures, words: Words) -> Iterator[Section]:
    v_lines = plaque["v_lines"]
    if not v_lines["count"]:
        return
    left = tuple(
        (words.depth(loss), share(kept))
        for loss, kept in zip(v_lines["sanding"]["loss_mm"], v_lines["sanding"]["share_left"], strict=True)
    )
    first = tuple(
        (
            f"{number}",
            " / ".join(words.short(axis) for axis in stroke["place_mm"]),
            words.short(stroke["width_mm"]),
            words.short(stroke["length_mm"]),
            words.short(stroke["gone_at_mm"]),
        )
        for number, stroke in enumerate(v_lines["first_to_go"], start=1)
    )
    yield Section(
        "Sanding",
        tables=(
            Table("What is left of the V lines", ("Sanded off in all", "Length still showing"), left),
            Table(
                "The strokes that go first: the ones to re-cut",
                ("Stroke", "Middle at x / y", "Width", "Length", "Gone at"),
                first,
            ),
        ),
        remark=f"Strokes under {words.short(LEAST_LISTED_MM)} are left out. x runs to the right and y up from zero.",
    )


def _made(part: Any) -> bool:
    """Return whether a part's figures tell of anything."""
    return bool(part) and not (isinstance(part, Mapping) and part.get("count") == 0)


def _part(title: str, figures: Figures | Sequence[Figures], words: Words) -> Section:
    """Return the section of a part made beside the plaque: its figures as facts, its lists of figures as tables."""
    if isinstance(figures, Sequence):
        return Section(title, tables=(_listed(title, figures, words),))
    lists = {key: value for key, value in figures.items() if _is_list_of_figures(value)}
    facts = tuple((labelled(key), told(key, value, words)) for key, value in figures.items() if key not in lists)
    return Section(title, facts, tuple(_listed(labelled(key), value, words) for key, value in lists.items()))


def _is_list_of_figures(value: object) -> bool:
    return isinstance(value, (list, tuple)) and len(value) > 0 and all(isinstance(entry, Mapping) for entry in value)


def _listed(caption: str, entries: Sequence[Figures], words: Words) -> Table:
    keys = tuple(dict.fromkeys(key for entry in entries for key in entry))
    rows = tuple(tuple(told(key, entry[key], words) if key in entry else "" for key in keys) for entry in entries)
    return Table(caption, tuple(map(labelled, keys)), rows)


def _amounts(plaque: Figures, words: Words) -> Section:
    amounts = plaque["amounts"]
    facts = (
        ("Surface to paint", f"{words.area(amounts['painted_mm2'])}, the carved face with all its walls"),
        ("Paint", litres(amounts["paint_litres"])),
        ("Board", f"{words.volume(amounts['blank_mm3'])}, about {words.weight(amounts['blank_kg'])}"),
        ("Carved away", f"{amounts['removed_mm3'] / 1000:.0f} cm³"),
    )
    return Section("Amounts", facts)


def _times(plaque: Figures) -> Section:
    rows = tuple((task["name"], minutes(task["minutes"]), task["by"]) for task in plaque["times"])
    total = ("All", minutes(_total_minutes(plaque)), "drying and breaks not counted")
    return Section(
        "Time",
        tables=(Table("Estimated times", ("Work", "About", "At this rate"), rows, total),),
        remark=(
            "Each time is rounded up to 5 minutes, their sum only once. Rates are starting points, to be replaced by "
            "your own under [shop] in the job file."
        ),
    )


def _files(plaque: Figures) -> Section:
    return Section("Files", tuple((name, _CAPTIONS.get(name, "")) for name in plaque["files"]))


def _total_minutes(plaque: Figures) -> float:
    times: Iterable[Figures] = plaque["times"]
    return sum(float(task["minutes"]) for task in times)
