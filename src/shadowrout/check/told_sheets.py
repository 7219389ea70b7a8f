"""What is told of stencils and templates: numbers.json, job.toml and the words on the sheets say the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from shadowrout.check.drawing_file import Box, DrawingFile
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.lengths import inside_edge, shown
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit

_ROUNDING_MM = 0.001
"""Far above the four decimals that lengths have in numbers.json."""
_LENGTH_ROUNDING_MM = 0.06
"""Half of the tenth of a millimetre to which the length of all bridges is given, and a little."""
_AGAIN = "make the job again; job.toml, numbers.json and the drawings belong to one run"

_STENCIL = ("web", "kerf")
_TEMPLATE = ("bush", "bit", "thickness")
"""What numbers.json repeats of job.toml, by the setting's name."""


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield where what is told of a stencil or a template disagrees, all of it against the one promise."""
    for kind, names in (("stencil", _STENCIL), ("template", _TEMPLATE)):
        files = [file for file in plaque.drawings.values() if file.name.startswith(kind) and file.shapes]
        told = plaque.figures.get(kind)
        if kind not in plaque.job.output.files or not files:
            continue
        if not isinstance(told, dict):
            yield Promise.FIGURES, Finding(None, f"numbers.json tells nothing of the {kind}", _AGAIN)
            continue
        asked = getattr(plaque.job, kind)
        found: list[str | Sentence] = [*_unlike_job(told, {f"{name}_mm": getattr(asked, name) for name in names}, kind)]
        found += _sheet_off(plaque, told, asked.sheet, kind)
        for file in files:
            own = _bridges_off(file, told) if kind == "stencil" else ()
            found += [Sentence("{file}: {what}", file=file.name, what=what) for what in own]
        if kind == "template":
            found += [*_stack_off(told), *_against_pockets(plaque, told)]
        for what in found:
            yield Promise.FIGURES, Finding(None, what, _AGAIN)
        for file in files:
            for words in _words_missing(file, plaque, told, kind):
                what = f"its text doesn't say {words!r}"
                yield Promise.FIGURES, Finding(None, what, _AGAIN).within(file.name)


def _unlike_job(told: Mapping[str, Any], asked: Mapping[str, float], kind: str) -> Iterator[str]:
    for name, value in asked.items():
        if not _same(told.get(name), value):
            yield f"the {kind}'s {name.removesuffix('_mm')} is {told.get(name)} in numbers.json, {value} in job.toml"


def _same(told: Any, asked: float) -> bool:
    return isinstance(told, (int, float)) and abs(told - asked) <= _ROUNDING_MM


def _sheet_off(
    plaque: PlaqueFiles, told: Mapping[str, Any], asked: tuple[float, float] | None, kind: str
) -> Iterator[Sentence]:
    """Yield where a sheet doesn't lie about the board's middle, or hasn't the size asked for."""
    sheet, board = _box(told.get("sheet_mm")), _board(plaque)
    if sheet is None:
        yield Sentence("numbers.json doesn't tell the {kind}'s sheet", kind=kind)
        return
    middle_off = max(abs(sheet[i] + sheet[i + 2] - board[i] - board[i + 2]) / 2 for i in (0, 1))
    if middle_off > _ROUNDING_MM:
        yield Sentence("the {kind}'s sheet is {off:.3f mm} off the board's middle", kind=kind, off=Mm(middle_off))
    over = told.get("overhang_mm", [board[0] - sheet[0], board[1] - sheet[1]])
    if not isinstance(over, list) or len(over) != 2 or not all(_same(over[i], board[i] - sheet[i]) for i in (0, 1)):
        yield Sentence("the {kind}'s overhang is {over}, which isn't that of its sheet", kind=kind, over=over)
    size = sheet[2] - sheet[0], sheet[3] - sheet[1]
    if asked is not None and not all(map(_same, size, asked)):
        yield Sentence(
            "the {kind}'s sheet is {size:g mm} in numbers.json, {asked:g mm} in job.toml",
            kind=kind,
            size=Mm.size(*size),
            asked=Mm.size(*asked),
        )


def _board(plaque: PlaqueFiles) -> Box:
    width, height = plaque.settings.size or (0.0, 0.0)
    if plaque.job.output.origin == "centre":
        return -width / 2, -height / 2, width / 2, height / 2
    return 0.0, 0.0, width, height


def _box(told: Any) -> Box | None:
    if not isinstance(told, list) or len(told) != 4 or not all(isinstance(side, (int, float)) for side in told):
        return None
    x0, y0, x1, y1 = map(float, told)
    return x0, y0, x1, y1


