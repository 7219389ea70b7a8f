"""What is cut of one plaque as lines and arcs: outlines, pockets, V lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_line_paths import FittedVLine, fit_v_lines
from shadowrout.fit.fitting import fit_open, fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

_PATH_TOLERANCE_SHARE = 0.8
"""Part of the tolerance that a pocket's wall and cutter path are fitted with; the outline they were planned inside has
had its own share of it."""

_LINE_TOLERANCE_SHARE = 0.5
"""The same for lines in the middle of what they cut, where an error shows on one side and on the other."""


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


def carve_paths(plan: Plan, shadow: tuple[ArcPath, ...], *, tolerance_mm: float, smooth: bool) -> CarvePaths:
    """Return a plan's pockets and lines as few pieces, beside the outlines that it was planned on."""
    line_tolerance = _LINE_TOLERANCE_SHARE * tolerance_mm
    return CarvePaths(
        shadow,
        tuple(pocket_paths(plan.pockets, tolerance_mm * _PATH_TOLERANCE_SHARE, smooth=smooth)),
        fit_v_lines(plan.v_lines, tolerance=line_tolerance),
        fit_open([line.points for line in plan.flow_lines], tolerance=line_tolerance).paths,
        fit_open([ridge.points for ridge in plan.fragile_light], tolerance=line_tolerance).paths,
    )


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
