"""A picture that is two-tone already: a scan of a drawing, a sign, clip art.

Dark is what is darker than midway between ink and paper. Uneven paper is estimated and divided out. Grey edges aren't
smoothed unless asked for, so that corners stay sharp and an anti-aliased edge lies where its grey says. A picture of
bare black and white pixels has stairs for edges, and they are taken off.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone.fields import Field, blurred, looked_at, resized
from shadowrout.design.tone.levels import otsu_level

BLOCKS = 16
"""Blocks along each side of the picture from which the paper's shading is estimated."""
BLOCK_PX = 20
"""Side of a block once the picture is made small for the estimate: enough pixels for a quantile."""
PAPER_QUANTILE = 0.8
"""Quantile of lightness that counts as a block's paper, and of the blocks that the shading is fitted to."""
EVENING_GAIN = 0.01
"""What evening must add to the separation of the two tones to be worth trusting."""
GREATEST_SPREAD = 0.1
"""Spread of a two-tone picture: 0 for clip art, .02 to .07 for scans, from .12 for photos with dark backgrounds."""
PAPER_OF_SIDE = 0.08
"""Window in which the paper nearby is looked for, over the picture's longer side; thinner lines are bridged."""
INK_QUANTILE = 0.98
"""Quantile of darkness against the paper nearby that counts as ink: thin lines are a few hundredths of a page."""
LEAST_INK = 15.0
"""How much darker than the paper nearby ink is in CIE L*, at its quantile; 23 in blurred scans."""
NEAR_PAPER = 0.15
"""Share of that within which a pixel counts as paper."""
LEAST_PAPER = 0.6
"""Share of the picture that is paper, from .65 in blurred scans."""
MOST_ABOVE_PAPER = 0.012
"""Share that is lighter than the paper: to .005 in scans, from .029 in photos that have as much even ground."""
PAPER_RANGE = 0.3
"""Range of the paper over the ink's depth: to .22 in scans; a dark thing on white ground fills it."""
LEVEL_LIMIT = 0.8
"""How near to ink or paper a level may lie before it cuts their grain and not the edges."""
STAIRS = 1.2
STAIRS_OF_THIN = 0.6
"""Sigma over the file's pixel that takes off stairs, and the one that leaves lines one pixel wide."""
THIN_SHARE = 0.1
"""Share of the edge beside thin lines from which these are spared: less is taken off the stairs everywhere."""
GREY = 0.48
GREY_OF_ENLARGED = 0.3
"""Distance from the middle in which an edge pixel counts as grey, of 1 from ink to paper; enlarging makes some."""
LEAST_GREY = 0.15
"""Share of edge pixels that are grey: from .23 when anti-aliased or scanned, up to .11 of bare pixels."""
LOOK_PX = 400
"""Longer side of the picture for questions about the whole of it."""


@dataclass(frozen=True)
class Peaks:
    """CIE L* of ink and of paper, and how well they separate: the variance between them over all of it."""

    ink: float
    paper: float
    separation: float


def darkness(lightness: Field, *, smoothing_px: float) -> Field:
    """Return -1 on paper, 1 on ink and what lies between at edges, unevenness divided out; (height, width)."""
    return darkness_of_even(evened(blurred(lightness, smoothing_px)))


def darkness_of_even(even: Field) -> Field:
    """Return ``darkness`` of what lies on paper without shading."""
    tones = peaks(even)
    way = (np.float32(tones.ink + tones.paper) - 2 * even) / np.float32(tones.paper - tones.ink)
    return bent(np.clip(way, -1, 1))


def bent(way: Field) -> Field:
    """Return ``way`` (-1 to 1) so that its zero, found linearly between pixels, is where the edge is.

    An upright edge that leaves the share c of a pixel dark between a dark and a light neighbour lies at c, where
    linear values would put it up to 0.09 pixel off; with s = c - 1/2 the values that put it right are s / (1 - |s|).
    """
    return cast(Field, way / (2 - np.abs(way)))


