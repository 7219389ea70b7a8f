"""What the V tool cuts: centre lines of the shadow that no cutter reaches, and passes side by side where it is wide."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shadowrout.carving.depths import v_depth_mm
from shadowrout.carving.pockets import Pocket, reached
from shadowrout.carving.smoothing import lengthened, smoothed, thinned
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Indices
from shadowrout.geometry.lines import outlines_inside
from shadowrout.geometry.medial import Axis, Boundary, Surroundings
from shadowrout.geometry.region import Region, parts_meeting
from shadowrout.geometry.strokes import Stroke, pruned, strokes_of

STEP_MM = 0.2
"""Distance of the outline's points from which centre lines are found."""

OVERLAP = 0.2
"""Share of a pass's width that the next pass beside it cuts again, so that no ridge reaches the face."""

SLACK_MM = 0.1
"""A stroke this much wider on each side than one pass can make is still cut by one pass."""

NEARBY = 0.9
"""A pass beside others is made where the rest comes this near to it, as a share of half its width."""

INTO_POCKET_MM = 0.3
"""How far a line runs on into a pocket."""

LEAST_HALF_WIDTH_MM = 0.02
"""A line that is nowhere wider than twice this would be gone with the planned sanding: it isn't cut."""

LEAST_LINE_MM = 0.3
"""Shorter lines are left out where something longer in the same shadow is cut."""

LEAST_BRANCH_MM = 2.0
"""Shorter lines are left out where they branch off another cut or a pocket: the tool that makes that one takes most of
them along. They were a third to half of all V lines, and hold 0.2 to 0.8 % of the shadow."""

MOST_BEYOND_MM = 0.7
"""A branch that reaches further past the cut it leaves is made however short: shadow more than a millimetre from every
cut shows as a light corner, and smoothing takes 0.3 mm of the cut that it leaves (measured on a random mask)."""

DOT_MM = 0.1
"""A dot is a line of this length."""

_THINNING_MM = 0.007
"""What leaving points out may move a line by: with what fitting adds, far less than a hand can follow."""

_CLEAR_MM = 0.004
"""What a line keeps from the outline, since thinning moves it a little between its points."""


Place = tuple[float, ...]
"""A point (x, y) in millimetres."""


@dataclass(frozen=True, eq=False)
class VLine:
    """One stroke of the V tool. ``points`` (n, 2) float64 mm, n >= 2; a closed line doesn't repeat the first.

    ``width_mm`` (n,) is what shows after the planned sanding, ``depth_mm`` (n,) what is cut, from the
    unsanded face. Between two points both change evenly.
    """

    points: Points
    width_mm: NDArray[np.float64]
    depth_mm: NDArray[np.float64]
    closed: bool

    @cached_property
    def segments_mm(self) -> NDArray[np.float64]:
        """Length of each straight piece, shape (n,) for a closed line and (n - 1,) for an open one."""
        points = np.vstack([self.points, self.points[:1]]) if self.closed else self.points
        lengths: NDArray[np.float64] = np.hypot(*np.diff(points, axis=0).T)
        return lengths

    @cached_property
    def length(self) -> float:
        """Length along the line, in millimetres."""
        return float(self.segments_mm.sum())


