"""Figures of numbers.json against the carve drawings: areas, lengths, depths, counts and places, as drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from shadowrout.check.curve_areas import EnclosedPart, circles_of, enclosed_mm2, parts_of
from shadowrout.check.curve_samples import Curve, sampled
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.numbers_table import NumbersTable
from shadowrout.check.same_curves import drawn_alike
from shadowrout.check.stroke_depths import StrokePieces
from shadowrout.check.told_against import FINE_MM, Row, area, length, number, within
from shadowrout.words.sentences import Mm, Sentence

_ROLES = ("plaque-edge", "shadow", "pocket", "cutter-path", "v-line", "flow-line", "fragile-light", "register")
_ROUND_SHARE = 0.002
"""What fitting lines and arcs within the tolerance, and rasters that measure areas, may take of a figure."""
_TENTH = 0.06
_AREA_SHARE = 0.005
_WALL_SHARE = 0.5
"""How far all of a wall may have been fitted to one side, as a share of the tolerance; 0.16 was measured."""
_SHARE = 0.003
"""What fitting within the tolerance may change of a share, measured on the design before it."""
_OUTLINE_SHARE = 0.15
"""How far all outlines may have been fitted to one side, as a share of the tolerance; 0.06 was measured."""
_DEPTH_MM = 0.06
"""A V line's depth is drawn within 0.05 mm of the planned one (docs/files.md)."""
_SANDED_SHARE = 0.02
_FLAT_SHARE = 0.1
"""Pieces of smooth outlines that may be arcs by their figures and lines in the file; 0.02 was measured."""
_NEAR_MM = 1.0
"""How far a place told to a tenth may lie from its line: half way along it is found on the line before fitting."""


