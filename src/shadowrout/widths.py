"""Lines right for their size: those below the finest line are widened where there is room, dropped where there is none.

A stroke's width is twice the radius of the discs along its medial axis. A thin stretch is widened by the discs of
half the finest width along its axis, kept off the axis of the light around it, so that a gap as wide as the least
light stays (the light's share is its own: no neighbour is touched). Of thin lines too close together to be widened
side by side, the shortest gives way to the others.
"""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.medial import Axis, Boundary, medial_axis
from shadowrout.geometry.region import Region
from shadowrout.geometry.strokes import Stroke, pruned, strokes_of
from shadowrout.geometry.sweeps import swept

SLACK = 0.05
"""A stroke this share narrower than the finest line counts as wide enough: less isn't seen."""

ATTAINED = 0.9
"""A stroke of this share of the finest width counts as widened: it still shows after the planned sanding."""

NECK_WIDTHS = 2.0
"""A narrow place in a stroke, no longer than this many finest widths, is left rather than cut through."""

TAPER_WIDTHS = 1.5
"""Length over which a free end comes to a point, in finest widths; a thin end no longer than twice that is a taper."""

STUB_WIDTHS = 2.0
"""What is left of a stroke beside a part without room goes too if it is no longer than this many finest widths."""

LEAST_NECK_WIDTHS = 0.5
"""A narrow place between wide ones, no longer than this many finest widths, isn't looked at."""

TIP_SHARE = 0.75
"""Beside a narrow place, light narrower than this share of the least is closed."""

CRUMB_SHARE = 1 / 16
"""A part of the shadow smaller than this share of the finest line's square goes: tails fall into such when traced."""

_DOT_SHARE = 0.1
_HAIR_MM = 0.01
_LEAST_NECK_MM2 = 0.01
_NECK_ROUNDS = 3

_NEAR_WIDTHS = 2.0
"""How far around a thin stretch its width is judged, in finest widths: a disc that covers it lies well within."""

_MOVES = 4

_STEPS_A_WIDTH = 4
_LONGEST_STEP_MM = 0.3
_ERROR_MM = 0.005
_THINNING_SHARE = 0.25
"""Points of a stretch closer than this share of the finest width are left out."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """Part of a stroke's centre line: ``points`` (n, 2) and ``half_widths`` (n,) in mm, and which ends are free."""

    points: Points
    half_widths: NDArray[np.float64]
    free_start: bool
    free_end: bool

    @property
    def length_mm(self) -> float:
        """Length along the line."""
        return float(self.along_mm[-1])

    @property
    def width_mm(self) -> float:
        """Mean width, as it was before anything was widened."""
        return float(2 * self.half_widths.mean())

    @property
    def place(self) -> tuple[float, float]:
        """A point about half way along."""
        x, y = self.points[len(self.points) // 2]
        return float(x), float(y)

    @property
    def along_mm(self) -> NDArray[np.float64]:
        """Length from the start to each point, shape (n,)."""
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.points, axis=0).T))])

    def part(self, first: int, last: int, *, cut_is_free: bool = False) -> Stretch:
        """Return the points from ``first`` up to, not including, ``last``, and one more where that is but one.

        Where the part is cut off the rest it has a free end if ``cut_is_free``.
        """
        count = len(self.points)
        first, last = (first, last) if last - first > 1 else (max(0, last - 2), max(2, last))
        return Stretch(
            self.points[first:last],
            self.half_widths[first:last],
            cut_is_free if first else self.free_start,
            cut_is_free if last < count else self.free_end,
        )


@dataclass(frozen=True, eq=False)
class WidthReport:
    """What became of every stroke: ``kept`` was wide enough or tapers, ``widened`` and ``dropped`` were too thin."""

    finest_mm: float
    kept: tuple[Stretch, ...]
    widened: tuple[Stretch, ...]
    dropped: tuple[Stretch, ...]


