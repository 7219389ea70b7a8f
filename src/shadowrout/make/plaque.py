"""One plaque, from the decoded picture to fitted lines and arcs: the rooms in their order."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.fragile_light import grain_on
from shadowrout.carving.plan import Plan, plan_carving
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.streams import Directions
from shadowrout.carving.v_line_paths import FittedVLine, fit_v_lines
from shadowrout.design import mask as mask_room
from shadowrout.design import trace
from shadowrout.design.board import Design, Layout, Resolution, sized
from shadowrout.design.mask import Mask
from shadowrout.design.tone.choosing import two_tone
from shadowrout.design.tone.flow import flow_of
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.design.widths.stretch import WidthReport
from shadowrout.drawing.carve_drawing import CarvePaths, PocketPaths
from shadowrout.drawing.shapes import Profile
from shadowrout.errors import SettingError
from shadowrout.fit.fitting import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job, Plaque
from shadowrout.picture.photo import Photo, resampled
from shadowrout.picture.touch_up import fitted
from shadowrout.sheets.register import RegisterMark, check_room, register_marks
from shadowrout.sheets.router.placing import kept_for_openings

LEAST_SHADOW_LINES = 2.0
"""A shadow smaller than a finest line of this many times its width is a speck."""

LEAST_LIGHT_LINES = 0.5
"""The narrowest light that widening a line leaves beside it, over the finest line's width."""

Value = TypeVar("Value")

_ROUNDING_MM = 0.001
"""What rounding in a writer may add to a deviation."""

_FLATNESS_MM = 0.005
_FLATNESS_SHARE = 0.1
"""Where the tolerance is tight, arcs are flattened for the plan within this share of it at most."""

_SLIVER_MM2 = 1e-3
"""What is smaller once lines are right for their size, a part or a hole, is left over from reckoning."""

_PATH_TOLERANCE_SHARE = 0.8
_LINE_TOLERANCE_SHARE = 0.5

_FLOW_SMOOTHING_SPACINGS = 1.0
"""Standard deviation over which directions are blended, as a share of the flow lines' spacing."""


@dataclass(frozen=True, eq=False)
class MadePlaque:
    """Everything that was worked out for one plaque."""

    plaque: Plaque
    mask: Mask
    design: Design
    widths: WidthReport
    plan: Plan
    paths: CarvePaths
    marks: tuple[RegisterMark, ...]
    deviation_mm: float
    """The largest distance found between the fitted shadows and the design, both ways."""


def make_plaque(
    job: Job,
    plaque: Plaque,
    layout: Layout,
    resolution: Resolution,
    photo: Photo,
    *,
    touch_up: NDArray[np.float32] | None = None,
    step: Callable[[str], None],
) -> MadePlaque:
    """Return one plaque of a settled job; ``step`` is told the name of each step as it starts.

    ``touch_up`` is that of ``Pictures``, of any resolution.
    """
    step("two tones")
    mask = two_tone_design(job, photo, resolution, touch_up=touch_up)
    step("outlines")
    speck_mm2 = least_shadow_mm2(job)
    drawn = sized(trace.outline_of(mask), layout, least_area_mm2=speck_mm2)
    step("line widths")
    design, widths = _right_for_size(drawn, finest_mm=_settled(job.tone.detail), drop_crumbs=touch_up is None)
    check_marks(job, layout, shadow=design.shadow)  # refused here, before the long work
    step("lines and arcs")
    smooth = job.output.smooth
    fitted = fit_region(design.shadow, tolerance=job.output.tolerance - _ROUNDING_MM, smooth=smooth)
    step("pockets and V lines")
    plan = plan_carving(
        _on_board(
            _as_fitted(design.shadow, fitted.paths, min(_FLATNESS_MM, _FLATNESS_SHARE * job.output.tolerance)), layout
        ),
        thickness_mm=plaque.thickness,
        finish=job.finish,
        cutters=job.cutters,
        v_tool=job.v_tool,
        tolerance_mm=job.output.tolerance,
        directions=_directions(job, photo, layout, resolution) if job.v_tool.flow else None,
        grain=grain_on(_settled(plaque.size), job.wood.grain),
    )
    line_tolerance = job.output.tolerance * _LINE_TOLERANCE_SHARE
    v_lines = fit_v_lines(plan.v_lines, tolerance=line_tolerance)
    paths = CarvePaths(
        fitted.paths,
        tuple(pocket_paths(plan.pockets, job.output.tolerance * _PATH_TOLERANCE_SHARE, smooth=smooth)),
        tuple(line.path for line in v_lines),
        tuple(map(_profile, v_lines)),
        fit_open([line.points for line in plan.flow_lines], tolerance=line_tolerance).paths,
        fit_open([ridge.points for ridge in plan.fragile_light], tolerance=line_tolerance).paths,
    )
    marks = _marks(job, layout, design.shadow, plan.pockets)
    return MadePlaque(plaque, mask, design, widths, plan, paths, marks, fitted.deviation)


def check_marks(job: Job, layout: Layout, *, shadow: Region | None = None) -> None:
    """Raise SettingError where the job's register marks have no room on a board, or none beside its ``shadow``."""
    check_room(
        layout,
        dowel_mm=job.register.dowel or 0.0,
        inset_mm=job.register.inset,
        keep_clear=Region.empty() if shadow is None else shadow,
    )


