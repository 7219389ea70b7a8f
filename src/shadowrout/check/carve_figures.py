"""What numbers.json and job.toml tell of pockets and strokes, held against a carve drawing."""

from __future__ import annotations

from collections.abc import Iterator

from shadowrout.check import pocket_places, pocket_walls
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import Finding, Place
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.told_values import lists_of, numbers_of
from shadowrout.check.uncut import cut_alike, uncut_of
from shadowrout.job.options import Cutter
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.001
_LENGTH_MM, _LENGTH_SHARE = 0.5, 0.03
"""A line is told as planned and drawn as fitted: lines and arcs that keep near it are a little shorter or longer."""
_DEPTH_MM = 0.051
"""The depth of a fitted line is within 0.05 mm of the planned one, as docs/files.md says."""
_CIRCLE_MM = 0.5
"""How far the largest circle in a pocket may be off, by pixels of 0.2 mm and by the 0.05 mm to which make finds it."""
_UNCUT_MM2, _UNCUT_SHARE = 1.0, 0.5
"""How much less uncut shadow a raster may find than is told: thin slivers fall between pixels."""
_DARK_SHARE = 0.012
"""How far two rasters may be apart over all of a shadow's edges."""
_ADVICE = "make the job again; job.toml, numbers.json and the drawings belong to one run"


