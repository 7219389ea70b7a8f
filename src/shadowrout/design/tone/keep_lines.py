"""Dark areas and the lines along edges together: the flow-guided extended difference of Gaussians.

Source: Winnemoeller, Kyprianidis and Olsen, XDoG: An eXtended difference-of-Gaussians compendium, Computers &
Graphics 36, 2012; the mean along the flow as in Kang, Lee and Chui 2007 and 2009. Settings: detail (the finest
line in mm, which sets sigma) and smoothing in mm. A chin or a nose comes out as one stroke, since the difference is
averaged along the edge before it is cut. Added to the paper's formula: differences at the size of grain are held
back, part of the surroundings' lightness is taken off so that a dim part keeps its lines, strokes too faint for their
size are dropped, a picture of low contrast is stretched and drawn with a wider Gaussian, so that its noise isn't, and a
small plaque is drawn with a narrower one, so that eyes and brows stay apart. Before all of that texture is taken from
the picture, as much as was asked for, but where it must stay fine: a fur's hairs and a coat's weave make a hundred
strokes that nobody sees at arm's length.
"""

from __future__ import annotations

from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone.fields import Field, blurred, resized
from shadowrout.design.tone.flow import flow_of, mean_along
from shadowrout.design.tone.rolling_guidance import rolling_guidance

RATIO = 1.6
"""Wider Gaussian over the narrower one, k of the paper: close to the Laplacian of a Gaussian."""
SHARPNESS = 80.0
"""p of the paper, weight of the edges against the dark areas; higher than there, since grain is held back."""
GRAIN = 0.55
"""Difference of Gaussians, in CIE L*, that counts half; smaller ones fade with their cube."""
LOW_CONTRAST = 8.0
"""Standard deviation of CIE L* to which a picture of less is stretched, so that a flat grey picture has lines too."""
MOST_WIDENED = 1.5
"""Most that the Gaussians get wider where a picture is stretched: more would let neighbouring lines run together."""
SIGMA_OF_DETAIL = 0.5
"""Sigma over the finest line's width, on a plaque large enough for it."""
SIGMA_OF_DIAGONAL = 1 / 600
"""Greatest sigma over the picture's diagonal: a face or an animal keeps its features at this and loses them above."""
LEAST_SIGMA_OF_DETAIL = 0.3
"""Least sigma over the finest line's width: below it most lines would have to be widened."""
SMOOTHING_OF_SIGMA = 0.5
"""Smoothing of the result over sigma, where not set."""
ALONG_OF_SIGMA = 3.0
"""Sigma along the edge over sigma across it."""
TENSOR_OF_SIGMA = 2.2
"""Sigma of the structure tensor over that of the lines."""
WORKING_SIGMA_PX = 1.4
"""Sigma in the pixels that the work is done on: as few as still hold the lines."""
NEARLY_WORKING = 0.05
"""Difference from that scale, as a share, at which the given pixels are used as they are."""
MOST_ENLARGED = 2.0
"""How far a picture is enlarged for its lines' sake at most: what it doesn't have no more pixels bring."""
SURROUNDINGS = 0.45
"""Share of the surroundings' lightness that is taken off."""
SURROUNDINGS_OF_DIAGONAL = 0.06
"""Sigma of the surroundings over the picture's diagonal: they belong to the subject, so they grow with it."""
FAINT = 1800.0
"""Least darkness of a stroke summed over its area, in CIE L* times squared sigma: an eye at 100 mm has more."""
FULL_DARKNESS = 60.0
"""CIE L* past the level from which a pixel counts no more, so that darkness doesn't make up for area."""
TEXTURE_PX = {"fewest": 6.0, "few": 4.0, "some": 2.0, "all": 0.0}
"""Size of the texture that goes, a Gaussian's sigma in working pixels, for each amount of lines.

On ten pictures at 200 mm a sigma of 4 left .46 of the hours by hand at .99 of the likeness; one of 6 left .93 of it,
and .65 of the worst.
"""
TEXTURE_RANGE = (4.0, 2.0)
"""Difference of CIE L* up to which neighbours are one surface: the first, and the second for each pixel of sigma."""


