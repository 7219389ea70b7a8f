"""True size: each file says its unit, and read by it has the size asked for, to 0.001 mm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, pieces_of, sampled
from shadowrout.check.drawing_file import Box, DrawingFile
from shadowrout.check.findings import Finding, Promise, PromiseResult, result
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

LIMIT_MM = 0.001
"""The promise: true to 0.001 mm, ten steps of the files' decimals."""

_SLACK_MM = 1e-6
"""What the last bits of floating-point sums may add: a thousandth of the limit."""
_SAGITTA_MM = 0.00001
"""A hundredth of the limit, for arcs that make the outline's furthest points."""
_SIDES = ("left side", "lower side", "right side", "upper side")
_OUTLINES = {"plaque-edge": "the plaque's edge", "sheet-edge": "the sheet's edge"}
_ADVICE = "make the plaque again; don't scale the file in another program"
_RESTORE = "make the plaque again; don't cut the board out by this file"
_DENT_MM = 0.005
"""A dent of less than this all round is none; rounding and flattened arcs are a hundredth of it."""


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return how far any page, board outline or sheet's edge is from the size asked for, in mm."""
    findings = plaque.found(Promise.TRUE_SIZE)
    worst = 0.0
    for file in plaque.drawings.values():
        findings += [Finding(None, what, _ADVICE).within(file.name) for what in _unit_faults(file, plaque)]
        findings += [*_off_page(file, plaque.tolerance_mm), *_dented(file)]
    for file in plaque.drawings.values():
        off, found = _size_faults(file, plaque)
        worst, findings = max(worst, off), findings + found
    return result(Promise.TRUE_SIZE, worst, LIMIT_MM, findings)


def _size_faults(file: DrawingFile, plaque: PlaqueFiles) -> tuple[float, list[Finding]]:
    """Return how far the page and the outline on it are off the size asked for, in mm, and what to say of it."""
    asked, outline = _asked(file, plaque)
    worst, findings = 0.0, list[Finding]()
    if asked is None:
        return worst, findings
    pages = [("the page", file.page_mm)]
    if outline and file.curves(outline):
        pages.append((_OUTLINES[outline], _box(file.curves(outline))))
    for what, box in pages:
        if box is None:
            continue
        off, side = _furthest(box, asked)
        worst = max(worst, off)
        if off > LIMIT_MM + _SLACK_MM:
            told = Sentence(
                "{what} is {size:.3f mm}, {asked:g mm} was asked for; its {side} is {off:.3f mm} off",
                what=what,
                size=_size(box),
                asked=_size(asked),
                side=side,
                off=Mm(off),
            )
            findings.append(Finding((box[0], box[1]), told, _ADVICE).within(file.name))
    return worst, findings


def _asked(file: DrawingFile, plaque: PlaqueFiles) -> tuple[Box | None, str]:
    """Return the box that a drawing's page must be, and the role of the outline that must fill it, if one must.

    A stencil's and a template's sheet stands in the figures, a piece of stock is the size of ``plaque.settings``.
    """
    stem = file.name.partition(".")[0].partition("-")[0]
    if plaque.is_stock:
        width, height = plaque.settings.size or (0.0, 0.0)
        return (0.0, 0.0, width, height), ""
    if stem == "carve":
        return _board(plaque), "plaque-edge"
    told = plaque.figures.get(stem)
    sheet = told.get("sheet_mm") if isinstance(told, dict) else None
    if not isinstance(sheet, list) or len(sheet) != 4 or not all(isinstance(side, (int, float)) for side in sheet):
        return None, ""
    x0, y0, x1, y1 = map(float, sheet)
    return (x0, y0, x1, y1), "sheet-edge"


def _board(plaque: PlaqueFiles) -> Box:
    width, height = plaque.settings.size or (0.0, 0.0)
    if plaque.job.output.origin == "centre":
        return -width / 2, -height / 2, width / 2, height / 2
    return 0.0, 0.0, width, height


def _unit_faults(file: DrawingFile, plaque: PlaqueFiles) -> Iterator[str]:
    asked = plaque.job.output.unit
    if not file.shapes:
        return
    if file.unit != asked:
        yield f"its unit is {file.unit}, the job asks for {asked}"
    if file.unit_said != file.unit:
        yield f"its own note says the unit is {file.unit_said or 'nothing'}, its head says {file.unit}"
    if file.is_dxf and file.version != plaque.job.output.dxf:
        yield f"it is DXF {file.version}, the job asks for {plaque.job.output.dxf}"


def _dented(file: DrawingFile) -> Iterator[Finding]:
    """Yield where the board's outline is dented or slit: every board bulges outwards all round."""
    for curve in file.curves("plaque-edge"):
        points = sampled([curve], sagitta_mm=_SAGITTA_MM).points
        around = float(np.hypot(*np.diff(np.vstack([points, points[:1]]), axis=0).T).sum())
        hull = shapely.MultiPoint(points).convex_hull
        if around - hull.length > _DENT_MM:
            more = Mm(float(around - hull.length))
            what = Sentence("the board's edge is {more:.3f mm} longer than an edge without dents", more=more)
            yield Finding(curve.start, what, _RESTORE).within(file.name)


def _off_page(file: DrawingFile, tolerance_mm: float) -> Iterator[Finding]:
    """Yield a finding where a curve reaches past the page: an edge at all, another by more than the tolerance.

    A design that ends at the board's edge may be drawn that far past it.
    """
    yield from _past_the_page(file, file.curves("plaque-edge", "sheet-edge"), LIMIT_MM)
    inner = file.curves("shadow", "pocket", "cutter-path", "v-line", "opening")
    yield from _past_the_page(file, inner, LIMIT_MM + tolerance_mm)


def _past_the_page(file: DrawingFile, curves: list[Curve], limit_mm: float) -> Iterator[Finding]:
    if file.page_mm is None or not curves:
        return
    starts, ends, bulges, _ = pieces_of(curves)
    # An arc keeps within |b| c / 2 of its chord, and that reaches no further out than its ends.
    rises = np.abs(bulges * (ends - starts)) / 2
    if (np.maximum(_past(starts, file.page_mm), _past(ends, file.page_mm)) + rises).max() <= limit_mm:
        return
    points = sampled(curves, sagitta_mm=_SAGITTA_MM * 10).points
    past = _past(points[:, 0] + 1j * points[:, 1], file.page_mm)
    index = int(past.argmax())
    if past[index] > limit_mm + _SLACK_MM:
        place = (float(points[index, 0]), float(points[index, 1]))
        told = Sentence("a path reaches {past:.3f mm} past the page", past=Mm(past[index]))
        yield Finding(place, told, _ADVICE).within(file.name)


def _past(places: NDArray[np.complex128], page_mm: Box) -> NDArray[np.float64]:
    """Return how far each place, x + iy, lies past the page's sides; negative inside."""
    x0, y0, x1, y1 = page_mm
    x, y = places.real, places.imag
    past: NDArray[np.float64] = np.maximum.reduce([x0 - x, x - x1, y0 - y, y - y1])
    return past


def _box(curves: list[Curve]) -> Box:
    points = sampled(curves, sagitta_mm=_SAGITTA_MM).points
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _furthest(box: Box, board: Box) -> tuple[float, str]:
    """Return how far the worst side is off, and which that is."""
    offs = [abs(a - b) for a, b in zip(box, board, strict=True)]
    worst = int(np.argmax(offs))
    return offs[worst], _SIDES[worst]


def _size(box: Box) -> Mm:
    return Mm.size(box[2] - box[0], box[3] - box[1])
