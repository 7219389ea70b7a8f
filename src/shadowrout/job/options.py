"""Everything that can be set, in one frozen value that is checked when it is made.

Lengths are millimetres, angles degrees, shares run from 0 to 1. A setting that is None is settled from the
picture or from other settings before the work starts.

A section is called after what it describes; where that is a thing that the program makes, which has a name of its
own in its room, the section's ends in Options.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from shadowrout.errors import SettingError
from shadowrout.job.duration import GREATEST_HOURS, LEAST_HOURS, Duration
from shadowrout.job.limits import GREATEST_DARK, GREATEST_SIDE_MM, LEAST_DARK, LEAST_SIDE_MM
from shadowrout.job.schema import Settings, setting, tables_of
from shadowrout.job.sheet_options import PatternOptions, RegisterOptions, StencilOptions, StockOptions, TemplateOptions
from shadowrout.job.shop import Shop
from shadowrout.job.toml_tables import sections_in, text_in
from shadowrout.job.value_kinds import (
    Box,
    Boxes,
    Choice,
    Choices,
    FolderName,
    Length,
    Number,
    PictureFile,
    Size,
    Switch,
)

METHODS = ("keep-lines", "single-level", "uneven-light", "two-tone")
"""The ways to tell dark from light, in the order of the sheet to choose from."""

Lines = Literal["fewest", "few", "some", "all"]

LINES: tuple[Lines, ...] = ("few", "some", "all")
"""The amounts of line, from the least."""

FEWEST: Lines = "fewest"
"""Less than those: it loses small shapes, so it is for when the hours are short."""

USUAL_LINES: Lines = "few"
"""The amount of line where nobody asks for another."""

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
"""The species whose weight and look are known, in ``report/figures/woods`` and ``report/look/wood_colours``."""

_MOST_DEPTH_MM = 100.0
"""The deepest pocket that can be asked for, half the thickest board; how deep one may go, its own board says."""


@dataclass(frozen=True)
class Picture(Settings, heading="picture"):
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
    ground: Literal["light", "dark"] = setting(
        Choice(("light", "dark")),
        "What stands behind the transparent parts of a picture: light for dark art, which becomes shadow; dark for "
        "light art, which stays light in a shadow of its own.",
        default="light",
    )
    touch_up: Path | None = setting(
        PictureFile(),
        "A picture with a transparent ground, of the same proportions as the whole upright picture: what is opaque "
        "and dark in it adds shadow, what is opaque and light removes it.",
        when_unset="nothing is touched up",
    )
    fine: tuple[tuple[float, float, float, float], ...] = setting(
        Boxes(),
        "Boxes round what must keep its fine lines when lines is few or some, a pet's face first of all, in the whole "
        "upright picture.",
        default=[],
    )

    def __post_init__(self) -> None:
        if self.file is None:
            raise SettingError("picture.file", 'is missing; name the picture: file = "photo.jpg" under [picture]')
        super().__post_init__()


@dataclass(frozen=True)
class ToneOptions(Settings, heading="tone"):
    """How the picture becomes light and shadow."""

    method: str | None = setting(
        Choice(METHODS),
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
    lines: Lines | None = setting(
        Choice((FEWEST, *LINES)),
        "How many lines keep-lines draws of a picture: few leaves out texture, as hair by hair of a fur, and keeps "
        "the shapes; a face that is found, and what stands in a box under picture.fine, keeps its lines. fewest leaves "
        "out small shapes too. With plaque.hours it is the most that may be drawn.",
        when_unset="few; with plaque.hours as many as fit",
    )


@dataclass(frozen=True)
class Plaque(Settings, heading="plaque"):
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
    hours: float | None = setting(
        Duration(LEAST_HOURS, GREATEST_HOURS),
        "The most hours that the work may take: the finest lines are drawn that fit, and where none do, what is worth "
        "least for its strokes is left out. Reckoned at the rates under [shop].",
        when_unset="as many as the design takes",
    )
    hours_of: Literal["hand", "all"] = setting(
        Choice(("hand", "all")),
        "What those hours are of: hand is the V lines, the flow lines, paring and clearing by hand; all is the whole "
        "work on the plaque.",
        default="hand",
    )


@dataclass(frozen=True)
class Finish(Settings, heading="finish"):
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
class Wood(Settings, heading="wood"):
    """How the boards' wood lies; its species stands under finish or plaque."""

    grain: Literal["along-width", "along-height"] | None = setting(
        Choice(("along-width", "along-height")),
        "Which way the grain runs on the plaque: narrow light that stands across it breaks more easily.",
        when_unset="along the plaque's longer side, along-width on a square",
    )


@dataclass(frozen=True)
class Cutter(Settings, heading="cutter"):
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
class VTool(Settings, heading="v_tool"):
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
class Output(Settings, heading="output"):
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

    @classmethod
    def from_file(cls, path: Path | str) -> Job:
        """Return the job that a job file describes; the paths of its pictures are taken from the file's own folder.

        Raises InputError where there is no such file, and SettingError for what stands in it: text that isn't
        TOML 1.0.0, keys that aren't known, values that can't be used.
        """
        path = Path(path)
        job = cls(**sections_in(text_in(path), TABLES, name=path.name))
        return job.with_paths(lambda picture: path.parent / picture)

    def with_paths(self, moved: Callable[[Path], Path]) -> Job:
        """Return the job with the path of each of its pictures replaced by what ``moved`` makes of it."""
        touch_up = None if self.picture.touch_up is None else moved(self.picture.touch_up)
        picture = dataclasses.replace(self.picture, file=moved(self.picture.file), touch_up=touch_up)
        return dataclasses.replace(self, picture=picture)

    def __post_init__(self) -> None:
        for table in tables_of(Job):
            sections = table.check(getattr(self, table.field))
            if table.many:
                object.__setattr__(self, table.field, sections)


TABLES = tables_of(Job)
"""The tables of a job file, in the order in which they are written."""
