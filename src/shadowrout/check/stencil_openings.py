"""Stencil openings: what a stencil opens is dark in the design that it was made from, and the rest is told.

The openings, grown by half the kerf, are held against the stencil's own design as pixels. Light that is opened must be
thin or an island that numbers.json tells of; dark that stays closed must be no wider than bridges and webs make it, and
no more than is told. Where openings lie is measured far finer, on all edges together (``alignment``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.check.alignment import Alignment, Motion
from shadowrout.check.curve_samples import Curve, Samples, sampled, sampled_rings
from shadowrout.check.drawing_file import DrawingFile
from shadowrout.check.findings import Finding, Place, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

_PIXEL_MM = 0.1
"""The usual tolerance."""
_MOST_PIXELS = 16_000_000
"""16 MB for a mask of bytes; a larger sheet gets larger pixels."""
_SAGITTA_MM = 0.002
"""A fiftieth of a pixel."""
_STEP_MM = 0.2
"""Two pixels: so many samples of an edge tell its place as well as more."""
_EDGE_PX = 0.5
"""The last pixel's middle within an edge lies half a pixel from it on average."""
_OFF_MM = 0.2
"""What a stencil's own pixels, a fifteenth of a web, may move an edge where outlines meet, beside the tolerance."""
_SURELY_LIGHT = 0.75
"""Light that holds a disc of this radius, in webs, is never given up but kept as a web or listed as an island: webs are
given up that are half as wide as the least one, and a quarter is left for places where such a web is wider."""
_BRIDGE_RADIUS = 0.6
"""The largest disc in closed dark, in webs: a bridge holds half a web, and where bridges meet it is a little more."""
_SMALL_RADIUS_MM = 1.15
"""An opening is left out where it is smaller than 4 mm2, which a disc of this radius is."""
_SHARE_SLACK, _AREA_SLACK_MM2 = 0.003, 2.0
"""How much more dark may stay closed than is told, of all dark and besides: the file's edges leave the planned ones."""
_MOST_FINDINGS = 10
"""More would not be read; the largest come first."""
_MOVED_SHARE, _MOVED_MM = 0.8, 0.04
"""How far all openings may lie off together, of the tolerance and besides: twice what was seen on 30 stencils."""
_GROWN_SHARE, _GROWN_MM = 0.2, 0.02
"""How much larger all round they may be, of the tolerance and besides: three times what was seen on 30 stencils."""
_ONE_MOVED_SHARE, _ONE_MOVED_MM = 2.5, 0.1
"""How far a single one may lie off, whose corners are cut and whose webs are widened more on one side than another."""
_LEAST_SAMPLES = 60
"""12 mm of edge: what follows the design for less says little of a single opening's place."""
_ADVICE = "don't cut this file; make the plaque again"

Mask = NDArray[np.bool_]


def faults(plaque: PlaqueFiles) -> Iterator[tuple[Promise, Finding]]:
    """Yield what is wrong with the openings of a stencil, each with the promise that it breaks; none without one."""
    told = plaque.figures.get("stencil")
    if plaque.stencil_design is None or plaque.stencil_design.is_empty:
        return
    design = _samples(plaque.stencil_design)
    for names, file in drawn_alike(plaque.drawing("stencil"), "opening"):
        judged = _Stencil(plaque, file, design, told if isinstance(told, dict) else {})
        for promise, finding in judged.faults():
            yield promise, finding.within(names)


def _samples(design: shapely.MultiPolygon) -> Samples:
    rings = [ring for part in design.geoms for ring in (part.exterior, *part.interiors)]
    return sampled_rings([np.asarray(ring.coords)[:-1, :2] for ring in rings], step_mm=_STEP_MM)


