"""What is cut or printed beside the board: stencils and templates, the stock they come from, the pattern, the marks."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.job.limits import GREATEST_SIDE_MM, LEAST_SIDE_MM
from shadowrout.job.schema import Settings, setting
from shadowrout.job.value_kinds import Choice, Length, NumberRows, Size, Switch

_FAR_MM = 10 * GREATEST_SIDE_MM
"""How far from zero a place may be given: far past any board's edge, where it still says "all of that side"."""


@dataclass(frozen=True)
class StencilOptions(Settings, heading="stencil"):
    """A hardboard stencil that stays in one piece, made with --only stencil or files = ["stencil", ...]."""

    sheet: tuple[float, float] | None = setting(
        Size(LEAST_SIDE_MM, GREATEST_SIDE_MM * 2),
        "Width x height of the sheet.",
        when_unset="6 mm larger than the plaque all round, or what a web beside the dowel holes takes",
    )
    web: float = setting(Length(0.5, 50), "The narrowest strip of sheet left standing.", default="3mm")
    kerf: float = setting(
        Length(0, 5), "What the laser or saw blade removes; measure it on your material.", default="0.2mm"
    )
    least_opening: float = setting(Length(0.2, 50), "The narrowest opening.", default="1.2mm")
    margin: float = setting(Length(1, 500), "Sheet left around the openings.", default="10mm", flag="--stencil-margin")
    bridges: tuple[tuple[float, float, float], ...] = setting(
        NumberRows(("x", "y", "angle"), _FAR_MM),
        "Bridges to place by hand: a point on the plaque in mm and the angle of the bridge in degrees.",
        default=[],
    )
    keep_out: tuple[tuple[float, float, float, float], ...] = setting(
        NumberRows(("x0", "y0", "x1", "y1"), _FAR_MM),
        "Boxes on the plaque in mm, such as eyes, where no bridge may fall.",
        default=[],
    )
    ties: bool = setting(Switch(), "Whether the sheet's edge keeps small ties to the stock.", default=False)


@dataclass(frozen=True)
class TemplateOptions(Settings, heading="template"):
    """A template for a hand-held router, made with --only template or files = ["template", ...]."""

    bush: float = setting(
        Length(1, 100), "The guide bush's outside diameter; the bit's own for a bearing-guided bit.", default="16mm"
    )
    bit: float = setting(Length(1, 50), "The router bit's diameter.", default="8mm")
    sheet: tuple[float, float] | None = setting(
        Size(LEAST_SIDE_MM, GREATEST_SIDE_MM * 2),
        "Width x height of the template.",
        when_unset="the plaque, and as much more all round as the openings' margin and the dowel holes take",
        flag="--template-sheet",
    )
    bush_length: float = setting(Length(0, 50), "How far the bush stands out below the router's base.", default="4mm")
    thickness: float = setting(Length(1, 50), "The template's thickness.", default="6mm", flag="--template-thickness")
    margin: float = setting(
        Length(1, 500), "Template left around the openings.", default="20mm", flag="--template-margin"
    )
    web: float = setting(
        Length(0.5, 100), "The narrowest strip left between openings.", default="6mm", flag="--template-web"
    )
    islands: str = setting(
        Choice(("second", "bridge", "refuse")),
        "What happens to an island inside an opening: a second template, a bridge, or a refusal.",
        default="second",
    )


@dataclass(frozen=True)
class StockOptions(Settings, heading="stock"):
    """Stock that the stencils or the templates of all plaques are laid out on, side by side."""

    stencil: tuple[float, float] | None = setting(
        Size(LEAST_SIDE_MM, GREATEST_SIDE_MM * 4),
        "Width x height of the stock for stencils.",
        when_unset="stencils aren't laid out on stock",
        flag="--stencil-stock",
    )
    template: tuple[float, float] | None = setting(
        Size(LEAST_SIDE_MM, GREATEST_SIDE_MM * 4),
        "Width x height of the stock for router templates.",
        when_unset="templates aren't laid out on stock",
        flag="--template-stock",
    )
    gap: float = setting(
        Length(1, 100),
        "The least distance of two sheets, and of a sheet from the stock's edge.",
        default="5mm",
        flag="--stock-gap",
    )


@dataclass(frozen=True)
class PatternOptions(Settings, heading="pattern"):
    """The full-size paper pattern."""

    paper: str | None = setting(
        Choice(("A4", "A3", "letter", "legal", "tabloid")),
        "The printer's paper.",
        when_unset="letter where the files' unit is the inch, else A4",
    )
    overlap: float = setting(Length(0, 50), "How far neighbouring sheets overlap.", default="10mm")
    printer_margin: float = setting(
        Length(0, 50), "The edge of the paper that the printer leaves white.", default="8mm"
    )
    mirrored: bool = setting(
        Switch(), "Whether the pattern is printed mirrored, for transfer by heat or carbon.", default=False
    )


@dataclass(frozen=True)
class RegisterOptions(Settings, heading="register"):
    """The register marks: dowel holes at the same places on board, pattern and stencil."""

    dowel: float | None = setting(
        Length(0, 30),
        "The dowel's diameter; 0 leaves the marks off.",
        when_unset="6 mm or 1/4 in; smaller, or no marks, where the margin leaves less than 2 mm of wood on both sides",
    )
    inset: float | None = setting(
        Length(0, 300), "Distance of the marks from the board's edge.", when_unset="the middle of the margin"
    )
