"""From the design's field to closed outlines, finer than its pixels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import FillType, contour_generator
from numpy.typing import NDArray

from shadowrout.errors import InputError
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region
from shadowrout.mask import Mask

LEAST_OF_MEDIAN = 1e-3
"""Least distance from zero that a pixel keeps, over the field's median."""


@dataclass(frozen=True, eq=False)
class Outline:
    """Shadows in picture pixels: x to the right, y down, the picture spans [0, width_px] x [0, height_px].

    The centre of the pixel in row r and column c lies at (c + 0.5, r + 0.5). ``Region`` orients rings by their
    signed area when they are read, so that y down does them no harm until they are mirrored.
    """

    region: Region
    width_px: int
    height_px: int


def outline_of(mask: Mask) -> Outline:
    """Return the zero level of the mask's field as polygons with holes, interpolated linearly between pixels.

    Shadows that reach the picture's border are closed exactly on it, corners included. A field that is nowhere positive
    or nowhere negative raises InputError, since there is nothing to carve or nothing is left light.
    """
    height, width = mask.field.shape
    dark = np.count_nonzero(mask.field > 0)
    if dark == 0:
        raise InputError(
            "the picture", "nothing to carve: no part is dark; ask for a larger dark share or a finer detail"
        )
    if dark == mask.field.size:
        raise InputError("the picture", "nothing left light: all of it is dark; ask for a smaller dark share")
    polygons = list(_level_set(_padded(_off_zero(mask.field))))
    inside = [
        (_squared(outer, width, height), [_squared(h, width, height) for h in holes]) for outer, holes in polygons
    ]
    return Outline(Region.of_polygons(inside), width, height)


def _off_zero(field: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return the field with values at zero or too near moved off it, light where exactly zero.

    A level line through a pixel's very centre makes rings that touch themselves there.
    """
    exact = field.astype(np.float64)
    least = LEAST_OF_MEDIAN * float(np.median(np.abs(exact))) or float(np.abs(exact).max()) * LEAST_OF_MEDIAN
    return np.where(np.abs(exact) < least, np.where(exact > 0, least, -least), exact)


def _padded(field: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the field with a light frame one pixel wide that puts the zero level of shadows on the border."""
    padded = np.pad(field, 1, mode="edge")
    frame = np.ones(padded.shape, dtype=bool)
    frame[1:-1, 1:-1] = False
    return np.where(frame, -np.abs(padded), padded)


def _level_set(padded: NDArray[np.float64]) -> Iterator[tuple[Points, Sequence[Points]]]:
    """Yield (outer ring, holes) of where the padded field is positive, in picture pixels."""
    rows, columns = padded.shape
    x, y = np.arange(columns) - 0.5, np.arange(rows) - 0.5
    generator = contour_generator(x, y, padded, name="serial", fill_type=FillType.OuterOffset)
    for points, offsets in zip(*generator.filled(0.0, np.inf), strict=True):
        outer, *holes = (points[a : b - 1] for a, b in zip(offsets[:-1], offsets[1:], strict=True))
        yield outer, holes


def _squared(ring: Points, width: int, height: int) -> Points:
    """Return the ring with the picture's corner put in wherever the interpolation cut it off."""
    following = np.roll(ring, -1, axis=0)
    on_side = ((ring[:, 0] == 0) | (ring[:, 0] == width)) & ((following[:, 1] == 0) | (following[:, 1] == height))
    on_end = ((ring[:, 1] == 0) | (ring[:, 1] == height)) & ((following[:, 0] == 0) | (following[:, 0] == width))
    near = np.abs(following - ring).max(axis=1) <= 0.5
    where = np.flatnonzero((on_side | on_end) & near)
    if not len(where):
        return ring
    corners = np.where(
        on_side[where, None],
        np.column_stack([ring[where, 0], following[where, 1]]),
        np.column_stack([following[where, 0], ring[where, 1]]),
    )
    return np.insert(ring, where + 1, corners, axis=0)
