"""A drawing as read back from a file, the same for SVG and DXF: millimetres, y up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from shadowrout.check.curve_samples import Curve
from shadowrout.check.findings import Finding, Promise
from shadowrout.check.untrusted import shown
from shadowrout.words.sentences import Sentence

MM = {"mm": 1.0, "in": 25.4}
"""Millimetres in a file's unit (an inch is 25.4 mm exactly, NIST SP 811)."""

OPEN = "let it be read, and check again"
"""What to do about a file that can't be opened."""

MAKE_AGAIN = "make the plaque again and don't change the file by hand"

CLOSED_ROLES = ("plaque-edge", "shadow", "pocket", "cutter-path", "opening", "sheet-edge")
"""Roles whose every path is a ring: what is cut inside or outside of it would else not be known."""
IN_SPACE = "-3d"
"""Ends the name of the layer that holds a role's lines at their true depth all along."""

ROLES = (
    *CLOSED_ROLES,
    f"v-line{IN_SPACE}",
    f"flow-line{IN_SPACE}",
    "v-line",
    "flow-line",
    "fragile-light",
    "bridge",
    "register",
    "note",
)
"""All roles, a longer name before the one that it begins with."""

MARKS = ("depth_mm", "cutter_mm", "width_mm", "below_floor_mm")
"""The names of the numbers that shapes carry."""

MOST_MARK_MM = 10_000.0
"""No depth, cutter or width is near 10 m."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True, eq=False)
class Shape:
    """One path, circle or text.

    ``role`` is what the shape itself, or its group, says; ``marks`` the numbers by their names (``depth_mm``,
    ``cutter_mm``, ``width_mm``), the greatest where there is one for each vertex; those stand in ``profile`` by
    the same names. ``z_mm`` is the height, None in SVG and where it changes: then ``heights_mm`` has one for each
    vertex. A text has ``text`` and ``at``, the others a ``curve``.
    """

    layer: str
    role: str
    marks: dict[str, float]
    curve: Curve | None = None
    text: str = ""
    at: tuple[float, float] = (0.0, 0.0)
    z_mm: float | None = None
    profile: dict[str, tuple[float, ...]] = field(default_factory=dict)
    heights_mm: tuple[float, ...] = ()

    @property
    def place(self) -> tuple[float, float]:
        """A point of the shape."""
        return self.at if self.curve is None else self.curve.start


@dataclass(eq=False)
class DrawingFile:
    """All that was read of one file. ``faults`` is what reading it showed, by promise.

    ``hidden`` are the layers that are switched off in it; their shapes are read as those of all others.
    """

    name: str
    unit: str = "mm"
    unit_said: str = ""
    page_mm: Box | None = None
    version: str = ""
    layers: list[str] = field(default_factory=list)
    hidden: set[str] = field(default_factory=set)
    shapes: list[Shape] = field(default_factory=list)
    titles: dict[str, str] = field(default_factory=dict)
    faults: list[tuple[Promise, Finding]] = field(default_factory=list)

    @property
    def is_dxf(self) -> bool:
        """Whether it is the DXF of its drawing."""
        return self.name.endswith(".dxf")

    def fault(
        self, promise: Promise, what: str | Sentence, advice: str, *, place: tuple[float, float] | None = None
    ) -> None:
        """Note a fault met while reading; the file's name is put before it."""
        self.faults.append((promise, Finding(place, what, advice).within(self.name)))

    def add(self, shape: Shape) -> None:
        """Take in a shape."""
        self.shapes.append(shape)

    def fault_of_mark(self, layer: str, name: str, value: str) -> None:
        """Note a mark that is no length."""
        self.fault(Promise.MARKED, f"layer {layer}: {name} is {shown(value)!r}, no number that can be cut", MAKE_AGAIN)

    def found(self, promise: Promise) -> list[Finding]:
        """Return the faults against one promise."""
        return [finding for against, finding in self.faults if against is promise]

    def of_role(self, *roles: str) -> Iterator[Shape]:
        """Yield the shapes with a curve whose layer belongs to one of the roles, by the layer's name."""
        wanted = {shape.layer for shape in self.shapes if role_of_layer(shape.layer) in roles}
        for shape in self.shapes:
            if shape.curve is not None and shape.layer in wanted:
                yield shape

    def curves(self, *roles: str) -> list[Curve]:
        """Return the curves of the roles."""
        return [shape.curve for shape in self.of_role(*roles) if shape.curve is not None]


@lru_cache(maxsize=256)
def role_of_layer(name: str) -> str:
    """Return the role that a layer's name begins with, in any case of letters; empty for none.

    >>> role_of_layer("CUTTER-PATH-3_00MM"), role_of_layer("v-line"), role_of_layer("v-line-3d"), role_of_layer("walls")
    ('cutter-path', 'v-line', 'v-line-3d', '')
    """
    plain = name.lower()
    for role in ROLES:
        if plain == role or plain.startswith(role + "-"):
            return role
    return ""
