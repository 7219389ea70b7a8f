"""The paper pattern: its sheets are all there, of the paper's size, true to scale, in order, and join."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from shadowrout.check.curve_samples import Points
from shadowrout.check.drawing_file import Box
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.paper_layout import PaperLayout, layout_of, told_number
from shadowrout.check.pattern_lines import LinesOnSheets, register_of
from shadowrout.check.pattern_shadow import ShadowOnSheets
from shadowrout.check.pdf_reader import UnreadablePdfError, read_pdf
from shadowrout.check.printed_sheets import SAME_MM, SheetRead
from shadowrout.check.sheet_place import DONT_PRINT, DONT_SCALE, Fault, SheetPlace
from shadowrout.words.lengths import brief
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit

PATTERN = "pattern.pdf"

PAGE_LIMIT_MM = 0.05
"""A page's size only says which paper is meant: half a point more or less is printed alike (a judgement)."""
_DEEP = " deep"
"""Ends a note of a pocket's depth."""
BAR_LIMIT_MM = 0.001
"""The promise of true size."""

_PDF_ROUNDING_MM = 0.001
"""What a PDF's numbers and products of them may add: seven digits of a factor over 2 m of paper."""
_TICKS_MM, _TICKS_IN = 11, 17
"""Ticks of a bar: at every 10 mm, at every quarter inch."""
_LEAST_CROSSES = 2
"""Of a seam: two sheets can be laid on each other by no fewer."""

_AGAIN = "make the plaque again"


@dataclass(frozen=True)
class PatternJudgement:
    """What was found, each by the promise it is against, and how far the shadow is off; None where not measured."""

    faults: tuple[Fault, ...]
    off_mm: float | None = None


def judged(plaque: PlaqueFiles) -> PatternJudgement | None:
    """Return how the pattern of a plaque fares; None where the job asks for none."""
    if "pattern" not in plaque.job.output.files:
        return None
    layout = layout_of(plaque)
    path = plaque.folder / PATTERN
    if layout is None:
        return PatternJudgement((_fault(Promise.FIGURES, "numbers.json doesn't tell its rows and columns", _AGAIN),))
    if not path.is_file():
        return PatternJudgement(((Promise.COMPLETE, Finding(None, f"{PATTERN}: is missing", _AGAIN)),))
    if path.stat().st_size == 0:
        return PatternJudgement(((Promise.COMPLETE, Finding(None, f"{PATTERN}: is empty", _AGAIN)),))
    return _read_and_judged(path, layout, plaque)


def _read_and_judged(path: Path, layout: PaperLayout, plaque: PlaqueFiles) -> PatternJudgement:
    try:
        pages = read_pdf(path, most_pages=2 * layout.sheets + 10)
    except UnreadablePdfError as problem:
        return PatternJudgement(((Promise.COMPLETE, Finding(None, f"{PATTERN}: {problem}", _AGAIN)),))
    reads = [SheetRead(page) for page in pages]
    numbers = _numbers(reads, layout)
    faults = [*_pages_there(reads, numbers, layout), *_figure_faults(plaque, layout)]
    for read, number in zip(reads, numbers, strict=True):
        name = f"sheet {layout.name(number)}" if number else "its first page"
        faults += [
            *_size_faults(read, number, layout, name),
            *_bar_faults(read, layout, name),
            *_odd_faults(read, name),
        ]
    places = list(_places(reads, numbers, layout, faults))
    faults += _seam_faults(places, layout)
    shadow, lines = ShadowOnSheets(plaque), LinesOnSheets(plaque, layout.board_mm)
    for place in places:
        found = [*shadow.faults(place), *lines.faults(place)]
        faults += [(promise, finding.within(f"{PATTERN}: {place.name}")) for promise, finding in found]
    faults += [*_words_missing(places, plaque), *_wrong_depths(places, plaque)]
    return PatternJudgement(tuple(faults), shadow.off_mm)


