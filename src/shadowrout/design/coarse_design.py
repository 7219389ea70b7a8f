"""A plaque's design drawn so coarsely that a stencil can hold it."""

from __future__ import annotations

import dataclasses

from shadowrout.design import trace
from shadowrout.design.board import Layout, resolution_of, sized
from shadowrout.design.two_tone import least_shadow_mm2, two_tone_design
from shadowrout.errors import InputError, SettingError
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job
from shadowrout.picture.pictures import Pictures

DETAIL_OF_WEB = 4 / 3
"""Finest line of a stencil's own design over its web: finer ones would be lost again between webs."""


def coarse_shadow(job: Job, layout: Layout, pictures: Pictures) -> Region:
    """Return a design of the plaque whose finest line suits the web: a stencil isn't the carved drawing with gaps.

    Where so coarse a design can't have the share of dark that the carved one has, it has the nearest that it can.
    Raises SettingError where nothing is left.
    """
    detail = max(job.tone.detail or 0.0, DETAIL_OF_WEB * job.stencil.web)
    coarse = dataclasses.replace(job, tone=dataclasses.replace(job.tone, detail=detail))
    resolution = resolution_of(layout, detail_mm=job.tone.detail or detail)
    least = _least_mm2(coarse)
    try:
        mask = two_tone_design(
            coarse, pictures.photo, resolution, touch_up=pictures.touch_up, or_nearest=True, least_mm2=least
        )
        return sized(trace.outline_of(mask), layout, least_area_mm2=least).shadow
    except (SettingError, InputError):
        raise SettingError(
            "stencil.web",
            f"{job.stencil.web:g}mm asks for a design so coarse that nothing of the picture is left on a plaque of "
            f"{layout.board_words}; give a narrower web, or a larger plaque",
        ) from None


def _least_mm2(coarse: Job) -> float:
    """Return the area under which a stencil's design leaves shadows and lights out.

    Letters and clip art keep theirs as long as they are a web wide, since none of them may be lost unsaid: what the
    stencil can't hold is refused. A photo's are worth as much as a finest line.
    """
    least = least_shadow_mm2(coarse)
    return min(least, coarse.stencil.web**2) if coarse.tone.method == "two-tone" else least
