"""No gouge by a router's bit: what its guide bush lets it take stays within the shadow grown by the tolerance.

The bush is rolled round the openings of each template sheet as written: its middle goes wherever no edge of an opening
is nearer than its radius, and the bit takes all within its own radius of that. The line along which the middle goes at
the most is found from points on the openings and their normals, by exact distances; a raster finds where it matters.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Points, Samples, sampled, sampled_rings
from shadowrout.check.distances import Enclosed, Nearest, Neighbours, worst_places
from shadowrout.check.drawing_file import MM, DrawingFile
from shadowrout.check.findings import Finding
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px, grown_by_one
from shadowrout.check.same_curves import drawn_alike
from shadowrout.words.sentences import Mm, Sentence

ROUNDING_MM = 0.001
"""What the files' decimals and the sampling of arcs may add."""

_SAGITTA_MM = 0.0005
"""Half of ROUNDING_MM, which allows for it."""
_STEP_MM = 0.1
"""Between points on the openings, and between places of the bush's middle as it turns about a corner."""
_HALVINGS = 7
"""How often the step is halved between where the bush can stand and where it can't: to 0.001 mm."""
_PLAY_MM = 0.002
"""By how much the bush may overlap an edge: chords of an arc as tight as the bush lie so much nearer to its middle."""
_PIXEL_MM = 0.1
"""Pixels only find the candidates, and the slack below makes up for their size."""
_MOST_PIXELS = 16_000_000
"""16 MB for a mask of bytes. On a larger sheet pixels grow, which only makes more candidates."""
_NEAR_PX = 1.5
"""Half a diagonal, 0.71, from a place to the middle of its pixel, and again for what it is measured to."""
_MOST_CANDIDATES = 20_000
"""Where a whole opening lies in the light there are far more pixels; those furthest out are the worst there are."""
_MOST_REFINED, _FINER = 200, 9
"""About so many of the worst places it is looked again, at so many by so many in a pixel: in the middle of a tip of
light the distance from the dark falls off to both sides."""
_APART_MM = 5.0
"""Places nearer to a worse one are the same fault to whoever looks for it."""
_MOST_FINDINGS = 10
"""More would not be read; the worst come first."""

_TOLD = re.compile(r"\b(?:bush|bit|bearing) (\d+(?:\.\d+)?) (mm|in)(?: \([^)]*\))?(?:[,:]| on\b)", re.ASCII)
"""What a sheet's words say of bush and bit; how far the bit stands out is no diameter and has other words after it."""
_WORDS_MM = 0.06
"""Half of the tenth of a millimetre to which the words give a diameter, and a little."""

_ADVICE = "don't cut this sheet; make the plaque again, and report the fault with the picture if it comes again"


@dataclass(frozen=True, eq=False)
class Rolled:
    """How far outside the shadow the bit comes at most in all sheets, in mm, and what is wrong."""

    worst_mm: float
    findings: tuple[Finding, ...]


def rolled(plaque: PlaqueFiles) -> Rolled | None:
    """Return what rolling the job's bush round all template sheets shows; None without templates or a shadow."""
    files = [file for file in plaque.drawings.values() if file.name.startswith("template")]
    shadow = _shadow(plaque)
    if not files or shadow is None:
        return None
    worst, findings, limit = 0.0, [], plaque.tolerance_mm + ROUNDING_MM
    bush_mm, bit_mm = plaque.job.template.bush, plaque.job.template.bit
    for names, file in drawn_alike(files, "opening"):
        points, beyond = _reached(file, shadow, bush_mm / 2, bit_mm / 2)
        worst = max(worst, float(beyond.max(initial=0.0)))
        beyond[beyond <= limit] = 0.0
        for index in worst_places(points, beyond, apart_mm=_APART_MM, most=_MOST_FINDINGS):
            told = Sentence(
                "the {bit:g mm} bit takes {beyond:.3f mm} of wood outside the shadow where the {bush:g mm} bush goes "
                "round the opening",
                bit=Mm(bit_mm),
                bush=Mm(bush_mm),
                beyond=Mm(float(beyond[index])),
            )
            place = (float(points[index, 0]), float(points[index, 1]))
            findings.append(Finding(place, told, _ADVICE).within(names))
    return Rolled(worst, tuple(findings))


