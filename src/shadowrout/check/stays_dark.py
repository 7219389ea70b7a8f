"""Stays dark: all of the shadow is cut, deep enough for the sanding, and a file tells each depth everywhere alike."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

import numpy as np

from shadowrout.check import flow_grooves, pocket_walls
from shadowrout.check.drawing_file import MM, DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import NO_CARVE, Finding, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.told_values import numbers_of
from shadowrout.check.uncut import cut_alike, uncut_of
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.001
"""Above what decimals of heights and marks can set apart, in inches too."""
_STEP_MM = 0.0001
"""A step of the files' decimals: a line that ends in a point may end so much above it."""
_WIDTH_ROUNDING_MM = 0.002
"""Width and depth are rounded each; with a tool of 90 degrees the depth's share counts twice."""
_LENGTH_IN_NAME = re.compile(r"-(\d+)_(\d+)(mm|in)(?=-|$)", re.IGNORECASE)
"""A length in a layer's name, an underscore for its decimal point."""
_LEAST_FLOOR_MM, _FLOOR_SHARE = 3.0, 1 / 3
"""Wood left under every cut: as much as job files are refused for leaving less of (common practice, no source)."""
_FURTHEST_MM, _FURTHER_SHARE = 1.0, 2.0
"""And a share of the tolerance: corners and ends of strokes are left up to 0.8 mm from a cut, 0.9 mm at a tolerance of
1 mm, on the hundred plaques that docs/performance.md tells of; 1.56 mm with a tool of 150 degrees at 0.5 mm."""
_UNCUT_MM2, _UNCUT_SHARE = 0.6, 0.4
"""What two rasters of a tenth of a millimetre may make of one area: a few pixels beside each of its many slivers; 1.3
times of it was seen on a board of a thousand corners."""
_LEFT = "make the plaque again; don't cut this file, it leaves shadow uncut"
_DEEPER = "raise the depth in the job file, or sand less, and make the plaque again"
_AGAIN = "make the plaque again; don't cut this file, its depths contradict each other"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the least depth left after the sanding and the share of the shadow left uncut, and what is wrong there."""
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
        findings += [finding.within(file.name) for finding in _of_wood(plaque, file)]
    for file in plaque.drawings.values():
        findings += _contradictions(file)
    least = Sentence("V lines > 0, pockets >= {depth:g mm}", depth=Mm(plaque.job.finish.least_depth_left))
    if not left:
        lacking = "nothing to cut" if any(plaque.drawing("carve")) else NO_CARVE
        return untested(Promise.STAYS_DARK, lacking, least, findings)
    uncut, found = _uncut(plaque)
    told = numbers_of(plaque.figures, "uncut_share")
    limit = Sentence("{least}, {told} uncut as told", least=least, told=_percent(told[0] if told else 0.0))
    measured = Sentence("{left:.4g mm} left, {uncut} uncut", left=Mm(min(left)), uncut=_percent(uncut))
    return result(Promise.STAYS_DARK, measured, limit, findings + found)


def _uncut(plaque: PlaqueFiles) -> tuple[float, list[Finding]]:
    """Return the largest share of the shadow that a file leaves uncut, and where too much of it is."""
    worst, findings = 0.0, []
    told = numbers_of(plaque.figures, "uncut_mm2")
    for names, file in cut_alike(plaque):
        uncut = uncut_of(plaque, file)
        if uncut is None:
            continue
        worst = max(worst, uncut.share)
        found = [
            Finding(place, Sentence("shadow {away:.2f mm} from every cut stays light", away=Mm(away)), _LEFT)
            for place, away in uncut.far_from_cuts(_FURTHEST_MM + _FURTHER_SHARE * plaque.tolerance_mm)
        ]
        if told and uncut.area_mm2 > told[0] + _UNCUT_MM2 + _UNCUT_SHARE * told[0]:
            what = Sentence(
                "{area} of the shadow lie away from every cut and stay light, numbers.json tells of {told}",
                area=_area(uncut.area_mm2),
                told=_area(told[0]),
            )
            found.append(Finding(None, what, _LEFT))
        findings += [finding.within(names) for finding in found]
    return worst, findings


def _area(area_mm2: float) -> Sentence:
    return Sentence("{area:.1f mm}", area=Mm.area(area_mm2))


def _percent(share: float) -> str:
    return f"{share:.2%}".replace("%", " %")


def _of_wood(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding]:
    yield from pocket_walls.at_another_depth(file)
    yield from flow_grooves.at_wrong_depths(plaque, file)
    for shape in file.of_role("flow-line"):
        for what, advice in _through(plaque, shape.marks.get("depth_mm", 0.0)):
            yield Finding(shape.place, what, advice)


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
    floor = max(_LEAST_FLOOR_MM, _FLOOR_SHARE * thickness)
    depth, board = Mm(depth_mm), Mm(thickness)
    if depth_mm >= thickness:
        told = Sentence("a depth of {depth:g mm} goes through the board of {board:g mm}", depth=depth, board=board)
        yield told, "make the plaque again"
    elif depth_mm > thickness - floor + _ROUNDING_MM:
        told = Sentence(
            "a depth of {depth:g mm} leaves {left:.3g mm} of the board of {board:g mm}; {floor:.3g mm} must be left",
            depth=depth,
            left=Mm(thickness - depth_mm),
            board=board,
            floor=Mm(floor),
        )
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
