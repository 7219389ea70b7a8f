"""Each pocket of numbers.json stands at its place in a drawing, at its depth, and its note leads to it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import shapely

from shadowrout.check.curve_samples import sampled
from shadowrout.check.drawing_file import DrawingFile, Shape, role_of_layer
from shadowrout.check.findings import Finding, Place
from shadowrout.check.told_values import numbers_of, tables_of
from shadowrout.words.sentences import Mm, Sentence

_ROUNDING_MM = 0.001
_SAGITTA_MM = 0.01
_LEAST_RING = 3
"""Fewer corners enclose nothing."""
_BESIDE_MM = 2.0
"""Text stands on its baseline: in a pocket narrower than its letters, 1.8 mm, that may lie outside."""
_NUMBER = re.compile(r"(\d{1,6})(?::|$)", re.ASCII)
_ADVICE = "make the job again; job.toml, numbers.json and the drawings belong to one run"


def compared(file: DrawingFile, figures: dict[str, object]) -> Iterator[Finding | None]:
    """Yield what is wrong with each pocket's place and with the place of its note, None where each is right."""
    walls, notes = _walls(file), _notes(file)
    for pocket in tables_of(figures, "pockets"):
        place, depth, cutter = (numbers_of(pocket, key) for key in ("place_mm", "depth_mm", "cutter_mm"))
        number = numbers_of(pocket, "number")
        if len(place) != 2 or not (depth and cutter and number):
            yield Finding(None, "numbers.json doesn't tell a pocket's number, place, depth and cutter", _ADVICE)
            continue
        spot = shapely.Point(place)
        around = [wall for wall in walls if wall.fits(depth[0], cutter[0]) and wall.holds(spot)]
        if not around:
            told = Sentence(
                "pocket {number:g} of numbers.json, {depth:g mm} deep by a {cutter:g mm} cutter, is not at its place",
                number=number[0],
                depth=Mm(depth[0]),
                cutter=Mm(cutter[0]),
            )
            yield Finding((place[0], place[1]), told, _ADVICE)
            continue
        yield None
        rings = [ring for wall in around for ring in wall.rings if ring.contains(spot)]
        outline = min(rings, key=lambda ring: ring.area)
        yield from (_astray(note, number[0], outline) for note in notes if note.number == number[0])


@dataclass(eq=False)
class _Walls:
    """The walls of one depth and cutter, each ring as a polygon."""

    depth_mm: float
    cutter_mm: float
    rings: list[shapely.Polygon] = field(default_factory=list)

    def fits(self, depth_mm: float, cutter_mm: float) -> bool:
        return abs(self.depth_mm - depth_mm) <= _ROUNDING_MM and abs(self.cutter_mm - cutter_mm) <= _ROUNDING_MM

    def holds(self, spot: shapely.Point) -> bool:
        """Return whether a point is in their wood: within an odd number of rings."""
        return sum(ring.contains(spot) for ring in self.rings) % 2 == 1


@dataclass(eq=False)
class _PocketNote:
    """The lines of text that tell of one pocket, one after the other, and the ends of the leader that follows them."""

    number: int
    texts: list[Place]
    leader: list[Place] = field(default_factory=list)


def _walls(file: DrawingFile) -> list[_Walls]:
    kinds: dict[tuple[float, float], list[Shape]] = {}
    for shape in file.of_role("pocket"):
        kinds.setdefault((shape.marks.get("depth_mm", 0.0), shape.marks.get("cutter_mm", 0.0)), []).append(shape)
    return [_Walls(depth, cutter, _polygons(shapes)) for (depth, cutter), shapes in kinds.items()]


def _polygons(shapes: Sequence[Shape]) -> list[shapely.Polygon]:
    curves = [shape.curve for shape in shapes if shape.curve is not None and shape.curve.closed]
    rings = sampled(curves, sagitta_mm=_SAGITTA_MM).split()
    return [shapely.Polygon(ring) for ring in rings if len(ring) >= _LEAST_RING]


def _notes(file: DrawingFile) -> list[_PocketNote]:
    """Return the notes in the file's order; a line without a number goes on with the one before it."""
    notes: list[_PocketNote] = []
    for shape in file.shapes:
        if role_of_layer(shape.layer) != "note":
            continue
        found = _NUMBER.match(shape.text)
        if shape.curve is not None and notes:
            ends = shape.curve.vertices[[0, -1]].tolist()
            notes[-1].leader = [(x, y) for x, y in ends]
        elif found and not (notes and notes[-1].number == int(found[1]) and not notes[-1].leader):
            notes.append(_PocketNote(int(found[1]), [shape.at]))
        elif found and notes:
            notes[-1].texts.append(shape.at)
    return notes


def _astray(note: _PocketNote, number: float, outline: shapely.Polygon) -> Finding | None:
    """Return that a note stands, or its leader leads, elsewhere than to its pocket; None where it doesn't."""
    meant = shapely.points(note.leader or note.texts)
    if shapely.distance(outline, meant).min() <= (0.0 if note.leader else _BESIDE_MM):
        return None
    where = "its leader leads to" if note.leader else "it stands at"
    told = Sentence("the note of pocket {number:g}: {where} another place", number=number, where=where)
    return Finding(note.texts[0], told, _ADVICE)
