"""Texture taken away and contours kept: the rolling guidance filter.

Sources: Zhang, Shen, Xu and Jia, Rolling Guidance Filter, European Conference on Computer Vision, 2014; its joint
bilateral filter (Petschnigg and others, Digital Photography with Flash and No-Flash Image Pairs, 2004) by levels after
Yang, Tan and Ahuja, Real-time O(1) Bilateral Filtering, Conference on Computer Vision and Pattern Recognition, 2009.
A Gaussian takes all that is smaller than itself; then the picture is smoothed again and again, each time within what
the result before shows as one, so that what the Gaussian blurred but didn't take comes back sharp.
"""

from __future__ import annotations

from itertools import pairwise
from typing import cast

import cv2
import numpy as np

from shadowrout.design.tone.fields import Field, blurred, resized

ROUNDS = 4
"""Rounds after the Gaussian, of which the paper finds that the result stands still after three to five."""
LEVEL_STEP = 0.7
"""Distance of the levels over the range's sigma: between two so near each other the filter is as good as linear."""
MOST_LEVELS = 24
"""A range much narrower than the guide's own asks for no more."""
COARSE_SIGMA_PX = 2.5
"""Sigma on the coarser pixels that a wide Gaussian is reckoned on: they still hold it."""
_LEAST_WEIGHT = 1e-8
"""Keeps the quotient finite where no pixel nearby is like the level."""


def rolling_guidance(values: Field, *, sigma_px: float, range_sigma: float) -> Field:
    """Return the field without structures smaller than ``sigma_px``, its larger edges in their places.

    ``range_sigma`` is the difference of values, in their unit, up to which neighbours count as one surface.
    """
    guide = blurred(values, sigma_px)
    for _ in range(ROUNDS):
        guide = joint_bilateral(values, guide, sigma_px=sigma_px, range_sigma=range_sigma)
    return guide


def joint_bilateral(values: Field, guide: Field, *, sigma_px: float, range_sigma: float) -> Field:
    """Return the mean of ``values`` by a Gaussian in space and one in the differences of ``guide``.

    Both are of shape (height, width). It is reckoned exactly for a few levels of the guide and meant linearly between
    them. A flat guide gives the plain Gaussian mean.
    """
    lowest, highest = float(guide.min()), float(guide.max())
    if not highest > lowest:
        return blurred(values, sigma_px)
    count = int(np.clip(np.ceil((highest - lowest) / (LEVEL_STEP * range_sigma)), 4, MOST_LEVELS)) + 1
    levels = np.linspace(lowest, highest, count, dtype=np.float32)
    result = np.zeros_like(values)
    below = _mean_at(levels[0], values, guide, sigma_px, range_sigma)
    for low, high in pairwise(levels):
        above = _mean_at(high, values, guide, sigma_px, range_sigma)
        here = (guide >= low) & (guide <= high)
        part = (guide[here] - low) / (high - low)
        result[here] = below[here] + part * (above[here] - below[here])
        below = above
    return result


def _mean_at(level: np.float32, values: Field, guide: Field, sigma_px: float, range_sigma: float) -> Field:
    """Return the mean of the values around each pixel where the guide is like ``level``."""
    weights = cast(Field, np.exp(-np.square((guide - level) / np.float32(range_sigma)) / 2))
    total, weight = _wide_mean(weights * values, sigma_px), _wide_mean(weights, sigma_px)
    return cast(Field, total / np.maximum(weight, np.float32(_LEAST_WEIGHT)))


def _wide_mean(values: Field, sigma_px: float) -> Field:
    """Return the Gaussian mean, of a wide one on coarser pixels."""
    height, width = values.shape
    coarser = max(1, int(sigma_px / COARSE_SIGMA_PX))
    if coarser == 1:
        return blurred(values, sigma_px)
    small = resized(values, max(2, width // coarser), max(2, height // coarser))
    mean = blurred(small, sigma_px / coarser)
    return cast(Field, cv2.resize(mean, (width, height), interpolation=cv2.INTER_LINEAR))
