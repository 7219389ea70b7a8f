"""Sheets laid out on stock that lie wrong, and drawings of sheets that are exchanged."""

from __future__ import annotations

import shutil
from pathlib import Path

from damage_kinds.kinds import (
    AGREE,
    APART,
    COMPLETE,
    FAITHFUL,
    FIGURES,
    MARKED,
    NO_GOUGE,
    ONE_PIECE,
    SOUND,
    STAYS_DARK,
    TRUE_SIZE,
    drawn,
    placed,
)
from damage_kinds.things import NotHereError, Sheet, Thing

STOCKED = (APART, FAITHFUL, FIGURES, TRUE_SIZE, MARKED, ONE_PIECE, NO_GOUGE, STAYS_DARK)
FIRST = {"stencil-stock-1": "stencil", "template-stock-1": "template"}


def of_first(sheet: Sheet) -> list[Thing]:
    """Return what belongs to the first sheet laid out on stock."""
    edge = sheet.paths("sheet-edge")[0]
    low = complex(min(p.real for p in edge.points), min(p.imag for p in edge.points)) - 0.1 - 0.1j
    high = complex(max(p.real for p in edge.points), max(p.imag for p in edge.points)) + 0.1 + 0.1j

    def inside(point: complex) -> bool:
        return low.real <= point.real <= high.real and low.imag <= point.imag <= high.imag

    return [thing for thing in sheet.things if inside(thing.points[0])]


def on_stock(name: str, *promises: str):
    def enter(spoil):
        for name_on in FIRST:
            drawn(name, *(promises or STOCKED), on=name_on, bases=("stock",))(spoil)
        return spoil

    return enter


@on_stock("a sheet moved onto its neighbour")
def _(sheet: Sheet) -> None:
    sheet.shift(of_first(sheet), 40)


@on_stock("a sheet moved within a millimetre of its neighbour")
def _(sheet: Sheet) -> None:
    sheet.shift(of_first(sheet), 4.2)


@on_stock("a sheet moved past the stock's edge")
def _(sheet: Sheet) -> None:
    sheet.shift(of_first(sheet), -12)


@on_stock("a sheet mirrored where it lies", *STOCKED, SOUND)
def _(sheet: Sheet) -> None:
    things = of_first(sheet)
    sheet.mirror(things, sheet.paths("sheet-edge")[0].middle())


@on_stock("a sheet's openings dropped", *STOCKED)
def _(sheet: Sheet) -> None:
    sheet.remove([thing for thing in of_first(sheet) if thing.role == "opening"])


@on_stock("one opening on stock moved", *STOCKED)
def _(sheet: Sheet) -> None:
    sheet.shift([sheet.largest("opening")], 1)


@on_stock("a sheet dropped from stock", *STOCKED, COMPLETE)
def _(sheet: Sheet) -> None:
    sheet.remove(of_first(sheet))


@on_stock("a dowel hole on stock dropped", *STOCKED)
def _(sheet: Sheet) -> None:
    sheet.remove(sheet.circles()[:1])


@on_stock("names of plaques on stock exchanged", MARKED, FIGURES)
def _(sheet: Sheet) -> None:
    large, small = (next(own for own in sheet.texts(name)) for name in ("large", "small"))
    sheet.swapped(large, small)


def exchanged(one: Path, other: Path) -> None:
    """Exchange two drawings in both formats."""
    for form in (".svg", ".dxf"):
        first, second = one.with_suffix(form), other.with_suffix(form)
        if not first.exists() or not second.exists():
            raise NotHereError("nothing to exchange")
        kept = first.read_bytes()
        first.write_bytes(second.read_bytes())
        second.write_bytes(kept)


def copied(source: Path, target: Path) -> None:
    for form in (".svg", ".dxf"):
        shutil.copy(source.with_suffix(form), target.with_suffix(form))


ANY_SHEET = (FAITHFUL, FIGURES, TRUE_SIZE, MARKED, NO_GOUGE, STAYS_DARK, COMPLETE, ONE_PIECE)


@placed("templates 1 and 2 exchanged", *ANY_SHEET, file="template")
def _(folder: Path, plaque: Path) -> None:
    exchanged(plaque / "template", plaque / "template-2")


@placed("template 2 is template 1 once more", *ANY_SHEET, file="template-2")
def _(folder: Path, plaque: Path) -> None:
    copied(plaque / "template", plaque / "template-2")


@placed("the stencil is the template", *ANY_SHEET, file="stencil")
def _(folder: Path, plaque: Path) -> None:
    copied(plaque / "template", plaque / "stencil")


@placed("the template is the stencil", *ANY_SHEET, file="template")
def _(folder: Path, plaque: Path) -> None:
    copied(plaque / "stencil", plaque / "template")


@placed("the stencil is the kerf test", *ANY_SHEET, SOUND, file="stencil")
def _(folder: Path, plaque: Path) -> None:
    copied(plaque / "kerf-test", plaque / "stencil")


@placed("SVG and DXF are of two templates", AGREE, *ANY_SHEET, file="template.svg")
def _(folder: Path, plaque: Path) -> None:
    shutil.copy(plaque / "template-2.svg", plaque / "template.svg")


for _name in ("carve", "stencil", "template", "template-2"):

    @placed(f"{_name} drawings of two plaques exchanged", *ANY_SHEET, file=_name, bases=("stock",))
    def _(folder: Path, plaque: Path, name: str = _name) -> None:
        exchanged(folder / "large" / name, folder / "small" / name)


@placed("stock of templates exchanged", *ANY_SHEET, APART, file="template-stock-1", bases=("stock",))
def _(folder: Path, plaque: Path) -> None:
    exchanged(folder / "template-stock-1", folder / "template-stock-2")


@placed("stock of templates is stock of stencils", *ANY_SHEET, APART, file="template-stock-2", bases=("stock",))
def _(folder: Path, plaque: Path) -> None:
    copied(folder / "stencil-stock-1", folder / "template-stock-2")
