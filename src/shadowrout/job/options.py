"""Everything that can be set, in one frozen value that is checked when it is made.

Lengths are millimetres, angles degrees, shares run from 0 to 1. A setting that is None is settled from the
picture or from other settings before the work starts.

A section is called after what it describes; where that is a thing that the program makes, which has a name of its
own in its room, the section's ends in Options.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from shadowrout.errors import SettingError
from shadowrout.job.schema import Section, setting, tables_of
from shadowrout.job.shop import Shop
from shadowrout.job.value_kinds import (
    Box,
    Choice,
    Choices,
    FolderName,
    Length,
    Number,
    NumberRows,
    PictureFile,
    Size,
    Switch,
)

LEAST_SIDE_MM = 40.0
GREATEST_SIDE_MM = 1200.0
LEAST_DARK = 0.02
GREATEST_DARK = 0.9

WOODS = (
    "basswood",
    "black cherry",
    "black walnut",
    "eastern white pine",
    "northern red oak",
    "red maple",
    "sugar maple",
    "white oak",
    "yellow-poplar",
)

_MOST_DEPTH_MM = 100.0


@dataclass(frozen=True)
class Picture(Section, heading="picture"):
    """The customer's picture and the part of it to carve."""

    file: Path = setting(PictureFile(), "The picture to carve.", when_unset="must be given")
    crop: tuple[float, float, float, float] = setting(
        Box(), "The part of the upright picture to use.", default=[0, 0, 1, 1]
    )
    subject: tuple[float, float, float, float] | None = setting(
        Box(-1, 2),
        "The bounds of a shape drawn round the subject, with a little background inside, in the upright, cropped "
        "picture; it may reach past the picture where that cuts the subject off. What lies outside is not carved.",
        when_unset="the whole picture is carved",
    )
    subject_shape: Literal["ellipse", "rectangle"] = setting(
        Choice(("ellipse", "rectangle")), "The shape drawn round the subject.", default="ellipse"
    )
    subject_edge: Literal["found", "plain"] = setting(
        Choice(("found", "plain")),
        "found looks for the subject's own outline inside the shape; plain takes the shape itself.",
        default="found",
    )
    background: Literal["drop", "fade"] = setting(
        Choice(("drop", "fade")),
        "What happens outside the subject: drop makes it light; fade lightens it, so that only the strongest stays.",
        default="drop",
    )
    touch_up: Path | None = setting(
        PictureFile(),
        "A picture with a transparent ground, of the same proportions as the whole upright picture: what is opaque "
        "and dark in it adds shadow, what is opaque and light removes it.",
        when_unset="nothing is touched up",
    )

    def __post_init__(self) -> None:
        if self.file is None:
            raise SettingError("picture.file", 'is missing; name the picture: file = "photo.jpg" under [picture]')
        super().__post_init__()


@dataclass(frozen=True)
class ToneOptions(Section, heading="tone"):
    """How the picture becomes light and shadow."""

    method: str | None = setting(
        Choice(("keep-lines", "single-level", "uneven-light", "two-tone")),
        "keep-lines restores lines that one level would lose; single-level cuts at one lightness; uneven-light "
        "follows light that changes over the picture; two-tone is for a picture that is black and white already.",
        when_unset="two-tone for a black and white picture, else keep-lines",
    )
    dark: float | None = setting(
        Number(LEAST_DARK, GREATEST_DARK),
        "The share of the picture that becomes shadow.",
        when_unset="chosen by the picture",
    )
    detail: float | None = setting(
        Length(0.3, 10),
        "The finest line of the design.",
        when_unset="follows from the V tool and the sanding loss",
    )
    smoothing: float | None = setting(
        Length(0, 10),
        "How far small tones are blended before the lines are drawn.",
        when_unset="follows from detail",
    )


