"""Template openings: each sheet's are those that were planned, and all sheets together clear what numbers.json tells.

The bush is rolled over the written openings as pixels. What the bit clears is bounded from both sides, since a bush in
a channel of just its own width passes or sticks by a hair: once the bush is taken a little larger, once smaller.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, sampled
from shadowrout.check.drawing_file import Box, DrawingFile
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

_PIXEL_MM = 0.1
"""The usual tolerance."""
_MOST_PIXELS = 16_000_000
"""16 MB for a mask of bytes; a larger sheet gets larger pixels."""
_SAGITTA_MM = 0.002
"""A fiftieth of a pixel."""
_EDGE_PX = 0.5
"""The last pixel's middle within an edge lies half a pixel from it on average."""
_DOUBT_PX = 0.7
"""Half a pixel's diagonal: so much more or less may a pixel's middle be from an edge."""
_BOX_SLACK_MM = 0.01
"""The two outlines' flattening, beside the tolerance within which an opening is drawn."""
_EDGE_SHARE = 0.6
"""Of the tolerance, what a drawn outline lies in or out of the planned one on average at most: lines and arcs that are
fitted cross it over and over. The worst seen on 30 templates is 0.4."""
_LEAST_SLACK_MM2 = 0.5
"""The tenths of a square millimetre of figures, and the smallest openings."""
_CLEARED_SHARE, _CLEARED_SLACK_MM2 = 0.02, 4.0
"""What pixels and fitted lines change of all that is cleared, and besides: half as much again as the worst that was
seen on 30 templates."""
_ADVICE = "don't cut this file; make the plaque again"

Mask = NDArray[np.bool_]


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield what is wrong with a template's openings, each with the promise that it breaks; none without one."""
    told = plaque.figures.get("template")
    sheets = _sheets(plaque)
    if not isinstance(told, dict) or not sheets:
        return
    planned = _planned(told)
    for number, files in sorted(sheets.items()):
        for names, file in drawn_alike(files, "opening"):
            rings = [curve for curve in file.curves("opening") if curve.closed]
            for finding in _strangers(rings, planned[number], plaque.tolerance_mm):
                yield Promise.FAITHFUL, finding.within(names)
    for names, files in _whole_sets(sheets):
        for what in _wrongly_cleared(plaque, files, told):
            yield Promise.FIGURES, Finding(None, what, _ADVICE).within(names)


def _sheets(plaque: PlaqueFiles) -> dict[int, list[DrawingFile]]:
    """Return the SVG and the DXF of each sheet, counted from 1."""
    found = defaultdict(list)
    for name, file in plaque.drawings.items():
        kind, _, number = name.partition(".")[0].partition("-")
        if kind == "template":
            found[int(number) if number else 1].append(file)
    return {number: sorted(files, key=lambda file: file.is_dxf) for number, files in found.items()}


def _whole_sets(sheets: Mapping[int, list[DrawingFile]]) -> Iterator[tuple[str, list[DrawingFile]]]:
    """Yield the sheets of one format together with what to call them; both formats as one where they draw the same."""
    first, last = sorted(sheets)[0], sorted(sheets)[-1]
    formats = [[f for files in sheets.values() for f in files if f.is_dxf == dxf] for dxf in (False, True)]
    alike = all(len(drawn_alike(files, "opening")) == 1 for files in sheets.values())
    for files in formats[:1] if alike else formats:
        if files:
            ending = "dxf" if files[0].is_dxf else "svg"
            further = f" to template-{last}.{ending}" if last > first else ""
            yield f"template.{ending}{further}", files


def _planned(told: Mapping[str, Any]) -> defaultdict[int, list[tuple[Box, float]]]:
    """Return the box and the area of each opening by its sheet, as far as numbers.json tells them."""
    found: defaultdict[int, list[tuple[Box, float]]] = defaultdict(list)
    listed = told.get("openings")
    for opening in listed if isinstance(listed, list) else ():
        try:
            x0, y0, x1, y1 = map(float, opening["box_mm"])
            found[int(opening["sheet"])].append(((x0, y0, x1, y1), float(opening["area_mm2"])))
        except (KeyError, TypeError, ValueError, OverflowError):
            continue
    return found


def _strangers(rings: Sequence[Curve], planned: list[tuple[Box, float]], tolerance_mm: float) -> Iterator[Finding]:
    """Yield the drawn openings that none was planned like, and the planned ones that aren't drawn."""
    left = list(planned)
    for ring in rings:
        points = sampled([ring], sagitta_mm=_SAGITTA_MM).points
        box = (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())
        x, y = points.T
        area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
        slack_mm2 = _LEAST_SLACK_MM2 + _EDGE_SHARE * tolerance_mm * ring.length_mm
        offs = [(_apart(box, other), abs(area - told), i) for i, (other, told) in enumerate(left)]
        off, more, nearest = min(offs, default=(np.inf, np.inf, -1))
        if off <= tolerance_mm + _BOX_SLACK_MM and more <= slack_mm2:
            left.pop(nearest)
            continue
        told = Sentence("an opening of {area:.1f mm} isn't where or as large as one was planned", area=Mm.area(area))
        yield Finding(ring.start, told, _ADVICE)
    for box, area in left:
        told = Sentence("the opening of {area:.1f mm} that was planned here is missing", area=Mm.area(area))
        yield Finding(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), told, _ADVICE)


def _apart(box: Sequence[float], other: Sequence[float]) -> float:
    return max(abs(a - b) for a, b in zip(box, other, strict=True))


def _wrongly_cleared(plaque: PlaqueFiles, files: Sequence[DrawingFile], told: Mapping[str, Any]) -> Iterator[Sentence]:
    """Yield where what the bit clears with all sheets isn't what numbers.json tells of."""
    said = told.get("cleared_mm2")
    if not isinstance(said, (int, float)):
        yield Sentence("numbers.json doesn't tell what the bit clears")
        return
    rings = [curve for file in files for curve in file.curves("opening") if curve.closed]
    points = sampled(rings, sagitta_mm=_SAGITTA_MM).points if rings else np.zeros((1, 2))
    box = (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())
    raster = Raster.over((box[0], box[1], box[2], box[3]), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=1.0)
    least, most = (_cleared_mm2(plaque, files, raster, doubt) for doubt in (1, -1))
    slack = _CLEARED_SLACK_MM2 + _CLEARED_SHARE * said
    if most < said - slack or least > said + slack:
        yield Sentence(
            "with all its sheets the bit clears {there:.1f mm}, numbers.json tells of {said:.1f mm}",
            there=Mm.area(most if most < said else least),
            said=Mm.area(said),
        )


def _cleared_mm2(plaque: PlaqueFiles, files: Sequence[DrawingFile], raster: Raster, doubt: int) -> float:
    """Return what the bit clears, in mm2, by a bush and a bit that are both larger by a little, or smaller."""
    asked = plaque.job.template
    more = _EDGE_PX + doubt * (plaque.tolerance_mm / raster.pixel_mm + _DOUBT_PX)
    bush, bit = (diameter / 2 / raster.pixel_mm + more for diameter in (asked.bush, asked.bit))
    cleared = np.zeros((raster.rows, raster.columns), dtype=bool)
    for file in files:
        rings = [curve for curve in file.curves("opening") if curve.closed]
        if rings:
            opened = raster.enclosed(sampled(rings, sagitta_mm=_SAGITTA_MM))
            cleared |= distance_px(distance_px(~opened) >= bush) <= bit
    return float(cleared.sum()) * raster.pixel_mm**2
