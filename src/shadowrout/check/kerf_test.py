"""The kerf test: its bars and its comb give the kerf that its own text says follows from measuring them.

A strip of length N is cut into n bars, whose n - 1 cuts and two ends take n kerfs k in all, so that pushed together
they measure L = N - n k: that holds where the strip is as long as the text's N and n - 1 cuts go right across it. In a
comb, a tooth loses a kerf and a gap gains one, so that (gap - tooth) / 2 is the kerf where both are drawn equally wide.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import numpy as np

from shadowrout.check.curve_samples import Curve, Points
from shadowrout.check.drawing_file import MM, DrawingFile
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import KERF_TEST, PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

LIMIT_MM = 0.001
"""The promise of true size."""

_BARS = re.compile(r"bars: push all (\d{1,3}) together, measure L in (mm|inches):", re.ASCII)
_KERF = re.compile(r"kerf = \((\d{1,6}(?:\.\d{1,6})?) - L\) / (\d{1,3})", re.ASCII)
_COMB = "comb: kerf = (gap - tooth) / 2"
_UNITS = {"mm": MM["mm"], "inches": MM["in"]}
_SAME_MM = 2 * LIMIT_MM
"""A width lies between two edges, each of which may be off."""
_LEAST_GAPS = 2
"""Fewer gaps make no comb to measure at several places."""
_ADVICE = "don't measure by this piece; make the plaque again, and don't scale the file in another program"


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield what is wrong with the kerf test, each with the promise that it breaks; none without one."""
    for file in plaque.drawing(KERF_TEST):
        if not file.shapes:
            continue
        formula = _formula(file)
        if formula is None:
            what = "its text doesn't say how the kerf follows from its bars and its comb"
            yield Promise.MARKED, Finding(None, what, _ADVICE).within(file.name)
            continue
        for finding in _misshapen(file, *formula):
            yield Promise.TRUE_SIZE, finding.within(file.name)


def _formula(file: DrawingFile) -> tuple[int, float] | None:
    """Return the number of bars and the strip's length in mm as the text has them; None where it contradicts itself."""
    texts = [shape.text.strip() for shape in file.shapes if shape.text]
    bars = [found for text in texts if (found := _BARS.fullmatch(text))]
    kerfs = [found for text in texts if (found := _KERF.fullmatch(text))]
    if len(bars) != 1 or len(kerfs) != 1 or bars[0][1] != kerfs[0][2] or _COMB not in texts or int(bars[0][1]) < 2:
        return None
    return int(bars[0][1]), float(kerfs[0][1]) * _UNITS[bars[0][2]]


def _misshapen(file: DrawingFile, bars: int, length_mm: float) -> Iterator[Finding]:
    """Yield where strip, cuts or comb aren't as the formulas need them."""
    outlines = [curve for curve in file.curves("sheet-edge") if curve.closed]
    strips = [curve for curve in outlines if len(curve.vertices) == 4]
    combs = [curve for curve in outlines if len(curve.vertices) > 4]
    if len(strips) != 1 or len(combs) != 1 or len(file.curves("sheet-edge")) != 2:
        yield Finding(None, "must have the outlines of one strip and one comb", _ADVICE)
        return
    yield from _strip_faults(strips[0], file.curves("opening"), bars, length_mm)
    yield from _comb_faults(combs[0])
    low, high = _box(strips[0].vertices)
    comb_low, comb_high = _box(combs[0].vertices)
    if (np.minimum(high, comb_high) > np.maximum(low, comb_low)).all():
        yield Finding((float(low[0]), float(low[1])), "strip and comb lie over each other", _ADVICE)


def _strip_faults(strip: Curve, cuts: Sequence[Curve], bars: int, length_mm: float) -> Iterator[Finding]:
    """Yield where the strip isn't a rectangle as long as told, or its cuts don't part it into bars of one width."""
    (x0, y0), (x1, y1) = (corner.tolist() for corner in _box(strip.vertices))
    if strip.bulges.any() or not _is_upright(strip) or abs(x1 - x0 - length_mm) > _SAME_MM:
        told = Sentence(
            "the strip isn't {length:g mm} long, as its text says: {found:.3f mm}",
            length=Mm(length_mm),
            found=Mm(x1 - x0),
        )
        yield Finding((x0, y0), told, _ADVICE)
    if len(cuts) != bars - 1:
        yield Finding((x0, y0), f"{len(cuts)} cuts don't make the {bars} bars of its text", _ADVICE)
        return
    for number, cut in enumerate(sorted(cuts, key=lambda cut: float(cut.vertices[:, 0].mean())), start=1):
        x = x0 + number * length_mm / bars
        (left, low), (right, high) = (corner.tolist() for corner in _box(cut.vertices))
        off = max(abs(left - x), abs(right - x), abs(low - y0), abs(high - y1))
        if off > LIMIT_MM or cut.closed or len(cut.vertices) != 2 or cut.bulges.any():
            told = Sentence("cut {number} isn't straight across the strip at its place", number=number)
            yield Finding(cut.start, told, _ADVICE)


def _comb_faults(comb: Curve) -> Iterator[Finding]:
    """Yield where the comb's teeth and gaps aren't straight and all of one width."""
    x, y = comb.vertices.T
    if comb.bulges.any() or not _is_upright(comb):
        yield Finding(comb.start, "the comb's edges aren't upright and level lines", _ADVICE)
        return
    upright = np.abs(x - np.roll(x, -1)) <= LIMIT_MM
    top = np.isclose(np.maximum(y, np.roll(y, -1)), y.max(), rtol=0, atol=LIMIT_MM)
    sides = np.sort(x[upright & top])
    widths = np.diff(sides)
    if len(widths) < 2 * _LEAST_GAPS + 1 or len(widths) % 2 == 0 or np.ptp(widths) > _SAME_MM:
        yield Finding(comb.start, "the comb's teeth and gaps aren't all of one width", _ADVICE)
    deep = np.minimum(y, np.roll(y, -1))[upright & top]
    inner = np.sort(deep)[2:]
    if len(inner) and np.ptp(inner) > _SAME_MM:
        yield Finding(comb.start, "the comb's gaps aren't all of one depth", _ADVICE)


def _is_upright(curve: Curve) -> bool:
    """Return whether each side of a closed curve runs along an axis."""
    sides = np.abs(curve.vertices - np.roll(curve.vertices, -1, axis=0))
    return bool((sides.min(axis=1) <= LIMIT_MM).all())


def _box(points: Points) -> tuple[Points, Points]:
    return points.min(axis=0), points.max(axis=0)
