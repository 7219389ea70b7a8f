"""From the design's field to closed outlines, finer than its pixels."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import FillType, contour_generator
from numpy.typing import NDArray

from shadowrout.design.mask import Mask
from shadowrout.errors import InputError
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Region

LEAST_OF_MEDIAN = 1e-5
"""Least distance from zero that a pixel keeps, over the field's median."""
BEYOND = 1e9
"""How far below zero the frame around the picture is, over the field's greatest value."""


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
    polygons = list(_level_set(_framed(_off_zero(mask.field)), width, height))
    return Outline(Region.of_polygons(polygons), width, height)


def _off_zero(field: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return the field with values at zero or too near moved off it, light where exactly zero.

    A level line through a pixel's very centre makes rings that touch themselves there.
    """
    exact = field.astype(np.float64)
    least = LEAST_OF_MEDIAN * float(np.median(np.abs(exact))) or float(np.abs(exact).max()) * LEAST_OF_MEDIAN
    return np.where(np.abs(exact) < least, np.where(exact > 0, least, -least), exact)


def _framed(field: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the field with two rings more: its border values once again, and then far below zero."""
    return np.pad(np.pad(field, 1, mode="edge"), 1, constant_values=-BEYOND * np.abs(field).max())


def _level_set(framed: NDArray[np.float64], width: int, height: int) -> Iterator[tuple[Points, Sequence[Points]]]:
    """Yield (outer ring, holes) of where the framed field is positive, in picture pixels.

    The repeated border values lie on the picture's border itself, so that outlines run straight into it, and the
    frame beyond them turns them there by so little that moving the points back changes nothing but the last digits.
    """
    x = np.concatenate([[-1, 0], np.arange(width) + 0.5, [width, width + 1]])
    y = np.concatenate([[-1, 0], np.arange(height) + 0.5, [height, height + 1]])
    generator = contour_generator(x, y, framed, name="serial", fill_type=FillType.OuterOffset)
    for points, offsets in zip(*generator.filled(0.0, np.inf), strict=True):
        inside = np.clip(points, 0, (width, height))
        outer, *holes = (_distinct(inside[a : b - 1]) for a, b in zip(offsets[:-1], offsets[1:], strict=True))
        yield outer, holes


def _distinct(ring: Points) -> Points:
    """Return the ring without points that equal the one before."""
    moved: NDArray[np.bool_] = (ring != np.roll(ring, 1, axis=0)).any(axis=1)
    return ring[moved]
