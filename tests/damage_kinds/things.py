"""What stands in a drawing, whatever its format: paths of lines and arcs, circles and texts, in mm with y up."""

from __future__ import annotations

import cmath
import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from shapely import Polygon

SAGITTA_MM = 0.004
"""How far chords leave an arc that is flattened: less than DXF's straight V lines may, 0.005 mm."""


class NotHereError(Exception):
    """A kind of damage finds nothing to spoil in this folder."""


@dataclass(eq=False)
class Thing:
    """One path (``points``, ``bulges``), circle (one point, ``radius``) or text (one point, ``text``) of a layer.

    A bulge is the tangent of a quarter of the arc that begins at its point, positive to the left (DXF Reference, 42).
    ``depths`` and ``widths`` hold a number for each point of a V line, and are empty elsewhere.
    """

    kind: str
    role: str
    layer: str
    points: list[complex]
    bulges: list[float] = field(default_factory=list)
    closed: bool = False
    radius: float = 0.0
    text: str = ""
    depths: list[float] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)
    source: Any = None
    touched: bool = False

    def pieces(self) -> list[tuple[complex, complex, float]]:
        ends = self.points[1:] + (self.points[:1] if self.closed else [])
        return list(zip(self.points, ends, self.bulges, strict=False))

    def flat(self) -> np.ndarray:
        """Return points along the path, its last one too where it is open."""
        found = [point for piece in self.pieces() for point in along(*piece)]
        return np.array(found + ([] if self.closed and found else self.points[-1:]))

    def area(self) -> float:
        """Return the area of a ring, positive where it runs counter-clockwise."""
        at = self.flat()
        return float(np.sum((at.conj() * np.roll(at, -1)).imag) / 2) if self.closed else 0.0

    def length(self) -> float:
        at = self.flat()
        return float(np.abs(np.diff(np.append(at, at[:1]) if self.closed else at)).sum())

    def middle(self) -> complex:
        return complex(self.flat().mean())


def along(a: complex, b: complex, bulge: float) -> list[complex]:
    """Return the points of a piece from its start up to, not including, its end."""
    if abs(bulge) < 1e-9 or a == b:
        return [a]
    centre = a + (b - a) * (0.5 + 0.25j * (1 / bulge - bulge))
    turn = 4 * math.atan(bulge)
    count = max(1, math.ceil(abs(turn) / (2 * math.sqrt(2 * SAGITTA_MM / max(abs(a - centre), SAGITTA_MM)))))
    return [centre + (a - centre) * cmath.exp(1j * turn * step / count) for step in range(count)]


def deep_along(thing: Thing) -> list[tuple[complex, float]]:
    """Return a V line's points with their depths, which change evenly along each piece."""
    depths = thing.depths + thing.depths[:1] * thing.closed
    found = []
    for number, piece in enumerate(thing.pieces()):
        points = along(*piece)
        first, last = depths[number : number + 2]
        found += [(point, first + (last - first) * step / len(points)) for step, point in enumerate(points)]
    return found + ([] if thing.closed else [(thing.points[-1], depths[-1])])


def ring_grown(thing: Thing, by: float) -> list[complex]:
    """Return a ring moved outwards from the wood that it encloses as a wall: an outer ring grows, a hole shrinks."""
    polygon = Polygon(np.column_stack([thing.flat().real, thing.flat().imag])).buffer(0)
    grown = polygon.buffer(by if thing.area() > 0 else -by, quad_segs=16)
    if grown.is_empty:
        return []
    largest = max(getattr(grown, "geoms", [grown]), key=lambda part: part.area)
    points = [complex(x, y) for x, y in largest.exterior.simplify(0.005).coords[:-1]]
    outer = Thing("path", "", "", points, [0.0] * len(points), closed=True).area() > 0
    return points if outer == (thing.area() > 0) else points[::-1]