def _fault(promise: Promise, what: str | Sentence, advice: str) -> Fault:
    return promise, Finding(None, what, advice).within(PATTERN)


def _numbers(reads: Sequence[SheetRead], layout: PaperLayout) -> list[int]:
    """Return which sheet each page is, 0 for the first page: as it says itself, else by where it stands."""
    found = []
    for index, read in enumerate(reads):
        told = read.number[0] if read.number else index if index <= layout.sheets else layout.sheets
        found.append(min(max(told, 0), layout.sheets))
    return found


def _pages_there(reads: Sequence[SheetRead], numbers: Sequence[int], layout: PaperLayout) -> Iterator[Fault]:
    """Yield what pages are missing, blank, there twice, out of order or without the name that they should have."""
    counts = Counter(numbers)
    for number in range(layout.sheets + 1):
        name = f"sheet {layout.name(number)}" if number else "its first page, that says how to use it,"
        if counts[number] == 0:
            yield _fault(Promise.COMPLETE, f"{name} is missing", _AGAIN)
        elif counts[number] > 1:
            yield _fault(Promise.COMPLETE, f"{name} is there {counts[number]} times", DONT_PRINT)
    if numbers != sorted(numbers):
        names = [layout.name(number) if number else "the first page" for number in numbers]
        yield _fault(Promise.FAITHFUL, f"its pages are out of order: {', '.join(names)}", DONT_PRINT)
    for index, (read, number) in enumerate(zip(reads, numbers, strict=True)):
        if read.page.is_blank:
            yield _fault(Promise.COMPLETE, f"page {index + 1} is blank", _AGAIN)
        elif number and (read.number != (number, layout.sheets) or not _names_itself(read, layout.name(number))):
            what = f"page {index + 1} doesn't say that it is sheet {layout.name(number)}, {number} of {layout.sheets}"
            yield _fault(Promise.MARKED, what, DONT_PRINT)
        elif not number and not any(lettering.words.strip() for lettering in read.letterings):
            yield _fault(Promise.COMPLETE, "its first page has no words", _AGAIN)


def _names_itself(read: SheetRead, name: str) -> bool:
    """Return whether the largest name of a sheet on a page, of those like 1-1, is this; neighbours' are smaller."""
    names = [(lettering.size, lettering.words) for lettering in read.letterings if lettering.words == name]
    others = [lettering.size for lettering in read.letterings if _is_name(lettering.words) and lettering.words != name]
    return bool(names) and max(names)[0] > max(others, default=0.0)


def _is_name(words: str) -> bool:
    row, hyphen, column = words.partition("-")
    return bool(hyphen) and row.isdecimal() and column.isdecimal()


def _figure_faults(plaque: PlaqueFiles, layout: PaperLayout) -> Iterator[Fault]:
    told = plaque.figures.get("pattern")
    paper, sheets = (told.get("paper"), told.get("sheets")) if isinstance(told, dict) else (None, None)
    if plaque.job.pattern.paper and paper != plaque.job.pattern.paper:
        yield _fault(
            Promise.FIGURES, f"its paper is {paper} in numbers.json, {plaque.job.pattern.paper} in job.toml", _AGAIN
        )
    if sheets != layout.sheets:
        what = f"numbers.json tells of {sheets} sheets in {layout.rows} rows and {layout.columns} columns"
        yield _fault(Promise.FIGURES, what, _AGAIN)


def _size_faults(read: SheetRead, number: int, layout: PaperLayout, name: str) -> Iterator[Fault]:
    """Yield whether a page isn't a sheet of the paper asked for, the first upright, the others either way."""
    size, paper = read.page.size_mm, layout.paper_mm
    ways = [paper, paper[::-1]] if number else [paper]
    if min(max(abs(size[0] - w), abs(size[1] - h)) for w, h in ways) > PAGE_LIMIT_MM:
        told = Sentence(
            "{name} is {size:.2f mm}, its paper is {paper:g mm}", name=name, size=Mm.size(*size), paper=Mm.size(*paper)
        )
        yield _fault(Promise.TRUE_SIZE, told, DONT_SCALE)
    for odd in read.page.odd_sizes:
        yield _fault(Promise.TRUE_SIZE, f"{name}: {odd}", DONT_SCALE)


