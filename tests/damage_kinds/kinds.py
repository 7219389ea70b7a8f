"""A kind of damage: what it does to which file, and the promises that would be right to report it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from damage_kinds.dxf_sheet import DxfSheet
from damage_kinds.svg_sheet import SvgSheet
from damage_kinds.things import NotHereError, Sheet, Thing

COMPLETE = "files complete"
NO_GOUGE = "no gouge"
FAITHFUL = "faithful"
SOUND = "sound"
ONE_PIECE = "one piece"
STAYS_DARK = "stays dark"
TRUE_SIZE = "true size"
AGREE = "SVG and DXF agree"
MARKED = "layers and marks"
FIGURES = "figures agree"
APART = "sheets apart"

PLAQUE = {
    "photo": "cat",
    "tone": "rings",
    "inch": "cup",
    "oval": "oval",
    "r12": "old",
    "stock": "large",
    "wide": "long",
}
SVG, DXF, BOTH = "svg", "dxf", "both"
EVERY_FORM = (SVG, DXF, BOTH)
OTHERS = ("inch", "oval", "r12", "tone", "stock", "wide")
MATTERS_MM = 0.15
"""A move that matters: half as much again as the tolerance, 0.1 mm, to which outlines are written."""
MATTERS_DEEP_MM = 0.1
"""A change of depth that matters: twice what a V line may lie off its planned depth."""


@dataclass(frozen=True)
class Kind:
    """One kind of damage, done to a folder in one of its forms.

    ``promises`` are right for all forms, the first one most of all; where only one of two formats is spoiled, their
    disagreement is right too.
    """

    name: str
    file: str
    promises: tuple[str, ...]
    bases: tuple[str, ...]
    forms: tuple[str, ...]
    spoil: Callable[[Path, str, str], None]
    harmless: bool = False

    @property
    def first(self) -> str:
        return self.promises[0] if self.promises else ""

    def right(self, form: str) -> frozenset[str]:
        return frozenset(self.promises) | ({AGREE} if form in (SVG, DXF) else set())


@dataclass(frozen=True)
class Case:
    kind: Kind
    base: str
    form: str

    def __str__(self) -> str:
        return f"{self.kind.name} [{self.base}, {self.kind.file}{' ' + self.form if self.form else ''}]"


ALL_KINDS: list[Kind] = []


def cases(kinds: list[Kind]) -> Iterator[Case]:
    """Go through all kinds with their forms and bases; a carved drawing takes one more base in turn, in one form."""
    for number, kind in enumerate(kinds):
        for base in kind.bases:
            for form in kind.forms:
                yield Case(kind, base, form)
        if kind.file == "carve" and len(kind.bases) == 1 and kind.bases[0] == "photo":
            yield Case(kind, OTHERS[number % len(OTHERS)], kind.forms[number % len(kind.forms)])


def add(kind: Kind) -> None:
    if any(kind.name == other.name and kind.file == other.file for other in ALL_KINDS):
        raise ValueError(f"{kind.name} is there twice")
    ALL_KINDS.append(kind)


def drawn(
    name: str,
    *promises: str,
    on: str = "carve",
    bases: tuple[str, ...] = ("photo",),
    forms: tuple[str, ...] = EVERY_FORM,
    unread: bool = False,
    harmless: bool = False,
) -> Callable[[Callable[[Sheet], None]], Callable[[Sheet], None]]:
    """Enter a kind of damage that is done to a drawing as opened, in SVG, DXF or both.

    Unless it is ``unread``, of marks and constructs that a ``Thing`` doesn't hold, it must change what matters.
    """

    def enter(spoil: Callable[[Sheet], None]) -> Callable[[Sheet], None]:
        def run(folder: Path, base: str, form: str) -> None:
            forms = (SVG, DXF) if form == BOTH else (form,)
            sheets, before = [opened(folder, base, on, own) for own in forms], opened(folder, base, on, forms[0])
            for sheet in sheets:
                spoil(sheet)
                sheet.follow(sheets[0])
                sheet.save()
            if not unread and not harmless and not differ(before, opened(folder, base, on, forms[0])):
                raise NotHereError("nothing that matters is changed")

        add(Kind(name, on, promises, bases, forms, run, harmless))
        return spoil

    return enter


def placed(
    name: str, *promises: str, file: str, bases: tuple[str, ...] = ("tone",), harmless: bool = False
) -> Callable[[Callable[[Path, Path], None]], Callable[[Path, Path], None]]:
    """Enter a kind of damage that is done to the folder of a job and that of its first plaque."""

    def enter(spoil: Callable[[Path, Path], None]) -> Callable[[Path, Path], None]:
        def run(folder: Path, base: str, form: str) -> None:
            spoil(folder, folder / PLAQUE[base])

        add(Kind(name, file, promises, bases, ("",), run, harmless))
        return spoil

    return enter


def drawing_file(folder: Path, base: str, on: str, form: str) -> Path:
    """Return where a drawing lies: in its plaque's folder, or beside it where it is of stock."""
    path = (folder if "stock" in on else folder / PLAQUE[base]) / f"{on}.{form}"
    if not path.exists():
        raise NotHereError(f"no {path.name}")
    return path


def opened(folder: Path, base: str, on: str, form: str) -> Sheet:
    path = drawing_file(folder, base, on, form)
    return SvgSheet(path) if form == SVG else DxfSheet(path)


def differ(before: Sheet, after: Sheet) -> bool:
    """Return whether one drawing differs from the other in something that matters on wood or to who reads it."""
    if len(before.things) != len(after.things):
        return True
    return any(_thing_differs(one, other) for one, other in zip(before.things, after.things, strict=True))


def _thing_differs(one: Thing, other: Thing) -> bool:
    def marks(thing: Thing) -> tuple[object, ...]:
        return thing.kind, thing.role, thing.layer, thing.text, thing.closed, len(thing.depths), thing.area() > 0

    if marks(one) != marks(other) or abs(one.radius - other.radius) > MATTERS_MM:
        return True
    pairs = [*zip(one.depths, other.depths, strict=True), *zip(one.widths, other.widths, strict=False)]
    return any(abs(a - b) > MATTERS_DEEP_MM for a, b in pairs) or apart(one, other) > MATTERS_MM


def apart(one: Thing, other: Thing) -> float:
    """Return how far points along one path lie from those along the other at most, either way."""
    first, second = _close_points(one), _close_points(other)
    return float(max(cKDTree(a).query(b)[0].max() for a, b in ((first, second), (second, first))))


def _close_points(thing: Thing) -> np.ndarray:
    """Return points along a path no further apart than a third of what matters."""
    at = thing.flat()
    ends = np.append(at[1:], at[:1]) if thing.closed else at[1:]
    rows = [
        np.linspace(a, b, 2 + int(abs(b - a) / (MATTERS_MM / 3)))
        for a, b in zip(at[: len(ends)], ends, strict=True)
    ]  # fmt: skip
    points = np.concatenate(rows) if rows else at
    return np.column_stack([points.real, points.imag])
