"""Which of several shares of dark to take: the one of least work among those that are like the picture.

Likeness is the correlation of the blurred design with the blurred lightness around each pixel, weighted by the
lightness's local contrast, so that a flat sky counts little and a face in shadow as much as one in the sun. It alone
would favour ever more dark, and a plain blur above all; so designs that keep nearly as much of it as the best are held
to be as good, and the strokes that they take decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.tone.fields import Field, blurred, looked_at

KEPT = 0.92
"""Least likeness over the best one's, of a design that counts as good (a judgement, on nine packaged photos)."""
SIGMAS_OF_SIDE = (0.003, 0.006, 0.012)
"""Gaussians over the picture's longer side: what is told apart from an arm's length away to a few steps off."""
WINDOW_OF_SIGMA = 2.0
"""Sigma of the surroundings that a correlation is taken in, over the Gaussian's."""
LIKENESS_PX = 200
"""Longer side that likeness is judged at: the least Gaussian is half a pixel there."""
FINE_WEIGHT = 6.0
"""How much more a face or a box that must stay fine counts than the rest, once more than it (a judgement)."""
STROKE_OF_SIDE = 1 / 8
"""A stroke's length over the longer side: 25 mm on 200 mm."""
CHIP_OF_SIDE = 1 / 100
"""Width over the longer side under which a shadow or a light counts as a chip: 2 mm on 200 mm."""
LEAST_VARIANCE = 1e-6
"""Variance in the surroundings below which nothing shows, of a design in light and dark (0 and 1) and of CIE L*."""


@dataclass(frozen=True, eq=False)
class Likeness:
    """How like a picture designs are. ``lightness`` (height, width) in CIE L*; ``fine`` alike from 0 to 1, or None."""

    lightness: Field
    fine: Field | None = None

    def of(self, dark: NDArray[np.bool_]) -> float:
        """Return it from -1 to 1 for a design of the lightness's shape; 0 where one of both is all one tone."""
        design = looked_at((~dark).astype(np.float32), LIKENESS_PX)
        return float(np.mean([scale.correlation(design) for scale in self._scales]))

    @cached_property
    def _scales(self) -> list[_Scale]:
        lightness = looked_at(self.lightness, LIKENESS_PX)
        weight = 1 if self.fine is None else 1 + np.float32(FINE_WEIGHT) * looked_at(self.fine, LIKENESS_PX)
        side = max(lightness.shape)
        return [_Scale.of(lightness, weight, share * side) for share in SIGMAS_OF_SIDE]


@dataclass(frozen=True, eq=False)
class _Scale:
    """A picture at one Gaussian: its lightness less the mean, that around each pixel, the deviation, the weight."""

    sigma_px: float
    lightness: Field
    mean: Field
    deviation: Field
    weight: Field

    @classmethod
    def of(cls, lightness: Field, weight: Field | int, sigma_px: float) -> _Scale:
        smooth = blurred(lightness - np.float32(lightness.mean()), sigma_px)
        mean = blurred(smooth, WINDOW_OF_SIGMA * sigma_px)
        deviation = np.sqrt(np.maximum(blurred(smooth**2, WINDOW_OF_SIGMA * sigma_px) - mean**2, LEAST_VARIANCE))
        return cls(sigma_px, smooth, mean, deviation, weight * deviation)

    def correlation(self, design: Field) -> float:
        smooth = blurred(design, self.sigma_px)
        window_px = WINDOW_OF_SIGMA * self.sigma_px
        mean = blurred(smooth, window_px)
        deviation = np.sqrt(np.maximum(blurred(smooth**2, window_px) - mean**2, LEAST_VARIANCE))
        common = blurred(smooth * self.lightness, window_px) - mean * self.mean
        return float(np.average(common / (deviation * self.deviation), weights=self.weight))


def strokes(dark: NDArray[np.bool_]) -> float:
    """Return about how many strokes a design (height, width) takes; 0 for one of a single tone.

    Each chip takes one more stroke than its length.
    """
    along = cut_px(dark) / (STROKE_OF_SIDE * float(max(dark.shape)))
    return along + chips(dark) + chips(~dark, connectivity=4)


def cut_px(dark: NDArray[np.bool_]) -> float:
    """Return about how long the cuts of a design (height, width) are, in pixels: half as long as its outlines.

    That is a line's own length. An outline that runs in all directions alike is pi / 4 of its pixels' sides (Cauchy and
    Crofton).
    """
    sides = np.count_nonzero(dark[1:] != dark[:-1]) + np.count_nonzero(dark[:, 1:] != dark[:, :-1])
    return float(math.pi / 4 * sides / 2)


def chips(part: NDArray[np.bool_], *, connectivity: int = 8) -> int:
    """Return how many connected parts of a mask (height, width) have less area than a square of a chip's width."""
    areas = cv2.connectedComponentsWithStats(part.view(np.uint8), connectivity=connectivity)[2][1:, cv2.CC_STAT_AREA]
    return int(np.count_nonzero(areas < (CHIP_OF_SIDE * max(part.shape)) ** 2))


def plainest(designs: Sequence[NDArray[np.bool_]], likeness: Likeness) -> int:
    """Return the index of the design of fewest strokes among those with at least KEPT of the best one's likeness.

    The first of several alike. Designs are dark where True and have the picture's shape; no designs raise ValueError.
    """
    alike = [likeness.of(dark) for dark in designs]
    least = KEPT * max(alike) if max(alike) > 0 else max(alike)
    good = [index for index, value in enumerate(alike) if value >= least]
    return min(good, key=lambda index: strokes(designs[index]))
