"""The SVG and the DXF of a drawing agree: the same layers, and on each the same shapes within 0.001 mm."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, middles, sampled, vertices
from shadowrout.check.distances import Nearest, Neighbours
from shadowrout.check.drawing_file import IN_SPACE, DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import Finding, Promise, PromiseResult, result, untested
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

LIMIT_MM = 0.001
"""Ten steps of the files' decimals, 0.0001 mm: what lies further apart isn't rounding."""

_SLACK_MM = 1e-6
"""What the last bits of floating-point sums may add: a thousandth of the limit."""
_SEARCH_MM = 1.0
"""A shape further off than this isn't its twin moved, but another, and both count as alone."""
_MOST_SEARCHED = 250_000
"""Shapes times shapes, a few seconds; where more have no partner in their place, the two aren't one drawing."""
_ADVICE = "make the plaque again; until then trust neither file"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return the largest distance between a shape of an SVG and its twin in the DXF, in mm."""
    worst, findings = 0.0, plaque.found(Promise.AGREE)
    pairs = 0
    for stem in dict.fromkeys(name.partition(".")[0] for name in plaque.drawings):
        files = [file for file in plaque.drawing(stem) if file.shapes]
        if len(files) == 2:
            pairs += 1
            furthest, found = _compared(files[0], files[1], stem)
            worst, findings = max(worst, furthest), findings + found
    if not pairs:
        return untested(Promise.AGREE, "no two files of one drawing", LIMIT_MM, findings)
    return result(Promise.AGREE, worst, LIMIT_MM, findings)


def _compared(svg: DrawingFile, dxf: DrawingFile, stem: str) -> tuple[float, list[Finding]]:
    one, other = by_layer(svg), by_layer(dxf)
    findings = [
        Finding(None, f"{stem}: layer {layer} stands in the {a} only", _ADVICE)
        for a, here, there in (("SVG", one, other), ("DXF", other, one))
        for layer in here
        if layer not in there
    ]
    worst = 0.0
    for layer in one.keys() & other.keys():
        furthest, found = _layer(one[layer], other[layer])
        worst = max(worst, furthest)
        findings += [finding.within(f"{stem}, layer {layer}") for finding in found]
    for role in ("v-line", "flow-line"):
        found = [*_in_space([*svg.of_role(role)], [*dxf.of_role(role + IN_SPACE)])]
        findings += [finding.within(f"{stem}, layer {role}{IN_SPACE}") for finding in found]
    return worst, sorted(findings, key=lambda finding: str(finding.what))


def by_layer(file: DrawingFile) -> dict[str, list[Shape]]:
    """Return the shapes of each layer that both formats have, the names in lower case: R12 gives them in capitals."""
    layers: dict[str, list[Shape]] = {}
    for shape in file.shapes:
        if not role_of_layer(shape.layer).endswith(IN_SPACE):
            layers.setdefault(shape.layer.lower(), []).append(shape)
    return layers


def _in_space(lines: Sequence[Shape], solid: Sequence[Shape]) -> Iterator[Finding]:
    """Yield where the DXF's lines in space leave the SVG's, whose depth stands at each vertex.

    Both are in one order. Every vertex is to be met at its place and its depth, and no point leaves the line.
    """
    profiled = [line for line in lines if "depth_mm" in line.profile]
    if len(profiled) != len(solid):
        what = f"{len(profiled)} lines of changing depth in the SVG, {len(solid)} lines in space in the DXF"
        yield Finding(None, what, _ADVICE)
        return
    lines, solid = [*profiled], [*solid]
    if lines:
        yield from _vertices_missed(lines, solid)
        yield from _points_aside(lines, solid)


def _vertices_missed(lines: Sequence[Shape], solid: Sequence[Shape]) -> Iterator[Finding]:
    """Yield the first vertex of each line that its own line in space doesn't pass."""
    for line, twin in zip(lines, solid, strict=True):
        depths = line.profile["depth_mm"]
        if line.curve is None or twin.curve is None or len(depths) != len(line.curve.vertices):
            continue
        wanted = np.column_stack([line.curve.vertices, np.negative(depths)])
        points = np.column_stack([twin.curve.vertices, twin.heights_mm])
        off = np.linalg.norm(wanted - points[Neighbours(points).indices(wanted)[:, 0]], axis=1)
        beyond = off > 2 * LIMIT_MM
        if beyond.any():
            index = int(beyond.argmax())
            x, y, z = wanted[index].tolist()
            told = Sentence(
                "the line in space misses a vertex {depth:g mm} deep by {off:.4f mm}", depth=Mm(-z), off=Mm(off[index])
            )
            yield Finding((x, y), told, _ADVICE)


def _points_aside(lines: Sequence[Shape], solid: Sequence[Shape]) -> Iterator[Finding]:
    """Yield the lines in space that leave the flat lines."""
    flat = sampled([line.curve for line in lines if line.curve is not None], sagitta_mm=0.0002, step_mm=0.1)
    curves = [twin.curve for twin in solid if twin.curve is not None]
    points = np.concatenate([curve.vertices for curve in curves])
    owner = np.repeat(np.arange(len(curves)), [len(curve.vertices) for curve in curves])
    aside = Nearest(flat).distances(points)
    for index in _first_of_each(owner, aside):
        x, y = points[index].tolist()
        told = Sentence("the line in space lies {aside:.4f mm} beside the line", aside=Mm(aside[index]))
        yield Finding((x, y), told, _ADVICE)


def _first_of_each(owner: NDArray[np.generic], off: NDArray[np.float64]) -> list[int]:
    """Return the first index of each owner that is further off than both files' rounding allows."""
    beyond = np.flatnonzero(off > 2 * LIMIT_MM)
    _, first = np.unique(owner[beyond], return_index=True)
    return [int(index) for index in beyond[first]]


