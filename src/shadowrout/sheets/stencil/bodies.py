"""The solid bodies of a sheet before bridges: which hang together by webs, how large they are, what is an island."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.sheets.stencil.rasters import Distances, Labels, Mask, labelled
from shadowrout.sheets.stencil.webs import Webs

COUNTER_OF_OPENING = 0.03
"""An island is a counter if it has at least this share of the area of the opening around it, and is compact."""

COMPACT = 6.0
"""A compact island has at most this many times the area of the largest disc inside it."""


@dataclass(frozen=True, eq=False)
class Bodies:
    """Bodies numbered from 1; index 0 of each array means nothing.

    A body is a piece of core, or the lines of a piece of sheet that has none. ``labels`` has shape (rows,
    columns). ``group`` tells which bodies hang together by webs that are kept: equal numbers do. ``frame`` is
    the body along the sheet's edge. ``area_px`` counts the sheet's pixels nearer to the body than to another,
    ``centre`` is their middle as (row, column). ``counter`` marks bodies that are the inside of an opening.
    """

    labels: Labels
    count: int
    frame: int
    group: NDArray[np.intp]
    area_px: NDArray[np.float64]
    centre: NDArray[np.float64]
    counter: NDArray[np.bool_]
    groups: Labels
    """The number of the group that each pixel of a body or of a kept web belongs to, shape (rows, columns)."""
    nearest: NDArray[np.intp]
    """Flat index of the body pixel nearest to each pixel, shape (rows, columns)."""


def find_bodies(solid: Mask, depth: Distances, webs: Webs, *, frame_row: int, keep: Mask) -> Bodies:
    """Return the bodies of a sheet; ``frame_row`` is a row of pixels that lies wholly in the frame's core.

    Bodies with a pixel of ``keep`` count as counters.
    """
    joined_count, joined = labelled(webs.core | webs.lines, connectivity=8)
    cored = np.zeros(joined_count + 1, dtype=bool)
    cored[joined[webs.core]] = True
    coreless = webs.lines & ~cored[joined]
    count, labels = labelled(webs.core | coreless, connectivity=8)
    group = np.zeros(count + 1, dtype=np.intp)
    group[labels] = joined
    group[0] = 0
    nearest = _nearest(labels > 0)
    owner = np.where(solid, labels.ravel()[nearest], 0)
    area, centre = _areas(owner, count)
    frame = int(labels[frame_row, labels.shape[1] // 2])
    counter = _counters(solid, depth, labels, count)
    counter[labels[keep]] = True
    counter[0] = False
    return Bodies(labels, count, frame, group, area, centre, counter, joined, nearest)


def _nearest(mask: Mask) -> NDArray[np.intp]:
    """Return the flat index of the mask's pixel nearest to each pixel."""
    _, numbers = cv2.distanceTransformWithLabels(
        (~mask).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    inside = np.flatnonzero(mask)
    index = np.zeros(int(numbers.max()) + 1, dtype=np.intp)
    index[numbers.ravel()[inside]] = inside
    return np.asarray(index[numbers])


def _areas(owner: Labels, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    flat = owner.ravel()
    inside = np.flatnonzero(flat)
    rows, columns = np.divmod(inside, owner.shape[1])
    area = np.bincount(flat[inside], minlength=count + 1).astype(np.float64)
    sums = [np.bincount(flat[inside], axis, minlength=count + 1) for axis in (rows, columns)]
    return area, np.column_stack(sums) / np.maximum(area, 1)[:, None]


def _counters(solid: Mask, depth: Distances, labels: Labels, count: int) -> NDArray[np.bool_]:
    """Return which bodies lie in an island that is compact and not far smaller than the opening around it."""
    islands, numbers = labelled(solid, connectivity=4)
    openings, around = labelled(~solid, connectivity=8)
    area = np.bincount(numbers.ravel(), minlength=islands + 1)
    opening_area = np.bincount(around.ravel(), minlength=openings + 1)
    inscribed = np.zeros(islands + 1, dtype=np.float32)
    np.maximum.at(inscribed, numbers.ravel(), depth.ravel())
    beside = _left_of(numbers, around, islands)
    compact = area <= COMPACT * np.pi * inscribed**2
    counter = compact & (beside > 0) & (area >= COUNTER_OF_OPENING * opening_area[beside])
    counter[numbers[0, 0]] = False
    result = np.zeros(count + 1, dtype=bool)
    result[labels] = counter[numbers]
    result[0] = False
    return result


def _left_of(numbers: Labels, around: Labels, islands: int) -> NDArray[np.intp]:
    """Return which opening lies left of the leftmost pixel of each island, 0 for one on the array's border."""
    inside, left = numbers[:, 1:].T[::-1], around[:, :-1].T[::-1]
    edge = (inside > 0) & (left > 0)
    beside = np.zeros(islands + 1, dtype=np.intp)
    beside[inside[edge]] = left[edge]  # columns run from the right, so that the leftmost comes last
    return beside
