"""How thin stretches are widened within the room that the light around them leaves, and which of them go."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from shadowrout.design.widths.bounds import check_crowded
from shadowrout.design.widths.sorting import SLACK, TAPER_WIDTHS
from shadowrout.design.widths.stretch import ERROR_MM, Stretch, level, runs, step_mm
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.medial import Axis, Boundary, Diagram, medial_axis
from shadowrout.geometry.necks import closed_near, opened
from shadowrout.geometry.region import Region, union_all
from shadowrout.geometry.strokes import chains_of
from shadowrout.geometry.sweeps import swept, swept_evenly

ATTAINED = 0.9
"""A stroke of this share of the finest width counts as widened, and a gap of this share of the least as kept."""

NECK_WIDTHS = 2.0
"""A narrow place in a stroke, no longer than this many finest widths, isn't cut through."""

STUB_WIDTHS = 2.0
"""What is left of a stroke beside a part without room goes too if it is no longer than this many finest widths."""

TIP_SHARE = 0.75
"""Beside a narrow place, tips of light narrower than this share of the least are closed."""

_LEAST_TIP_MM2 = 0.005
"""Tips of light smaller than this are left: of those that rounding makes along an outline there are thousands."""

_DOT_SHARE = 0.1
"""A stretch shorter than this share of the finest width is a dot: it doesn't taper."""

_NEAR_WIDTHS = 2.0
"""How far around a thin stretch its width is judged, in finest widths: a disc that covers it lies well within."""

_MOVES = 4
"""How often discs are moved off the light, which may lie on several sides."""


@dataclass(frozen=True, eq=False)
class Widened:
    """A shadow with stretches widened, what was ``added`` to it, and what of it is ``wide`` beside them."""

    shadow: Region
    added: Region
    wide: Region


