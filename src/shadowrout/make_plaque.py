"""One plaque, from the decoded picture to fitted lines and arcs: the rooms in their order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from shadowrout import mask as mask_room
from shadowrout import photo as photo_room
from shadowrout import tone as tone_room
from shadowrout import trace
from shadowrout.drawing.carve import CarvePaths, PocketPaths
from shadowrout.fit import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.mask import Mask
from shadowrout.options import Job, Plaque
from shadowrout.photo import Photo
from shadowrout.plan import Plan, Pocket, plan_carving
from shadowrout.size import Design, Layout, Resolution, sized

LEAST_SHADOW_LINES = 2.0
"""A shadow smaller than a finest line of this many times its width is a speck."""

Value = TypeVar("Value")

_PATH_TOLERANCE_SHARE = 0.8
_LINE_TOLERANCE_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class MadePlaque:
    """Everything that was worked out for one plaque."""

    plaque: Plaque
    mask: Mask
    design: Design
    plan: Plan
    paths: CarvePaths
    deviation_mm: float
    """The largest distance found between the fitted shadows and the design, both ways."""


def make_plaque(
    job: Job,
    plaque: Plaque,
    layout: Layout,
    resolution: Resolution,
    photo: Photo,
    *,
    step: Callable[[str], None],
) -> MadePlaque:
    """Return one plaque of a settled job; ``step`` is told the name of each step as it starts."""
    step("two tones")
    mask = two_tone_design(job, photo, resolution)
    step("outlines")
    speck_mm2 = least_shadow_mm2(job)
    design = sized(trace.outline_of(mask), layout, least_area_mm2=speck_mm2)
    step("pockets and V lines")
    plan = plan_carving(
        design.shadow,
        thickness_mm=plaque.thickness,
        finish=job.finish,
        cutters=job.cutters,
        v_tool=job.v_tool,
        tolerance_mm=job.output.tolerance,
    )
    step("lines and arcs")
    fitted = fit_region(design.shadow, tolerance=job.output.tolerance)
    paths = CarvePaths(
        fitted.paths,
        tuple(_pocket_paths(plan.pockets, job.output.tolerance * _PATH_TOLERANCE_SHARE)),
        _v_line_paths(plan, job.output.tolerance * _LINE_TOLERANCE_SHARE),
    )
    return MadePlaque(plaque, mask, design, plan, paths, fitted.deviation)


def two_tone_design(job: Job, photo: Photo, resolution: Resolution) -> Mask:
    """Return the two-tone design of a settled job at one plaque's working resolution."""
    fine = photo_room.resampled(photo, width_px=resolution.width_px, height_px=resolution.height_px)
    tone = tone_room.two_tone(
        fine,
        pixel_mm=resolution.pixel_mm,
        method=_settled(job.tone.method),
        dark=job.tone.dark,
        detail_mm=_settled(job.tone.detail),
        smoothing_mm=job.tone.smoothing,
    )
    speck_mm2 = least_shadow_mm2(job)
    return mask_room.clean(tone, least_speck_mm2=speck_mm2, least_pinhole_mm2=speck_mm2)


def least_shadow_mm2(job: Job) -> float:
    """Return the area under which a shadow, or a hole in one, is too small to make."""
    detail: float = _settled(job.tone.detail)
    return LEAST_SHADOW_LINES * detail**2


def _pocket_paths(pockets: Sequence[Pocket], tolerance_mm: float) -> Iterator[PocketPaths]:
    """Yield each pocket with its fitted paths; all walls are fitted at once, so that none crosses another."""
    walls = _fitted_apart([pocket.wall for pocket in pockets], tolerance_mm)
    centres = _fitted_apart([pocket.cutter_path for pocket in pockets], tolerance_mm)
    for pocket, wall, centre in zip(pockets, walls, centres, strict=True):
        yield PocketPaths(pocket, wall, centre)


def _fitted_apart(regions: Sequence[Region], tolerance_mm: float) -> list[tuple[ArcPath, ...]]:
    paths = iter(fit_region(Region.together(regions), tolerance=tolerance_mm).paths)
    return [tuple(next(paths) for _ in region.rings()) for region in regions]


def _v_line_paths(plan: Plan, tolerance_mm: float) -> tuple[ArcPath, ...]:
    return fit_open([line.points for line in plan.v_lines], tolerance=tolerance_mm).paths


def _settled(value: Value | None) -> Value:
    if value is None:
        raise ValueError("the job must be settled before a plaque is made")
    return value