def darkness(
    lightness: Field, *, detail_px: float, smoothing_px: float, lines: str = "all", fine: Field | None = None
) -> Field:
    """Return how dark each pixel is, areas and lines together, in CIE L* negated; shape (height, width).

    ``lines``, a key of TEXTURE_PX, says how much texture goes first, and ``fine`` (height, width) where it stays: 1
    keeps all of it, 0 none; None is 0 everywhere.

    The work is done on pixels of one size against sigma and then brought back, so that the design doesn't change
    with the pixels given: a Gaussian of that sigma lets nothing through that finer pixels could show.
    """
    height, width = lightness.shape
    sigma_px = sigma_of(lightness.shape, detail_px=detail_px)
    scale = working_scale(lightness.shape, detail_px=detail_px)
    texture_px = TEXTURE_PX[lines]
    if abs(scale - 1) < NEARLY_WORKING:
        return blurred(_darkness(without_texture(lightness, texture_px, fine), sigma_px), smoothing_px)
    size = max(2, round(width * scale)), max(2, round(height * scale))
    working = without_texture(resized(lightness, *size), texture_px, None if fine is None else resized(fine, *size))
    result = blurred(_darkness(working, sigma_px * scale), smoothing_px * scale)
    return resized(result, width, height)


def without_texture(lightness: Field, texture_px: float, fine: Field | None) -> Field:
    """Return the lightness without structures smaller than ``texture_px``, but for the share ``fine`` of them.

    All shapes are (height, width). At 0 nothing goes.
    """
    if not texture_px:
        return lightness
    least, more = TEXTURE_RANGE
    smooth = rolling_guidance(lightness, sigma_px=texture_px, range_sigma=least + more * texture_px)
    return smooth if fine is None else smooth + fine * (lightness - smooth)


def working_scale(shape: tuple[int, int], *, detail_px: float) -> float:
    """Return the pixels that the work takes along a side over those of a picture of ``shape`` (height, width)."""
    return min(WORKING_SIGMA_PX / sigma_of(shape, detail_px=detail_px), MOST_ENLARGED)


def sigma_of(shape: tuple[int, int], *, detail_px: float) -> float:
    """Return the narrower Gaussian's sigma in pixels for a picture's shape (height, width) and the finest line."""
    height, width = shape
    least, most = LEAST_SIGMA_OF_DETAIL * detail_px, SIGMA_OF_DETAIL * detail_px
    return min(max(SIGMA_OF_DIAGONAL * float(np.hypot(height, width)), least), most)


def _darkness(lightness: Field, sigma_px: float) -> Field:
    """Return the darkness on pixels of a fitting size.

    Stretching a picture of low contrast stretches its noise too, that of JPEG above all; the noise left by a
    Gaussian falls as 1 / sigma, so that one so much wider leaves lines as far above it as in other pictures.
    """
    stretch = max(1.0, LOW_CONTRAST / float(lightness.std()))
    sigma_px *= min(stretch, MOST_WIDENED)
    stretched = lightness * np.float32(stretch)
    narrow, wide = blurred(stretched, sigma_px), blurred(stretched, RATIO * sigma_px)
    flow = flow_of(narrow, sigma_px=TENSOR_OF_SIGMA * sigma_px)
    edges = mean_along(narrow - wide, flow, sigma_px=ALONG_OF_SIGMA * sigma_px)
    areas = narrow - np.float32(SURROUNDINGS) * surroundings(narrow)
    return -sharpened(areas, edges, sharpness=SHARPNESS, grain=GRAIN)


def sharpened(areas: Field, edges: Field, *, sharpness: float, grain: float) -> Field:
    """Return S = G + p D of the paper's (1 + p) G(sigma) - p G(k sigma), with D = G(sigma) - G(k sigma) its ``edges``.

    Where D is as small as ``grain`` it counts half, D^3 / (D^2 + grain^2) in all; ``grain`` 0 is the paper's
    formula. A flat field has no edges and comes out unchanged.
    """
    square = edges * edges
    held_back = edges * square / (square + np.float32(grain) ** 2) if grain else edges
    result: Field = areas + np.float32(sharpness) * held_back
    return result


def surroundings(lightness: Field) -> Field:
    """Return the mean lightness around each pixel, reckoned on coarse pixels; shape (height, width)."""
    height, width = lightness.shape
    sigma_px = SURROUNDINGS_OF_DIAGONAL * float(np.hypot(height, width))
    scale = min(1.0, 4 / sigma_px)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return resized(blurred(resized(lightness, *size), sigma_px * scale), width, height)


def without_faint(field: Field, *, sigma_px: float) -> Field:
    """Return the field with strokes that are too faint for their size turned light, by a change of sign.

    A stroke is a connected part that is positive; pixels that meet at a corner connect.
    """
    dark = field > 0
    count, labels = cv2.connectedComponents(dark.view(np.uint8), connectivity=8)
    strength = np.minimum(field[dark], np.float32(FULL_DARKNESS))
    sums = np.bincount(labels[dark], weights=strength, minlength=count)
    faint = sums < FAINT * sigma_px**2
    faint[0] = False
    sign: NDArray[np.float32] = np.where(faint, -1, 1).astype(np.float32)
    return cast(Field, field * sign[labels])