@dataclass(eq=False)
class _Stencil:
    """One drawing of a stencil, the samples of the design it was made from, and what numbers.json tells of it."""

    plaque: PlaqueFiles
    file: DrawingFile
    design: Samples
    told: dict[str, Any]

    def __post_init__(self) -> None:
        asked = self.plaque.job.stencil
        self.web_mm, self.kerf_mm, self.margin_mm = asked.web, asked.kerf, asked.margin
        self.tolerance_mm = self.plaque.tolerance_mm
        self.rings: Sequence[Curve] = [curve for curve in self.file.curves("opening") if curve.closed]
        every = [self.design.points, *(ring.vertices for ring in self.rings)]
        low, high = np.vstack(every).min(axis=0), np.vstack(every).max(axis=0)
        box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        pad_mm = 2 * self.web_mm + self.kerf_mm + 1
        self.raster = Raster.over(box, pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=pad_mm)
        self.dark = self.raster.enclosed(self.design)
        self.open = self._opened()

    def _opened(self) -> Mask:
        """Return what is open after cutting: what the lines enclose, and half the kerf beyond."""
        if not self.rings:
            return np.zeros((self.raster.rows, self.raster.columns), dtype=bool)
        drawn = self.raster.enclosed(sampled(self.rings, sagitta_mm=_SAGITTA_MM))
        grown = self.px(self.kerf_mm / 2) + _EDGE_PX
        return distance_px(drawn) <= grown if self.kerf_mm else drawn

    def px(self, length_mm: float) -> float:
        """Return a length in pixels."""
        return length_mm / self.raster.pixel_mm

    def faults(self) -> Iterator[tuple[Promise, Finding]]:
        """Yield what is wrong, each with the promise that it breaks."""
        if not self.rings:
            yield Promise.FAITHFUL, Finding(None, "no opening is drawn, so nothing of the design is open", _ADVICE)
            return
        yield from ((Promise.FAITHFUL, finding) for finding in (*self._light_opened(), *self._dark_closed()))
        yield from ((Promise.FAITHFUL, finding) for finding in self._misplaced())
        yield from ((Promise.FIGURES, finding) for finding in self._miscounted())

    def _light_opened(self) -> Iterator[Finding]:
        """Yield the places where light that no stencil gives up is opened beyond the tolerance."""
        beyond = distance_px(self.dark)
        excess = self.open & (beyond > self.px(self.tolerance_mm + _OFF_MM) + _EDGE_PX)
        if not excess.any():
            return
        reach = self.px(_SURELY_LIGHT * self.web_mm)
        excess &= (distance_px(beyond >= reach) <= reach) & ~self._dropped_islands()
        # Slits between openings are widened to the least opening, at their ends too.
        least_mm2 = self.plaque.job.stencil.least_opening**2 / 2
        for place, area, window in self._pieces(excess, least_mm2):
            off = Mm(float(beyond[window].max()) * self.raster.pixel_mm)
            told = Sentence("{area:.2f mm} of light are cut open, up to {off:.2f mm} deep", area=Mm.area(area), off=off)
            yield Finding(place, told, _ADVICE)

    def _dropped_islands(self) -> Mask:
        """Return the islands of light that numbers.json tells of as dropped."""
        listed = self.told.get("islands_dropped")
        found = np.zeros_like(self.dark)
        if not isinstance(listed, list) or not listed:
            return found
        count, labels, stats, middles = cv2.connectedComponentsWithStats(_bytes(~self.dark), connectivity=4)
        areas = stats[:, cv2.CC_STAT_AREA] * self.raster.pixel_mm**2
        x = self.raster.x0 + (middles[:, 0] + 0.5) * self.raster.pixel_mm
        y = self.raster.y0 + (middles[:, 1] + 0.5) * self.raster.pixel_mm
        for island in listed:
            place, area = _island(island)
            near = (np.hypot(x - place[0], y - place[1]) < 1) & (np.abs(areas - area) < 1 + area / 5)
            near[0] = False
            found |= near[labels]
        return found

    def _dark_closed(self) -> Iterator[Finding]:
        """Yield where dark stays closed that is too wide for a bridge or a web, or more of it than is told."""
        closed = self.dark & ~self.open
        least_mm = max(_BRIDGE_RADIUS * self.web_mm, _SMALL_RADIUS_MM) + self.tolerance_mm + _OFF_MM
        wide = closed & ~self._under_bridges()
        inmost = (distance_px(~wide) > self.px(least_mm)) & self._may_be_open()
        for place, _, _ in self._pieces(inmost, 0.0):
            told = Sentence(
                "dark stays closed that is more than {wide:.1f mm} wide: an opening is missing", wide=Mm(2 * least_mm)
            )
            yield Finding(place, told, _ADVICE)
        share = self.told.get("dark_lost_share")
        dark = float(self.dark.sum())
        deep = closed & (distance_px(self.open) > self.px(self.tolerance_mm) + 1 + _EDGE_PX)
        slack = _SHARE_SLACK + _AREA_SLACK_MM2 / (dark * self.raster.pixel_mm**2)
        if dark and isinstance(share, (int, float)) and deep.sum() / dark > share + slack:
            place, _, _ = next(self._pieces(deep, 0.0))
            what = f"{deep.sum() / dark:.1%} of the dark stay closed, numbers.json tells of {share:.1%}"
            yield Finding(place, what, _ADVICE)

    def _under_bridges(self) -> Mask:
        """Return what the bridges cover whose middle lines are drawn."""
        covered = np.zeros_like(self.dark)
        widths = sorted({shape.marks.get("width_mm", self.web_mm) for shape in self.file.of_role("bridge")})
        for width_mm in widths:
            bridges = [s for s in self.file.of_role("bridge") if s.marks.get("width_mm", self.web_mm) == width_mm]
            lines = [shape.curve for shape in bridges if shape.curve is not None]
            touched = np.zeros_like(covered)
            points = sampled(lines, sagitta_mm=_SAGITTA_MM, step_mm=_PIXEL_MM / 2).points
            touched[self.raster.touched(points)] = True
            covered |= distance_px(touched) <= self.px(width_mm / 2 + self.tolerance_mm + _OFF_MM)
        return covered

    def _may_be_open(self) -> Mask:
        """Return where openings may lie: off the sheet's margin, and a web off its dowel holes."""
        edges, holes = self.file.curves("sheet-edge"), self.file.curves("register")
        free = np.ones_like(self.dark)
        raster, beside_mm = self.raster, self.web_mm + 2 * self.tolerance_mm + _OFF_MM
        if edges:
            points = sampled(edges, sagitta_mm=_SAGITTA_MM).points
            rim = max(self.margin_mm, beside_mm) + _OFF_MM
            low, high = points.min(axis=0) + rim, points.max(axis=0) - rim
            x = raster.x0 + (np.arange(raster.columns) + 0.5) * raster.pixel_mm
            y = raster.y0 + (np.arange(raster.rows) + 0.5) * raster.pixel_mm
            free &= ((x > low[0]) & (x < high[0]))[None, :] & ((y > low[1]) & (y < high[1]))[:, None]
        for hole in holes:
            points = sampled([hole], sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM).points
            touched = np.zeros_like(free)
            touched[raster.touched(points)] = True
            free &= distance_px(touched) > self.px(2 * beside_mm)
        return free

    def _misplaced(self) -> Iterator[Finding]:
        """Yield how all openings, or a few of them, lie beside the design, or are larger or smaller all round."""
        drawn = sampled(self.rings, sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
        aligned = Alignment(drawn, self.design, inset_mm=self.kerf_mm / 2)
        every = aligned.of_all()
        if every is None:
            yield Finding(None, "no edge of an opening follows the design", _ADVICE)
            return
        off = [
            (ring, own.moved_mm) for n, ring in enumerate(self.rings) if (own := aligned.of_ring(n)) and self._off(own)
        ]
        if 2 * len(off) < len(self.rings):
            for ring, by in off:
                told = Sentence("an opening lies {off:.2f mm} beside the design", off=Mm(by))
                yield Finding(ring.start, told, _ADVICE)
        if not off or 2 * len(off) >= len(self.rings):
            yield from self._all_off(every)

    def _off(self, own: Motion) -> bool:
        """Return whether a single opening lies further off than the tolerance can have moved it."""
        return own.on >= _LEAST_SAMPLES and own.moved_mm > _ONE_MOVED_SHARE * self.tolerance_mm + _ONE_MOVED_MM

    def _all_off(self, every: Motion) -> Iterator[Finding]:
        """Yield how all openings together lie off, or are larger or smaller than they must be."""
        if every.moved_mm > _MOVED_SHARE * self.tolerance_mm + _MOVED_MM:
            told = Sentence(
                "the openings lie up to {off:.2f mm} beside the design, moved, turned or scaled", off=Mm(every.moved_mm)
            )
            yield Finding(None, told, _ADVICE)
        elif abs(every.grown_mm) > _GROWN_SHARE * self.tolerance_mm + _GROWN_MM:
            told = Sentence(
                "the openings are {off:.3f mm} {how} all round than design and kerf ask",
                off=Mm(abs(every.grown_mm)),
                how="larger" if every.grown_mm > 0 else "smaller",
            )
            yield Finding(None, told, _ADVICE)

    def _miscounted(self) -> Iterator[Finding]:
        said = self.told.get("openings")
        count, _ = cv2.connectedComponents(_bytes(self.open), connectivity=8)
        if count - 1 != said:
            yield Finding(None, f"has {count - 1} openings, numbers.json tells of {said}", _ADVICE)

    def _pieces(self, mask: Mask, least_mm2: float) -> Iterator[tuple[Place, float, Any]]:
        """Yield a place in, the area and the window of the mask's largest pieces that are larger than ``least_mm2``."""
        _, labels, stats, _ = cv2.connectedComponentsWithStats(_bytes(mask), connectivity=8)
        areas = stats[:, cv2.CC_STAT_AREA] * self.raster.pixel_mm**2
        order = (np.argsort(-areas[1:], kind="stable") + 1).tolist()
        for index in [i for i in order if areas[i] > least_mm2][:_MOST_FINDINGS]:
            rows, columns = np.nonzero(labels == index)
            middle = len(rows) // 2
            x, y = self.raster.centres(rows[middle : middle + 1], columns[middle : middle + 1])[0]
            yield (float(x), float(y)), float(areas[index]), (rows, columns)


def _island(told: Any) -> tuple[Place, float]:
    """Return the place and the area of an island that numbers.json tells of; one that can't be is nowhere."""
    try:
        x, y = map(float, told["place_mm"])
        return (x, y), float(told["area_mm2"])
    except (KeyError, TypeError, ValueError):
        return (np.inf, np.inf), 0.0


def _bytes(mask: Mask) -> NDArray[np.uint8]:
    return np.ascontiguousarray(mask).view(np.uint8)
