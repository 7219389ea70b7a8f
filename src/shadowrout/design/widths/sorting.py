"""Which stretches of a shadow's strokes are wide enough or taper, and which are too thin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from shadowrout.design.widths.stretch import Stretch, closed_up, dot, runs, thinned
from shadowrout.geometry.medial import Axis
from shadowrout.geometry.region import Region
from shadowrout.geometry.strokes import Stroke, pruned, strokes_of

SLACK = 0.05
"""A stroke this share narrower than the finest line counts as wide enough: less isn't seen."""

TAPER_WIDTHS = 1.5
"""Length over which a free end comes to a point, in finest widths; a thin end no longer than twice that is a taper."""

CRUMB_SHARE = 1 / 4
"""A part of the shadow smaller than this share of the finest line's square goes: tails fall into such when traced."""

_THINNING_SHARE = 0.25
"""Points of a stretch closer than this share of the finest width are left out."""


def sorted_by_width(shadow: Region, axis: Axis, finest_mm: float) -> tuple[list[Stretch], list[Stretch]]:
    """Return the stretches of all strokes that can stay as they are, and those too thin; ``axis`` is the shadow's."""
    strokes = strokes_of(axis, pruned(axis))
    kept: list[Stretch] = []
    thin: list[Stretch] = list(_dots(shadow, axis, finest_mm))
    for stroke, free in zip(strokes, _free_ends(strokes), strict=True):
        whole = closed_up(stroke, *free)
        narrow = 2 * whole.half_widths < finest_mm * (1 - SLACK)
        for first, last, is_narrow in runs(narrow):
            part = whole.part(first, last)
            alone = first == 0 and last == len(narrow)
            stays = not is_narrow or (not alone and _is_taper(part, finest_mm))
            (kept if stays else thin).append(thinned(part, _THINNING_SHARE * finest_mm))
    return kept, thin


def _free_ends(strokes: Sequence[Stroke]) -> list[list[bool]]:
    """Return for both ends of each stroke whether no stroke has another point there."""
    if not strokes:
        return []
    places = np.sort(np.vstack([stroke.points for stroke in strokes]).view(np.complex128).ravel())
    ends = np.vstack([stroke.points[[0, -1]] for stroke in strokes]).view(np.complex128).reshape(-1, 2)
    free: list[list[bool]] = (np.searchsorted(places, ends, "right") - np.searchsorted(places, ends) == 1).tolist()
    return free


def _is_taper(stretch: Stretch, finest_mm: float) -> bool:
    """Return whether a stretch is a short free end that only gets narrower towards its tip."""
    inwards = stretch.half_widths[:: 1 if stretch.free_start else -1]
    narrows = inwards >= (1 - SLACK) * np.maximum.accumulate(inwards)
    free = stretch.free_start or stretch.free_end
    return free and stretch.length_mm < 2 * TAPER_WIDTHS * finest_mm and bool(narrows.all())


def _dots(shadow: Region, axis: Axis, finest_mm: float) -> Iterator[Stretch]:
    """Yield a stretch of hardly any length for each part of the shadow that is too small to have an axis."""
    on_axis = axis.points[np.unique(axis.edges)]
    for part in shadow.parts():
        if part.area < finest_mm**2 and not part.within(on_axis).any():
            found = dot(part)
            if found.width_mm < finest_mm * (1 - SLACK):
                yield found