def peaks(lightness: Field) -> Peaks:
    """Return the two tones: the medians of what lies either side of Otsu's level. ValueError where all one grey."""
    dark = lightness < otsu_level(lightness)
    low, high, share = lightness[dark], lightness[~dark], float(dark.mean())
    between = share * (1 - share) * float(high.mean(dtype=np.float64) - low.mean(dtype=np.float64)) ** 2
    return Peaks(float(np.median(low)), float(np.median(high)), between / float(lightness.var(dtype=np.float64)))


def evened(lightness: Field) -> Field:
    """Return the lightness with the paper's shading divided out, or as it is where that separates no better.

    Light that falls unevenly multiplies reflectance, whose cube root is L* + 16 but for a factor (CIE 1976), so that
    is what gets divided: first by a smooth surface, then, on inked paper, by the paper near each place.
    """
    lightness, look = _without_shading(lightness)
    return _over_paper_nearby(lightness, look) if is_inked_paper(look) else lightness


def _without_shading(lightness: Field) -> tuple[Field, Field]:
    """Return the lightness with a smooth surface divided out where that separates better, and a look at it."""
    look = looked_at(lightness, LOOK_PX)
    shading = _shading(look)
    if shading is not None and _separates_better(_divided(look, shading), look):
        return _divided(lightness, shading), _divided(look, shading)
    return lightness, look


def _over_paper_nearby(lightness: Field, look: Field) -> Field:
    """Return the lightness with the paper near each place divided out where that separates better."""
    paper = paper_nearby(look)
    if not _separates_better(_over_paper(look, paper), look):
        return lightness
    height, width = lightness.shape
    return _over_paper(lightness, resized(paper, width, height))


def paper_nearby(look: Field) -> Field:
    """Return the lightness of the paper near each pixel: dark lines are closed over, what is left is smoothed."""
    side = 2 * max(1, round(PAPER_OF_SIDE * max(look.shape) / 2)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    closed = cv2.morphologyEx(cv2.medianBlur(look, 5), cv2.MORPH_CLOSE, disc)
    return blurred(cast(Field, closed), side / 2)


def is_inked_paper(look: Field) -> bool:
    """Return whether the picture is lines, perhaps blurred and grey, on paper: most of it even, next to none lighter.

    A photo has lights as well as darks against what surrounds them, or things too large to be lines.
    """
    paper = paper_nearby(look)
    below = paper - look
    ink = float(np.quantile(below, INK_QUANTILE))
    low, high = np.quantile(paper, (0.02, 0.98))
    if ink < LEAST_INK or high - low > PAPER_RANGE * ink:
        return False
    near, above = np.abs(below) < NEAR_PAPER * ink, below < -NEAR_PAPER * ink
    return bool(near.mean() >= LEAST_PAPER and above.mean() <= MOST_ABOVE_PAPER)


def _separates_better(evened_look: Field, look: Field) -> bool:
    return peaks(evened_look).separation >= peaks(look).separation + EVENING_GAIN


def _over_paper(lightness: Field, paper: Field) -> Field:
    middle = np.float32(np.median(paper) + 16)
    even: Field = (lightness + 16) / (paper + 16) * middle - 16
    return even


def stairs_px(lightness: Field, *, enlarged: float) -> float:
    """Return the sigma that takes the stairs off a picture without grey edges, 0 where edges are grey.

    ``enlarged`` is how many pixels one of the file's pixels has become. A picture of bare black and white pixels
    knows its edges no better than to half of one, so that a sigma a little over one loses nothing that was there,
    unless it holds lines one pixel wide.
    """
    height, width = lightness.shape
    size = (max(1, round(width / enlarged)), max(1, round(height / enlarged)))
    # Cubic, as it was enlarged: an area mean would make grey of its own.
    own = cast(Field, cv2.resize(lightness, size, interpolation=cv2.INTER_CUBIC)) if enlarged > 1 else lightness
    tones = peaks(own)
    way = (own - np.float32(tones.ink)) / np.float32(tones.paper - tones.ink)
    inside = (way > 0.5).view(np.uint8)
    cross = cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3))
    edge = cv2.dilate(inside, cross) != cv2.erode(inside, cross)
    grey = np.abs(way[edge] - 0.5) < (GREY_OF_ENLARGED if enlarged > 1 else GREY)
    if not edge.any() or grey.mean() > LEAST_GREY:
        return 0.0
    return (STAIRS_OF_THIN if _thin_share(inside, edge) > THIN_SHARE else STAIRS) * max(1.0, enlarged)


