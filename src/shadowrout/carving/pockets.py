"""Which wood the machine roughs out: cutter paths, pocket walls, and what no cutter reaches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from shadowrout.carving.depths import check_sizes, deeper_depth_mm, passes, pocket_depth_mm
from shadowrout.geometry.lines import parts_meeting, union_all
from shadowrout.geometry.region import Region

if TYPE_CHECKING:
    from shadowrout.job.options import Cutter, Finish

LEAST_CUTTER_AREAS = 3.0
"""A pocket smaller than this many areas of its cutter isn't worth setting up a plunge (common practice)."""

NEW_WOOD_SHARE = 2 / 3
"""Share of the least pocket that a smaller cutter must take from wood that no larger one has taken."""

SEAM_MM = 0.4
"""Wood this close to an earlier pocket doesn't count as new: it is the cusps along its wall."""

SLIVER_MM = 0.5
"""Rest that nowhere gets this far from a pocket is a sliver: the hand gouge takes it with the allowance."""

LEAST_REST_MM2 = 0.3
"""Rest smaller than this is a sliver wherever it lies."""

_SPOT_MM = 0.05
"""How much narrower than asked a circle may be found and still count: outlines have chords for arcs."""

_HAIR_MM = 0.02
"""Half the width below which rest is nothing but the error of the offsets."""


@dataclass(frozen=True, eq=False)
class Pocket:
    """Wood that one cutter roughs out to one depth. All lengths in millimetres.

    ``number`` counts from 1, larger cutters first and larger pockets first within a cutter. ``wall`` is one
    part: where the cutter's edge ends. ``cutter_path`` is where its centre goes, and its rings are the lines
    to follow; it may have several parts, each a plunge. ``depth_mm`` is measured from the unsanded face.
    """

    number: int
    wall: Region
    cutter_path: Region
    depth_mm: float
    cutter_mm: float
    allowance_mm: float
    passes: int

    @property
    def volume_mm3(self) -> float:
        """Wood removed, wall times depth; wood that an earlier pocket has taken isn't subtracted."""
        return self.wall.area * self.depth_mm


def find_pockets(
    shadow: Region, *, cutters: Sequence[Cutter], finish: Finish, thickness_mm: float, tolerance_mm: float
) -> tuple[Pocket, ...]:
    """Return the pockets of all cutters, the largest cutter first; none for an empty or thin shadow.

    A disc of a pocket's cutter about any point of its path leaves the shadow by 0.1 times the tolerance at the
    most, so that 0.8 times the tolerance is left for fitting arcs to the path. Pockets of different
    cutters overlap, so that no ridge stays between them. Raises SettingError for a depth that can't be used, and for
    two cutters of one size.
    """
    check_sizes(cutter.diameter for cutter in cutters)
    error_mm = min(0.01, 0.1 * tolerance_mm)
    pockets: list[Pocket] = []
    for cutter in sorted(cutters, key=lambda c: -c.diameter):
        common = pocket_depth_mm(cutter, finish=finish, thickness_mm=thickness_mm)
        deeper = deeper_depth_mm(common, finish=finish, thickness_mm=thickness_mm)
        centres = _centres(shadow, cutter, earlier=union_all(p.wall for p in pockets), error_mm=error_mm)
        walls = centres.offset(cutter.diameter / 2, error=error_mm)
        for wall, path in sorted(_matched(walls, centres), key=lambda pair: -pair[0].area):
            depth = deeper if _is_broad(wall, finish) else common
            pockets.append(
                Pocket(
                    number=len(pockets) + 1,
                    wall=wall,
                    cutter_path=path,
                    depth_mm=depth,
                    cutter_mm=cutter.diameter,
                    allowance_mm=cutter.finishing_allowance,
                    passes=passes(depth, cutter),
                )
            )
    return tuple(pockets)


def _is_broad(wall: Region, finish: Finish) -> bool:
    """Return whether a pocket goes deeper: by the largest circle inside it, found to 0.05 mm."""
    if finish.deeper_from is None or wall.area < math.pi * finish.deeper_from**2 / 4 - _SPOT_MM * finish.deeper_from:
        return False
    _, radius = wall.widest_spot(precision=_SPOT_MM / 4)
    return 2 * radius >= finish.deeper_from - _SPOT_MM


def reached(pockets: Iterable[Pocket], *, beyond_mm: float = 0.0) -> Region:
    """Return the pockets' wood with the allowance around it, which the hand gouge takes, and ``beyond_mm``."""
    by_cutter = groupby(pockets, key=lambda p: (p.cutter_mm, p.allowance_mm))
    grown = []
    for (_, allowance_mm), group in by_cutter:
        walls = Region.together(p.wall for p in group)  # one cutter's walls are apart
        grown.append(walls.offset(allowance_mm + beyond_mm, error=0.005))
    return union_all(grown)


def find_rest(shadow: Region, pockets: Sequence[Pocket]) -> Region:
    """Return the shadow that no cutter reaches, without slivers along the pockets' walls.

    Parts of the shadow without a pocket stay whole. In the others dropped are hairs below 0.04 mm, pieces
    under 0.3 mm2, and pieces that nowhere get 0.5 mm away from a pocket.
    """
    roughed, untouched = parts_meeting(shadow, union_all(p.cutter_path for p in pockets))
    raw = roughed.difference(reached(pockets)).keeping(LEAST_REST_MM2)
    far = raw.difference(reached(pockets, beyond_mm=SLIVER_MM))
    raw, _ = parts_meeting(raw, far)
    opened = raw.offset(-_HAIR_MM, error=0.002).offset(1.5 * _HAIR_MM, error=0.002).intersection(raw)
    kept, _ = parts_meeting(opened.keeping(LEAST_REST_MM2), far)
    return Region.together([kept, untouched])


def least_pocket_mm2(cutter: Cutter) -> float:
    """Return the least area of a pocket: as set, or three times the cutter's own."""
    if cutter.least_pocket is not None:
        return cutter.least_pocket
    return LEAST_CUTTER_AREAS * math.pi * (cutter.diameter / 2) ** 2


def _centres(shadow: Region, cutter: Cutter, *, earlier: Region, error_mm: float) -> Region:
    """Return where the cutter's centre may go to take enough new wood, each part worth its plunge."""
    radius, least = cutter.diameter / 2, least_pocket_mm2(cutter)
    centres = shadow.offset(-(radius + cutter.finishing_allowance), error=error_mm)
    if not earlier.is_empty:
        new = centres.offset(radius, error=error_mm).difference(earlier.offset(SEAM_MM, error=error_mm))
        worth = new.keeping(NEW_WOOD_SHARE * least)
        centres = centres.intersection(worth.offset(radius, error=error_mm))
    return union_all(p for p in centres.parts() if p.area >= least or p.offset(radius, error=error_mm).area >= least)


def _matched(walls: Region, centres: Region) -> list[tuple[Region, Region]]:
    """Return each wall with the part or parts of the centres inside it."""
    parts = list(centres.parts())
    spots = np.array([next(part.polygons())[0][0] for part in parts]).reshape(-1, 2)
    pairs = []
    for wall in walls.parts():
        inside = np.flatnonzero(wall.within(spots))
        pairs.append((wall, union_all(parts[i] for i in inside)))
    return pairs