def compared(plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield for each figure that can be measured in the carve drawings what is wrong with it, or nothing."""
    files = [file for file in plaque.drawing("carve") if file.shapes]
    for names, file in drawn_alike(files, *_ROLES):
        yield from _board(names, file, plaque, numbers)
        yield from _shadows(names, file, plaque, numbers)
        yield from _pockets(names, file, plaque, numbers)
        yield from _lines(names, file, plaque, numbers)
        yield from _fragile(names, file, numbers)
        yield from _register(names, file, numbers)
    for file in files:
        yield from _sanded(file, numbers)


def _board(names: str, file: DrawingFile, plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the board as drawn isn't of the shape asked for, or its face not as large as told."""
    face = enclosed_mm2(file.curves("plaque-edge"))
    width, height = plaque.settings.size or (0.0, 0.0)
    oval = (math.pi / 4 - _ROUND_SHARE, math.pi / 4 + _ROUND_SHARE)
    # A half circle over the board's width stands on a rectangle.
    arch = 1 - width / height * (0.5 - math.pi / 8) if height else 0.0
    least, most = {
        "rectangle": (0.9999, 1.0001),
        "rounded": (0.85, 0.9998),
        "oval": oval,
        "round": oval,
        "arch": (arch - _ROUND_SHARE, arch + _ROUND_SHARE),
    }.get(plaque.settings.shape, (0.0, 1.0))
    share = face / (width * height) if width * height else 0.0
    if face and not least <= share <= most:
        yield f"{names}: the board as drawn fills {share:.4g} of its box, which is no {plaque.settings.shape}"
    amounts = numbers.table("amounts")
    if amounts is not None and face:
        slack = _AREA_SHARE * face + 1
        yield number(names, "the board's face", amounts.number("face_mm2"), face, slack, unit=" mm2")


def _shadows(names: str, file: DrawingFile, plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield what is wrong with the outlines' pieces and the shadow's share of the picture."""
    curves = file.curves("shadow")
    if not curves:
        return
    outlines = numbers.table("outlines")
    lengths = np.concatenate([curve.lengths_mm for curve in curves])
    straight = int(sum((curve.bulges == 0).sum() for curve in curves))
    if outlines is not None:
        counts = {"pieces": len(lengths), "lines": straight, "arcs": len(lengths) - straight}
        # Smooth outlines have arcs so flat that a file's decimals make lines of them.
        flat = _FLAT_SHARE * len(lengths) if plaque.job.output.smooth else 0.0
        for key, there in counts.items():
            slack = 0.0 if key == "pieces" else flat
            yield number(names, f"the number of {key} of the outlines", outlines.number(key), there, slack)
        yield length(names, "the outlines' longest piece", outlines.number("longest_mm"), lengths.max(), 2 * FINE_MM)
        yield length(names, "the outlines' shortest piece", outlines.number("shortest_mm"), lengths.min(), 2 * FINE_MM)
        off = outlines.number("largest_deviation_mm")
        yield within("outlines.largest_deviation_mm", off, 0, plaque.tolerance_mm + FINE_MM, unit=" mm")
    area = enclosed_mm2(curves)
    visible = _visible_mm2(file, plaque, numbers)
    if visible > 0:
        slack = _SHARE + _OUTLINE_SHARE * plaque.tolerance_mm * float(lengths.sum()) / visible
        yield number(names, "the shadow's share of the picture", numbers.number("dark_share"), area / visible, slack)
    yield from _rest(names, file, area, plaque, numbers)


def _visible_mm2(file: DrawingFile, plaque: PlaqueFiles, numbers: NumbersTable) -> float:
    """Return the area of the picture within the board's margin; NaN where either isn't known."""
    (x0, y0, x1, y1), edges = numbers.numbers("picture_box_mm", 4), file.curves("plaque-edge")
    if math.isnan(x0 + y0 + x1 + y1) or not edges:
        return math.nan
    picture = shapely.box(x0, y0, x1, y1)
    if plaque.settings.fit == "inside":
        return float(picture.area)
    board = shapely.Polygon(sampled(edges[:1], sagitta_mm=0.01).points)
    return float(shapely.make_valid(board).buffer(-plaque.settings.margin, quad_segs=32).intersection(picture).area)


def _rest(names: str, file: DrawingFile, area: float, plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the V tool is left less than the shadows without a pocket, or more than all beside the pockets."""
    parts = parts_of(file.curves("shadow"))
    if not parts or area <= 0:
        return
    starts = [curve.vertices[0] for curve in file.curves("cutter-path")]
    untouched = sum(part.mm2 for part in parts if not any(part.holds(start) for start in starts))
    largest = max((shape.marks.get("cutter_mm", 0.0) for shape in file.of_role("pocket")), default=0.0)
    one_cutters = [s.curve for s in file.of_role("pocket") if s.curve and s.marks.get("cutter_mm", 0.0) == largest]
    roughed = enclosed_mm2(one_cutters)
    # All outlines and walls may have been fitted to one side.
    slack = 0.01 + _WALL_SHARE * plaque.tolerance_mm * sum(part.perimeter_mm for part in parts) / area
    least, most = max(untouched / area - slack, 0), max(1 - roughed / area + slack, 0)
    yield within("rest_share", numbers.number("rest_share"), least, most, where=names)


def _pockets(names: str, file: DrawingFile, plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield what is wrong with the pockets' areas, and with what is cut away and painted of them."""
    told = numbers.tables("pockets")
    there: list[tuple[float, float, EnclosedPart]] = []
    for (depth, across), shapes in _by_marks(file, "pocket").items():
        there += [(depth, across, part) for part in parts_of([s.curve for s in shapes if s.curve is not None])]
    by_depth = sorted((p.number("depth_mm"), p.number("cutter_mm"), p.number("area_mm2")) for p in told)
    drawn = sorted((depth, across, part.mm2, part.perimeter_mm) for depth, across, part in there)
    if len(by_depth) == len(drawn):
        for (_, _, said), (depth, _, drawn_mm2, perimeter) in zip(by_depth, drawn, strict=True):
            slack = 0.05 + _WALL_SHARE * plaque.tolerance_mm * perimeter
            what = Sentence("the area of a pocket {depth:g mm} deep", depth=Mm(depth))
            yield area(names, what, said, drawn_mm2, slack)
    yield from _removed(names, file, plaque, numbers, there)
    yield from _paths(names, file, told)


def _paths(names: str, file: DrawingFile, told: Sequence[NumbersTable]) -> Iterator[Row]:
    """Yield where the cutter paths of one depth and cutter aren't as long as those of its pockets."""
    for (depth, across), shapes in _by_marks(file, "cutter-path").items():
        own = [p for p in told if (p.values.get("depth_mm"), p.values.get("cutter_mm")) == (depth, across)]
        there = sum(shape.curve.length_mm for shape in shapes if shape.curve is not None)
        slack = _TENTH * len(own) + _ROUND_SHARE * there
        if own:
            what = Sentence("the length of the paths {depth:g mm} deep", depth=Mm(depth))
            yield length(names, what, sum(p.number("cutter_path_mm") for p in own), there, slack)


def _removed(
    names: str,
    file: DrawingFile,
    plaque: PlaqueFiles,
    numbers: NumbersTable,
    there: Sequence[tuple[float, float, EnclosedPart]],
) -> Iterator[Row]:
    """Yield where the wood cut away isn't between that of the largest cutter's pockets and all shadow at full depth."""
    amounts = numbers.table("amounts")
    if amounts is None:
        return
    largest = max((across for _, across, _ in there), default=0.0)
    pockets = sum(depth * part.mm2 for depth, across, part in there if across == largest)
    deepest = max((s.marks.get("depth_mm", 0.0) for s in file.of_role("pocket", "v-line")), default=0.0)
    area = enclosed_mm2(file.curves("shadow"))
    tan = math.tan(math.radians(plaque.job.v_tool.angle) / 2)
    # A groove is wider on the face than the shadow by what sanding takes again, on both sides of its line.
    lines = 2 * plaque.job.finish.sanding_loss * tan * sum(c.length_mm for c in file.curves("v-line"))
    holes = sum(enclosed_mm2([curve]) for curve in circles_of(file)) * plaque.settings.thickness
    most = (area + lines) * deepest * 1.05 + holes + 1
    removed = amounts.number("removed_mm3")
    least = 0.95 * pockets - 1
    yield within("the wood cut away, amounts.removed_mm3,", removed, least, most, unit=" mm3", where=names)
    face = enclosed_mm2(file.curves("plaque-edge"))
    walls = sum(depth * part.perimeter_mm for depth, _, part in there) * 1.5
    sides = (area + lines) * (math.hypot(1, 1 / tan) - 1) + walls + holes
    floors = sum(c.length_mm for c in file.curves("flow-line")) * plaque.job.v_tool.greatest_depth * 2
    painted = amounts.number("painted_mm2")
    most = 1.05 * face + sides + floors
    yield within("the surface to paint", painted, 0.9 * face, most, unit=" mm2", where=names)


def _by_marks(file: DrawingFile, role: str) -> dict[tuple[float, float], list[Shape]]:
    groups: dict[tuple[float, float], list[Shape]] = {}
    for shape in file.of_role(role):
        groups.setdefault((shape.marks.get("depth_mm", 0.0), shape.marks.get("cutter_mm", 0.0)), []).append(shape)
    return groups


def _lines(names: str, file: DrawingFile, plaque: PlaqueFiles, numbers: NumbersTable) -> Iterator[Row]:
    """Yield what is wrong with count, length and depth of V lines and flow lines, and with the strokes listed."""
    lines, shapes = numbers.table("v_lines"), list(file.of_role("v-line"))
    if lines is not None:
        there = _together_mm(file, "v-line")
        slack = 0.5 + 0.02 * there  # kinks that fitting takes out; 1.2 % was seen
        yield length(names, "the length of all V lines", lines.number("length_mm"), there, slack)
        deepest = max((shape.marks.get("depth_mm", 0.0) for shape in shapes), default=0.0)
        yield length(names, "the V lines' greatest depth", lines.number("greatest_depth_mm"), deepest, _DEPTH_MM)
        yield from _classes(names, shapes, lines)
        for stroke in lines.tables("first_to_go"):
            yield from _stroke(names, shapes, stroke, plaque.tolerance_mm)
    flow = numbers.table("flow_lines")
    if flow is not None:
        own = list(file.of_role("flow-line"))
        there = _together_mm(file, "flow-line")
        yield number(names, "the number of flow lines", flow.number("count"), len(own))
        yield length(names, "the length of all flow lines", flow.number("length_mm"), there, 0.5 + 0.01 * there)
        below = max((shape.marks.get("below_floor_mm", 0.0) for shape in own), default=0.0)
        told = flow.number("greatest_below_floor_mm")
        yield length(names, "the flow lines' greatest depth below the floor", told, below, 0.01)


def _together_mm(file: DrawingFile, role: str) -> float:
    return sum(curve.length_mm for curve in file.curves(role))


def _classes(names: str, shapes: Sequence[Shape], lines: NumbersTable) -> Iterator[Row]:
    """Yield where a class of widths counts other lines than are drawn so wide; one at a bound may be in either."""
    widths = np.array([shape.marks.get("width_mm", 0.0) for shape in shapes])
    for told in lines.tables("classes"):
        start = told.number("from_mm")
        end = math.inf if told.values.get("to_mm") is None else told.number("to_mm")
        least = int(((widths > start + _DEPTH_MM) & (widths <= end - _DEPTH_MM)).sum())
        most = int(((widths > start - _DEPTH_MM) & (widths <= end + _DEPTH_MM)).sum())
        count = told.number("count")
        if not math.isnan(start + end) and count not in range(least, most + 1) and not math.isnan(count):
            wide = Sentence("over {start:g mm} wide", start=Mm(start))
            if math.isfinite(end):
                wide = Sentence("{bounds:g mm} wide", bounds=Mm.span(start, end))
            told_words = "{names}: {least} to {most} V lines are {wide}, numbers.json gives {count:g}"
            yield Sentence(told_words, names=names, least=least, most=most, wide=wide, count=count)


def _stroke(names: str, shapes: Sequence[Shape], stroke: NumbersTable, tolerance_mm: float) -> Iterator[Row]:
    """Yield where no V line runs through the place of a stroke to re-cut with its length, width and depth.

    A line is drawn as much wider or narrower as the tolerance lets its outline lie off.
    """
    place = stroke.numbers("place_mm", 2)
    told = [stroke.number(key) for key in ("length_mm", "width_mm", "gone_at_mm")]
    if any(map(math.isnan, (*place, *told))):
        return
    for shape in shapes:
        curve = shape.curve
        if curve is None:
            continue
        there = [curve.length_mm, shape.marks.get("width_mm", 0.0), shape.marks.get("depth_mm", 0.0)]
        slack = [0.5 + 0.03 * there[0] + tolerance_mm, 2 * _DEPTH_MM + tolerance_mm, _DEPTH_MM + tolerance_mm]
        if all(abs(a - b) <= s for a, b, s in zip(told, there, slack, strict=True)) and _off(curve, place) <= _NEAR_MM:
            return
    yield Sentence(
        "{names}: no V line at {place:g mm} is {long:g mm} long and {wide:g mm} wide",
        names=names,
        place=Mm.place(place[0], place[1]),
        long=Mm(told[0]),
        wide=Mm(told[1]),
    )


def _off(curve: Curve, place: tuple[float, ...]) -> float:
    points = sampled([curve], sagitta_mm=0.05).points
    line = shapely.LineString([*points, points[0]] if curve.closed else points)
    return float(line.distance(shapely.Point(place)))


def _sanded(file: DrawingFile, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the sanding leaves more or less of the V lines, by the depth drawn at each vertex, than is told."""
    shapes, lines = list(file.of_role("v-line")), numbers.table("v_lines")
    sanding = None if lines is None else lines.table("sanding")
    if sanding is None or not any(shape.profile for shape in shapes):
        return
    pieces = StrokePieces.of(shapes)
    told = [*zip(sanding.row("loss_mm"), sanding.row("share_left"), strict=False)]
    # That much takes 5 % of the length of all lines, by its own words on the job sheet.
    told.append((sanding.number("too_much_mm"), 0.95))
    for loss, share in told:
        if math.isnan(loss) or pieces.whole_mm <= 0:
            continue
        left, more, less = (pieces.left_mm(loss + off) / pieces.whole_mm for off in (0.0, _DEPTH_MM, -_DEPTH_MM))
        slack = _SANDED_SHARE + less - more
        what = Sentence("the share of V lines left after {loss:g mm} of sanding", loss=Mm(loss))
        yield number(file.name, what, share, left, slack)


def _fragile(names: str, file: DrawingFile, numbers: NumbersTable) -> Iterator[Row]:
    fragile = numbers.table("fragile_light")
    if fragile is None:
        return
    shapes, there = list(file.of_role("fragile-light")), _together_mm(file, "fragile-light")
    told = fragile.number("length_mm")
    yield length(names, "the length of all fragile light", told, there, 0.5 + 0.02 * there)
    worst = fragile.tables("worst")
    yield within("the number of ridges listed", len(worst), min(1, len(shapes)), len(shapes), where=names)
    fragile.text("grain")
    for ridge in worst:
        place, wide = ridge.numbers("place_mm", 2), ridge.number("width_mm")
        alike = [s.curve for s in shapes if s.curve is not None and abs(s.marks.get("width_mm", 0.0) - wide) <= 0.01]
        if not math.isnan(wide + sum(place)) and not any(_off(curve, place) <= _NEAR_MM for curve in alike):
            at = Mm.place(place[0], place[1])
            told_words = "{names}: no ridge of light {wide:g mm} wide is at {at:g mm}"
            yield Sentence(told_words, names=names, wide=Mm(wide), at=at)


def _register(names: str, file: DrawingFile, numbers: NumbersTable) -> Iterator[Row]:
    """Yield where the dowel holes drawn aren't those told, in size or in place."""
    register, holes = numbers.made("register"), circles_of(file)
    marks = register.tables("marks") if register else []
    yield number(names, "the number of dowel holes", len(marks), len(holes))
    if register is None:
        return
    dowel = register.number("dowel_mm")
    places = [(mark.number("x_mm"), mark.number("y_mm")) for mark in marks]
    centres = [hole.vertices.mean(axis=0) for hole in holes]
    for hole in holes:
        across = float(np.hypot(*(hole.vertices[1] - hole.vertices[0])))
        yield length(names, "a dowel hole's diameter", dowel, across, 2 * FINE_MM)
    for x, y in places:
        off = min((math.dist((x, y), centre) for centre in centres), default=0.0)
        missing = Sentence("{names}: no dowel hole is at {place:g mm}", names=names, place=Mm.place(x, y))
        yield missing if off > 2 * FINE_MM else ""
    yield from _distances(register, {m.text("mark"): p for m, p in zip(marks, places, strict=True)})


def _distances(register: NumbersTable, places: dict[str, tuple[float, float]]) -> Iterator[Row]:
    for apart in register.tables("distances"):
        first, _, second = apart.text("between").partition(" and ")
        if first not in places or second not in places:
            yield f"numbers.json: tells a distance between {first} and {second}, which aren't both marks"
            continue
        there = math.dist(places[first], places[second])
        yield length("numbers.json", f"the distance of {first} and {second}", apart.number("length_mm"), there)
