"""Sound: every ring is closed, simple, oriented, nested rightly, crosses none of its layer, and appears once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from shadowrout.check.curve_samples import Curve, Points, Samples, pieces_of, sampled
from shadowrout.check.drawing_file import CLOSED_ROLES, DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import Finding, Place, Promise, PromiseResult, result
from shadowrout.check.folder import KERF_TEST, PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

_SAGITTA_MM = 0.0005
"""A first look, quick: what touches at this is looked at again."""
_FINEST_SAGITTA_MM = 0.00001
"""What still crosses at this, a tenth of a step of the files' decimals, does so whatever the chords."""
_SAME_MM = 0.01
"""Paths this near to one another all along are one line to any machine: a tenth of the usual tolerance."""
_BOX_MM = 0.1
"""Far above _SAME_MM, so that paths that coincide share a box, and small enough that few others do."""
_LEAST_RING = 3
"""Fewer corners enclose nothing."""
_ADVICE = "make the plaque again; if it comes again, report the fault with the picture"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return how many paths of all drawings were looked at, and what is unsound in them."""
    findings = plaque.found(Promise.SOUND)
    rings = 0
    for file in plaque.drawings.values():
        for layer in dict.fromkeys(shape.layer for shape in file.shapes):
            shapes = [shape for shape in file.shapes if shape.layer == layer and shape.curve is not None]
            rings += len(shapes)
            closed = role_of_layer(layer) in CLOSED_ROLES and role_of_layer(layer) != _open_role(plaque, file)
            where = f"{file.name}, layer {layer}"
            findings += [finding.within(where) for finding in _faults(shapes, closed=closed)]
    measured = f"{len(dict.fromkeys(findings))} faults in {rings} paths"
    return result(Promise.SOUND, measured, "0 faults", findings)


def _open_role(plaque: PlaqueFiles, file: DrawingFile) -> str:
    """Return the role whose paths may be open in a drawing: a tied sheet's edge, and a kerf test's cuts."""
    if file.name.startswith(KERF_TEST):
        return "opening"
    return "sheet-edge" if plaque.job.stencil.ties else ""


def _faults(shapes: Sequence[Shape], *, closed: bool) -> Iterator[Finding]:
    curves = [shape.curve for shape in shapes if shape.curve is not None]
    yield from _empty_pieces(curves)
    twice = _doubled(curves)
    for index in twice:
        yield Finding(curves[index].start, "a path appears twice", _ADVICE)
    if not closed:
        return
    for curve in curves:
        if not curve.closed:
            told = Sentence("a ring is open, its ends {gap:.3f mm} apart", gap=Mm(curve.gap_mm))
            yield Finding(curve.start, told, _ADVICE)
    yield from _ring_faults([curve for index, curve in enumerate(curves) if curve.closed and index not in twice])


def _empty_pieces(curves: Sequence[Curve]) -> Iterator[Finding]:
    if not curves:
        return
    starts, ends, _, owner = pieces_of(curves)
    empty = starts == ends
    last = np.searchsorted(owner, np.arange(len(curves)), side="right") - 1
    empty[last] &= [curve.closed or len(curve.vertices) < 2 for curve in curves]
    for index in np.unique(owner[empty], return_index=True)[1]:
        place = starts[empty][index]
        yield Finding((float(place.real), float(place.imag)), "a path has a piece of no length", _ADVICE)


def _doubled(curves: Sequence[Curve]) -> list[int]:
    """Return the indices of the curves that lie on an earlier one."""
    seen: dict[tuple[int, ...], list[int]] = {}
    twice = []
    samples = sampled(curves, sagitta_mm=0.01)
    lines = samples.split()
    for index, keys in enumerate(_keys(samples)):
        others = {other for key in keys for other in seen.get(key, ())}
        if any(_same(lines[index], lines[other]) for other in others):
            twice.append(index)
        for key in keys:
            seen.setdefault(key, []).append(index)
    return twice


def _keys(lines: Samples) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Yield two coarse forms of each curve's box; curves that coincide share one, however their sides round."""
    if not lines.curves:
        return
    first = np.searchsorted(lines.owner, np.arange(lines.curves))
    boxes = np.hstack([side.reduceat(lines.points, first) for side in (np.minimum, np.maximum)]) / _BOX_MM
    forms = [np.floor(boxes + shift).astype(int).tolist() for shift in (0.0, 0.5)]
    for one, other in zip(*forms, strict=True):
        yield tuple(one), tuple(other)


