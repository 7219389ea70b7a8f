"""What is cut of one plaque as lines and arcs: outlines, pockets, V lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from shadowrout.carving.cuts import CutShadow, cut_shadow
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_line_paths import FittedVLine, as_cut, depth_error_mm, fit_v_lines
from shadowrout.fit.fitting import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

_PATH_TOLERANCE_SHARE = 0.8
"""Part of the tolerance that a pocket's wall and cutter path are fitted with; the outline they were planned inside has
had its own share of it."""

_LINE_TOLERANCE_SHARE = 0.5
"""The same for lines in the middle of what they cut, where an error shows on one side and on the other."""

_MOST_OFF_LINE_MM = 0.1
"""How far a line may lie off at any tolerance: less than the 0.15 mm that count as cut, so that no strip of a stroke
is left beside it. Outlines may lie off by as much as the job allows, but a stroke is narrower than that."""


@dataclass(frozen=True, eq=False)
class PocketPaths:
    """A pocket with its wall and its cutter's centre lines as lines and arcs."""

    pocket: Pocket
    wall: tuple[ArcPath, ...]
    cutter_path: tuple[ArcPath, ...]


@dataclass(frozen=True, eq=False)
class CarvePaths:
    """Everything to draw for one plaque, already fitted."""

    shadow: tuple[ArcPath, ...]
    pockets: tuple[PocketPaths, ...]
    v_lines: tuple[FittedVLine, ...]
    flow_lines: tuple[ArcPath, ...] = ()
    fragile_light: tuple[ArcPath, ...] = ()


def carve_paths(
    plan: Plan, shadow: tuple[ArcPath, ...], *, tolerance_mm: float, v_angle_deg: float, smooth: bool
) -> CarvePaths:
    """Return a plan's pockets and lines as few pieces, beside the outlines that it was planned on."""
    line_tolerance = min(_LINE_TOLERANCE_SHARE * tolerance_mm, _MOST_OFF_LINE_MM)
    return CarvePaths(
        shadow,
        tuple(pocket_paths(plan.pockets, tolerance_mm * _PATH_TOLERANCE_SHARE, smooth=smooth)),
        fit_v_lines(plan.v_lines, tolerance=line_tolerance, depth_error_mm=depth_error_mm(tolerance_mm, v_angle_deg)),
        fit_open([line.points for line in plan.flow_lines], tolerance=line_tolerance).paths,
        fit_open([ridge.points for ridge in plan.fragile_light], tolerance=line_tolerance).paths,
    )


def shadow_as_cut(paths: CarvePaths, shadow: Region, *, flatness_mm: float) -> CutShadow:
    """Return what the written pockets and V lines leave of a shadow; arcs are flattened to within ``flatness_mm``.

    Fitting moves walls and lines, so the plan's own would tell less than is left.
    """
    pockets = [
        replace(member.pocket, wall=as_fitted(member.pocket.wall, member.wall, flatness_mm)) for member in paths.pockets
    ]
    return cut_shadow(shadow, pockets, [as_cut(line, flatness_mm) for line in paths.v_lines])


def as_fitted(region: Region, paths: Sequence[ArcPath], flatness_mm: float) -> Region:
    """Return a region as its fitted rings, in its own order, will be written."""
    rings = (path.flattened(flatness_mm) for path in paths)
    return Region.of_polygons([(next(rings), [next(rings) for _ in holes]) for _, holes in region.polygons()])


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
