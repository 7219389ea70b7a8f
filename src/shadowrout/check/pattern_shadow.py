"""The shadow that the sheets of a paper pattern show is the design's, and nothing hides it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, Points, Samples, sampled_rings
from shadowrout.check.distances import Nearest
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.printed_curves import PrintedCurves
from shadowrout.check.printed_page import Matrix, moved, sampled_contours
from shadowrout.check.printed_sheets import Placed, contours_of, meet
from shadowrout.check.sheet_place import (
    DONT_PRINT,
    ROUNDING_MM,
    SAGITTA_MM,
    STEP_MM,
    Fault,
    SheetPlace,
    inside,
    same_where_same,
    worst_faults,
)

_LEAST_RING = 4
"""Points of a sampled ring, its first repeated, that encloses anything."""


@dataclass(frozen=True, eq=False)
class _Measured:
    """Fills as printed: points of them, how far each lies off the design and each of the design's off them."""

    points: Points
    off_mm: NDArray[np.float64]
    design_off_mm: NDArray[np.float64]
    faults: tuple[str, ...]


class ShadowOnSheets:
    """Holds fills against the design; sheets that show the same, once.

    Fills that are the carve drawing's shadow are as far off as that is, which is measured there; ``off_mm`` is what
    others are, None where there are none.
    """

    def __init__(self, plaque: PlaqueFiles) -> None:
        self.plaque = plaque
        self.off_mm: float | None = None
        self.known: dict[tuple[object, ...], _Measured | None] = {}
        self.carved: list[list[Curve]] = [file.curves("shadow") for file in plaque.drawing("carve") if file.shapes][:1]

    def faults(self, place: SheetPlace) -> Iterator[Fault]:
        """Yield what is wrong on one sheet."""
        yield from _hidden(place)
        fills = [p for p in place.read.placed if p.imprint.how == "fill" and p.shows and meet(p.box, place.on_page_mm)]
        if not fills:
            yield Promise.FAITHFUL, Finding(None, "it shows no shadow", DONT_PRINT)
        elif self.design is not None:
            key = same_where_same(fills, place.onto_board)
            if key not in self.known:
                self.known[key] = self._measured(fills, place.onto_board, self.design)
            yield from self._seen(self.known[key], place, self.design)

    @cached_property
    def design(self) -> Samples | None:
        """Points along the design's outlines; None where there is no design."""
        if self.plaque.design is None:
            return None
        rings = [ring for part in self.plaque.design.geoms for ring in (part.exterior, *part.interiors)]
        return sampled_rings([np.asarray(ring.coords)[:-1, :2] for ring in rings], step_mm=STEP_MM)

    def _measured(self, fills: Sequence[Placed], onto: Matrix, design: Samples) -> _Measured | None:
        """Return how fills compare with the design; None where they are the shadow of the carve drawing."""
        contours = contours_of(fills, onto)
        if any(PrintedCurves(contours).are_rings(curves) for curves in self.carved):
            return None
        limit = self.plaque.tolerance_mm
        written = sampled_contours(contours, sagitta_mm=SAGITTA_MM, step_mm=STEP_MM, close=True)
        return _Measured(
            written.points,
            Nearest(design).distances(written.points, exact_above_mm=limit),
            Nearest(written).distances(design.points, exact_above_mm=limit),
            tuple(_ring_faults(fills, written, design)),
        )

    def _seen(self, measured: _Measured | None, place: SheetPlace, design: Samples) -> Iterator[Fault]:
        """Yield what of it shows in a sheet's window."""
        if measured is None:
            return
        yield from ((Promise.FAITHFUL, Finding(None, what, DONT_PRINT)) for what in measured.faults)
        for points, off, what in (
            (measured.points, measured.off_mm, "the printed shadow lies {off:.3f mm} off the design"),
            (design.points, measured.design_off_mm, "an edge of the design is {off:.3f mm} from what is printed"),
        ):
            seen = np.where(inside(points, place.window_mm), off, 0.0)
            self.off_mm = max(self.off_mm or 0.0, float(seen.max(initial=0.0)))
            yield from worst_faults(points, seen, self.plaque.tolerance_mm + ROUNDING_MM, what)


def _hidden(place: SheetPlace) -> Iterator[Fault]:
    """Yield what is painted over the pattern and hides it."""
    begun, window = False, place.on_page_mm
    for placed in place.read.placed:
        begun = begun or (placed.imprint.how == "fill" and placed.shows and placed.pane is not None)
        if not (begun and placed.hides and meet(placed.box, window)):
            continue
        if placed.pane is None or meet(placed.pane.box, placed.box):
            low, high = np.maximum(placed.box[:2], window[:2]), np.minimum(placed.box[2:], window[2:])
            ((x, y),) = moved(((low + high) / 2)[None], place.onto_board).tolist()
            yield Promise.FAITHFUL, Finding((x, y), "something is painted over the pattern", DONT_PRINT)


def _ring_faults(fills: Sequence[Placed], written: Samples, design: Samples) -> Iterator[str]:
    """Yield whether rings are too many or too few, or filled where they should be open."""
    rings = [ring for ring in written.split() if len(ring) >= _LEAST_RING]
    if len(rings) != design.curves:
        yield f"its shadow has {len(rings)} outlines, the design's has {design.curves}"
    if rings and not any(fill.imprint.even_odd for fill in fills) and not _open_where_odd(rings):
        yield "a hole of the shadow is filled"


def _open_where_odd(rings: Sequence[Points]) -> bool:
    """Return whether a fill by winding numbers is open just in those rings that lie in an odd number of others."""
    areas = [shapely.Polygon(ring) for ring in rings]
    turns = np.array([_turn(ring) for ring in rings])
    within, around = shapely.STRtree(areas).query(shapely.points([ring[0] for ring in rings]), predicate="within")
    within, around = within[within != around], around[within != around]
    depth = np.bincount(within, minlength=len(rings))
    winding = turns + np.bincount(within, weights=turns[around], minlength=len(rings))
    return bool(((winding == 0) == (depth % 2 == 1)).all())


def _turn(ring: Points) -> float:
    """Return 1 for a ring that runs counter-clockwise, -1 for the other way."""
    x, y = (ring - ring[0]).T
    return float(np.sign(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
