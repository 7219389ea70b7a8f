"""From the middle lines of solid material to the outlines of the openings, finer than the pixels.

The sheet that results is every disc of half the web about the pixels of the middle lines, and what the design
has beside that. A sheet of such discs passes the criterion whenever its middle lines hang together.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.design.mask import Mask as FieldMask
from shadowrout.design.trace import outline_of
from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Region
from shadowrout.sheets.criterion import TWO_TOUCH_REACH
from shadowrout.sheets.stencil.rasters import Mask, deep, distance_px, labelled

Field = NDArray[np.float32]
"""Pixels from the edge of the openings, positive inside them; right near the edge only."""

LEAST_AREA_MM2 = 4.0
"""Smaller openings are left out."""

LEAST_FIN_MM = 0.6
"""Thinner points of the sheet are cut back: they would burn or break off."""

_SLACK_PX = 1.2
"""The solid sheet lies up to a pixel inside the design's edges, and a little for the diagonal."""
_CONTACT_PX = 1.5
"""A pixel's diagonal: what lies so near the solid sheet touches it."""
_STRIP_SLACK_PX = 2.0
"""What the pixels of a line across a slit, and the slant of its sides, may take from a strip's width."""
_NEIGHBOURS = (
    (np.s_[:, :-1], np.s_[:, 1:]),
    (np.s_[:-1], np.s_[1:]),
    (np.s_[:-1, :-1], np.s_[1:, 1:]),
    (np.s_[:-1, 1:], np.s_[1:, :-1]),
)
"""Slices that put each pixel beside its right, lower, lower right and lower left neighbour."""

_OUTLINE_ERROR_MM = 0.008
"""A twelfth of the usual tolerance."""


def design_field(cover: NDArray[np.float32], *, least_opening_px: float, least_area_px: float) -> Field:
    """Return the field of a design, given as the share of each pixel that is dark, cleared of what is too small.

    Narrower parts than the least opening and smaller ones than the least area are gone.
    """
    field = (cover - np.float32(0.5)).astype(np.float32)
    return _without_small(_rounded(field, least_opening_px / 2), least_area_px)


@dataclass(frozen=True)
class Fringe:
    """How far light of the design may stand out from the solid sheet, in pixels.

    ``fin_px`` holds for what hangs on it in one place, ``link_px`` for what touches it in several.
    """

    fin_px: float
    link_px: float


def opening_field(
    design: Field,
    middle: Mask,
    *,
    half_web_px: float,
    fringe: Fringe,
    least_opening_px: float,
    least_area_px: float,
    least_fin_px: float,
) -> Field:
    """Return the field of the openings of a sheet whose solid material runs along ``middle``.

    The sheet keeps all within half a web of the middle, and of the design's own light what stands out no further
    than the fringe, isn't thinner than the least fin and hangs on the sheet. Corners of openings are rounded to
    half the least opening. Slits narrower than that between wide openings are widened where the sheet beside them
    isn't needed, and closed else: by a strip of the least fin where one so long may be thin, else by a web.
    """
    beyond = distance_px(middle) - np.float32(half_web_px)
    allowed = np.where(_links(design, beyond), np.float32(fringe.link_px), np.float32(fringe.fin_px))
    field = np.minimum(beyond, np.maximum(design, beyond - allowed))
    field = _without_thin_sheet(field, middle, least_fin_px / 2)
    radius_px = least_opening_px / 2
    field = _rounded(_without_loose_sheet(field, middle), radius_px)
    if (slits := _slits(field, radius_px)).any():
        wider = np.minimum(beyond, np.float32(radius_px + 1) - distance_px(slits))
        field = _rounded(_without_loose_sheet(np.maximum(field, wider), middle), radius_px)
        may_be_thin = radius_px + _SLACK_PX < TWO_TOUCH_REACH * 2 * half_web_px
        strip_px = least_fin_px / 2 if may_be_thin else half_web_px + _STRIP_SLACK_PX
        field = np.minimum(field, distance_px(_slits(field, radius_px)) - np.float32(strip_px))
    return _without_small(field, least_area_px)


def _links(design: Field, beyond: Field) -> Mask:
    """Return the light that stands out from the solid sheet and touches it in several places.

    The solid sheet lies up to a pixel inside the design's edges, so what stands out begins a little beyond it.
    """
    out = (design <= 0) & (beyond > _SLACK_PX)
    count, pieces = labelled(out, connectivity=8)
    touches, places = labelled(out & (beyond <= _SLACK_PX + _CONTACT_PX), connectivity=8)
    owner = np.zeros(touches + 1, dtype=np.intp)
    owner[places] = pieces
    several = np.bincount(owner[1:], minlength=count + 1) > 1
    several[0] = False
    return np.asarray(several[pieces])


def region_of(field: Field, grid: Grid) -> Region:
    """Return the openings in millimetres; the empty region where the field is nowhere positive."""
    if not (field > 0).any():
        return Region.empty()
    clipped = np.clip(field, -2, 2).astype(np.float32)
    outline = outline_of(FieldMask(clipped, grid.pixel_mm, specks_removed=0, pinholes_filled=0))
    placed = outline.region.mapped((grid.pixel_mm, -grid.pixel_mm), (grid.box[0], grid.box[3]))
    return placed.simplified(_OUTLINE_ERROR_MM)


def _rounded(field: Field, radius_px: float) -> Field:
    """Return the field without what no disc of the radius reaches from inside."""
    core = deep(field > 0, radius_px)
    reach = np.float32(radius_px + 1) - distance_px(core)
    return np.asarray(np.minimum(field, reach))


def _slits(field: Field, radius_px: float) -> Mask:
    """Return where openings meet in a slit that no disc of the radius passes, as thin lines across it."""
    core = deep(field > 0, radius_px)
    _, nearest = cv2.distanceTransformWithLabels(
        (~core).view(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_CCOMP
    )
    nearest = np.where(field > 0, nearest, 0)
    slits = np.zeros(field.shape, dtype=bool)
    for a, b in _NEIGHBOURS:
        slits[a] |= (nearest[a] > 0) & (nearest[b] > 0) & (nearest[a] != nearest[b])
    return slits


def _without_small(field: Field, least_area_px: float) -> Field:
    _, labels = labelled(field > 0, connectivity=8)
    small = np.bincount(labels.ravel()) < least_area_px
    small[0] = False
    return np.where(small[labels], -np.abs(field), field)


def _without_thin_sheet(field: Field, middle: Mask, radius_px: float) -> Field:
    """Return the field with sheet turned to opening that no disc of the radius reaches from the middle lines inside.

    A wide piece on a neck thinner than the disc goes as a whole.
    """
    count, parts = labelled(deep(field <= 0, radius_px), connectivity=8)
    held = np.zeros(count + 1, dtype=bool)
    held[parts[middle]] = True
    held[0] = False
    return np.asarray(np.maximum(field, distance_px(held[parts]) - np.float32(radius_px + 1)))


def _without_loose_sheet(field: Field, middle: Mask) -> Field:
    """Return the field with all sheet turned to opening that doesn't hang on the middle line by a pixel's side."""
    count, labels = labelled(field <= 0, connectivity=4)
    held = np.zeros(count + 1, dtype=bool)
    held[labels[middle]] = True
    held[0] = True
    loose = ~held[labels]
    return np.where(loose, np.maximum(np.abs(field), np.float32(0.05)), field)