def _layer(ours: Sequence[Shape], theirs: Sequence[Shape]) -> tuple[float, list[Finding]]:
    worst, findings = 0.0, []
    if len(ours) != len(theirs):
        findings.append(Finding(None, f"{len(ours)} shapes in the SVG, {len(theirs)} in the DXF", _ADVICE))
    pairs, alone = paired(ours, theirs)
    for (a, b), (off, place) in zip(pairs, apart(pairs), strict=True):
        worst = max(worst, off)
        if off > LIMIT_MM + _SLACK_MM:
            told = Sentence("a shape lies {off:.4f mm} apart in SVG and DXF", off=Mm(off))
            findings.append(Finding(place, told, _ADVICE))
        findings += _marks_apart(a, b)
    for shape, where in alone:
        findings.append(Finding(shape.place, f"a shape stands in the {where} only", _ADVICE))
    return worst, findings


def paired(ours: Sequence[Shape], theirs: Sequence[Shape]) -> tuple[list[tuple[Shape, Shape]], list[tuple[Shape, str]]]:
    """Return shapes that belong together and those that have no partner.

    Writers keep one order, so most pair by their place in it; the rest by the nearest first point.
    """
    pairs: list[tuple[Shape, Shape]] = []
    left: list[Shape] = []
    free = list(theirs)
    for a, b in itertools.zip_longest(ours, theirs):
        if a is not None and b is not None and _alike(a, b):
            pairs.append((a, b))
            free.remove(b)
        elif a is not None:
            left.append(a)
    alone: list[tuple[Shape, str]] = []
    if len(left) * len(free) > _MOST_SEARCHED:
        return pairs, [(a, "SVG") for a in left] + [(b, "DXF") for b in free]
    for a in left:
        partner = min(free, key=lambda b: _separation(a, b), default=None)
        if partner is None or _separation(a, partner) > _SEARCH_MM:
            alone.append((a, "SVG"))
        else:
            free.remove(partner)
            pairs.append((a, partner))
    return pairs, alone + [(b, "DXF") for b in free]


def _alike(a: Shape, b: Shape) -> bool:
    return (a.curve is None) == (b.curve is None) and _separation(a, b) <= _SEARCH_MM


def _separation(a: Shape, b: Shape) -> float:
    if a.curve is None or b.curve is None:
        return float(np.hypot(*np.subtract(a.at, b.at))) if a.curve is b.curve else np.inf
    boxes = [np.concatenate([c.vertices.min(axis=0), c.vertices.max(axis=0)]) for c in (a.curve, b.curve)]
    return float(np.abs(boxes[0] - boxes[1]).max())


def apart(pairs: Sequence[tuple[Shape, Shape]]) -> list[tuple[float, tuple[float, float]]]:
    """Return the largest distance between the two shapes of each pair in mm, and where it is.

    Vertex by vertex and arc middle by arc middle where all of them meet, else along samples.
    """
    meeting = _meeting(pairs)
    return [(meeting[i], a.place) if i in meeting else _two_apart(a, b) for i, (a, b) in enumerate(pairs)]


def _meeting(pairs: Sequence[tuple[Shape, Shape]]) -> dict[int, float]:
    """Return by its index how far each pair's vertices and arc middles lie apart, of those within the limit."""
    curves = [(i, a.curve, b.curve) for i, (a, b) in enumerate(pairs) if a.curve is not None and b.curve is not None]
    curves = [(i, a, b) for i, a, b in curves if a.closed == b.closed and len(a.vertices) == len(b.vertices)]
    if not curves:
        return {}
    indices, ours, theirs = zip(*curves, strict=True)
    first = np.cumsum([0, *(len(curve.vertices) for curve in ours)])[:-1]
    off = np.maximum(*(np.hypot(*(of(ours) - of(theirs)).T) for of in (vertices, middles)))
    return {i: far for i, far in zip(indices, np.maximum.reduceat(off, first).tolist(), strict=True) if far <= LIMIT_MM}


def _two_apart(a: Shape, b: Shape) -> tuple[float, tuple[float, float]]:
    if a.curve is None or b.curve is None:
        return _separation(a, b), a.at
    return _curves_apart(a.curve, b.curve)


def _curves_apart(a: Curve, b: Curve) -> tuple[float, tuple[float, float]]:
    """Return the largest distance between two curves along samples of both, and where it is."""
    one, other = (sampled([curve], sagitta_mm=0.0002, step_mm=0.05) for curve in (a, b))
    worst, place = 0.0, a.start
    for points, against in ((one.points, other), (other.points, one)):
        off = Nearest(against).distances(points)
        index = int(off.argmax())
        if off[index] > worst:
            worst, place = float(off[index]), (float(points[index, 0]), float(points[index, 1]))
    return worst, place


def _marks_apart(a: Shape, b: Shape) -> Iterator[Finding]:
    for name in sorted(a.marks.keys() | b.marks.keys()):
        here, there = a.marks.get(name), b.marks.get(name)
        if here is None or there is None or abs(here - there) > LIMIT_MM:
            what = f"a shape's {name} is {_said(here)} in the SVG, {_said(there)} in the DXF"
            yield Finding(a.place, what, _ADVICE)
    if _plain(a.text) != _plain(b.text):
        yield Finding(a.place, f"a note reads {a.text!r} in the SVG, {b.text!r} in the DXF", _ADVICE)


def _said(value: float | None) -> str:
    return "missing" if value is None else f"{value:g}"


def _plain(text: str) -> str:
    """Return a text without its spaces: the DXF has some after carets and between percent signs."""
    return "".join(text.split())
