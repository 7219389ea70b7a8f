"""One plaque, from the decoded picture to the bytes of its files: the rooms in their order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from shadowrout import mask as mask_room
from shadowrout import photo as photo_room
from shadowrout import tone as tone_room
from shadowrout import trace
from shadowrout.drawing.carve import CarvePaths, PocketPaths, carve_drawing
from shadowrout.drawing.shapes import Unit
from shadowrout.fit import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region
from shadowrout.mask import Mask
from shadowrout.options import Job, Plaque
from shadowrout.photo import Photo
from shadowrout.plan import Plan, Pocket, plan_carving
from shadowrout.size import Design, Layout, Resolution, sized
from shadowrout.writers.dxf import dxf_bytes
from shadowrout.writers.svg import svg_bytes

LEAST_SHADOW_LINES = 2.0
"""A shadow smaller than a finest line of this many times its width is a speck."""

Value = TypeVar("Value")

_PATH_TOLERANCE_SHARE = 0.8
_LINE_TOLERANCE_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class MadePlaque:
    """Everything that was worked out for one plaque, and its files by name."""

    plaque: Plaque
    mask: Mask
    design: Design
    plan: Plan
    paths: CarvePaths
    deviation_mm: float
    files: dict[str, bytes]


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
    step("files")
    files = _carve_files(job, plaque, paths, plan, layout)
    return MadePlaque(plaque, mask, design, plan, paths, fitted.deviation, files)


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


def _carve_files(job: Job, plaque: Plaque, paths: CarvePaths, plan: Plan, layout: Layout) -> dict[str, bytes]:
    if "carve" not in job.output.files:
        return {}
    drawing = carve_drawing(
        paths,
        plan,
        layout,
        unit=Unit(job.output.unit),
        title=f"{_printable(job.picture.file.stem)}, {plaque.name}",
        description=(
            "Depths are measured from the face before sanding. A pocket's wall, noted with its depth, is where the "
            "cutter's edge ends; the cutter path, noted with the cutter's diameter, is the line its centre follows: "
            "use one of the two, never an offset on top of the path. "
            "Depths are starting points to confirm on scrap; the machine's manual comes first."
        ),
    )
    return {
        "carve.svg": svg_bytes(drawing),
        "carve.dxf": dxf_bytes(drawing, version=job.output.dxf),
    }


def _printable(text: str) -> str:
    """Return the text with a space for each character that a drawing's title can't hold."""
    return "".join(c if c.isprintable() else " " for c in text)


def _settled(value: Value | None) -> Value:
    if value is None:
        raise ValueError("the job must be settled before a plaque is made")
    return value