@dataclass(frozen=True)
class _Passes:
    """How wide one pass of the V tool can be, and where passes lie in a shadow that is wider.

    All measured at the sanded face. Pass k follows the shadow's edge at ``reach_mm + k spacing_mm``.
    """

    reach_mm: float

    @property
    def spacing_mm(self) -> float:
        return 2 * self.reach_mm * (1 - OVERLAP)

    def needed_at(self, radii: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return whether a centre line of such half widths closes a gap that the passes beside it leave."""
        outside = np.floor((radii - SLACK_MM - self.reach_mm) / self.spacing_mm)
        innermost = self.reach_mm + outside * self.spacing_mm
        return (outside < 0) | (radii > innermost + self.reach_mm + SLACK_MM)


def find_v_lines(
    shadow: Region,
    rest: Region,
    pockets: Sequence[Pocket],
    *,
    boundary: Boundary,
    axis: Axis,
    reach_mm: float,
    angle_deg: float,
    sanding_loss_mm: float,
) -> tuple[VLine, ...]:
    """Return the V lines for the rest of the shadow, each followed by the one that starts nearest to its end.

    Where the shadow is no wider than one pass can make, its centre line; where it is wider, lines along its
    edge at full depth, side by side until the gap is closed. ``boundary`` has the points of the shadow's outline
    at ``STEP_MM`` and ``axis`` is its medial axis; ``reach_mm`` is half the widest pass on the sanded face. No lines
    for an empty rest.
    """
    if rest.is_empty:
        return ()
    passes = _Passes(reach_mm)
    around = Surroundings(boundary)
    strokes = strokes_of(axis, _to_cut(axis, pruned(axis), pockets, passes))
    strokes = _worth_cutting(strokes + _side_by_side(shadow, rest, passes), around, pockets)
    wide = [
        stroke for stroke in _finished(strokes, around, reach_mm) if stroke.half_widths.max() >= LEAST_HALF_WIDTH_MM
    ]
    return tuple(_v_line(stroke, angle_deg, sanding_loss_mm) for stroke in in_cutting_order(wide))


def _to_cut(axis: Axis, edges: Indices, pockets: Sequence[Pocket], passes: _Passes) -> Indices:
    """Return the edges of the axis that the V tool has to follow."""
    roughed = reached(pockets, beyond_mm=-INTO_POCKET_MM).within(axis.points)
    wanted = passes.needed_at(axis.radii)
    keep = ~roughed[edges].all(axis=1) & wanted[edges].any(axis=1)
    return edges[keep]


def _side_by_side(shadow: Region, rest: Region, passes: _Passes) -> list[Stroke]:
    """Return the full-depth lines along the edge of shadow too wide for one pass, where the rest needs them."""
    strokes = []
    near = rest.simplified(0.02).offset(NEARBY * passes.reach_mm, error=0.01)
    around = near.offset(SLACK_MM, error=0.01)
    core = shadow.offset(-(passes.reach_mm + SLACK_MM), error=0.005)
    while not core.is_empty:
        for line in outlines_inside(core.offset(SLACK_MM, error=0.005), near):
            strokes.append(Stroke(line.points, np.full(len(line.points), passes.reach_mm), line.closed))
        core, _ = parts_meeting(core.offset(-passes.spacing_mm, error=0.005), around)
    return strokes


def _worth_cutting(strokes: Sequence[Stroke], around: Surroundings, pockets: Sequence[Pocket]) -> list[Stroke]:
    """Return the strokes without short ones and short branches, but the longest in a part that nothing else cuts."""
    if not strokes:
        return []
    lengths = [_length(stroke) for stroke in strokes]
    order = sorted(range(len(strokes)), key=lengths.__getitem__, reverse=True)
    parts = around.part(np.array([stroke.points[0] for stroke in strokes])).tolist()
    roughed = np.array([next(p.cutter_path.polygons())[0][0] for p in pockets]).reshape(-1, 2)
    cut = set(around.part(roughed).tolist())
    kept, met = [], dict.fromkeys(_ends_in(pockets, strokes), INTO_POCKET_MM)
    for index in order:
        stroke = strokes[index]
        if parts[index] not in cut or lengths[index] >= LEAST_BRANCH_MM or _stands_alone(stroke, lengths[index], met):
            kept.append(stroke)
            cut.add(parts[index])
            met.update(zip(map(tuple, stroke.points.tolist()), stroke.half_widths.tolist(), strict=True))
    return kept


def _stands_alone(stroke: Stroke, length_mm: float, met: Mapping[Place, float]) -> bool:
    """Return whether a short stroke is cut: free ones are but for the shortest, branches that reach far past a cut.

    ``met`` maps places that are cut to how far from them wood is taken.
    """
    ends = _ends(stroke)
    cut = [end in met for end in ends]
    if not any(cut):
        return length_mm >= LEAST_LINE_MM
    if all(cut):
        return False
    root = cut.index(True)
    beyond = math.dist(*ends) + float(stroke.half_widths[root - 1]) - met[ends[root]]
    return beyond > MOST_BEYOND_MM


def _ends(stroke: Stroke) -> list[Place]:
    """Return where an open stroke ends; strokes of one axis meet in points that both have."""
    return [] if stroke.closed else [tuple(point) for point in stroke.points[[0, -1]].tolist()]


def _ends_in(pockets: Sequence[Pocket], strokes: Sequence[Stroke]) -> set[Place]:
    """Return those ends of the strokes that lie in a pocket."""
    ends = [end for stroke in strokes for end in _ends(stroke)]
    inside = reached(pockets, beyond_mm=0).within(np.array(ends).reshape(-1, 2))
    return {end for end, roughed in zip(ends, inside.tolist(), strict=True) if roughed}


def _finished(strokes: Sequence[Stroke], around: Surroundings, reach_mm: float) -> list[Stroke]:
    """Return the strokes smooth and light, nowhere wider than the shadow or than one pass."""
    if not strokes:
        return []
    even = smoothed([lengthened(stroke, least_mm=DOT_MM) for stroke in strokes])
    depths = around.depth_mm(np.vstack([s.points for s in even]))
    room = np.clip(depths - _CLEAR_MM, 0.0, reach_mm)
    ends = np.cumsum([len(s.points) for s in even])[:-1]
    fitted = [
        Stroke(stroke.points, np.minimum(stroke.half_widths, space), stroke.closed)
        for stroke, space in zip(even, np.split(room, ends), strict=True)
    ]
    return thinned(fitted, tolerance_mm=_THINNING_MM)


def _v_line(stroke: Stroke, angle_deg: float, sanding_loss_mm: float) -> VLine:
    depths = v_depth_mm(stroke.half_widths, angle_deg=angle_deg, sanding_loss_mm=sanding_loss_mm)
    return VLine(stroke.points, 2 * stroke.half_widths, depths, stroke.closed)


def in_cutting_order(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes so that each starts near the end of the one before, open ones turned round to suit.

    Starts with the lowest, leftmost end. A greedy tour, not the shortest.
    """
    if not strokes:
        return []
    firsts = np.array([s.points[0] for s in strokes])
    lasts = np.array([s.points[0] if s.closed else s.points[-1] for s in strokes])
    x, y = np.stack([firsts, lasts], axis=1).reshape(-1, 2).T.copy()
    done = np.zeros(len(x))
    here_x, here_y = x.min(), y.min()
    order = []
    for _ in strokes:
        end = int(np.argmin((x - here_x) ** 2 + (y - here_y) ** 2 + done))
        stroke = strokes[end // 2]
        order.append(Stroke(stroke.points[::-1], stroke.half_widths[::-1], stroke.closed) if end % 2 else stroke)
        done[[end, end ^ 1]] = np.inf
        here_x, here_y = x[end ^ 1], y[end ^ 1]
    return order


def _length(stroke: Stroke) -> float:
    return float(np.hypot(*np.diff(stroke.points, axis=0).T).sum())
