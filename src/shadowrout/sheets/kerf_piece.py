"""A small piece to cut and measure, from which the kerf follows.

The beam takes half the kerf k from each side of its line, so what lies between two lines loses k and an opening
gains k. Bars: a strip of length N cut into n pieces and pushed together measures L = N - n k, since its two ends
lose half a kerf each and every cut between takes one whole. Comb: a gap drawn as wide as a tooth ends 2 k wider.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.outlines import rectangle
from shadowrout.geometry.region import Box
from shadowrout.words.units import MM_PER_INCH

BARS = 10
BAR_MM = 10.0
BAR_IN = 0.4
HEIGHT_MM = 15.0
TOOTH_SHARE = 0.5
"""Width of a tooth over that of a bar."""
_TEETH = 6
_TOOTH_LENGTH_MM = 12.0
_BACK_MM = 8.0
_GAP_MM = 6.0


@dataclass(frozen=True, eq=False)
class KerfTest:
    """The test piece: ``cuts`` come first, then the ``outlines``; lines of text say how to read it. In mm."""

    box: Box
    cuts: tuple[ArcPath, ...]
    outlines: tuple[ArcPath, ...]
    formula: tuple[str, ...]


def kerf_test(*, inches: bool = False) -> KerfTest:
    """Return the test piece: a strip of ten bars above a comb of teeth and gaps of one width.

    With ``inches`` it is measured in inches, and its bars are a round number of them.
    """
    bar_mm = BAR_IN * MM_PER_INCH if inches else BAR_MM
    comb_height = _BACK_MM + _TOOTH_LENGTH_MM
    low = comb_height + _GAP_MM
    strip = (0.0, low, BARS * bar_mm, low + HEIGHT_MM)
    cuts = tuple(_line(i * bar_mm, strip[1], strip[3]) for i in range(1, BARS))
    whole = f"{BARS * BAR_IN:g}" if inches else f"{BARS * BAR_MM:g}"
    formula = (
        f"bars: push all {BARS} together, measure L in {'inches' if inches else 'mm'}:",
        f"kerf = ({whole} - L) / {BARS}",
        "comb: kerf = (gap - tooth) / 2",
    )
    return KerfTest((0.0, 0.0, strip[2], strip[3]), cuts, (rectangle(strip), _comb(TOOTH_SHARE * bar_mm)), formula)


def _line(x: float, y0: float, y1: float) -> ArcPath:
    return ArcPath(np.array([[x, y0], [x, y1]]), np.zeros(1), closed=False)


def _comb(tooth_mm: float) -> ArcPath:
    """Return the comb's outline counter-clockwise: its back at the bottom, teeth upwards."""
    width = (2 * _TEETH - 1) * tooth_mm
    points = [(0.0, 0.0), (width, 0.0)]
    for tooth in reversed(range(_TEETH)):
        left = 2 * tooth * tooth_mm
        top = _BACK_MM + _TOOTH_LENGTH_MM
        points += [(left + tooth_mm, top), (left, top)]
        if tooth:
            points += [(left, _BACK_MM), (left - tooth_mm, _BACK_MM)]
    return ArcPath.polygon(np.array(points))