@dataclass(frozen=True)
class Plaque(Section, heading="plaque"):
    """One board to make."""

    name: str | None = setting(
        FolderName(), "The folder for its files.", when_unset="its size as written", flag="--name"
    )
    size: tuple[float, float] | None = setting(
        Size(LEAST_SIDE_MM, GREATEST_SIDE_MM),
        "Width x height of the finished board.",
        when_unset="200 mm on the long side, in the picture's proportions",
    )
    shape: str = setting(
        Choice(("rectangle", "rounded", "oval", "round", "arch")), "The board's outline.", default="rectangle"
    )
    margin: float = setting(Length(0, 500), "Plain border between the board's edge and the design.", default="8mm")
    thickness: float = setting(Length(3, 200), "The board's thickness.", default="18mm")
    fit: str = setting(
        Choice(("inside", "fill")),
        "inside shows the whole picture within the margin; fill covers all of it and cuts the rest off.",
        default="inside",
    )
    wood: str | None = setting(
        Choice(WOODS), "This board's species.", when_unset="the wood under [finish]", flag="--board-wood"
    )
    coats: float | None = setting(
        Number(1, 10), "Coats of paint on this board.", when_unset="the coats under [finish]", flag="--board-coats"
    )


@dataclass(frozen=True)
class Finish(Section, heading="finish"):
    """Painting and sanding."""

    sanding_loss: float = setting(Length(0, 5), "What sanding takes off the face, over all rounds.", default="0.5mm")
    least_depth_left: float = setting(Length(0, 50), "How deep a pocket must still be after sanding.", default="2.5mm")
    deeper_from: float | None = setting(
        Length(1, 1000),
        "Pockets go deeper where the largest circle that fits inside is as wide as this or wider.",
        when_unset="all pockets of a cutter are of one depth",
    )
    deeper_by: float = setting(Length(0.1, 50), "How much deeper those pockets go.", default="2mm")
    wood: str = setting(
        Choice(WOODS), "The boards' species, for their weight and their look in preview.png.", default="basswood"
    )
    coats: float = setting(Number(1, 10), "Coats of paint on the whole face.", default=2)


@dataclass(frozen=True)
class Wood(Section, heading="wood"):
    """How the boards' wood lies; its species stands under finish or plaque."""

    grain: Literal["along-width", "along-height"] | None = setting(
        Choice(("along-width", "along-height")),
        "Which way the grain runs on the plaque: narrow light that stands across it breaks more easily.",
        when_unset="along the plaque's longer side, along-width on a square",
    )


@dataclass(frozen=True)
class Cutter(Section, heading="cutter"):
    """A straight cutter that roughs out pockets; the largest comes first."""

    diameter: float = setting(Length(0.5, 50), "The cutter's diameter.", default="3mm", flag="--cutter")
    finishing_allowance: float = setting(
        Length(0, 10),
        "Wood left between a pocket's wall and the shadow's edge for the hand gouge.",
        default="0.2mm",
    )
    depth: float | None = setting(
        Length(0.1, _MOST_DEPTH_MM),
        "Depth of its pockets below the face before sanding.",
        when_unset="sanding loss + least depth left",
    )
    depth_per_pass: float | None = setting(
        Length(0.1, 50), "The most it takes off in one pass.", when_unset="half the diameter"
    )
    least_pocket: float | None = setting(
        Number(0, 1e6, "mm2"),
        "The smallest pocket worth a plunge, by area.",
        when_unset="three times the cutter's area",
    )


@dataclass(frozen=True)
class VTool(Section, heading="v_tool"):
    """The V tool that cuts the fine lines."""

    angle: float = setting(Number(20, 150, "degrees"), "The included angle of its edge.", default=60)
    greatest_depth: float = setting(
        Length(0.5, 20), "The deepest cut it makes, sanding loss included.", default="2.5mm"
    )
    flow: bool = setting(
        Switch(),
        "Whether fine lines are cut into the floors of broad pockets, the way the picture's hair or fur runs.",
        default=False,
    )
    flow_spacing: float = setting(Length(1, 50), "Distance between those lines.", default="3mm")


