"""The values that a drawing is made of. Coordinates are always millimetres, x to the right and y up."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, fields
from enum import StrEnum

from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Box
from shadowrout.words.units import Unit

_UNWRITABLE = re.compile("[^\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 (5th ed., 2.2) can't hold or advises against, and line ends, which a drawing's text can't have."""


LETTER_SHARE = 0.8
"""Width of a letter, with the space after it, over its capital height, that texts are given room for.

Lower-case letters of ISO 3098-1's type B are 0.5 to 0.7 of it wide, and 0.2 apart (from memory).
"""


class Role(StrEnum):
    """What a layer's shapes mean to the one who cuts them; the value begins the layer's name."""

    PLAQUE_EDGE = "plaque-edge"
    SHADOW = "shadow"
    POCKET = "pocket"
    CUTTER_PATH = "cutter-path"
    LEFT_BY_BIT = "left-by-bit"
    V_LINE = "v-line"
    FLOW_LINE = "flow-line"
    FRAGILE_LIGHT = "fragile-light"
    OPENING = "opening"
    BRIDGE = "bridge"
    SHEET_EDGE = "sheet-edge"
    REGISTER = "register"
    NOTE = "note"


@dataclass(frozen=True)
class Profile:
    """Depth and width of a line at each vertex of its path, in millimetres; between two both change evenly.

    Raises ValueError unless there are as many depths as widths, none negative or not finite.
    """

    depths_mm: tuple[float, ...]
    widths_mm: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.depths_mm) != len(self.widths_mm):
            raise ValueError(f"profile: expected as many depths as widths, got {self.depths_mm} and {self.widths_mm}")
        if not all(math.isfinite(value) and value >= 0 for value in (*self.depths_mm, *self.widths_mm)):
            raise ValueError(f"profile: expected lengths of 0 or more, got {self.depths_mm} and {self.widths_mm}")

    @property
    def greatest(self) -> Marks:
        """The marks of a line with this profile: its greatest depth and width, and the profile itself."""
        return Marks(depth_mm=max(self.depths_mm), width_mm=max(self.widths_mm), profile=self)


@dataclass(frozen=True)
class Marks:
    """Numbers that travel with a shape into every file, in millimetres; None where one does not apply.

    ``depth_mm`` is positive below the face, ``cutter_mm`` the cutter's diameter, ``width_mm`` a line's width,
    ``below_floor_mm`` how far below a pocket's floor something lies. A path whose depth changes has a ``profile``;
    its depth and width are then the greatest. Raises ValueError for a number that is negative or not finite.
    """

    depth_mm: float | None = None
    cutter_mm: float | None = None
    width_mm: float | None = None
    below_floor_mm: float | None = None
    profile: Profile | None = None

    def __post_init__(self) -> None:
        for name, value in self.items():
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name}: expected a length of 0 or more, got {value}")

    def items(self) -> list[tuple[str, float]]:
        """Return (field's name, number) of each single number that is set, in a fixed order."""
        every = [(name, getattr(self, name)) for name in _SINGLE_MARKS]
        return [(name, float(value)) for name, value in every if value is not None]

    def over(self, common: Marks) -> Marks:
        """Return these marks with the gaps filled from ``common``."""
        if common == _NO_MARKS:
            return self
        return Marks(**{**dict(common.items()), **dict(self.items())}, profile=self.profile or common.profile)


_SINGLE_MARKS = tuple(field.name for field in fields(Marks) if field.name != "profile")
_NO_MARKS = Marks()


@dataclass(frozen=True, eq=False)
class Path:
    """One open or closed path of lines and arcs.

    Raises ValueError where its marks have a profile that hasn't one depth and width a vertex.
    """

    path: ArcPath
    marks: Marks = Marks()

    def __post_init__(self) -> None:
        profile = self.marks.profile
        if profile is not None and len(profile.depths_mm) != len(self.path.vertices):
            raise ValueError(f"profile: expected {len(self.path.vertices)} depths, got {len(profile.depths_mm)}")


@dataclass(frozen=True)
class Circle:
    """A whole circle. Raises ValueError unless its radius is positive."""

    centre: tuple[float, float]
    radius_mm: float
    marks: Marks = Marks()

    def __post_init__(self) -> None:
        _require_length("radius_mm", self.radius_mm)
        _require_finite("centre", self.centre)


