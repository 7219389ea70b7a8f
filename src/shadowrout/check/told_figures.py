"""The figures agree: numbers.json, job.toml and the drawings tell of the same plaque."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import shapely

from shadowrout.check import bush, carve_figures
from shadowrout.check.curve_samples import Curve, sampled
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import Finding, Promise, PromiseResult, result
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.001
"""Far above the four decimals that lengths have in numbers.json."""
_LENGTH_ROUNDING_MM = 0.06
"""Half of the tenth of a millimetre to which a pocket's cutter paths are given, and a little."""
_LENGTH_SHARE = 0.001
"""What the files' decimals, and lines in place of nearly straight arcs, may change of a length."""
_ADVICE = "make the job again; job.toml, numbers.json and the drawings belong to one run"


def check(plaque: PlaqueFiles, whole: dict[str, Any], more: Sequence[str | Sentence] = ()) -> PromiseResult:
    """Return how many figures were compared; ``whole`` is all of numbers.json, ``more`` what others compared."""
    compared: list[str | Sentence] = [*_job_figures(plaque, whole), *more]
    carved: list[Finding | None] = []
    for file in plaque.drawing("carve"):
        if file.shapes:
            compared += _file_figures(plaque, file)
            carved += [found and found.within(file.name) for found in carve_figures.compared(plaque, file)]
    carved += carve_figures.left_compared(plaque)
    findings = plaque.found(Promise.FIGURES) + [Finding(None, what, _ADVICE) for what in compared if what]
    findings += [found for found in carved if found]
    told = f"{sum(map(bool, [*compared, *carved]))} of {len(compared) + len(carved)} figures differ"
    return result(Promise.FIGURES, told, "0 differ", findings)


def _job_figures(plaque: PlaqueFiles, whole: dict[str, Any]) -> Iterator[str | Sentence]:
    """Yield for each figure that stands in both files what is wrong with it, or nothing."""
    job, settings = plaque.job, plaque.settings
    if not plaque.figures:
        yield f"numbers.json tells nothing of the plaque {settings.name}"
        return
    width, height = settings.size or (0.0, 0.0)
    yield _differs("the tolerance", whole.get("tolerance_mm"), job.output.tolerance)
    yield _differs("the unit", whole.get("unit"), job.output.unit)
    yield _differs("the finest line", whole.get("detail_mm"), job.tone.detail)
    yield _differs("the size", plaque.figures.get("size_mm"), [width, height])
    yield _differs("the thickness", plaque.figures.get("thickness_mm"), settings.thickness)
    yield _differs("the shape", plaque.figures.get("shape"), settings.shape)
    if "template" in job.output.files:
        told = plaque.figures.get("template")
        for name, asked in (("bush", job.template.bush), ("bit", job.template.bit)):
            yield _differs(f"the {name}", told.get(f"{name}_mm") if isinstance(told, dict) else None, asked)
        yield from bush.words_that_differ(plaque)


def _differs(what: str, told: Any, asked: Any) -> str:
    return "" if _equal(told, asked) else f"{what} is {told} in numbers.json, {asked} in job.toml"


def _equal(told: Any, asked: Any) -> bool:
    if isinstance(asked, list):
        return isinstance(told, list) and len(told) == len(asked) and all(map(_equal, told, asked))
    if isinstance(asked, float) and isinstance(told, (int, float)):
        return abs(told - asked) <= _ROUNDING_MM
    return bool(told == asked)


def _file_figures(plaque: PlaqueFiles, file: DrawingFile) -> Iterator[str | Sentence]:
    """Yield for each figure that can be counted in a drawing what is wrong with it, or nothing."""
    figures = plaque.figures
    lines = figures.get("v_lines")
    fragile = figures.get("fragile_light")
    pockets = figures.get("pockets")
    counted = (
        ("shadows", _outer_rings(file, "shadow"), figures.get("shadows")),
        ("V lines", len(file.curves("v-line")), lines.get("count") if isinstance(lines, dict) else None),
        (
            "ridges of fragile light",
            len(file.curves("fragile-light")),
            fragile.get("count") if isinstance(fragile, dict) else None,
        ),
        ("pockets", _outer_rings(file, "pocket"), len(pockets) if isinstance(pockets, list) else None),
    )
    for what, there, told in counted:
        yield "" if there == told else f"{file.name}: holds {there} {what}, numbers.json tells of {told}"
    if isinstance(pockets, list) and all(isinstance(pocket, dict) for pocket in pockets):
        yield from _pocket_figures(file, pockets)


def _pocket_figures(file: DrawingFile, pockets: list[dict[str, Any]]) -> Iterator[str | Sentence]:
    told = Counter((float(p.get("depth_mm", 0)), float(p.get("cutter_mm", 0))) for p in pockets)
    there = {(s.marks.get("depth_mm", 0.0), s.marks.get("cutter_mm", 0.0)) for s in file.of_role("pocket")}
    same = all(any(np.allclose(a, b, atol=_ROUNDING_MM) for b in told) for a in there)
    same = same and all(any(np.allclose(a, b, atol=_ROUNDING_MM) for b in there) for a in told)
    depths = [
        Sentence("{depth:g mm} deep by a {cutter:g mm} cutter", depth=Mm(depth), cutter=Mm(cutter))
        for depth, cutter in sorted(there)
    ]
    asked = ", ".join(f"{depth:g} by {cutter:g}" for depth, cutter in sorted(told)) or "none"
    yield (
        ""
        if same
        else Sentence(
            "{file}: its pockets are {depths}; numbers.json gives {asked}",
            file=file.name,
            depths=Sentence.joined(depths or ["none"]),
            asked=asked,
        )
    )
    length = sum(curve.length_mm for curve in file.curves("cutter-path"))
    listed = sum(float(p.get("cutter_path_mm", 0)) for p in pockets)
    close = abs(length - listed) <= _LENGTH_ROUNDING_MM * len(pockets) + _LENGTH_SHARE * listed
    yield (
        ""
        if close
        else Sentence(
            "{file}: the cutter paths are {length:.1f mm} long, numbers.json gives {listed:.1f mm}",
            file=file.name,
            length=Mm(length),
            listed=Mm(listed),
        )
    )


def _outer_rings(file: DrawingFile, role: str) -> int:
    """Return how many rings of a role lie within an even number of others of their layer, whatever their direction.

    Layers of two cutters overlap, so each is counted by itself.
    """
    layers: dict[str, list[Curve]] = defaultdict(list)
    for shape in file.of_role(role):
        if shape.curve is not None:
            layers[shape.layer].append(shape.curve)
    return sum(map(_outer_curves, layers.values()))


def _outer_curves(curves: list[Curve]) -> int:
    rings = [ring for ring in sampled(curves, sagitta_mm=0.002).split() if len(ring) >= 3]
    if not rings:
        return 0
    areas = [shapely.Polygon(ring) for ring in rings]
    starts = shapely.points([ring[0] for ring in rings])
    inner, around = shapely.STRtree(areas).query(starts, predicate="within")
    depth = np.bincount(inner[inner != around], minlength=len(rings))
    return int((depth % 2 == 0).sum())
