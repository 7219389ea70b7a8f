"""Dowel holes: on every drawing each lies where numbers.json has it, as large as asked, clear of edge and design.

The board's drawing has all of them with a cross and a name; a stencil has them smaller by the kerf, a template's sheet
those that numbers.json names for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from shadowrout.check.curve_samples import Curve, sampled
from shadowrout.check.distances import Nearest
from shadowrout.check.drawing_file import DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import Finding, Place, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

LIMIT_MM = 0.001
"""As for sizes: what lies further apart isn't rounding."""

_SAGITTA_MM = 0.00001
"""A hundredth of the limit, for arcs that make a hole's furthest points."""
_LEAST_WOOD_MM = 1.0
"""Least wood between a hole and the board's edge or the design (common practice, no source)."""
_GRID_MM = 0.1
"""Places are whole steps of this, which may take 0.07 mm from what is left beside a hole."""
_LINES_OF_A_CROSS = 2
_OTHER_MM = 1.0
"""A hole further from a mark's place is another one, and the mark's own is missing."""
_BESIDE_MM = 8.0
"""A hole's name stands within this of its rim; the same letter further off is a word of the sheet's text."""
_MARKS = 3
"""Two would let the sheet be turned over."""
_ADVICE = "don't drill by this file; make the plaque again"
_AGAIN = "make the job again; job.toml, numbers.json and the drawings belong to one run"

Faults = Iterator[tuple[Promise, Finding]]


@dataclass(frozen=True)
class _Mark:
    name: str
    place: Place


def faults(plaque: PlaqueFiles) -> Faults:
    """Yield what is wrong with the dowel holes of all drawings, each with the promise that it breaks."""
    told = plaque.figures.get("register")
    told = told if isinstance(told, dict) else {}
    marks = _marks(told)
    for what in (*_against_job(plaque, told, marks), *_distances_off(told, marks)):
        yield Promise.FIGURES, Finding(None, what, _AGAIN)
    for mark, what in _too_near(plaque, marks):
        yield Promise.FAITHFUL, Finding(mark.place, what, _ADVICE)
    for file in plaque.drawings.values():
        here = _meant_for(file, plaque, marks)
        if here is None or not file.shapes:
            continue
        wanted, dowel_mm = here
        for finding in _holes_off(file, wanted, dowel_mm):
            yield Promise.FAITHFUL, finding.within(file.name)
        for finding in _names_off(file, wanted, dowel_mm):
            yield Promise.MARKED, finding.within(file.name)


def _marks(told: Mapping[str, Any]) -> list[_Mark]:
    listed = told.get("marks")
    marks = []
    for mark in listed if isinstance(listed, list) else ():
        try:
            place = float(mark["x_mm"]), float(mark["y_mm"])
            marks.append(_Mark(str(mark["mark"]), place))
        except (KeyError, TypeError, ValueError, OverflowError):
            continue
    return [mark for mark in marks if all(map(math.isfinite, mark.place))]


def _dowel_mm(plaque: PlaqueFiles) -> float:
    return plaque.job.register.dowel or 0.0


def _against_job(plaque: PlaqueFiles, told: Mapping[str, Any], marks: Sequence[_Mark]) -> Iterator[str | Sentence]:
    """Yield where numbers.json tells of other marks than job.toml asks for."""
    asked, said = plaque.job.register.dowel, told.get("dowel_mm", 0.0)
    if asked is None:
        return
    if not isinstance(said, (int, float)) or abs(said - asked) > LIMIT_MM:
        yield f"the dowel is {said} in numbers.json, {asked} in job.toml"
    wanted = _MARKS if asked else 0
    if len(marks) != wanted or len({mark.name for mark in marks}) != wanted:
        yield f"numbers.json tells of {len(marks)} register marks, a board with dowels has {_MARKS}, else none"


def _distances_off(told: Mapping[str, Any], marks: Sequence[_Mark]) -> Iterator[Sentence]:
    """Yield the distances to measure a print by that aren't those of the marks."""
    listed = told.get("distances")
    said = (
        {d.get("between"): d.get("length_mm") for d in listed if isinstance(d, dict)}
        if isinstance(listed, list)
        else {}
    )
    for i, a in enumerate(marks):
        for b in marks[i + 1 :]:
            length, between = said.get(f"{a.name} and {b.name}"), math.dist(a.place, b.place)
            if not isinstance(length, (int, float)) or abs(length - between) > LIMIT_MM:
                yield Sentence(
                    "the marks {a} and {b} are {between:.3f mm} apart, numbers.json gives {length}",
                    a=a.name,
                    b=b.name,
                    between=Mm(between),
                    length=str(length),
                )


def _too_near(plaque: PlaqueFiles, marks: Sequence[_Mark]) -> Iterator[tuple[_Mark, Sentence]]:
    """Yield the marks whose holes have too little wood beside them, or aren't as far from the edge as asked."""
    dowel, inset = _dowel_mm(plaque), plaque.job.register.inset
    if not marks or not dowel:
        return
    places = np.array([mark.place for mark in marks])
    margin = plaque.settings.margin
    asked = max(dowel / 2 + _LEAST_WOOD_MM, margin / 2) if inset is None else inset
    edge = _edge(plaque)
    if edge is not None:
        for mark, off in zip(
            marks, Nearest(sampled([edge], sagitta_mm=0.001, step_mm=0.5)).distances(places), strict=True
        ):
            if abs(off - asked) > _GRID_MM:
                told = "dowel hole {name} is {off:.2f mm} from the board's edge, {asked:g mm} are asked for"
                yield mark, Sentence(told, name=mark.name, off=Mm(off), asked=Mm(asked))
    if plaque.design is not None and not plaque.design.is_empty:
        needed = dowel / 2 + _LEAST_WOOD_MM - _GRID_MM
        for mark, off in zip(marks, (plaque.design.distance(shapely.Point(place)) for place in places), strict=True):
            if off < needed:
                told = "dowel hole {name} lies in the design, or leaves less than {wood:g mm} beside it"
                yield mark, Sentence(told, name=mark.name, wood=Mm(_LEAST_WOOD_MM))


