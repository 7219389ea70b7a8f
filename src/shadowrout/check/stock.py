"""Stock: the sheets of several plaques on one drawing are the plaques' own, whole, and clear of each other.

Where each sheet lies is told by numbers.json and judged on the file: the shapes within a sheet's place must be those
of the plaque's own drawing, moved there, and the edges as drawn must keep the gap.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from shadowrout.check import agreement, complete, metadata, one_piece, soundness, true_size
from shadowrout.check.curve_samples import Curve, Points, sampled
from shadowrout.check.drawing_file import Box, DrawingFile, Shape
from shadowrout.check.findings import Finding, Promise, PromiseResult, result
from shadowrout.check.folder import Folder, PlaqueFiles, read_drawing
from shadowrout.check.verdict import PlaqueVerdict
from shadowrout.job.options import Plaque
from shadowrout.words.sentences import Mm, Sentence

KINDS = ("stencil", "template")
"""What is laid out on stock."""

LIMIT_MM = 0.001
"""As for the two files of a drawing: what lies further apart isn't rounding."""

_SLACK_MM = 0.0005
"""What rounding to the files' decimals and the sampling of arcs may take."""

_SAGITTA_MM = 0.0001
"""A tenth of the limit."""
_AGAIN = "make the job again"


@dataclass(frozen=True)
class Lying:
    """One sheet as numbers.json tells of it: whose it is, on which piece of stock, its box there, turned or not."""

    plaque: str
    drawing: str
    piece: int
    box: Box
    turned: bool

    @property
    def name(self) -> str:
        """The sheet's name for people."""
        return f"{self.plaque}/{self.drawing}"


def verdicts(out: Path, folder: Folder) -> Iterator[PlaqueVerdict]:
    """Yield a verdict for each kind of stock that the job asks for or numbers.json tells of."""
    told = folder.figures.get("stock")
    entries = {e.get("of"): e for e in told if isinstance(e, dict)} if isinstance(told, list) else {}
    for kind in KINDS:
        asked = getattr(folder.job.stock, kind) if kind in folder.job.output.files else None
        if asked is not None or kind in entries:
            yield PlaqueVerdict(f"{kind} stock", _results(out, folder, kind, entries.get(kind, {})))


def _results(out: Path, folder: Folder, kind: str, told: Mapping[str, Any]) -> tuple[PromiseResult, ...]:
    size, gap_mm = getattr(folder.job.stock, kind), folder.job.stock.gap
    stock = PlaqueFiles(out, folder.job, Plaque(name=f"{kind} stock", size=size), {}, {}, None, is_stock=True)
    sheets = _sheets(told)
    names = _names(told, kind, sheets)
    for name in names:
        if (out / name).is_file() and Path(name).suffix in (".svg", ".dxf"):
            stock.drawings[name] = read_drawing(out / name)
    return (
        _complete(out, stock, names),
        _figures(folder, kind, told, sheets),
        *(
            (
                _faithful(out, stock, sheets),
                _apart(stock, sheets, gap_mm),
                one_piece.check(_alone(stock, sheets)),
                soundness.check(stock),
                true_size.check(stock),
                agreement.check(stock),
                metadata.check(stock),
            )
            if stock.drawings
            else ()
        ),
    )


def _names(told: Mapping[str, Any], kind: str, sheets: Sequence[Lying]) -> list[str]:
    """Return the files that numbers.json lists, and those of every piece that a sheet lies on, each once."""
    files = told.get("files")
    listed = [f for f in files if isinstance(f, str) and Path(f).name == f] if isinstance(files, list) else []
    pieces = sorted({sheet.piece for sheet in sheets})
    needed = [f"{kind}-stock-{piece}{ending}" for piece in pieces for ending in (".svg", ".dxf")]
    return list(dict.fromkeys([*listed, *needed]))


def _sheets(told: Mapping[str, Any]) -> list[Lying]:
    """Return the sheets that numbers.json tells of; what can't be used is left out, and found missing later."""
    sheets = told.get("sheets")
    found = []
    for sheet in sheets if isinstance(sheets, list) else ():
        try:
            (x, y), (width, height) = map(float, sheet["place_mm"]), map(float, sheet["size_mm"])
            width, height = (height, width) if sheet["turned"] else (width, height)
            box = (x, y, x + width, y + height)
            names = str(sheet["plaque"]), str(sheet["drawing"])
            found.append(Lying(*names, int(sheet["piece"]), box, bool(sheet["turned"])))
        except (KeyError, TypeError, ValueError):
            continue
    return found