def _marks_clear_of(job: Job, layout: Layout, keep_clear: Region) -> tuple[RegisterMark, ...]:
    return register_marks(
        layout, dowel_mm=job.register.dowel or 0.0, inset_mm=job.register.inset, keep_clear=keep_clear
    )


def _marks(job: Job, layout: Layout, shadow: Region, pockets: Sequence[Pocket]) -> tuple[RegisterMark, ...]:
    """Return register marks that a router template could have too or, where there is no room for such, the board.

    They don't depend on whether a template is made, so that one made later fits the board.
    """
    walls = [pocket.wall for pocket in pockets]
    kept = kept_for_openings(walls, job.template, tolerance_mm=job.output.tolerance)
    try:
        return _marks_clear_of(job, layout, shadow.union(kept))
    except SettingError:
        return _marks_clear_of(job, layout, shadow)


def _right_for_size(drawn: Design, *, finest_mm: float, drop_crumbs: bool) -> tuple[Design, WidthReport]:
    """Return the design with lines below the finest width widened or dropped, and what was done.

    A line that runs along the board's edge is widened on its inner side alone.
    """
    shadow, report = right_for_size(
        drawn.shadow, finest_mm=finest_mm, least_light_mm=LEAST_LIGHT_LINES * finest_mm, drop_crumbs=drop_crumbs
    )
    shadow = _on_board(shadow, drawn.layout).keeping(_SLIVER_MM2).holes_filled(_SLIVER_MM2)
    share = drawn.dark_share * shadow.area / drawn.shadow.area
    return dataclasses.replace(drawn, shadow=shadow, dark_share=share), report


def _on_board(shadow: Region, layout: Layout) -> Region:
    """Return what lies on the board: past its edge there is no wood to cut."""
    board = Region.of_polygons([(layout.edge.flattened(_FLATNESS_MM), [])])
    return shadow if board.covers(shadow) else shadow.intersection(board)


def _as_fitted(shadow: Region, paths: Sequence[ArcPath], flatness_mm: float) -> Region:
    """Return the shadow as it will be written, so that what is planned inside it agrees with its outline."""
    rings = (path.flattened(flatness_mm) for path in paths)
    return Region.of_polygons([(next(rings), [next(rings) for _ in holes]) for _, holes in shadow.polygons()])


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
    out, those too small for the job's finest line where it is None.
    With ``or_nearest`` a share of dark that can't be reached gives way to the nearest that can.
    """
    fine = resampled(photo, width_px=resolution.width_px, height_px=resolution.height_px)
    tone = two_tone(
        fine,
        pixel_mm=resolution.pixel_mm,
        method=_settled(job.tone.method),
        dark=job.tone.dark,
        detail_mm=_settled(job.tone.detail) if detail_mm is None else detail_mm,
        smoothing_mm=job.tone.smoothing,
        or_nearest=or_nearest,
    )
    if touch_up is not None:
        touch_up = fitted(touch_up, width_px=resolution.width_px, height_px=resolution.height_px)
    speck_mm2 = least_shadow_mm2(job) if least_mm2 is None else least_mm2
    return mask_room.clean(tone, least_speck_mm2=speck_mm2, least_pinhole_mm2=speck_mm2, touch_up=touch_up)


def _directions(job: Job, photo: Photo, layout: Layout, resolution: Resolution) -> Directions:
    """Return the way the picture's edges run on the plaque, smooth enough for lines at the job's spacing."""
    fine = resampled(photo, width_px=resolution.width_px, height_px=resolution.height_px)
    sigma_mm = _FLOW_SMOOTHING_SPACINGS * job.v_tool.flow_spacing
    flow = flow_of(fine.lightness, sigma_px=sigma_mm / resolution.pixel_mm)
    return Directions(flow, layout.picture_box_mm, resolution.pixel_mm)


def least_shadow_mm2(job: Job) -> float:
    """Return the area under which a shadow, or a hole in one, is too small to make."""
    detail: float = _settled(job.tone.detail)
    return LEAST_SHADOW_LINES * detail**2


def pocket_paths(pockets: Sequence[Pocket], tolerance_mm: float, *, smooth: bool = False) -> Iterator[PocketPaths]:
    """Yield each pocket with its fitted paths, in the order given.

    All of one cutter's are fitted at once, so that none crosses another.
    """
    for _, group in groupby(pockets, key=lambda pocket: pocket.cutter_mm):
        members = list(group)
        walls = _fitted_apart([pocket.wall for pocket in members], tolerance_mm, smooth)
        centres = _fitted_apart([pocket.cutter_path for pocket in members], tolerance_mm, smooth)
        for pocket, wall, centre in zip(members, walls, centres, strict=True):
            yield PocketPaths(pocket, wall, centre)


def _fitted_apart(regions: Sequence[Region], tolerance_mm: float, smooth: bool) -> list[tuple[ArcPath, ...]]:
    """Return the fitted rings of each region; no two of the regions share area."""
    paths = iter(fit_region(Region.together(regions), tolerance=tolerance_mm, smooth=smooth).paths)
    return [tuple(next(paths) for _ in region.rings()) for region in regions]


def _profile(line: FittedVLine) -> Profile:
    return Profile(tuple(line.depths_mm.tolist()), tuple(line.widths_mm.tolist()))


def _settled(value: Value | None) -> Value:
    if value is None:
        raise ValueError("the job must be settled before a plaque is made")
    return value