@dataclass(frozen=True)
class StencilOptions(Section, heading="stencil"):
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
        NumberRows(("x", "y", "angle")),
        "Bridges to place by hand: a point on the plaque in mm and the angle of the bridge in degrees.",
        default=[],
    )
    keep_out: tuple[tuple[float, float, float, float], ...] = setting(
        NumberRows(("x0", "y0", "x1", "y1")),
        "Boxes on the plaque in mm, such as eyes, where no bridge may fall.",
        default=[],
    )
    ties: bool = setting(Switch(), "Whether the sheet's edge keeps small ties to the stock.", default=False)


@dataclass(frozen=True)
class TemplateOptions(Section, heading="template"):
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
class StockOptions(Section, heading="stock"):
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
class PatternOptions(Section, heading="pattern"):
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
class RegisterOptions(Section, heading="register"):
    """The register marks: dowel holes at the same places on board, pattern and stencil."""

    dowel: float | None = setting(
        Length(0, 30),
        "The dowel's diameter; 0 leaves the marks off.",
        when_unset="6 mm or 1/4 in; smaller, or no marks, where the margin leaves less than 2 mm of wood on both sides",
    )
    inset: float | None = setting(
        Length(0, 300), "Distance of the marks from the board's edge.", when_unset="the middle of the margin"
    )


@dataclass(frozen=True)
class Output(Section, heading="output"):
    """What is written, and how."""

    origin: str = setting(
        Choice(("corner", "centre")),
        "Where zero lies: the board's lower left corner or its centre.",
        default="corner",
    )
    files: tuple[str, ...] = setting(
        Choices(("carve", "pattern", "preview", "stencil", "template")),
        "What to make.",
        default=["carve", "pattern", "preview"],
        flag="--only",
    )
    unit: str | None = setting(
        Choice(("mm", "in")),
        "The unit of the files; in also adds inches on the job sheet.",
        when_unset="in where the first plaque's size is written in inches, else mm",
    )
    dxf: Literal["R2010", "R2000", "R12"] = setting(
        Choice(("R2010", "R2000", "R12")), "The DXF version.", default="R2010"
    )
    tolerance: float = setting(Length(0.01, 1), "How far a written outline may lie from the design.", default="0.1mm")
    smooth: bool = setting(
        Switch(),
        "Whether the lines and arcs of outlines and cutter paths go over into each other without a kink, but at sharp "
        "corners. It takes over twice as many, for a machine that jerks at every kink.",
        default=False,
    )
    explain: bool = setting(
        Switch(), "Whether size.png shows which strokes were widened or dropped at each size.", default=False
    )

    @property
    def settled_unit(self) -> str:
        """The unit of the files; raises ValueError while nobody has settled it."""
        if self.unit is None:
            raise ValueError("output.unit: expected a settled job")
        return self.unit


@dataclass(frozen=True)
class Job:
    """One order: a picture, how to treat it, and the plaques to make from it.

    Raises SettingError where a field holds no such section, or where no plaque or no cutter is given.
    """

    picture: Picture
    tone: ToneOptions = ToneOptions()
    plaques: tuple[Plaque, ...] = (Plaque(),)
    finish: Finish = Finish()
    wood: Wood = Wood()
    cutters: tuple[Cutter, ...] = (Cutter(),)
    v_tool: VTool = VTool()
    stencil: StencilOptions = StencilOptions()
    template: TemplateOptions = TemplateOptions()
    stock: StockOptions = StockOptions()
    pattern: PatternOptions = PatternOptions()
    register: RegisterOptions = RegisterOptions()
    shop: Shop = Shop()
    output: Output = Output()

    def __post_init__(self) -> None:
        for table in tables_of(Job):
            sections = table.check(getattr(self, table.field))
            if table.many:
                object.__setattr__(self, table.field, sections)


TABLES = tables_of(Job)
"""The tables of a job file, in the order in which they are written."""
