"""Stays dark: pockets and V lines are deep enough for the sanding, and a file tells each depth everywhere alike."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import numpy as np

from shadowrout.check.drawing_file import MM, DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import NO_CARVE, Finding, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

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
                findings.append(Finding(shape.place, what, advice).within(f"{file.name}, layer {shape.layer}"))
    for file in plaque.drawings.values():
        findings += _contradictions(file)
    least = Sentence("V lines > 0, pockets >= {depth:g mm}", depth=Mm(plaque.job.finish.least_depth_left))
    if not left:
        lacking = "nothing to cut" if any(plaque.drawing("carve")) else NO_CARVE
        return untested(Promise.STAYS_DARK, lacking, least, findings)
    return result(Promise.STAYS_DARK, min(left), least, findings)


def _pocket(plaque: PlaqueFiles, depth_mm: float, shape: Shape) -> Iterator[tuple[Sentence, str]]:
    finish = plaque.job.finish
    left = depth_mm - finish.sanding_loss
    if left < finish.least_depth_left - _ROUNDING_MM:
        told = Sentence(
            "a depth of {depth:g mm} leaves {left:.3f mm} after {loss:g mm} of sanding; {needed:g mm} must be left",
            depth=Mm(depth_mm),
            left=Mm(max(left, 0)),
            loss=Mm(finish.sanding_loss),
            needed=Mm(finish.least_depth_left),
        )
        yield told, _DEEPER


def _v_line(plaque: PlaqueFiles, depth_mm: float, shape: Shape) -> Iterator[tuple[Sentence, str]]:
    """Yield what is wrong with a V line, at the worst of its vertices where each has a depth of its own.

    w = 2 (d - s) tan(A/2) is left of a groove of included angle A after the sanding s. A line may end in a point,
    where just nothing is left.
    """
    sanding, tool = plaque.job.finish.sanding_loss, plaque.job.v_tool
    depths = np.array(shape.profile.get("depth_mm", (depth_mm,)))
    widths = 2 * (depths - sanding) * math.tan(math.radians(tool.angle) / 2)
    if depths.max() <= sanding or depths.min() < sanding - _STEP_MM:
        depth, loss = Mm(depths.min()), Mm(sanding)
        told = Sentence("a V line {depth:g mm} deep is gone after {loss:g mm} of sanding", depth=depth, loss=loss)
        yield told, _DEEPER
        return
    if depth_mm > tool.greatest_depth + _ROUNDING_MM:
        told = Sentence(
            "a V line is {depth:g mm} deep, the V tool's greatest depth is {greatest:g mm}",
            depth=Mm(depth_mm),
            greatest=Mm(tool.greatest_depth),
        )
        yield told, "make the plaque again"
    given = shape.profile.get("width_mm", (shape.marks.get("width_mm", widths.max()),))
    if len(given) != len(widths):
        return
    worst = int(np.abs(widths - given).argmax())
    if abs(widths[worst] - given[worst]) > _WIDTH_ROUNDING_MM:
        told = Sentence(
            "a V line {depth:g mm} deep is {width:.3f mm} wide after sanding with a {angle:g} degree tool, but its "
            "width is given as {given:g mm}",
            depth=Mm(depths[worst]),
            width=Mm(widths[worst]),
            angle=tool.angle,
            given=Mm(given[worst]),
        )
        yield told, _AGAIN


def _through(plaque: PlaqueFiles, depth_mm: float) -> Iterator[tuple[Sentence, str]]:
    thickness = plaque.settings.thickness
    if depth_mm >= thickness:
        depth, board = Mm(depth_mm), Mm(thickness)
        told = Sentence("a depth of {depth:g mm} goes through the board of {board:g mm}", depth=depth, board=board)
        yield told, "make the plaque again"


def _contradictions(file: DrawingFile) -> Iterator[Finding]:
    """Yield each shape whose layer name, marks and heights don't give one depth and one cutter."""
    for shape in file.shapes:
        for what in (*_name_against_marks(shape), *_height_against_mark(shape)):
            yield Finding(shape.place, what, _AGAIN).within(f"{file.name}, layer {shape.layer}")


def _name_against_marks(shape: Shape) -> Iterator[Sentence]:
    for what, mark, named in zip(("deep", "across"), ("depth_mm", "cutter_mm"), _named_mm(shape.layer), strict=False):
        said = shape.marks.get(mark)
        if said is not None and abs(named[0] - said) > named[1]:
            yield Sentence(
                "the layer's name says {named:.3f mm} {what}, the shape's mark {said:g mm}",
                named=Mm(named[0]),
                what=what,
                said=Mm(said),
            )


def _height_against_mark(shape: Shape) -> Iterator[Sentence]:
    said = shape.marks.get("depth_mm")
    height = min(shape.heights_mm) if shape.heights_mm else shape.z_mm
    if height is not None and abs(-height - (said or 0.0)) > _ROUNDING_MM:
        mark: str | Sentence = "has no depth mark"
        if said is not None:
            mark = Sentence("its depth mark says {said:g mm}", said=Mm(said))
        yield Sentence("a shape's elevation is {height:g mm}, {mark}", height=Mm(height), mark=mark)


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