def _edge(plaque: PlaqueFiles) -> Curve | None:
    """Return the board's edge as drawn, or its box where it is a rectangle; None where it isn't known."""
    for file in plaque.drawing("carve"):
        for curve in file.curves("plaque-edge"):
            return curve
    width, height = plaque.settings.size or (0.0, 0.0)
    if plaque.settings.shape != "rectangle" or not width:
        return None
    x, y = (-width / 2, -height / 2) if plaque.job.output.origin == "centre" else (0.0, 0.0)
    corners = np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
    return Curve(corners, np.zeros(4), closed=True)


def _meant_for(file: DrawingFile, plaque: PlaqueFiles, marks: Sequence[_Mark]) -> tuple[list[_Mark], float] | None:
    """Return the marks that must be holes of a drawing, and their diameter as drawn; None for one without such."""
    kind, _, number = file.name.partition(".")[0].partition("-")
    dowel = _dowel_mm(plaque)
    if kind == "carve":
        return list(marks), dowel
    if kind == "stencil":
        drawn = dowel - plaque.job.stencil.kerf
        return (list(marks), drawn) if drawn > 0 else ([], 0.0)
    if kind == "template":
        names = _dowels_of_sheet(plaque.figures.get("template"), int(number) if number else 1)
        return None if names is None else ([mark for mark in marks if mark.name in names], dowel)
    return None


def _dowels_of_sheet(told: Any, number: int) -> list[str] | None:
    placing = told.get("placing") if isinstance(told, dict) else None
    for sheet in placing if isinstance(placing, list) else ():
        if isinstance(sheet, dict) and sheet.get("sheet") == number and isinstance(sheet.get("dowels"), list):
            return [str(name) for name in sheet["dowels"]]
    return None


def _holes_off(file: DrawingFile, wanted: Sequence[_Mark], dowel_mm: float) -> Iterator[Finding]:
    """Yield the holes that are missing, moved, of another size, or one too many; and crosses beside their mark."""
    holes = [_hole(curve) for curve in file.curves("register") if curve.closed]
    for mark in wanted:
        near = min(holes, key=lambda hole: math.dist(hole[0], mark.place), default=None)
        if near is None or math.dist(near[0], mark.place) > _OTHER_MM:
            yield Finding(mark.place, f"dowel hole {mark.name} is missing here", _ADVICE)
            continue
        holes.remove(near)
        off = math.dist(near[0], mark.place)
        if off > LIMIT_MM:
            told = Sentence("dowel hole {name} lies {off:.3f mm} off its place", name=mark.name, off=Mm(off))
            yield Finding(mark.place, told, _ADVICE)
        across = max(near[1:], key=lambda side: abs(side - dowel_mm))
        if abs(across - dowel_mm) > 2 * LIMIT_MM:
            told = Sentence(
                "dowel hole {name} is {across:.3f mm} across, not {meant:g mm}",
                name=mark.name,
                across=Mm(across),
                meant=Mm(dowel_mm),
            )
            yield Finding(mark.place, told, _ADVICE)
    for place, *_ in holes:
        yield Finding(place, "a hole is no register mark's", _ADVICE)
    yield from _crosses_off(file, wanted)


def _crosses_off(file: DrawingFile, wanted: Sequence[_Mark]) -> Iterator[Finding]:
    """Yield the lines that are no mark's cross, and the marks on the board whose cross hasn't two."""
    middles = [curve.vertices.mean(axis=0).tolist() for curve in file.curves("register") if not curve.closed]
    for x, y in middles:
        if min((math.dist((x, y), mark.place) for mark in wanted), default=math.inf) > 2 * LIMIT_MM:
            yield Finding((x, y), "a line of a register cross isn't on its mark's middle", _ADVICE)
    for mark in wanted if file.name.startswith("carve") else ():
        if sum(math.dist(middle, mark.place) <= 2 * LIMIT_MM for middle in middles) < _LINES_OF_A_CROSS:
            yield Finding(mark.place, f"the cross of dowel hole {mark.name} isn't whole", _ADVICE)


def _hole(curve: Curve) -> tuple[Place, float, float]:
    """Return a closed curve's middle, and how wide and how high it is."""
    points = sampled([curve], sagitta_mm=_SAGITTA_MM).points
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return ((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, y1 - y0


def _names_off(file: DrawingFile, wanted: Sequence[_Mark], dowel_mm: float) -> Iterator[Finding]:
    """Yield the marks without a name beside them, and names that stand beside another mark."""
    names = {mark.name for mark in wanted}
    named = set()
    for text in (shape for shape in file.shapes if _is_name(shape, names)):
        nearest = min(wanted, key=lambda mark: math.dist(mark.place, text.at))
        if math.dist(nearest.place, text.at) > dowel_mm / 2 + _BESIDE_MM:
            continue
        named.add(nearest.name)
        if nearest.name != text.text.strip():
            what = f"the name {text.text.strip()} stands beside dowel hole {nearest.name}"
            yield Finding(text.at, what, _ADVICE)
    for mark in wanted:
        if mark.name not in named:
            yield Finding(mark.place, f"dowel hole {mark.name} has no name beside it", _ADVICE)


def _is_name(shape: Shape, names: set[str]) -> bool:
    return shape.curve is None and role_of_layer(shape.layer) in ("register", "note") and shape.text.strip() in names