def _bar_faults(read: SheetRead, layout: PaperLayout, name: str) -> Iterator[Fault]:
    """Yield what is wrong with a page's scale bars, of which it has a level and an upright one."""
    ticks = _TICKS_IN if layout.inches else _TICKS_MM
    for upright, word in ((False, "level"), (True, "upright")):
        bars = [bar for bar in read.bars if bar.upright is upright]
        if len(bars) != 1:
            if not read.page.is_blank:
                yield _fault(
                    Promise.TRUE_SIZE,
                    f"{name}: it has {len(bars) or 'no'} {word} scale bar{'s' * bool(bars)}",
                    DONT_SCALE,
                )
            continue
        off = abs(bars[0].length_mm - layout.bar_mm)
        if max(off, bars[0].uneven_mm) > BAR_LIMIT_MM + _PDF_ROUNDING_MM or bars[0].ticks != ticks:
            told = Sentence(
                "{name}: its {word} scale bar is {length:.3f mm} long with {ticks} ticks, {off:.3f mm} uneven; "
                "{asked:g mm} with {wanted} was asked for",
                name=name,
                word=word,
                length=Mm(bars[0].length_mm),
                ticks=bars[0].ticks,
                off=Mm(bars[0].uneven_mm),
                asked=Mm(layout.bar_mm),
                wanted=ticks,
            )
            yield _fault(Promise.TRUE_SIZE, told, DONT_SCALE)


def _odd_faults(read: SheetRead, name: str) -> Iterator[Fault]:
    for odd in read.page.odd_imprints:
        yield _fault(Promise.MARKED, f"{name}: {odd}", "remove that, or make the plaque again")


def _places(
    reads: Sequence[SheetRead], numbers: Sequence[int], layout: PaperLayout, faults: list[Fault]
) -> Iterator[SheetPlace]:
    """Yield each sheet put where it belongs, and add what keeps others from it, or is odd about their windows."""
    sheets = [(read, number) for read, number in zip(reads, numbers, strict=True) if number and not read.page.is_blank]
    sizes = [_frame_size(read.panes[0].box) for read, _ in sheets if read.panes]
    frame = sizes[0] if sizes else (0.0, 0.0)
    aside, above = layout.rims_mm(frame)
    if sizes and (abs(aside - above) > SAME_MM or min(aside, above) < -SAME_MM):
        told = Sentence(
            "its windows of {frame:.2f mm}, with overlaps of {overlap:g mm}, don't make up the board with an even rim",
            frame=Mm.size(*frame),
            overlap=Mm(layout.overlap_mm),
        )
        faults.append(_fault(Promise.TRUE_SIZE, told, DONT_SCALE))
    for read, number in sheets:
        name = f"sheet {layout.name(number)}"
        if not read.panes:
            faults.append(_fault(Promise.FAITHFUL, f"{name} shows no shadow of the pattern", DONT_PRINT))
            continue
        faults += _window_faults(read, frame, name)
        seen = layout.window(number, frame)
        yield SheetPlace(name, number, read, read.panes[0].box, seen, layout.turned_over())


def _window_faults(read: SheetRead, frame: tuple[float, float], name: str) -> Iterator[Fault]:
    size = _frame_size(read.panes[0].box)
    if max(abs(size[0] - frame[0]), abs(size[1] - frame[1])) > SAME_MM:
        told = Sentence(
            "{name}: its window is {size:.2f mm}, that of the first sheet {frame:.2f mm}",
            name=name,
            size=Mm.size(*size),
            frame=Mm.size(*frame),
        )
        yield _fault(Promise.TRUE_SIZE, told, DONT_SCALE)
    if not all(pane.whole and np.allclose(pane.box, read.panes[0].box, rtol=0, atol=SAME_MM) for pane in read.panes):
        yield _fault(Promise.FAITHFUL, f"{name}: a part of the shadow is cut off within its window", DONT_PRINT)