def compared(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    """Yield for each figure what is wrong with it, None where it agrees with the drawing."""
    yield from pocket_places.compared(file, plaque.figures)
    yield from _depths_asked(plaque, file)
    yield from _broad_ones_deeper(plaque, file)
    yield from _v_lines(plaque, file)
    yield from _flow_lines(plaque, file)


def left_compared(plaque: PlaqueFiles) -> Iterator[Finding | None]:
    """Yield the same of what the cuts leave of the shadow, once for files that cut alike."""
    for names, file in cut_alike(plaque):
        yield from (found and found.within(names) for found in _left(plaque, file))


def _depths_asked(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    """Yield for each depth of a cutter's pockets whether job.toml asks for it."""
    finish = plaque.job.finish
    seen: dict[tuple[float, float], Place] = {}
    for shape in file.of_role("pocket", "cutter-path"):
        if {"depth_mm", "cutter_mm"} <= shape.marks.keys():
            seen.setdefault((shape.marks["cutter_mm"], shape.marks["depth_mm"]), shape.place)
    for (cutter_mm, depth_mm), place in seen.items():
        cutter = min(plaque.job.cutters, key=lambda cutter: abs(cutter.diameter - cutter_mm))
        common = _common_depth_mm(plaque, cutter)
        asked = [common] if finish.deeper_from is None else [common, common + finish.deeper_by]
        told = None
        if abs(cutter.diameter - cutter_mm) > _ROUNDING_MM:
            told = Sentence("a pocket is for a {cutter:g mm} cutter, which job.toml hasn't", cutter=Mm(cutter_mm))
        elif min(abs(depth_mm - depth) for depth in asked) > _ROUNDING_MM:
            told = Sentence(
                "a pocket of the {cutter:g mm} cutter is {depth:g mm} deep, job.toml asks for {asked}",
                cutter=Mm(cutter_mm),
                depth=Mm(depth_mm),
                asked=Sentence.joined([Sentence("{depth:g mm}", depth=Mm(depth)) for depth in asked], " or "),
            )
        yield None if told is None else Finding(place, told, _ADVICE)


def _common_depth_mm(plaque: PlaqueFiles, cutter: Cutter) -> float:
    """Return how deep a cutter's pockets are, the deeper ones apart."""
    finish = plaque.job.finish
    return finish.sanding_loss + finish.least_depth_left if cutter.depth is None else cutter.depth


def _broad_ones_deeper(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    """Yield for each pocket whether it is one of the deeper ones by its width, where job.toml asks for such."""
    finish = plaque.job.finish
    if finish.deeper_from is None:
        return
    least, slack = finish.deeper_from, _CIRCLE_MM + 2 * plaque.tolerance_mm
    for pocket in pocket_walls.widest_circles(file):
        cutter = min(plaque.job.cutters, key=lambda cutter: abs(cutter.diameter - pocket.cutter_mm))
        deeper = pocket.depth_mm > _common_depth_mm(plaque, cutter) + finish.deeper_by / 2
        wrong = pocket.across_mm < least - slack if deeper else pocket.across_mm > least + slack
        what = Sentence(
            "a pocket with a circle of {across:.1f mm} in it is {depth:g mm} deep; job.toml has pockets go deeper from "
            "{least:g mm} on",
            across=Mm(pocket.across_mm),
            depth=Mm(pocket.depth_mm),
            least=Mm(least),
        )
        yield Finding(pocket.place, what, _ADVICE) if wrong else None


def _v_lines(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    """Yield for each V line whether it is as long as is told of it, in the drawing's order."""
    lines = [(shape.place, shape.curve.length_mm) for shape in file.of_role("v-line") if shape.curve is not None]
    deepest = max((shape.marks.get("depth_mm", 0.0) for shape in file.of_role("v-line")), default=0.0)
    yield _differs(
        "the deepest V line is", deepest, numbers_of(plaque.figures, "v_lines", "greatest_depth_mm"), _DEPTH_MM
    )
    whole = sum(length for _, length in lines)
    told = numbers_of(plaque.figures, "v_lines", "length_mm")
    yield _differs("the V lines together are", whole, told, len(lines) * _LENGTH_MM + _LENGTH_SHARE * whole)
    rows = lists_of(plaque.figures, "v_lines", "sanding", "lengths_left_mm")
    for number, ((place, length), row) in enumerate(zip(lines, rows, strict=False), start=1):
        left = numbers_of(row[:1])
        if not left or length < left[0] - _LENGTH_MM - _LENGTH_SHARE * left[0]:
            what = Sentence(
                "V line {number} is {length:.1f mm} long, numbers.json tells of {told} left after sanding",
                number=number,
                length=Mm(length),
                told=Sentence("{left:.1f mm}", left=Mm(left[0])) if left else "nothing",
            )
            yield Finding(place, what, _ADVICE)
        else:
            yield None


def _flow_lines(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    shapes = list(file.of_role("flow-line"))
    count = numbers_of(plaque.figures, "flow_lines", "count")
    if not count or count[0] != len(shapes):
        told = f"{count[0]:g}" if count else "nothing"
        yield Finding(None, f"holds {len(shapes)} flow lines, numbers.json tells of {told}", _ADVICE)
        return
    whole = sum(shape.curve.length_mm for shape in shapes if shape.curve is not None)
    told_mm = numbers_of(plaque.figures, "flow_lines", "length_mm")
    yield _differs("the flow lines together are", whole, told_mm, len(shapes) * _LENGTH_MM + _LENGTH_SHARE * whole)
    below = max((shape.marks.get("below_floor_mm", 0.0) for shape in shapes), default=0.0)
    told_mm = numbers_of(plaque.figures, "flow_lines", "greatest_below_floor_mm")
    yield _differs("the deepest flow line below its floor is", below, told_mm, _ROUNDING_MM)


def _left(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[Finding | None]:
    """Yield whether as much of the shadow is uncut, and as much of it stays dark, as is told."""
    uncut = uncut_of(plaque, file)
    area, dark = (numbers_of(plaque.figures, key) for key in ("uncut_mm2", "dark_left_share"))
    if uncut is None:
        return
    wrong = not area or area[0] > uncut.area_mm2 + _UNCUT_MM2 + _UNCUT_SHARE * area[0]
    what = f"of the shadow {uncut.area_mm2:.1f} mm2 are uncut, numbers.json tells of {area[0] if area else 'nothing'}"
    yield Finding(None, what, _ADVICE) if wrong else None
    wrong = not dark or abs(dark[0] - uncut.dark_left_share) > _DARK_SHARE
    told = f"{dark[0]:.1%}" if dark else "nothing"
    what = f"{uncut.dark_left_share:.1%} of the shadow stay dark after sanding, numbers.json tells of {told}"
    yield Finding(None, what, _ADVICE) if wrong else None


def _differs(what: str, length_mm: float, told_mm: list[float], slack_mm: float) -> Finding | None:
    """Return that a length isn't as told; None where it is."""
    if told_mm and abs(length_mm - told_mm[0]) <= slack_mm:
        return None
    told = Sentence("{told:.2f mm}", told=Mm(told_mm[0])) if told_mm else "nothing"
    whole = Sentence("{what} {length:.2f mm}, numbers.json tells of {told}", what=what, length=Mm(length_mm), told=told)
    return Finding(None, whole, _ADVICE)
