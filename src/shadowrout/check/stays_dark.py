"""Stays dark: pockets and V lines are deep enough for the sanding, and a file tells each depth everywhere alike."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import numpy as np

from shadowrout.check.drawing_file import MM, DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import NO_CARVE, Finding, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles

_ROUNDING_MM = 0.001
"""Above what decimals of heights and marks can set apart, in inches too."""
_STEP_MM = 0.0001
"""A step of the files' decimals: a line that ends in a point may end so much above it."""
_WIDTH_ROUNDING_MM = 0.002
"""Width and depth are rounded each; with a tool of 90 degrees the depth's share counts twice."""
_LENGTH_IN_NAME = re.compile(r"-(\d+)_(\d+)(mm|in)(?=-|$)", re.IGNORECASE)
"""A length in a layer's name, an underscore for its decimal point."""
_DEEPER = "raise the depth in the job file, or sand less, and make the plaque again"
_AGAIN = "make the plaque again; don't cut this file, its depths contradict each other"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the least depth that is left after the sanding, in mm, and what is too shallow, too deep or unclear."""
    findings = plaque.found(Promise.STAYS_DARK)
    sanding = plaque.job.finish.sanding_loss
    left = []
    for file in plaque.drawing("carve"):
        for shape in file.of_role("pocket", "cutter-path", "v-line"):
            depth = shape.marks.get("depth_mm")
            if depth is None:
                continue
            left.append(depth - sanding)
            judged = _v_line if role_of_layer(shape.layer) == "v-line" else _pocket
            for what, advice in [*judged(plaque, depth, shape), *_through(plaque, depth)]:
                findings.append(Finding(shape.place, f"{file.name}, layer {shape.layer}: {what}", advice))
    for file in plaque.drawings.values():
        findings += _contradictions(file)
    least = f"V lines > 0, pockets >= {plaque.job.finish.least_depth_left:g} mm"
    if not left:
        lacking = "nothing to cut" if any(plaque.drawing("carve")) else NO_CARVE
        return untested(Promise.STAYS_DARK, lacking, least, findings)
    return result(Promise.STAYS_DARK, min(left), least, findings)


def _pocket(plaque: PlaqueFiles, depth_mm: float, shape: Shape) -> Iterator[tuple[str, str]]:
    finish = plaque.job.finish
    left = depth_mm - finish.sanding_loss
    if left < finish.least_depth_left - _ROUNDING_MM:
        yield (
            f"a depth of {depth_mm:g} mm leaves {max(left, 0):.3f} mm after {finish.sanding_loss:g} mm of sanding; "
            f"{finish.least_depth_left:g} mm must be left",
            _DEEPER,
        )


def _v_line(plaque: PlaqueFiles, depth_mm: float, shape: Shape) -> Iterator[tuple[str, str]]:
    """Yield what is wrong with a V line, at the worst of its vertices where each has a depth of its own.

    w = 2 (d - s) tan(A/2) is left of a groove of included angle A after the sanding s. A line may end in a point,
    where just nothing is left.
    """
    sanding, tool = plaque.job.finish.sanding_loss, plaque.job.v_tool
    depths = np.array(shape.profile.get("depth_mm", (depth_mm,)))
    widths = 2 * (depths - sanding) * math.tan(math.radians(tool.angle) / 2)
    if depths.max() <= sanding or depths.min() < sanding - _STEP_MM:
        yield f"a V line {depths.min():g} mm deep is gone after {sanding:g} mm of sanding", _DEEPER
        return
    if depth_mm > tool.greatest_depth + _ROUNDING_MM:
        told = f"a V line is {depth_mm:g} mm deep, the V tool's greatest depth is {tool.greatest_depth:g} mm"
        yield told, "make the plaque again"
    given = shape.profile.get("width_mm", (shape.marks.get("width_mm", widths.max()),))
    if len(given) != len(widths):
        return
    worst = int(np.abs(widths - given).argmax())
    if abs(widths[worst] - given[worst]) > _WIDTH_ROUNDING_MM:
        yield (
            f"a V line {depths[worst]:g} mm deep is {widths[worst]:.3f} mm wide after sanding with a "
            f"{tool.angle:g} degree tool, but its width is given as {given[worst]:g} mm",
            _AGAIN,
        )


def _through(plaque: PlaqueFiles, depth_mm: float) -> Iterator[tuple[str, str]]:
    thickness = plaque.settings.thickness
    if depth_mm >= thickness:
        yield f"a depth of {depth_mm:g} mm goes through the board of {thickness:g} mm", "make the plaque again"


def _contradictions(file: DrawingFile) -> Iterator[Finding]:
    """Yield each shape whose layer name, marks and heights don't give one depth and one cutter."""
    for shape in file.shapes:
        for what in (*_name_against_marks(shape), *_height_against_mark(shape)):
            yield Finding(shape.place, f"{file.name}, layer {shape.layer}: {what}", _AGAIN)


def _name_against_marks(shape: Shape) -> Iterator[str]:
    for what, mark, named in zip(("deep", "across"), ("depth_mm", "cutter_mm"), _named_mm(shape.layer), strict=False):
        said = shape.marks.get(mark)
        if said is not None and abs(named[0] - said) > named[1]:
            yield f"the layer's name says {named[0]:.3f} mm {what}, the shape's mark {said:g} mm"


def _height_against_mark(shape: Shape) -> Iterator[str]:
    said = shape.marks.get("depth_mm")
    height = min(shape.heights_mm) if shape.heights_mm else shape.z_mm
    if height is not None and abs(-height - (said or 0.0)) > _ROUNDING_MM:
        mark = "has no depth mark" if said is None else f"its depth mark says {said:g} mm"
        yield f"a shape's elevation is {height:g} mm, {mark}"


def _named_mm(layer: str) -> list[tuple[float, float]]:
    """Return the depth and the cutter in a layer's name, each with how far its last decimal leaves it open, in mm.

    >>> _named_mm("pocket-3_00mm-6_00mm"), _named_mm("shadow")
    ([(3.0, 0.006), (6.0, 0.006)], [])
    """
    named = []
    for whole, decimals, unit in _LENGTH_IN_NAME.findall(layer):
        scale = MM[unit.lower()]
        named.append((float(f"{whole}.{decimals}") * scale, round(0.6 * 10.0 ** -len(decimals) * scale, 9)))
    return named