def _frame_size(box: Box) -> tuple[float, float]:
    return box[2] - box[0], box[3] - box[1]


def _seam_faults(places: Sequence[SheetPlace], layout: PaperLayout) -> Iterator[Fault]:
    """Yield the seams whose crosses don't come to lie on each other, or not on the middle of the overlap."""
    by_number = {place.number: place for place in places}
    for number, place in by_number.items():
        row, column = layout.place(number)
        for other, axis in ((number + 1, 0), (number + layout.columns, 1)):
            has = column < layout.columns if axis == 0 else row < layout.rows
            if has and other in by_number:
                yield from _one_seam(place, by_number[other], axis, layout)


def _one_seam(place: SheetPlace, other: SheetPlace, axis: int, layout: PaperLayout) -> Iterator[Fault]:
    half = layout.overlap_mm / 2
    seam = place.seen_mm[2] - half if axis == 0 else place.seen_mm[1] + half
    ours, theirs = (_crosses_on(each, axis, seam) for each in (place, other))
    alike = len(ours) == len(theirs) and (not len(ours) or float(np.abs(ours - theirs).max()) <= SAME_MM)
    if len(ours) < _LEAST_CROSSES or not alike:
        what = (
            f"{place.name} and {other.name.removeprefix('sheet ')}: the crosses on their seam don't lie on each other"
        )
        yield _fault(Promise.FAITHFUL, what, DONT_PRINT)


def _crosses_on(place: SheetPlace, axis: int, seam: float) -> Points:
    """Return where along a seam a sheet's crosses lie, sorted."""
    _, _, _, _, right, up = place.to_printed_side
    crosses = place.read.crosses() + (right, up)
    along = crosses[np.abs(crosses[:, axis] - seam) <= SAME_MM, 1 - axis]
    return np.unique(np.round(along, 3))


def _words_missing(places: Sequence[SheetPlace], plaque: PlaqueFiles) -> Iterator[Fault]:
    """Yield the pockets and register marks that no sheet names."""
    said = {lettering.words for place in places for lettering in place.read.letterings}
    names = [f"pocket {number}" for number in _depths(plaque)]
    names += [f"register mark {name}" for name, _ in register_of(plaque)[1]]
    for name in names if places else ():
        if name.rpartition(" ")[2] not in said:
            yield _fault(Promise.MARKED, f"no sheet names {name}", DONT_PRINT)


def _wrong_depths(places: Sequence[SheetPlace], plaque: PlaqueFiles) -> Iterator[Fault]:
    """Yield the pockets whose noted depth, in the line after their number, isn't that of the figures."""
    depths, unit = _depths(plaque), Unit(plaque.job.output.unit or "mm")
    lines = [lettering.words for place in places for lettering in place.read.letterings]
    lines = [line for line, before in zip(lines, ["", *lines], strict=False) if line != before]
    for number, noted in dict.fromkeys(pairwise(lines)):
        if number in depths and noted.endswith(_DEEP) and noted != brief(depths[number], unit) + _DEEP:
            told = f"pocket {number} is noted {noted}, {brief(depths[number], unit)} in numbers.json"
            yield _fault(Promise.FIGURES, told, DONT_PRINT)


def _depths(plaque: PlaqueFiles) -> dict[str, float]:
    """Return the depth of each pocket by its number, as far as numbers.json tells them."""
    pockets = plaque.figures.get("pockets")
    every = [p for p in pockets if isinstance(p, dict)] if isinstance(pockets, list) else []
    told = {str(p.get("number")): told_number(p.get("depth_mm")) for p in every}
    return {number: depth for number, depth in told.items() if depth is not None}