def words_that_differ(plaque: PlaqueFiles) -> Iterator[str | Sentence]:
    """Yield for each template sheet where its words tell another bush or bit than the job, or else nothing."""
    asked = plaque.job.template.bush, plaque.job.template.bit
    for file in plaque.drawings.values():
        if file.name.startswith("template") and file.shapes:
            texts = " ".join(shape.text for shape in file.shapes if shape.text)
            told = [float(length) * MM[unit] for length, unit in _TOLD.findall(texts)]
            wanted = asked if asked[0] > asked[1] else asked[:1]
            if len(told) != len(wanted) or any(abs(a - b) > _WORDS_MM for a, b in zip(told, wanted, strict=True)):
                yield Sentence(
                    "{file}: its words don't tell of the job's bush, {bush:g mm}, and its bit, {bit:g mm}",
                    file=file.name,
                    bush=Mm(asked[0]),
                    bit=Mm(asked[1]),
                )
            else:
                yield ""


class _Dark:
    """All that must end dark, and how far points are from it."""

    def __init__(self, samples: Samples) -> None:
        self.samples = samples
        self.nearest = Nearest(samples)
        self.enclosed = Enclosed(samples)

    def outside_mm(self, points: Points) -> NDArray[np.float64]:
        """Return each point's distance to the shadow, 0 within it."""
        beyond = np.zeros(len(points))
        out = np.flatnonzero(~self.enclosed.holds(points)) if len(points) else np.empty(0, np.intp)
        if len(out):
            beyond[out] = self.nearest.distances(points[out])
        return beyond