class Sheet(ABC):
    """A drawing's file, opened to be spoiled; ``things`` are in the file's order."""

    things: list[Thing]
    form: str

    def of(self, *roles: str) -> list[Thing]:
        return [thing for thing in self.things if thing.role in roles]

    def some(self, *roles: str) -> list[Thing]:
        """Return the things of these roles, of which there must be some."""
        if not (found := self.of(*roles)):
            raise NotHereError(f"no {' or '.join(roles)}")
        return found

    def paths(self, *roles: str) -> list[Thing]:
        if not (found := [thing for thing in self.some(*roles) if thing.kind == "path"]):
            raise NotHereError(f"no path of {roles}")
        return found

    def texts(self, holding: str = "", *roles: str) -> list[Thing]:
        found = [thing for thing in self.some(*(roles or ("note",))) if thing.kind == "text" and holding in thing.text]
        if not found:
            raise NotHereError(f"no text with {holding}")
        return found

    def circles(self) -> list[Thing]:
        if not (found := [thing for thing in self.of("register") if thing.kind == "circle"]):
            raise NotHereError("no dowel holes")
        return found

    def holes(self, role: str) -> list[Thing]:
        if not (found := [thing for thing in self.paths(role) if thing.area() < -0.5]):
            raise NotHereError(f"{role} without holes")
        return found

    def largest(self, role: str) -> Thing:
        return max(self.paths(role), key=Thing.area)

    def longest(self, role: str) -> Thing:
        return max(self.paths(role), key=Thing.length)

    def middle(self) -> complex:
        return self.largest("plaque-edge").middle() if self.of("plaque-edge") else self.longest("sheet-edge").middle()

    def each(self, things: Iterable[Thing], place: Callable[[complex], complex], *, mirrored: bool = False) -> None:
        """Move all points of these things; a mirror image has its bulges turned."""
        for thing in list(things):
            thing.points = [place(point) for point in thing.points]
            thing.bulges = [-bulge for bulge in thing.bulges] if mirrored else thing.bulges
            self.redraw(thing)

    def shift(self, things: Iterable[Thing], by: complex) -> None:
        self.each(things, lambda point: point + by)

    def mirror(self, things: Iterable[Thing], about: complex | None = None) -> None:
        middle = self.middle() if about is None else about
        self.each(things, lambda point: complex(2 * middle.real - point.real, point.imag), mirrored=True)

    def scale(self, things: Iterable[Thing], by: float, about: complex | None = None) -> None:
        middle = self.middle() if about is None else about
        things = list(things)
        for thing in things:
            thing.radius *= by
        self.each(things, lambda point: middle + (point - middle) * by)

    def grow(self, things: Iterable[Thing], by: float) -> None:
        """Move rings outwards from what they enclose by so many mm, as straight pieces; what vanishes is removed."""
        for thing in list(things):
            if points := ring_grown(thing, by):
                thing.points, thing.bulges = points, [0.0] * len(points)
                self.redraw(thing)
            else:
                self.remove([thing])

    def reverse(self, things: Iterable[Thing]) -> None:
        for thing in list(things):
            start = thing.points[:1] if thing.closed else []
            kept = thing.points[1:] if thing.closed else thing.points
            thing.points = start + kept[::-1]
            count = len(thing.bulges) if thing.closed else len(thing.points) - 1
            thing.bulges = [-bulge for bulge in thing.bulges[:count][::-1]] + [0.0] * (len(thing.bulges) - count)
            self.redraw(thing)

    def remove(self, things: Iterable[Thing]) -> None:
        for thing in list(things):
            self.things.remove(thing)
            self.drop(thing)

    def words(self, thing: Thing, text: str) -> None:
        if text == thing.text:
            raise NotHereError("the text says so already")
        thing.text = text
        self.redraw(thing)

    def swapped(self, one: Thing, other: Thing) -> None:
        """Exchange the texts of two notes."""
        first, second = one.text, other.text
        self.words(one, second)
        self.words(other, first)

    def redraw(self, thing: Thing) -> None:
        """Write a thing's geometry, text, depths and widths into the file's tree."""
        thing.touched = True
        self.write(thing)

    def follow(self, other: Sheet) -> None:
        """Draw what was touched to the last digit as another format's sheet has it, so that both are changed alike."""
        if len(self.things) == len(other.things):
            for own, leader in zip(self.things, other.things, strict=True):
                if own.touched and own.kind == leader.kind == "path":
                    own.points, own.bulges = list(leader.points), list(leader.bulges)
                    own.depths, own.widths = list(leader.depths), list(leader.widths)
                    self.write(own)

    @abstractmethod
    def write(self, thing: Thing) -> None:
        """Do what ``redraw`` says in this format."""

    @abstractmethod
    def drop(self, thing: Thing) -> None:
        """Take a thing out of the file's tree."""

    @abstractmethod
    def double(self, thing: Thing) -> Thing:
        """Add a thing just like this after it, and return it."""

    @abstractmethod
    def to_layer(self, thing: Thing, like: Thing | str) -> None:
        """Put a thing on another's layer, or on the layer of a name; its own marks stay where they stand on it."""

    @abstractmethod
    def mark_layer(self, layer: str, key: str, value: str | None) -> None:
        """Set (None: take off) ``depth_mm``, ``cutter_mm``, ``role``, ... for all that stands on a layer."""

    @abstractmethod
    def rename_layer(self, old: str, new: str) -> None:
        """Give a layer another name."""

    @abstractmethod
    def hide_layer(self, layer: str, hidden: bool) -> None:
        """Switch a layer off or on."""

    @abstractmethod
    def save(self) -> None:
        """Write the file."""
