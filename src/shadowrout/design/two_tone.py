"""A picture in two tones at one plaque's working resolution: tone, touch-up, specks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shadowrout.design import mask
from shadowrout.design.board import Resolution
from shadowrout.design.clean_areas import KEPT_FINE, without_chips
from shadowrout.design.mask import Mask
from shadowrout.design.tone.choosing import tone_of
from shadowrout.design.tone.settled_tone import leaves_lines_out
from shadowrout.job.options import USUAL_LINES, Job
from shadowrout.job.settled import settled
from shadowrout.picture.photo import Photo, resampled
from shadowrout.picture.touch_up import fitted

LEAST_SHADOW_LINES = 2.0
"""A shadow smaller than a finest line of this many times its width is a speck."""


def two_tone_design(
    job: Job,
    photo: Photo,
    resolution: Resolution,
    *,
    touch_up: NDArray[np.float32] | None = None,
    or_nearest: bool = False,
    detail_mm: float | None = None,
    least_mm2: float | None = None,
) -> Mask:
    """Return the two-tone design of a settled job at one plaque's working resolution, touched up.

    Its finest line is ``detail_mm`` wide, the job's where it is None. Shadows and lights under ``least_mm2`` are left
    out, those too small for that line where it is None. With ``or_nearest`` a share of dark that can't be reached
    gives way to the nearest that can.
    """
    detail_mm = settled(job.tone.detail) if detail_mm is None else detail_mm
    fine = resampled(photo, width_px=resolution.width_px, height_px=resolution.height_px)
    tone = tone_of(
        fine,
        pixel_mm=resolution.pixel_mm,
        method=settled(job.tone.method),
        dark=job.tone.dark,
        detail_mm=detail_mm,
        smoothing_mm=job.tone.smoothing,
        lines=job.tone.lines or USUAL_LINES,
        or_nearest=or_nearest,
    )
    if touch_up is not None:
        touch_up = fitted(touch_up, width_px=resolution.width_px, height_px=resolution.height_px)
    speck_mm2 = least_shadow_mm2(detail_mm) if least_mm2 is None else least_mm2
    clean = mask.clean(tone, least_speck_mm2=speck_mm2, least_pinhole_mm2=speck_mm2, touch_up=touch_up)
    if not leaves_lines_out(job):
        return clean
    return without_chips(clean, detail_mm=detail_mm, keep=_kept(clean, fine, touch_up))


def _kept(design: Mask, photo: Photo, touch_up: NDArray[np.float32] | None) -> NDArray[np.bool_]:
    """Return where chips stay: where the picture must stay fine, and where it was touched up."""
    keep = np.zeros(design.field.shape, bool)
    if photo.fine is not None:
        keep |= photo.fine >= KEPT_FINE
    if touch_up is not None:
        keep |= touch_up != 0
    return keep


def least_shadow_mm2(detail_mm: float) -> float:
    """Return the area under which a shadow, or a hole in one, is too small to make beside so fine a line."""
    return LEAST_SHADOW_LINES * detail_mm**2
