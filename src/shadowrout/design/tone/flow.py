"""The direction in which a picture's edges run, and means taken along it.

Source: Kang, Lee and Chui, Coherent Line Drawing, 2007, and Flow-Based Image Abstraction, 2009; here the direction
comes from the smoothed structure tensor (Kyprianidis and Doellner 2008), which needs no iteration.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np

from shadowrout.design.tone.fields import Field, blurred

STEPS = 3
"""Steps along the stream line, either way."""
STEP_OF_SIGMA = 0.75
"""Length of a step over sigma, so that the line is followed to 2.25 sigma."""
_BAND_PX = 1 << 14
"""Pixels that are worked on at a time, so that all that is reckoned for them stays in a processor's cache."""


@dataclass(frozen=True, eq=False)
class Flow:
    """Direction of the edges at each pixel as the cosine and sine of twice its angle, each (height, width).

    Twice the angle, since an edge that runs east runs west as well, and so neighbours can be interpolated. The
    vectors have unit length, or none where there is no edge.
    """

    cos2: Field
    sin2: Field


def flow_of(lightness: Field, *, sigma_px: float) -> Flow:
    """Return the flow from the structure tensor, smoothed by a Gaussian of ``sigma_px``."""
    dx = cast(Field, cv2.Scharr(lightness, cv2.CV_32F, 1, 0, borderType=cv2.BORDER_REFLECT))
    dy = cast(Field, cv2.Scharr(lightness, cv2.CV_32F, 0, 1, borderType=cv2.BORDER_REFLECT))
    # The gradient has twice-angle (xx - yy, 2 xy); the edge lies across it, so both change sign.
    cos2 = blurred(dy * dy - dx * dx, sigma_px)
    sin2 = blurred(-2 * dx * dy, sigma_px)
    length = np.maximum(cast(Field, cv2.magnitude(cos2, sin2)), np.float32(1e-9))
    return Flow(cast(Field, cos2 / length), cast(Field, sin2 / length))


def mean_along(values: Field, flow: Flow, *, sigma_px: float) -> Field:
    """Return the Gaussian mean of ``values`` along the flow's stream line through each pixel, by Euler steps."""
    packed = cast(Field, cv2.merge([flow.cos2, flow.sin2, values]))
    height, width = values.shape
    rows = max(1, _BAND_PX // max(1, width))
    mean = np.empty_like(values)
    for top in range(0, height, rows):
        band = slice(top, top + rows)
        mean[band] = _band_along(packed, values, band, step=np.float32(STEP_OF_SIGMA * sigma_px))
    return mean


def _band_along(packed: Field, values: Field, band: slice, *, step: np.float32) -> Field:
    """Return the mean along the flow for a band of rows; ``packed``: cos2, sin2 and value of each pixel."""
    weights = [float(np.exp(-((n * STEP_OF_SIGMA) ** 2) / 2)) for n in range(1, STEPS + 1)]
    total = values[band].copy()
    rows, columns = cast(tuple[Field, Field], np.indices(total.shape, dtype=np.float32))
    rows += np.float32(band.start)
    start_x, start_y = _unit(packed[band, :, 0], packed[band, :, 1])
    for sign in (1, -1):
        x, y, run_x, run_y = columns, rows, start_x * np.float32(sign), start_y * np.float32(sign)
        for weight in weights[:-1]:
            x, y = cast(Field, x + step * run_x), cast(Field, y + step * run_y)
            cos2, sin2, value = (cast(Field, channel) for channel in cv2.split(_at(packed, x, y)))
            total += np.float32(weight) * value
            run_x, run_y = _onwards(*_unit(cos2, sin2), run_x, run_y)
        total += np.float32(weights[-1]) * _at(values, cast(Field, x + step * run_x), cast(Field, y + step * run_y))
    return total / np.float32(1 + 2 * sum(weights))


def _at(values: Field, x: Field, y: Field) -> Field:
    """Return the values, one or several a pixel, at the places (x, y), interpolated linearly."""
    return cast(Field, cv2.remap(values, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT))


def _unit(cos2: Field, sin2: Field) -> tuple[Field, Field]:
    """Return the vector of half the angle, x and y, of unit length where the input is; its sign is free."""
    x = np.sqrt(np.maximum((1 + cos2) / 2, 0))
    y = np.copysign(np.sqrt(np.maximum((1 - cos2) / 2, 0)), sin2)
    return x, y


def _onwards(x: Field, y: Field, run_x: Field, run_y: Field) -> tuple[Field, Field]:
    """Return the vectors (x, y) turned round wherever they would lead back against the run so far."""
    along = x * run_x + y * run_y
    return np.copysign(x, x * along), np.copysign(y, y * along)