def _bridges_off(file: DrawingFile, told: Mapping[str, Any]) -> Iterator[Sentence]:
    """Yield where the bridges drawn are others than are told; one of no length isn't drawn."""
    bridges = file.curves("bridge")
    length, said = sum(bridge.length_mm for bridge in bridges), told.get("bridge_length_mm")
    if not isinstance(said, (int, float)) or abs(length - said) > _LENGTH_ROUNDING_MM:
        yield Sentence(
            "its bridges are {length:.1f mm} long in all, numbers.json gives {said}", length=Mm(length), said=str(said)
        )
    count = told.get("bridges")
    if not isinstance(count, int) or len(bridges) > count:
        yield Sentence("holds {there} bridges, numbers.json tells of {count}", there=len(bridges), count=str(count))


def _stack_off(told: Mapping[str, Any]) -> Iterator[str]:
    """Yield where a template's figures don't follow from each other."""
    names = ("bush", "bit", "offset", "thickness", "depth", "bit_below_base")
    values = [float(v) for v in (told.get(f"{name}_mm") for name in names) if isinstance(v, (int, float))]
    if len(values) < len(names):
        yield "numbers.json doesn't tell the template's bush, bit, thickness and depth"
        return
    bush, bit, offset, thickness, depth, reach = values
    if not _same(offset, (bush - bit) / 2):
        yield f"the template's offset is {offset}, which isn't half of what its bush is larger than its bit"
    if not _same(reach, thickness + depth):
        yield f"the bit's reach is {reach}, which isn't the template's thickness and the depth"


def _against_pockets(plaque: PlaqueFiles, told: Mapping[str, Any]) -> Iterator[str]:
    """Yield where a template's depth isn't the deepest pocket's, or it has other sheets than are told."""
    pockets = plaque.figures.get("pockets")
    depths = [p.get("depth_mm") for p in pockets if isinstance(p, dict)] if isinstance(pockets, list) else []
    deepest = max((depth for depth in depths if isinstance(depth, (int, float))), default=0.0)
    if not _same(told.get("depth_mm"), deepest):
        yield f"the template is for a depth of {told.get('depth_mm')}, the deepest pocket in numbers.json is {deepest}"
    sheets = {name.partition(".")[0] for name in plaque.drawings if name.startswith("template")}
    if len(sheets) != told.get("sheets"):
        yield f"{len(sheets)} template sheets are drawn, numbers.json tells of {told.get('sheets')}"


def _words_missing(file: DrawingFile, plaque: PlaqueFiles, told: Mapping[str, Any], kind: str) -> Iterator[str]:
    """Yield the sentences of a sheet's text that it lacks; they may be wrapped, so spaces don't count."""
    texts = [shape.text for shape in file.shapes if shape.text]
    said = "".join("".join(texts).split())
    for words in _template_words(file, plaque, told) if kind == "template" else _stencil_words(plaque, told):
        if "".join(words.split()) not in said:
            yield words


def _template_words(file: DrawingFile, plaque: PlaqueFiles, told: Mapping[str, Any]) -> Iterator[str]:
    unit, asked = Unit(plaque.job.output.settled_unit), plaque.job.template
    number = file.name.partition(".")[0].partition("-")[2] or "1"
    yield f"template {number} of {told.get('sheets')}"
    yield f"bush {shown(asked.bush, unit)}" if asked.bush > asked.bit else f"bearing {shown(asked.bush, unit)}"
    if isinstance(depth := told.get("depth_mm"), (int, float)):
        reach = asked.thickness + depth
        yield f"template {shown(asked.thickness, unit)} + depth {shown(depth, unit)}: bit {shown(reach, unit)}"
    placing = told.get("placing")
    for sheet in placing if isinstance(placing, list) else ():
        if isinstance(sheet, dict) and str(sheet.get("sheet")) == number and isinstance(sheet.get("dowels"), list):
            yield _placed_by(sheet["dowels"])
    yield from _inside(plaque, told, unit)


def _placed_by(dowels: list[Any]) -> str:
    if not dowels:
        return "place by the centre lines"
    return f"place by dowel{'s' if len(dowels) > 1 else ''} {', '.join(map(str, dowels))}"


def _stencil_words(plaque: PlaqueFiles, told: Mapping[str, Any]) -> Iterator[str]:
    unit = Unit(plaque.job.output.settled_unit)
    sheet, register = _box(told.get("sheet_mm")), plaque.figures.get("register")
    marks = register.get("marks") if isinstance(register, dict) else None
    names = [str(mark.get("mark")) for mark in marks if isinstance(mark, dict)] if isinstance(marks, list) else []
    if names and (plaque.job.register.dowel or 0.0) > plaque.job.stencil.kerf:
        yield f"place by dowels {', '.join(names)}"
    if sheet is not None:
        size = f"{shown(sheet[2] - sheet[0], unit)} x {shown(sheet[3] - sheet[1], unit)}"
        yield f"{size}, webs {shown(plaque.job.stencil.web, unit)}"
    yield from _inside(plaque, told, unit)


def _inside(plaque: PlaqueFiles, told: Mapping[str, Any], unit: Unit) -> Iterator[str]:
    sheet, board = _box(told.get("sheet_mm")), _board(plaque)
    if sheet is not None:
        yield f"board {inside_edge((board[0] - sheet[0], board[1] - sheet[1]), unit)}"