def right_for_size(shadow: Region, *, finest_mm: float, least_light_mm: float) -> tuple[Region, WidthReport]:
    """Return the shadow with lines below ``finest_mm`` widened or dropped, and what was done; all in mm.

    Shadow that is wide enough keeps its outline exactly, but for what a widened neighbour adds. Light between
    strokes isn't narrowed below ``least_light_mm`` by the widening; where it was narrower it stays as it was. The empty
    region comes back as it is. Raises ValueError for widths that aren't positive.
    """
    if not (finest_mm > 0 and least_light_mm > 0):
        raise ValueError(f"widths: expected positive lengths, got {finest_mm} and {least_light_mm}")
    crumbs = [_dot(part) for part in shadow.parts() if part.area < CRUMB_SHARE * finest_mm**2]
    shadow = shadow.keeping(CRUMB_SHARE * finest_mm**2) if crumbs else shadow
    kept, thin = _sorted_by_width(shadow.simplified(_ERROR_MM), finest_mm)
    rule = _Rule(finest_mm, least_light_mm)
    grown, wide = rule.widened_twice(shadow, thin)
    widened, failed = rule.judged(thin, wide)
    dropped: list[Stretch] = []
    if failed:
        dropped, spared = rule.first_to_go(failed)
        near, apart = rule.split_by_distance(widened, dropped)
        grown, wide_there = rule.widened_twice(rule.without(grown, dropped, wide), near + spared)
        wide = wide.union(wide_there)
        again, failed = rule.judged(near + spared, wide_there)
        widened, grown = apart + again, rule.without(grown, failed, wide)
    grown, necks = rule.without_necks(grown)
    return grown, WidthReport(finest_mm, tuple(kept), (*widened, *necks), (*crumbs, *dropped, *failed))


