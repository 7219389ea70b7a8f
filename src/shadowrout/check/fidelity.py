"""Faithful: the written shadow lies within the tolerance of the sized design, both ways, arcs included."""

from __future__ import annotations

import numpy as np
import shapely

from shadowrout.check.curve_samples import Samples, sampled, sampled_rings
from shadowrout.check.distances import Nearest, worst_places
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import NO_CARVE, Finding, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

ROUNDING_MM = 0.001
"""What the files' decimals and the sampling of arcs may add."""

_SAGITTA_MM = 0.0005
"""Half of ROUNDING_MM, which allows for it."""
_STEP_MM = 0.08
"""Below the usual tolerance of 0.1 mm, so that nothing as wide as that fits between two samples."""
_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""
_MOST_FINDINGS = 10
"""More would not be read; the worst come first."""
_ADVICE = "make the plaque again; if it comes again, report the fault with the picture"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the largest distance between the shadow as written or printed and the sized design, in mm."""
    findings = plaque.found(Promise.FAITHFUL)
    limit = plaque.tolerance_mm
    if plaque.pattern_off_mm is None and not any(plaque.drawing("carve")):
        if sheets := [name for name in plaque.drawings if name.startswith(("stencil", "template"))]:
            return result(Promise.FAITHFUL, f"openings of {len(sheets)} sheets", "as designed", findings)
        return untested(Promise.FAITHFUL, NO_CARVE, limit, findings)
    if plaque.design is None:
        return untested(Promise.FAITHFUL, "no sized design", limit, findings)
    worst = plaque.pattern_off_mm or 0.0
    design = _design_samples(plaque.design)
    for names, file in drawn_alike(plaque.drawing("carve"), "shadow"):
        furthest, found = _compared(names, file, design, limit)
        worst = max(worst, furthest)
        findings += found
    return result(Promise.FAITHFUL, worst, limit, findings)


def _design_samples(design: shapely.MultiPolygon) -> Samples:
    rings = [ring for part in design.geoms for ring in (part.exterior, *part.interiors)]
    return sampled_rings([np.asarray(ring.coords)[:-1, :2] for ring in rings], step_mm=_STEP_MM)


def _compared(names: str, file: DrawingFile, design: Samples, limit_mm: float) -> tuple[float, list[Finding]]:
    written = sampled(file.curves("shadow"), sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
    if not len(written.points):
        return 0.0, [Finding(None, f"{names}: no shadow is written, so nothing of the design is there", _ADVICE)]
    worst, findings = 0.0, []
    for points, other, what in (
        (written.points, design, "the written shadow lies {off:.3f mm} off the design"),
        (design.points, written, "an edge of the design is {off:.3f mm} from the nearest written outline"),
    ):
        distances = Nearest(other).distances(points, exact_above_mm=limit_mm)
        worst = max(worst, float(distances.max()))
        beyond = np.where(distances > limit_mm + ROUNDING_MM, distances, 0.0)
        for index in worst_places(points, beyond, apart_mm=_APART_MM, most=_MOST_FINDINGS):
            place = (float(points[index, 0]), float(points[index, 1]))
            findings.append(Finding(place, Sentence(what, off=Mm(beyond[index])), _ADVICE).within(names))
    return worst, findings