def _thin_share(inside: NDArray[np.uint8], edge: NDArray[np.bool_]) -> float:
    """Return how many pixels lie in lines under three pixels wide, dark or light, over those along edges."""
    square = np.ones((3, 3), np.uint8)
    opened, closed = (cv2.morphologyEx(inside, way, square) for way in (cv2.MORPH_OPEN, cv2.MORPH_CLOSE))
    return float(np.count_nonzero(opened != closed) / np.count_nonzero(edge))


def fits(lightness: Field) -> bool:
    """Return whether all of the picture lies near the one tone or the other, edges aside, or is inked paper."""
    _, look = _without_shading(looked_at(lightness, LOOK_PX))
    inked = is_inked_paper(look)
    even = _over_paper_nearby(look, look) if inked else look
    return spread(even) < GREATEST_SPREAD or (inked and is_inked_paper(even))


def spread(even: Field) -> float:
    """Return how far pixels lie from ink or paper, in half the distance between the two, as a root mean square.

    Pixels within three of an edge don't count. Infinite where nothing else is left, as in fine texture.
    """
    dark = darkness_of_even(even)
    inside = (dark > 0).view(np.uint8)
    around = np.ones((7, 7), np.uint8)
    away = cv2.dilate(inside, around) == cv2.erode(inside, around)
    if np.count_nonzero(away) < away.size / 20:
        return float("inf")
    return float(np.sqrt(np.mean((np.abs(dark[away]) - 1) ** 2, dtype=np.float64)))


def _shading(lightness: Field) -> NDArray[np.float64] | None:
    """Return the six coefficients of a square surface through the paper's L* + 16, over its median.

    The surface is fitted to an upper quantile of each block by weighted least squares, where what lies below counts
    less, so that blocks full of ink don't pull it down. None where it leaves the picture's own range.
    """
    side = BLOCKS * BLOCK_PX
    square = cv2.resize(lightness, (side, side), interpolation=cv2.INTER_AREA)
    blocks = square.reshape(BLOCKS, BLOCK_PX, BLOCKS, BLOCK_PX).swapaxes(1, 2).reshape(BLOCKS, BLOCKS, -1)
    paper = np.sort(blocks, axis=2)[..., round(PAPER_QUANTILE * (BLOCK_PX**2 - 1))]
    middle = (np.arange(BLOCKS) + 0.5) / BLOCKS - 0.5
    x, y = np.meshgrid(middle, middle)
    terms, target = _terms(x.ravel(), y.ravel()), paper.ravel().astype(np.float64) + 16
    weights = np.ones(len(target))
    for _ in range(20):
        root = np.sqrt(weights)
        coefficients = np.linalg.lstsq(terms * root[:, None], target * root, rcond=None)[0]
        rest = target - terms @ coefficients
        weights = np.where(rest > 0, PAPER_QUANTILE, 1 - PAPER_QUANTILE) / np.maximum(np.abs(rest), 0.5)
    surface = terms @ coefficients
    if surface.min() < surface.max() / 3:
        return None
    shading: NDArray[np.float64] = coefficients / np.median(surface)
    return shading


def _terms(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _divided(lightness: Field, shading: NDArray[np.float64]) -> Field:
    height, width = lightness.shape
    x = ((np.arange(width) + 0.5) / width - 0.5).astype(np.float32)
    y = ((np.arange(height) + 0.5) / height - 0.5).astype(np.float32)[:, None]
    a, bx, by, cxx, cxy, cyy = shading.astype(np.float32)
    surface = (a + bx * x + cxx * x * x) + (by * y + cyy * y * y) + cxy * x * y
    even: Field = (lightness + 16) / surface - 16
    return even