@dataclass(frozen=True)
class Text:
    """One line of text of a given capital height.

    A centred text has the middle of its capitals at ``at``, both ways; another begins there with the left end
    of its baseline. One that reads upwards is turned by a quarter, counter-clockwise, about ``at``. Raises ValueError
    for an empty text, a line end or another character no file can hold.
    """

    at: tuple[float, float]
    text: str
    height_mm: float
    centred: bool = True
    marks: Marks = Marks()
    reads_up: bool = False

    def __post_init__(self) -> None:
        _require_length("height_mm", self.height_mm)
        _require_finite("at", self.at)
        if not self.text.strip():
            raise ValueError("text: expected at least one visible character")
        _require_writable("text", self.text)


Shape = Path | Circle | Text


@dataclass(frozen=True, eq=False)
class Layer:
    """Shapes of one role. ``marks`` hold for all of them; where a shape has its own, those win.

    ``names_cutter`` puts the cutter's diameter into the name, where the depth alone would not tell layers apart.
    A ``hidden`` layer is in the file and switched off in it; on paper it isn't drawn.
    Raises ValueError where that is asked for and the layer has no depth or no cutter.
    """

    role: Role
    shapes: tuple[Shape, ...]
    marks: Marks = Marks()
    names_cutter: bool = False
    hidden: bool = False

    def __post_init__(self) -> None:
        if self.names_cutter and (self.marks.depth_mm is None or self.marks.cutter_mm is None):
            raise ValueError(f"names_cutter: expected a depth and a cutter, got {self.marks}")

    def name(self, unit: Unit) -> str:
        """Return the layer's name: its role, and the depth of the whole layer where it has one, maybe its cutter.

        Lengths have two decimals in mm and three in inches, with an underscore for the point, so that the name is
        legal in every DXF version: ``pocket-3_00mm``, ``pocket-0_118in``, ``pocket-3_00mm-6_00mm``.
        """
        lengths = (self.marks.depth_mm, self.marks.cutter_mm if self.names_cutter else None)
        return "-".join([self.role, *(_length_in_name(length, unit) for length in lengths if length is not None)])


@dataclass(frozen=True, eq=False)
class Drawing:
    """Everything that goes into one file.

    ``box_mm`` is the page, ``unit`` what the file is written in, ``properties`` names and values that tell how
    the file was made. ``flat_mm`` is how far a straight piece may leave an arc in a format that has no arcs in space.
    Raises ValueError for an empty page, a text no file can hold, or two layers of one name.
    """

    title: str
    description: str
    box_mm: Box
    layers: tuple[Layer, ...]
    unit: Unit = Unit.MM
    properties: tuple[tuple[str, str], ...] = ()
    flat_mm: float = 0.005

    def __post_init__(self) -> None:
        x0, y0, x1, y1 = self.box_mm
        _require_finite("box_mm", self.box_mm)
        if not (x0 < x1 and y0 < y1):
            raise ValueError(f"box_mm: expected x0 < x1 and y0 < y1, got {self.box_mm}")
        named = [text for pair in self.properties for text in pair]
        for text in (self.title, self.description, *named):
            _require_writable("title, description and properties", text)
        counts = Counter(layer.name(self.unit) for layer in self.layers)
        if twice := sorted(name for name, count in counts.items() if count > 1):
            raise ValueError(f"layers: two share the name {', '.join(twice)}")


def _length_in_name(length_mm: float, unit: Unit) -> str:
    decimals = 2 if unit is Unit.MM else 3
    return f"{length_mm / unit.mm + 0.0:.{decimals}f}{unit}".replace(".", "_")


def _require_length(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name}: expected a positive length, got {value}")


def _require_finite(name: str, values: tuple[float, ...]) -> None:
    if not all(math.isfinite(value) for value in values):
        raise ValueError(f"{name}: expected finite numbers, got {values}")


def _require_writable(name: str, text: str) -> None:
    if found := _UNWRITABLE.search(text):
        raise ValueError(f"{name}: the character {ascii(found.group())} in {ascii(text)} can't be written to a file")