def _same(one: Points, other: Points) -> bool:
    a, b = (shapely.LineString(line if len(line) > 1 else np.repeat(line, 2, axis=0)) for line in (one, other))
    return bool(shapely.hausdorff_distance(a, b) < _SAME_MM and abs(a.length - b.length) < _SAME_MM)


def _ring_faults(curves: Sequence[Curve]) -> Iterator[Finding]:
    points = sampled(curves, sagitta_mm=_SAGITTA_MM).split()
    for curve, ring in zip(curves, points, strict=True):
        if len(ring) < _LEAST_RING:
            yield Finding(curve.start, "a ring encloses nothing", _ADVICE)
    kept = [index for index, ring in enumerate(points) if len(ring) >= _LEAST_RING]
    if not kept:
        return
    curves, points = [curves[i] for i in kept], [points[i] for i in kept]
    rings = [shapely.LinearRing(ring) for ring in points]
    yield from _self_crossings(curves, rings)
    crossings = _crossings(curves, rings)
    for _, _, place in crossings:
        yield Finding(place, "two rings cross or touch", _ADVICE)
    yield from _orientation(curves, rings, skipped={index for i, j, _ in crossings for index in (i, j)})


def _self_crossings(curves: Sequence[Curve], rings: Sequence[shapely.LinearRing]) -> Iterator[Finding]:
    for curve, ring in zip(curves, rings, strict=True):
        if ring.is_simple:
            continue
        fine = _finest(curve)
        if not fine.is_simple:
            yield Finding(_self_crossing_place(fine), "a ring crosses or touches itself", _ADVICE)


def _finest(curve: Curve) -> shapely.LinearRing:
    """Return a ring so fine that what still crosses is no matter of its chords."""
    return shapely.LinearRing(sampled([curve], sagitta_mm=_FINEST_SAGITTA_MM).points)


def _self_crossing_place(ring: shapely.LinearRing) -> Place:
    """Return where a ring crosses itself, as GEOS tells it in words: ``Self-intersection[1 2]``."""
    reason = shapely.is_valid_reason(shapely.Polygon(ring))
    if "[" in reason:
        x, y = reason.split("[")[1].rstrip("]").split()
        return float(x), float(y)
    return _place(np.asarray(ring.coords)[0])


def _crossings(curves: Sequence[Curve], rings: Sequence[shapely.LinearRing]) -> list[tuple[int, int, Place]]:
    """Return the indices of each two rings that cross or touch, and where."""
    found = []
    for i, j in shapely.STRtree(rings).query(rings, predicate="intersects").T.tolist():
        if i < j:
            meeting = _finest(curves[i]).intersection(_finest(curves[j]))
            if not meeting.is_empty:
                spot = meeting.representative_point()
                found.append((i, j, (spot.x, spot.y)))
    return found


def _orientation(
    curves: Sequence[Curve], rings: Sequence[shapely.LinearRing], *, skipped: set[int]
) -> Iterator[Finding]:
    """Yield the rings whose direction doesn't fit their nesting; what crosses others has no nesting.

    A ring within an even number of others is an outer one and runs counter-clockwise.
    """
    areas = [shapely.Polygon(ring) for ring in rings]
    starts = [shapely.Point(curve.start) for curve in curves]
    inner, around = shapely.STRtree(areas).query(starts, predicate="within")
    depth = np.bincount(inner[inner != around], minlength=len(rings)).tolist()
    for index, (curve, ring) in enumerate(zip(curves, rings, strict=True)):
        if index not in skipped and bool(ring.is_ccw) != (depth[index] % 2 == 0):
            yield Finding(curve.start, _turned(depth[index]), _ADVICE)


def _turned(depth: int) -> str:
    if depth == 0:
        return "an outer ring runs clockwise: it is turned round"
    if depth == 1:
        return "a ring inside another runs counter-clockwise: a hole turned round, or an outline nested wrongly"
    return "a ring is nested wrongly: its direction doesn't fit the number of rings around it"


def _place(vertex: Points) -> Place:
    return float(vertex[0]), float(vertex[1])