@dataclass(frozen=True)
class _Rule:
    finest_mm: float
    light_mm: float

    def widened(self, shadow: Region, stretches: Sequence[Stretch]) -> Region:
        """Return the shadow with the stretches as wide as the light beside them lets them be."""
        if not stretches:
            return shadow
        lines = [line.points for line in self._light_lines(shadow, self._sweep(stretches))]
        sweep = self._sweep(self._moved_aside(stretches, lines))
        core = swept(lines, [np.full(len(line), self.light_mm / 2) for line in lines])
        return shadow.union(sweep.difference(core)).holes_filled(self.light_mm**2)

    def widened_twice(self, shadow: Region, stretches: Sequence[Stretch]) -> tuple[Region, Region]:
        """Return the shadow with the stretches widened, and what came out wide.

        Where light left and right held a stretch back, it has a second turn: with the room that its neighbours didn't
        take, with tips of light closed that are too narrow for a tool, and with gaps a tenth narrower.
        """
        grown = self.widened(shadow, stretches)
        wide = self.wide_near(grown, stretches)
        narrow = self.narrow_places(stretches, wide)
        if not narrow:
            return grown, wide
        closer = dataclasses.replace(self, light_mm=ATTAINED * self.light_mm)
        grown = closer.widened(self.with_tips_closed(grown, narrow), narrow)
        return grown, wide.union(self.wide_near(grown, narrow))

    def without_necks(self, shadow: Region) -> tuple[Region, list[Stretch]]:
        """Return the shadow with necks as wide as the finest line, light that gets too narrow closed; and the necks."""
        all_necks: list[Stretch] = []
        for _ in range(_NECK_ROUNDS):
            necks = list(self._necks(shadow))
            if not necks:
                break
            all_necks += necks
            lines = [neck.points for neck in necks]
            shadow = shadow.union(swept(lines, [np.full(len(line), self.finest_mm / 2) for line in lines]))
            around, filled = self._closed(shadow, necks, ATTAINED)
            shadow = shadow.union(filled.intersection(around)).holes_filled(self.light_mm**2)
        return shadow, all_necks

    def _necks(self, shadow: Region) -> Iterator[Stretch]:
        """Yield what lies between two parts of the shadow that are wide enough and isn't itself."""
        radius = ATTAINED * self.finest_mm / 2
        wide = shadow.simplified(_ERROR_MM).offset(-radius, error=_ERROR_MM).offset(radius + _HAIR_MM, error=_ERROR_MM)
        rest = shadow.difference(wide).keeping(_LEAST_NECK_MM2)
        ends = wide.offset(_HAIR_MM, error=_ERROR_MM).intersection(rest.offset(_HAIR_MM, error=_ERROR_MM))
        pieces = np.array(rest.shape.geoms, dtype=object)
        touches = np.array(ends.keeping(_HAIR_MM**2).shape.geoms, dtype=object)
        tree = shapely.STRtree(touches)
        which, touch = tree.query(pieces, predicate="dwithin", distance=_HAIR_MM / 2)
        for number in np.flatnonzero(np.bincount(which, minlength=len(pieces)) > 1):
            spots = [touches[t].centroid.coords[0] for t in touch[which == number]]
            points = np.array([spot for end in spots[1:] for spot in (spots[0], end)])
            length = np.hypot(*np.diff(points, axis=0).T).sum()
            yield Stretch(points, np.full(len(points), pieces[number].area / length / 2), False, False)

    def with_tips_closed(self, shadow: Region, places: Sequence[Stretch]) -> Region:
        """Return the shadow with what is too narrow for a tool of the tips of light around the places filled."""
        around, filled = self._closed(shadow, places, TIP_SHARE)
        tips = [p for p in filled.difference(shadow).parts() if math.dist(p.bounds[:2], p.bounds[2:]) < self.finest_mm]
        return shadow.union(Region.together(tips).intersection(around)) if tips else shadow

    def _closed(self, shadow: Region, places: Sequence[Stretch], share: float) -> tuple[Region, Region]:
        """Return what lies around the places, and the shadow there with light under a share of the least filled."""
        around = swept([s.points for s in places], [np.full(len(s.points), self.finest_mm) for s in places])
        there = shadow.intersection(around.offset(2 * self.light_mm, error=0.05))
        radius = share * self.light_mm / 2
        return around, there.offset(radius, error=_ERROR_MM).offset(-radius, error=_ERROR_MM)

    def narrow_places(self, stretches: Sequence[Stretch], wide: Region) -> list[Stretch]:
        """Return the parts of the stretches that aren't wide enough, tapers left out, a point more at each end."""
        return [
            stretch.part(max(0, first - 1), last + 1)
            for stretch, enough in self._wide_enough(stretches, wide)
            for first, last, is_wide in _runs(enough)
            if not is_wide
        ]

    def _wide_enough(
        self, stretches: Sequence[Stretch], wide: Region
    ) -> Iterator[tuple[Stretch, NDArray[np.bool_]]]:
        """Yield each stretch and which of its points are wide enough, or taper."""
        if stretches:
            within = wide.within(np.vstack([s.points for s in stretches]))
            ends = np.cumsum([len(s.points) for s in stretches])[:-1]
            for stretch, enough in zip(stretches, np.split(within, ends), strict=True):
                yield stretch, enough | self._tapering(stretch)

    def wide_near(self, region: Region, stretches: Sequence[Stretch]) -> Region:
        """Return what discs of the attained width cover that lie in the region, right beside the stretches alone."""
        if not stretches:
            return Region.empty()
        radius, reach = ATTAINED * self.finest_mm / 2, _NEAR_WIDTHS * self.finest_mm
        around = swept(
            [s.points for s in stretches],
            [s.half_widths.max() * 1.2 + np.full(len(s.points), reach) for s in stretches],
        )
        there = region.intersection(around.simplified(_ERROR_MM)).simplified(_ERROR_MM)
        return there.offset(-radius, error=_ERROR_MM).offset(radius + 2 * _ERROR_MM, error=_ERROR_MM)

    def judged(self, stretches: Sequence[Stretch], wide: Region) -> tuple[list[Stretch], list[Stretch]]:
        """Return the parts of the stretches that came out wide enough, and those that didn't."""
        good: list[Stretch] = []
        bad: list[Stretch] = []
        for stretch, enough in self._wide_enough(stretches, wide):
            for first, last, is_wide in _runs(self._without_short(stretch, enough)):
                (good if is_wide else bad).append(stretch.part(first, last, cut_is_free=True))
        return good, bad

    def _without_short(self, stretch: Stretch, enough: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return the flags of what is wide enough, without short narrow places and then without short wide ones."""
        for sought, longest in ((False, NECK_WIDTHS), (True, STUB_WIDTHS)):
            evened = enough.copy()
            for first, last, is_wide in _runs(enough):
                short = stretch.part(first, last).length_mm <= longest * self.finest_mm
                if is_wide == sought and short and (enough != sought).any():
                    evened[first:last] = not sought
            enough = evened
        return enough

    def first_to_go(self, failed: Sequence[Stretch]) -> tuple[list[Stretch], list[Stretch]]:
        """Return those that go so that others get room, the shortest first and no two near each other; and the rest."""
        gone: list[Stretch] = []
        spared: list[Stretch] = []
        for stretch in sorted(failed, key=lambda s: (s.length_mm, s.place)):
            near, _ = self.split_by_distance([stretch], gone)
            (spared if near else gone).append(stretch)
        return gone, spared

    def split_by_distance(
        self, stretches: Sequence[Stretch], others: Sequence[Stretch]
    ) -> tuple[list[Stretch], list[Stretch]]:
        """Return the stretches that are so near to one of the others that they want the same light; and the rest."""
        if not others:
            return [], list(stretches)
        tree: Any = cKDTree(np.vstack([other.points for other in others]))
        near = [bool(tree.query(s.points)[0].min() < self.finest_mm + self.light_mm) for s in stretches]
        return [s for s, n in zip(stretches, near, strict=True) if n], [
            s for s, n in zip(stretches, near, strict=True) if not n
        ]

    def without(self, shadow: Region, stretches: Sequence[Stretch], wide: Region) -> Region:
        """Return the shadow without the thin wood of the stretches; what is ``wide`` stays."""
        if not stretches:
            return shadow
        reach = [np.maximum(1.2 * s.half_widths, self.finest_mm / 2) + 0.02 for s in stretches]
        thin = swept([s.points for s in stretches], reach).difference(wide)
        return shadow.difference(thin).keeping(self.finest_mm**2 / 2)

    def _sweep(self, stretches: Sequence[Stretch]) -> Region:
        """Return what the discs of the wanted width cover; where they don't change they are swept in one go."""
        parts = [(s.points[a:b], radii[a:b]) for s in stretches for radii in [self._radii(s)] for a, b in _level(radii)]
        return swept([points for points, _ in parts], [radii for _, radii in parts])

    def _radii(self, stretch: Stretch) -> NDArray[np.float64]:
        """Return the radius of the disc at each point: half the finest width, less towards free ends."""
        along, half = stretch.along_mm, self.finest_mm / 2
        ramp = min(TAPER_WIDTHS * self.finest_mm, stretch.length_mm / 4) or 1.0
        share = np.ones(len(along))
        if stretch.free_start:
            share = np.minimum(share, along / ramp)
        if stretch.free_end:
            share = np.minimum(share, (along[-1] - along) / ramp)
        if stretch.length_mm < _DOT_SHARE * self.finest_mm:
            share[:] = 1.0
        return stretch.half_widths + share * np.maximum(half - stretch.half_widths, 0.0)

    def _tapering(self, stretch: Stretch) -> NDArray[np.bool_]:
        tapering: NDArray[np.bool_] = self._radii(stretch) < (1 - SLACK) * self.finest_mm / 2
        return tapering

    def _moved_aside(self, stretches: Sequence[Stretch], light: Sequence[Points]) -> list[Stretch]:
        """Return the stretches with their discs moved off the light's lines, as far as they still cover what is there."""
        if not light:
            return list(stretches)
        radii = np.concatenate([self._radii(stretch) for stretch in stretches])
        most = radii - np.concatenate([stretch.half_widths for stretch in stretches])
        tree: Any = cKDTree(np.vstack(light))
        start = np.vstack([stretch.points for stretch in stretches])
        points = start
        for _ in range(_MOVES):
            away, nearest = tree.query(points)
            push = np.maximum(radii + self.light_mm / 2 - away, 0.0) / np.maximum(away, 1e-9)
            shift = points + push[:, None] * (points - tree.data[nearest]) - start
            length = np.hypot(*shift.T)
            points = start + shift * (np.minimum(length, most) / np.maximum(length, 1e-9))[:, None]
        moved = np.split(points, np.cumsum([len(s.points) for s in stretches])[:-1])
        return [dataclasses.replace(s, points=p) for s, p in zip(stretches, moved, strict=True)]

    def _light_lines(self, shadow: Region, sweep: Region) -> list[Stretch]:
        """Return the middle lines of the light gaps near the sweep: half the least light beside them nothing may grow."""
        around = sweep.offset(self.finest_mm + 2 * self.light_mm, error=0.05)
        step = _step_mm(self.finest_mm)
        light = around.difference(shadow).simplified(_ERROR_MM)
        axis = medial_axis(light, Boundary.of(light, step_mm=step), step_mm=step)
        narrow = axis.radii < (self.finest_mm + self.light_mm) / 2
        strokes = strokes_of(axis, axis.edges[narrow[axis.edges].all(axis=1)])
        return [_thinned(_closed_up(stroke), 0.1 * self.light_mm) for stroke in strokes]


def _sorted_by_width(shadow: Region, finest_mm: float) -> tuple[list[Stretch], list[Stretch]]:
    """Return the stretches of all strokes that can stay as they are, and those that are too thin."""
    step = _step_mm(finest_mm)
    boundary = Boundary.of(shadow, step_mm=step)
    axis = medial_axis(shadow, boundary, step_mm=step)
    strokes = strokes_of(axis, pruned(axis))
    meeting = Counter(tuple(point) for stroke in strokes for point in stroke.points.tolist())
    kept: list[Stretch] = []
    thin: list[Stretch] = list(_dots(shadow, axis, finest_mm))
    for stroke in strokes:
        whole = _closed_up(stroke, meeting)
        narrow = 2 * whole.half_widths < finest_mm * (1 - SLACK)
        for first, last, is_narrow in _runs(narrow):
            part = whole.part(first, last)
            alone = first == 0 and last == len(narrow)
            stays = not is_narrow or (not alone and _is_taper(part, finest_mm))
            (kept if stays else thin).append(_thinned(part, _THINNING_SHARE * finest_mm))
    return kept, thin


def _is_taper(stretch: Stretch, finest_mm: float) -> bool:
    """Return whether a stretch is a short free end that only gets narrower towards its tip."""
    inwards = stretch.half_widths[:: 1 if stretch.free_start else -1]
    narrows = inwards >= (1 - SLACK) * np.maximum.accumulate(inwards)
    free = stretch.free_start or stretch.free_end
    return free and stretch.length_mm < 2 * TAPER_WIDTHS * finest_mm and bool(narrows.all())


def _dots(shadow: Region, axis: Axis, finest_mm: float) -> Iterator[Stretch]:
    """Yield a stretch of hardly any length for each part of the shadow that is too small to have an axis."""
    on_axis = axis.points[np.unique(axis.edges)]
    for part in shadow.parts():
        if part.area < finest_mm**2 and not part.within(on_axis).any():
            dot = _dot(part)
            if dot.width_mm < finest_mm * (1 - SLACK):
                yield dot


def _dot(part: Region) -> Stretch:
    place, radius = part.widest_spot(precision=_ERROR_MM)
    return Stretch(np.array([place, place]) + [[0.0, 0.0], [1e-6, 0.0]], np.full(2, radius), True, True)


def _closed_up(stroke: Stroke, meeting: Counter[tuple[float, ...]] | None = None) -> Stretch:
    """Return a stroke as a stretch; a closed one ends on its first point. An end where nothing else meets is free."""
    points, half_widths = stroke.points, stroke.half_widths
    if stroke.closed:
        return Stretch(np.vstack([points, points[:1]]), np.append(half_widths, half_widths[0]), False, False)
    ends = (tuple(points[0].tolist()), tuple(points[-1].tolist()))
    free = [meeting is not None and meeting[end] == 1 for end in ends]
    return Stretch(points, half_widths, free[0], free[1])


def _thinned(stretch: Stretch, spacing_mm: float) -> Stretch:
    """Return the stretch with fewer points, about ``spacing_mm`` apart, both ends kept."""
    along = stretch.along_mm
    step = np.floor(along / spacing_mm)
    keep = np.concatenate([[True], np.diff(step) > 0])
    keep[-1] = True
    return Stretch(stretch.points[keep], stretch.half_widths[keep], stretch.free_start, stretch.free_end)


def _runs(flags: NDArray[np.bool_]) -> Iterator[tuple[int, int, bool]]:
    """Yield (first, last + 1, flag) of each run of equal flags."""
    cuts = [0, *(np.flatnonzero(np.diff(flags)) + 1).tolist(), len(flags)]
    for first, last in pairwise(cuts):
        yield first, last, bool(flags[first])


def _level(radii: NDArray[np.float64]) -> Iterator[tuple[int, int]]:
    """Yield (first, last + 1) of runs of points, ends shared, over which the radii either stay or change."""
    stays = np.diff(radii) == 0
    for first, last, _ in _runs(stays):
        yield first, last + 1


def _step_mm(width_mm: float) -> float:
    return min(_LONGEST_STEP_MM, width_mm / _STEPS_A_WIDTH)
