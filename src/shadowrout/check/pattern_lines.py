"""The lines and register marks that the sheets of a paper pattern show are the carve drawing's and the figures'."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from shadowrout.check.curve_samples import Curve, Points, middles, sampled, vertices
from shadowrout.check.distances import Nearest
from shadowrout.check.drawing_file import Box
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.paper_layout import told_number
from shadowrout.check.printed_curves import PrintedCurves, alike
from shadowrout.check.printed_page import Contour, Matrix, sampled_contours
from shadowrout.check.printed_sheets import SAME_MM, Placed, contours_of, covers
from shadowrout.check.sheet_place import (
    DONT_PRINT,
    DONT_SCALE,
    MOST_FINDINGS,
    ROUNDING_MM,
    SAGITTA_MM,
    STEP_MM,
    Fault,
    SheetPlace,
    inside,
    same_where_same,
    worst_faults,
)
from shadowrout.words.sentences import Mm, Sentence

_EDGE = "plaque-edge"
_ROLES = {"v-line": "a V line", "pocket": "a pocket's wall", "flow-line": "a flow line", _EDGE: "the board's edge"}
"""The lines that a carver follows, in words. Each has a colour of its own but the edge, which is black like notes."""
_FAR_MM = 1e4
"""Stands for the distance to lines of which there are none."""

Marks = list[tuple[str, tuple[float, float]]]


class LinesOnSheets:
    """Holds strokes against the carve drawing and the figures; sheets that show the same, once."""

    def __init__(self, plaque: PlaqueFiles, board_mm: Box) -> None:
        self.plaque, self.board_mm = plaque, board_mm
        self.known: dict[tuple[object, ...], _Strokes] = {}
        self.dowel_mm, self.marks = register_of(plaque)
        files = [file for file in plaque.drawing("carve") if file.shapes][:1]
        self.carved = {role: curves for file in files for role in _ROLES if (curves := file.curves(role))}

    def faults(self, place: SheetPlace) -> Iterator[Fault]:
        """Yield what is wrong on one sheet.

        Lines below a fill aren't seen, and what a narrower pane shows a part of, like hatching, doesn't count.
        """
        strokes = [
            placed
            for placed in place.read.over_fills
            if placed.imprint.how == "stroke" and placed.shows and placed.pane is not None
            if covers(placed.pane, place.on_page_mm, within_mm=SAME_MM)
        ]
        key = same_where_same(strokes, place.onto_board)
        if key not in self.known:
            self.known[key] = _Strokes(strokes, place.onto_board, self.carved)
        drawn = self.known[key]
        yield from self._edge_faults(drawn)
        yield from self._mark_faults(drawn, place.window_mm)
        if not drawn.as_carved:
            yield from self._missing_lines(drawn, place.window_mm)
            yield from self._extra_lines(drawn, place.window_mm)

    def _edge_faults(self, drawn: _Strokes) -> Iterator[Fault]:
        """Yield how the board's edge as drawn, the largest ring, is off the board's size."""
        if not drawn.boxes:
            yield Promise.TRUE_SIZE, Finding(None, "it doesn't show the board's edge", DONT_PRINT)
            return
        largest = max(drawn.boxes, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
        off = float(np.abs(np.subtract(largest, self.board_mm)).max())
        if off > ROUNDING_MM:
            told = Sentence(
                "the board's edge is drawn {size:.3f mm}, the board is {board:g mm}; a side of it is {off:.3f mm} off",
                size=Mm.size(largest[2] - largest[0], largest[3] - largest[1]),
                board=Mm.size(*(self.plaque.settings.size or (0.0, 0.0))),
                off=Mm(off),
            )
            yield Promise.TRUE_SIZE, Finding(None, told, DONT_SCALE)

    def _mark_faults(self, drawn: _Strokes, window: Box) -> Iterator[Fault]:
        """Yield the register marks that aren't where the figures have them, and dowel holes that are too many."""
        places = np.array([at for _, at in self.marks]).reshape(-1, 2)
        for (name, at), seen in zip(self.marks, inside(places, window), strict=True):
            if seen and not drawn.has_mark(at, self.dowel_mm):
                what = f"register mark {name} isn't where it belongs, a cross in a dowel hole"
                yield Promise.FAITHFUL, Finding(at, what, DONT_PRINT)
        for at in drawn.other_marks(places, self.dowel_mm)[:MOST_FINDINGS]:
            what = "a dowel hole is drawn where there is no register mark"
            yield Promise.FAITHFUL, Finding(at, what, DONT_PRINT)

    def _missing_lines(self, drawn: _Strokes, window: Box) -> Iterator[Fault]:
        """Yield the lines of the carve drawing that aren't on the pattern."""
        limit = self.plaque.tolerance_mm + ROUNDING_MM
        for role, curves in self.carved.items():
            points = np.vstack([vertices(curves), middles(curves)])
            points = points[inside(points, window)]
            what = f"{_ROLES[role]} of the carve drawing is {{off:.3f mm}} from any line on it"
            yield from worst_faults(points, drawn.distances(points, limit), limit, what)

    def _extra_lines(self, drawn: _Strokes, window: Box) -> Iterator[Fault]:
        """Yield the lines in the colours of lines to cut that the carve drawing hasn't."""
        limit = self.plaque.tolerance_mm + ROUNDING_MM
        extra, off = drawn.extra(limit)
        seen = np.where(extra & inside(drawn.samples.points, window), off, 0.0)
        what = "a line like those to cut lies {off:.3f mm} from any of the carve drawing"
        yield from worst_faults(drawn.samples.points, seen, limit, what)