def _complete(out: Path, stock: PlaqueFiles, names: Sequence[str]) -> PromiseResult:
    findings = stock.found(Promise.COMPLETE)
    for name in names:
        findings += [Finding(None, f"{name}: {what}", _AGAIN) for what in complete.faults_of(out / name, stock)]
    faulty = {finding.file for finding in findings}
    whole = sum(name not in faulty for name in names)
    return result(Promise.COMPLETE, f"{whole} of {len(names)} files whole", "all, whole", findings)


def _figures(folder: Folder, kind: str, told: Mapping[str, Any], sheets: Sequence[Lying]) -> PromiseResult:
    """Return whether numbers.json tells of every sheet that was made, once, on stock as asked for."""
    findings = []
    for what, said, asked in (
        ("the size", told.get("size_mm"), list(getattr(folder.job.stock, kind) or ())),
        ("the gap", told.get("gap_mm"), folder.job.stock.gap),
    ):
        if said != asked:
            findings.append(
                Finding(None, f"{what} of the stock is {said} in numbers.json, {asked} in job.toml", _AGAIN)
            )
    wanted = sorted(_made_sheets(folder, kind))
    listed = sorted(sheet.name for sheet in sheets)
    if wanted != listed:
        what = f"the stock holds {', '.join(listed) or 'nothing'}, the plaques have {', '.join(wanted) or 'nothing'}"
        findings.append(Finding(None, what, _AGAIN))
    return result(Promise.FIGURES, f"{len(listed)} of {len(wanted)} sheets", "every sheet, once", findings)


def _made_sheets(folder: Folder, kind: str) -> Iterator[str]:
    """Yield the names of the sheets that the plaques' own files hold."""
    for plaque in folder.job.plaques:
        files = folder.plaque_figures(str(plaque.name)).get("files")
        for file in files if isinstance(files, list) else ():
            stem, _, ending = str(file).partition(".")
            if ending == "svg" and stem.partition("-")[0] == kind:
                yield f"{plaque.name}/{stem}"


def _faithful(out: Path, stock: PlaqueFiles, sheets: Sequence[Lying]) -> PromiseResult:
    """Return the largest distance of a shape on the stock from the same one of the plaque's drawing, in mm."""
    worst, findings = 0.0, stock.found(Promise.FAITHFUL)
    for file in stock.drawings.values():
        every = {shape for sheet in _on(file, sheets) for shape in _shapes_in(file, sheet)}
        for shape in file.shapes:
            if shape not in every:
                findings.append(Finding(shape.place, f"{file.name}: a shape lies on no sheet", _AGAIN))
        for sheet in _on(file, sheets):
            own = out / sheet.plaque / f"{sheet.drawing}{Path(file.name).suffix}"
            off, found = _held_against(file, sheet, own)
            worst, findings = max(worst, off), findings + found
    return result(Promise.FAITHFUL, worst, LIMIT_MM, findings)


def _held_against(file: DrawingFile, sheet: Lying, own: Path) -> tuple[float, list[Finding]]:
    """Return how far a sheet's shapes are from those of the plaque's own file, moved to the sheet's place."""
    if not own.is_file():
        return 0.0, [Finding(None, f"{file.name}: {sheet.name} has no {own.name} to be held against", _AGAIN)]
    drawn = read_drawing(own)
    if drawn.page_mm is None:
        return 0.0, [Finding(None, f"{file.name}: {sheet.name}'s own {own.name} has no page", _AGAIN)]
    moved = [_moved(shape, drawn.page_mm, sheet) for shape in drawn.shapes]
    worst, findings = 0.0, []
    here = agreement.by_layer(replace(drawn, shapes=_shapes_in(file, sheet)))
    there = agreement.by_layer(replace(drawn, shapes=moved))
    for layer in sorted(here.keys() | there.keys()):
        pairs, alone = agreement.paired(here.get(layer, []), there.get(layer, []))
        for (a, b), (off, place) in zip(pairs, agreement.apart(pairs), strict=True):
            worst = max(worst, off)
            if off > LIMIT_MM or a.text != b.text or a.marks != b.marks:
                told = Sentence("a shape isn't as {sheet} has it ({off:.4f mm} off)", sheet=sheet.name, off=Mm(off))
                findings.append(Finding(place, told, _AGAIN).within(f"{file.name}, layer {layer}"))
        for shape, _ in alone:
            what = f"{file.name}, layer {layer}: {sheet.name} and the stock don't have the same shapes"
            findings.append(Finding(shape.place, what, _AGAIN))
    return worst, findings