@dataclass(frozen=True)
class Rule:
    """The widths to keep: that of the finest line, and that of the least light between two lines."""

    finest_mm: float
    light_mm: float

    def widening(self, stretches: Sequence[Stretch], light: Sequence[Points]) -> Region:
        """Return what makes the stretches as wide as the light beside them lets them be, given its middle lines."""
        if not stretches:
            return Region.empty()
        sweep = self._sweep(self._moved_aside(stretches, light))
        return sweep.difference(swept_evenly(light, self.light_mm / 2))

    def widened_twice(self, shadow: Region, stretches: Sequence[Stretch], light: Sequence[Points]) -> Widened:
        """Return the shadow with the stretches widened, and what came out wide; ``light`` has the light's middle lines.

        Where light left and right held a stretch back, it has a second turn: with the room that its neighbours didn't
        take, with tips of light closed that are too narrow for a tool, and with gaps a tenth narrower. Raises
        InputError where that is more than can be done.
        """
        if not stretches:
            return Widened(shadow, Region.empty(), Region.empty())
        added = self.widening(stretches, light)
        grown = shadow.union(added).holes_filled(self.light_mm**2)
        wide = self.wide_near(grown, stretches)
        narrow = self.narrow_places(stretches, wide)
        if not narrow:
            return Widened(grown, added, wide)
        check_crowded(len(narrow), finest_mm=self.finest_mm)
        closer = dataclasses.replace(self, light_mm=ATTAINED * self.light_mm)
        tips = self.narrow_tips(grown, narrow)
        grown = grown.union(tips) if len(tips) else grown
        more = closer.widening(narrow, closer.light_around(narrow, grown))
        grown = grown.union(more).holes_filled(closer.light_mm**2)
        return Widened(grown, union_all([added, tips, more]), wide.union(self.wide_near(grown, narrow)))

    def narrow_tips(self, shadow: Region, places: Sequence[Stretch]) -> Region:
        """Return what is too narrow for a tool of the tips of light around the places, a hair of the shadow with it."""
        lines, light_mm = [s.points for s in places], TIP_SHARE * self.light_mm
        filled = closed_near(shadow, lines, width_mm=light_mm, reach_mm=self.finest_mm)
        parts = filled.difference(shadow).keeping(_LEAST_TIP_MM2).parts()
        tips = [p for p in parts if math.dist(p.bounds[:2], p.bounds[2:]) < self.finest_mm]
        return Region.together(tips).offset(2 * ERROR_MM, error=ERROR_MM).intersection(filled)

    def narrow_places(self, stretches: Sequence[Stretch], wide: Region) -> list[Stretch]:
        """Return the parts of the stretches that aren't wide enough, tapers left out, a point more at each end."""
        return [
            stretch.part(max(0, first - 1), last + 1)
            for stretch, enough in self._wide_enough(stretches, wide)
            for first, last, is_wide in runs(enough)
            if not is_wide
        ]

    def _wide_enough(self, stretches: Sequence[Stretch], wide: Region) -> Iterator[tuple[Stretch, NDArray[np.bool_]]]:
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
        around = swept(
            [s.points for s in stretches],
            [s.half_widths.max() * 1.2 + np.full(len(s.points), _NEAR_WIDTHS * self.finest_mm) for s in stretches],
        )
        there = region.intersection(around.simplified(ERROR_MM))
        return opened(there, ATTAINED * self.finest_mm)

    def judged(self, stretches: Sequence[Stretch], wide: Region) -> tuple[list[Stretch], list[Stretch]]:
        """Return the parts of the stretches that came out wide enough, and those that didn't."""
        good: list[Stretch] = []
        bad: list[Stretch] = []
        for stretch, enough in self._wide_enough(stretches, wide):
            for first, last, is_wide in runs(self._without_short(stretch, enough)):
                (good if is_wide else bad).append(stretch.part(first, last, cut_is_free=True))
        return good, bad

    def _without_short(self, stretch: Stretch, enough: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return the flags of what is wide enough, without short narrow places and then without short wide ones."""
        for sought, longest in ((False, NECK_WIDTHS), (True, STUB_WIDTHS)):
            evened = enough.copy()
            for first, last, is_wide in runs(enough):
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

    def thin_wood(self, stretches: Sequence[Stretch], wide: Region) -> Region:
        """Return what goes with the thin wood of the stretches; what is ``wide`` stays."""
        reach = [np.maximum(1.2 * s.half_widths, self.finest_mm / 2) + 0.02 for s in stretches]
        return swept([s.points for s in stretches], reach).difference(wide)

    def without(self, shadow: Region, thin: Region) -> Region:
        """Return the shadow without thin wood, and without the specks that it leaves."""
        return shadow if thin.is_empty else shadow.difference(thin).keeping(self.finest_mm**2 / 2)

    def _sweep(self, stretches: Sequence[Stretch]) -> Region:
        """Return what the discs of the wanted width cover; where they don't change they are swept in one go."""
        parts = [(s.points[a:b], radii[a:b]) for s in stretches for radii in [self._radii(s)] for a, b in level(radii)]
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
        """Return the stretches, their discs moved off the light's lines as far as they still cover what is there."""
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

    def light_beside(self, stretches: Sequence[Stretch], diagram: Diagram, outside: NDArray[np.bool_]) -> list[Points]:
        """Return the middle lines of the light gaps beside the stretches; half the least light off them nothing grows.

        ``diagram`` is that of the shadow's outline, of which the points ``outside`` the shadow are looked at.
        """
        if not stretches:
            return []
        chosen = np.flatnonzero(outside & (diagram.circle_mm < self._narrow_light_mm + diagram.step_mm))
        tree: Any = cKDTree(np.vstack([stretch.points for stretch in stretches]))
        away, _ = tree.query(diagram.points[chosen], distance_upper_bound=self.finest_mm + self.light_mm)
        near = np.zeros(len(outside), dtype=bool)
        near[chosen[np.isfinite(away)]] = True
        return self._lines(diagram.axis(near))

    def light_around(self, stretches: Sequence[Stretch], shadow: Region) -> list[Points]:
        """Return the same for a shadow whose diagram isn't known."""
        if not stretches:
            return []
        around = self._sweep(stretches).offset(self.finest_mm + 2 * self.light_mm, error=0.05)
        step = step_mm(self.finest_mm)
        light = around.difference(shadow)
        return self._lines(medial_axis(light, Boundary.of(light, step_mm=step), step_mm=step))

    @property
    def _narrow_light_mm(self) -> float:
        """Half the width of light up to which two lines beside it may want the same."""
        return (self.finest_mm + self.light_mm) / 2

    def _lines(self, axis: Axis) -> list[Points]:
        narrow = axis.radii < self._narrow_light_mm
        return [axis.points[chain] for chain in chains_of(axis.edges[narrow[axis.edges].all(axis=1)])]