class _Strokes:
    """Strokes as printed, where they lie on the board."""

    def __init__(self, strokes: Sequence[Placed], onto: Matrix, carved: dict[str, list[Curve]]) -> None:
        self.carved = carved
        self.contours = contours_of(strokes, onto)
        self.colours = [placed.imprint.colour for placed in strokes for _ in placed.imprint.contours]
        self.samples = sampled_contours(self.contours, sagitta_mm=SAGITTA_MM, step_mm=STEP_MM, close=False)
        self.closed = [contour.closed or _ends_meet(contour) for contour, _ in self.contours]

    @cached_property
    def as_carved(self) -> bool:
        """Whether they pass all points of the carve drawing's lines, and are as long as those in their colours."""
        curves = PrintedCurves(self.contours)
        numbers = {colour: number for number, colour in enumerate(dict.fromkeys(self.colours))}
        colour_of = np.array([numbers[colour] for colour in self.colours], dtype=np.intp)
        lengths = np.array([curves.lengths_mm[colour_of == number].sum() for number in numbers.values()])
        for role, wanted in self.carved.items():
            passing = curves.pass_through(wanted)
            if passing is None:
                return False
            found = np.unique(colour_of[passing])
            length = np.array([sum(curve.length_mm for curve in wanted)])
            if role != _EDGE and not (len(found) == 1 and alike(lengths[found], length).all()):
                return False
        return True

    @cached_property
    def nearest(self) -> Nearest | None:
        """Finds places on them; None where there are none."""
        return Nearest(self.samples) if self.contours else None

    def distances(self, points: Points, exact_above_mm: float) -> NDArray[np.float64]:
        """Return how far points lie off them."""
        if self.nearest is None or not len(points):
            return np.full(len(points), _FAR_MM)
        return self.nearest.distances(points, exact_above_mm=exact_above_mm)

    def extra(self, limit_mm: float) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
        """Return of each sample whether it is of a stroke that has a line's colour and isn't one, and how far off."""
        curves = [curve for role in self.carved if role != _EDGE for curve in self.carved[role]]
        points, owner = self.samples.points, self.samples.owner
        if not curves or not len(points):
            return np.zeros(len(points), dtype=bool), np.zeros(len(points))
        lines = Nearest(sampled(curves, sagitta_mm=SAGITTA_MM, step_mm=STEP_MM))
        off = lines.distances(points, exact_above_mm=limit_mm)
        on_lines = np.maximum.reduceat(off, np.searchsorted(owner, np.arange(self.samples.curves))) <= limit_mm
        colours = {colour for colour, is_line in zip(self.colours, on_lines, strict=True) if is_line}
        extra = np.array([colour in colours for colour in self.colours]) & ~on_lines
        return extra[owner], off

    @cached_property
    def rings(self) -> list[Points]:
        """The points of each closed stroke."""
        return [points for points, closed in zip(self.samples.split(), self.closed, strict=True) if closed]

    @cached_property
    def boxes(self) -> list[Box]:
        """The box around each of them."""
        found = []
        for ring in self.rings:
            (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
            found.append((x0, y0, x1, y1))
        return found

    @cached_property
    def lines(self) -> NDArray[np.float64]:
        """Ends of every open stroke: x0, y0, x1, y1, shape (n, 4)."""
        every = zip(self.samples.split(), self.closed, strict=True)
        ends = [(*points[0].tolist(), *points[-1].tolist()) for points, closed in every if not closed]
        return np.array(ends, dtype=np.float64).reshape(-1, 4)

    def has_mark(self, at: tuple[float, float], dowel_mm: float) -> bool:
        """Return whether a dowel hole is drawn about a place, and a level and an upright line cross there."""
        centres = (self.lines[:, :2] + self.lines[:, 2:]) / 2
        through = self.lines[np.abs(centres - at).max(axis=1) <= SAME_MM]
        steps = np.abs(through[:, 2:] - through[:, :2])
        crossed = all(((steps[:, axis] <= SAME_MM) & (steps[:, 1 - axis] > dowel_mm)).any() for axis in (0, 1))
        return crossed and any(math.dist(centre, at) <= SAME_MM for centre in self._circles(dowel_mm))

    def other_marks(self, marks: Points, dowel_mm: float) -> list[tuple[float, float]]:
        """Return the places of dowel holes with a cross through them that are none of the marks'."""
        return [
            centre
            for centre in self._circles(dowel_mm)
            if np.abs(marks - centre).max(axis=1).min(initial=_FAR_MM) > SAME_MM
            if self.has_mark(centre, dowel_mm)
        ]

    def _circles(self, diameter_mm: float) -> list[tuple[float, float]]:
        found = []
        for ring, (x0, y0, x1, y1) in zip(self.rings, self.boxes, strict=True):
            centre = ((x0 + x1) / 2, (y0 + y1) / 2)
            off = max(abs(x1 - x0 - diameter_mm), abs(y1 - y0 - diameter_mm))
            if off <= 2 * SAME_MM and np.abs(np.hypot(*(ring - centre).T) - diameter_mm / 2).max() <= 2 * SAME_MM:
                found.append(centre)
        return found


def register_of(plaque: PlaqueFiles) -> tuple[float, Marks]:
    """Return the dowel's diameter and the name and place of each register mark, as far as numbers.json tells them."""
    told = plaque.figures.get("register")
    every, dowel = (told.get("marks"), told.get("dowel_mm")) if isinstance(told, dict) else (None, None)
    marks = []
    for mark in every if isinstance(every, list) else ():
        x, y = (told_number(mark.get(key)) if isinstance(mark, dict) else None for key in ("x_mm", "y_mm"))
        if x is not None and y is not None:
            marks.append((str(mark.get("mark")), (x, y)))
    return told_number(dowel) or 0.0, marks


def _ends_meet(contour: Contour) -> bool:
    return bool(np.abs(contour.pieces[0, :2] - contour.pieces[-1, 6:]).max() <= 1e-6)