def _apart(stock: PlaqueFiles, sheets: Sequence[Lying], gap_mm: float) -> PromiseResult:
    """Return the least distance between two sheets' edges as drawn, or an edge and the stock's, in mm."""
    least, findings = np.inf, []
    for file in stock.drawings.values():
        areas = [(sheet, _area(file, sheet)) for sheet in _on(file, sheets)]
        rim = None if file.page_mm is None else shapely.box(*file.page_mm).exterior
        near = [(f"{a.name} and {b.name}", p.distance(q), p) for (a, p), (b, q) in itertools.combinations(areas, 2)]
        near += [(f"{a.name} and the stock's edge", float(p.distance(rim)), p) for a, p in areas if rim is not None]
        for what, distance, area in near:
            least = min(least, distance)
            if distance < gap_mm - _SLACK_MM:
                place = (area.bounds[0], area.bounds[1]) if not area.is_empty else None
                told = Sentence(
                    "{what} are {distance:.3f mm} apart, {gap:g mm} are asked for",
                    what=what,
                    distance=Mm(distance),
                    gap=Mm(gap_mm),
                )
                findings.append(Finding(place, told, _AGAIN).within(file.name))
    limit = Sentence("{gap:g mm}", gap=Mm(gap_mm))
    return result(Promise.APART, float(least) if np.isfinite(least) else "no sheets", limit, findings)


def _area(file: DrawingFile, sheet: Lying) -> shapely.Polygon:
    """Return the box of a sheet's edge as drawn; empty where there is none."""
    edges = replace(file, shapes=_shapes_in(file, sheet)).curves("sheet-edge")
    if not edges:
        return shapely.Polygon()
    points = sampled(edges, sagitta_mm=_SAGITTA_MM).points
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return shapely.Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _alone(stock: PlaqueFiles, sheets: Sequence[Lying]) -> PlaqueFiles:
    """Return each sheet of each file as a drawing of its own."""
    alone = {}
    for file in stock.drawings.values():
        for sheet in _on(file, sheets):
            name = f"{file.name} {sheet.name}"
            alone[name] = replace(file, name=name, shapes=_shapes_in(file, sheet), faults=[])
    return replace(stock, drawings=alone)


def _on(file: DrawingFile, sheets: Sequence[Lying]) -> list[Lying]:
    """Return the sheets that a file's piece of stock holds: its number ends the file's name."""
    piece = file.name.partition(".")[0].rpartition("-")[2]
    return [sheet for sheet in sheets if str(sheet.piece) == piece]


def _shapes_in(file: DrawingFile, sheet: Lying) -> list[Shape]:
    """Return the shapes that lie within a sheet's place: curves with all of them, texts with their own place."""
    x0, y0, x1, y1 = sheet.box
    found = []
    for shape in file.shapes:
        points = np.array([shape.at]) if shape.curve is None else shape.curve.vertices
        low, high = points.min(axis=0), points.max(axis=0)
        if (
            x0 - LIMIT_MM <= low[0]
            and y0 - LIMIT_MM <= low[1]
            and high[0] <= x1 + LIMIT_MM
            and high[1] <= y1 + LIMIT_MM
        ):
            found.append(shape)
    return found


def _moved(shape: Shape, page: Box, sheet: Lying) -> Shape:
    """Return a shape of a plaque's drawing as it must lie on the stock: turned counter-clockwise first, if turned."""
    if shape.curve is None:
        (at,) = _places(np.array([shape.at]), page, sheet)
        return replace(shape, at=(float(at[0]), float(at[1])))
    curve, vertices = shape.curve, _places(shape.curve.vertices, page, sheet)
    if len(vertices) == 2 and (curve.bulges == 1).all():
        # A circle is read as two half turns side by side, whichever way it was turned.
        middle, half = vertices.mean(axis=0), np.hypot(*(vertices[1] - vertices[0])) / 2
        vertices = middle + np.array([[half, 0.0], [-half, 0.0]])
    return replace(shape, curve=Curve(vertices, curve.bulges, curve.closed))


def _places(points: Points, page: Box, sheet: Lying) -> Points:
    x, y = points[:, 0] - page[0], points[:, 1] - page[1]
    if sheet.turned:
        x, y = page[3] - page[1] - y, x
    return np.column_stack([sheet.box[0] + x, sheet.box[1] + y])