def _shadow(plaque: PlaqueFiles) -> _Dark | None:
    """Return the sized design, from which the templates were made, or else the shadow as written for the machine."""
    if plaque.design is not None:
        rings = [ring for part in plaque.design.geoms for ring in (part.exterior, *part.interiors)]
        samples = sampled_rings([np.asarray(ring.coords)[:-1, :2] for ring in rings], step_mm=_STEP_MM)
    else:
        curves = [c for file in list(plaque.drawing("carve"))[:1] for c in file.curves("shadow") if c.closed]
        samples = sampled(curves, sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
    return _Dark(samples) if len(samples.points) else None


def _reached(
    file: DrawingFile, shadow: _Dark, bush_radius_mm: float, bit_radius_mm: float
) -> tuple[Points, NDArray[np.float64]]:
    """Return places at the edge of what the bit takes, and how far each is from the shadow."""
    nowhere = np.empty((0, 2)), np.empty(0)
    openings = sampled([c for c in file.curves("opening") if c.closed], sagitta_mm=_SAGITTA_MM, step_mm=_STEP_MM)
    if not len(openings.points):
        return nowhere
    (x0, y0), (x1, y1) = openings.points.min(axis=0).tolist(), openings.points.max(axis=0).tolist()
    raster = Raster.over((x0, y0, x1, y1), pixel_mm=_PIXEL_MM, most_pixels=_MOST_PIXELS, pad_mm=1.0)
    near = _NEAR_PX * raster.pixel_mm
    bush_fits = distance_px(~raster.enclosed(openings)) * raster.pixel_mm >= bush_radius_mm - near
    taken = distance_px(bush_fits) * raster.pixel_mm <= bit_radius_mm + near
    candidates = _furthest(taken & grown_by_one(~raster.enclosed(shadow.samples)), shadow, raster)
    if not candidates.any():
        return nowhere
    bush = _Bush(openings, bush_radius_mm)
    matter = bush_fits & (distance_px(candidates) * raster.pixel_mm <= bit_radius_mm + 2 * near)
    middles = bush.middles(matter, raster)

    def taken_near(points: Points) -> tuple[Points, NDArray[np.float64]]:
        standing = points[bush.stands_at(points, bush_fits, raster)]
        every = np.vstack([_in_discs(points, middles, bit_radius_mm), standing])
        return every, shadow.outside_mm(every)

    points, beyond = taken_near(raster.centres(*np.nonzero(candidates)))
    worst = points[worst_places(points, beyond, apart_mm=raster.pixel_mm, most=_MOST_REFINED)]
    finer, beyond_finer = taken_near(_round_about(worst, raster.pixel_mm))
    return np.vstack([points, finer]), np.concatenate([beyond, beyond_finer])


def _round_about(points: Points, pixel_mm: float) -> Points:
    """Return places in squares a pixel wide about each of the points."""
    steps = np.linspace(-0.5, 0.5, _FINER) * pixel_mm
    square = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    return np.asarray((points[:, None] + square).reshape(-1, 2))


def _furthest(candidates: NDArray[np.bool_], shadow: _Dark, raster: Raster) -> NDArray[np.bool_]:
    """Return the candidates, where there are too many only those furthest from the shadow."""
    rows, columns = np.nonzero(candidates)
    if len(rows) <= _MOST_CANDIDATES:
        return candidates
    beyond = distance_px(raster.enclosed(shadow.samples))[rows, columns]
    kept = np.argpartition(beyond, -_MOST_CANDIDATES)[-_MOST_CANDIDATES:]
    furthest = np.zeros_like(candidates)
    furthest[rows[kept], columns[kept]] = True
    return furthest


def _in_discs(points: Points, middles: Points, radius_mm: float) -> Points:
    """Return the points that a disc about their nearest middle holds, and for each the disc's edge straight beyond."""
    if not len(middles):
        return np.empty((0, 2))
    nearest = middles[Neighbours(middles).indices(points)[:, 0]]
    away = points - nearest
    distance = np.hypot(*away.T)
    held = (distance <= radius_mm) & (distance > 0)
    reached: Points = nearest[held] + away[held] * (radius_mm / distance[held])[:, None]
    return np.vstack([reached, points[held]])


class _Bush:
    """Where the middle of a bush can be within openings."""

    def __init__(self, openings: Samples, radius_mm: float) -> None:
        self.openings = openings
        self.radius_mm = radius_mm
        self.nearest = Nearest(openings)

    def stands_at(self, points: Points, fits: NDArray[np.bool_], raster: Raster) -> NDArray[np.bool_]:
        """Return at which points, all in pixels where it may fit as far as they tell, the bush touches no edge."""
        rows, columns = _pixels_of(points, raster)
        stands = fits[rows, columns]
        some = np.flatnonzero(stands)
        if len(some):
            least = self.radius_mm - _PLAY_MM
            stands[some] = self.nearest.distances(points[some], exact_above_mm=least) >= least
        return np.asarray(stands, dtype=np.bool_)

    def middles(self, matter: NDArray[np.bool_], raster: Raster) -> Points:
        """Return places of the bush's middle as it touches an edge, no further apart than a step, and where it ends.

        It ends where it touches another edge too: there the steps are halved.
        """
        found = [np.empty((0, 2))]
        for feet, directions in self._touches():
            for side in (1, -1):
                middles = feet + side * self.radius_mm * directions
                stands = self.stands_at(_points(middles), matter, raster)
                found.append(_points(middles[stands]))
                found.append(self._ends(feet, side * directions, stands, matter, raster))
        return np.vstack(found)

    def _touches(self) -> Iterator[tuple[NDArray[np.complex128], NDArray[np.complex128]]]:
        """Yield each ring's points that the bush touches, and the ways to its middle; at a corner many."""
        for ring in self.openings.split():
            z = ring[:, 0] + 1j * ring[:, 1]
            z = z[np.abs(z - np.roll(z, 1)) > 0]
            along = np.roll(z, -1) - z
            after = 1j * along / np.abs(along)
            before = np.roll(after, 1)
            turn = np.angle(after / before)
            counts = np.maximum(1, np.ceil(np.abs(turn) * self.radius_mm / _STEP_MM)).astype(np.intp)
            which = np.repeat(np.arange(len(z)), counts)
            number = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
            yield z[which], before[which] * np.exp(1j * turn[which] * (number + 0.5) / counts[which])

    def _ends(
        self,
        feet: NDArray[np.complex128],
        ways: NDArray[np.complex128],
        stands: NDArray[np.bool_],
        matter: NDArray[np.bool_],
        raster: Raster,
    ) -> Points:
        """Return the last places of the middle on each run along a ring that has an end."""
        first = np.flatnonzero(stands & ~np.roll(stands, -1))
        last = np.flatnonzero(stands & ~np.roll(stands, 1))
        inside = np.concatenate([first, last])
        outside = np.concatenate([(first + 1) % len(stands), last - 1])
        good, bad = (feet[inside], ways[inside]), (feet[outside], ways[outside])
        for _ in range(_HALVINGS):
            foot, way = (good[0] + bad[0]) / 2, good[1] + bad[1]
            way = way / np.maximum(np.abs(way), 1e-12)
            ok = self.stands_at(_points(foot + self.radius_mm * way), matter, raster)
            good = np.where(ok, foot, good[0]), np.where(ok, way, good[1])
            bad = np.where(ok, bad[0], foot), np.where(ok, bad[1], way)
        return _points(good[0] + self.radius_mm * good[1])


def _points(z: NDArray[np.complex128]) -> Points:
    return np.column_stack([z.real, z.imag])


def _pixels_of(points: Points, raster: Raster) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows and columns of the pixels that hold the points, of those beyond the raster the outermost."""
    columns = np.floor((points[:, 0] - raster.x0) / raster.pixel_mm).astype(np.intp)
    rows = np.floor((points[:, 1] - raster.y0) / raster.pixel_mm).astype(np.intp)
    return np.clip(rows, 0, raster.rows - 1), np.clip(columns, 0, raster.columns - 1)
