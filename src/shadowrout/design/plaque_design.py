"""One plaque's design, from its pictures to shadows right for their size."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from shadowrout.design import trace
from shadowrout.design.board import Design, Layout, Resolution, on_board, sized
from shadowrout.design.mask import Mask
from shadowrout.design.tone.flow import Flow, flow_of
from shadowrout.design.two_tone import least_shadow_mm2, two_tone_design
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.job.options import Job
from shadowrout.job.settled import settled
from shadowrout.picture.photo import resampled
from shadowrout.picture.pictures import Pictures

LEAST_LIGHT_LINES = 0.5
"""The narrowest light that widening a line leaves beside it, over the finest line's width."""

_SLIVER_MM2 = 1e-3
"""What is smaller once lines are right for their size, a part or a hole, is left over from reckoning."""


@dataclass(frozen=True, eq=False)
class PlaqueDesign:
    """A plaque's design, the mask it was traced from, and what became of its lines below the finest."""

    mask: Mask
    design: Design
    widths: WidthReport


def design_plaque(
    job: Job, layout: Layout, resolution: Resolution, pictures: Pictures, *, step: Callable[[str], None]
) -> PlaqueDesign:
    """Return the design of one plaque of a settled job; ``step`` is told the name of each step as it starts.

    Raises InputError where nothing of the picture becomes shadow, or too much to be carved.
    """
    step("two tones")
    mask = two_tone_design(job, pictures.photo, resolution, touch_up=pictures.touch_up)
    step("outlines")
    drawn = sized(trace.outline_of(mask), layout, least_area_mm2=least_shadow_mm2(job))
    step("line widths")
    drop_crumbs = pictures.touch_up is None
    design, widths = _right_for_size(drawn, finest_mm=settled(job.tone.detail), drop_crumbs=drop_crumbs)
    return PlaqueDesign(mask, design, widths)


def _right_for_size(drawn: Design, *, finest_mm: float, drop_crumbs: bool) -> tuple[Design, WidthReport]:
    """Return the design with lines below the finest width widened or dropped, and what was done.

    A line that runs along the board's edge is widened on its inner side alone.
    """
    shadow, report = right_for_size(
        drawn.shadow, finest_mm=finest_mm, least_light_mm=LEAST_LIGHT_LINES * finest_mm, drop_crumbs=drop_crumbs
    )
    shadow = on_board(shadow, drawn.layout).keeping(_SLIVER_MM2).holes_filled(_SLIVER_MM2)
    share = drawn.dark_share * shadow.area / drawn.shadow.area
    return dataclasses.replace(drawn, shadow=shadow, dark_share=share), report


def flow_on_plaque(pictures: Pictures, resolution: Resolution, *, smoothing_mm: float) -> Flow:
    """Return the way the picture's edges run, blended over a Gaussian of ``smoothing_mm`` on the plaque."""
    fine = resampled(pictures.photo, width_px=resolution.width_px, height_px=resolution.height_px)
    return flow_of(fine.lightness, sigma_px=smoothing_mm / resolution.pixel_mm)
