"""Everything that can be set, in one frozen value that is checked once.

Lengths are millimetres, angles degrees, shares run from 0 to 1. A setting that is None is settled from the
picture or from other settings before the work starts.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from shadowrout.kinds import Box, Choice, Choices, FolderName, Length, Number, PictureFile, Size
from shadowrout.schema import setting

LEAST_SIDE_MM = 40.0
GREATEST_SIDE_MM = 1200.0

_MOST_DEPTH_MM = 100.0


@dataclass(frozen=True)
class Picture:
    """The customer's picture and the part of it to carve."""

    file: Path = setting(PictureFile(), "The picture to carve.", when_unset="must be given")
    crop: tuple[float, float, float, float] = setting(
        Box(), "The part of the upright picture to use.", default=[0, 0, 1, 1]
    )


@dataclass(frozen=True)
class ToneOptions:
    """How the picture becomes light and shadow."""

    method: str | None = setting(
        Choice(("keep-lines", "single-level", "uneven-light", "two-tone")),
        "keep-lines restores lines that one level would lose; single-level cuts at one lightness; uneven-light "
        "follows light that changes over the picture; two-tone is for a picture that is black and white already.",
        when_unset="two-tone for a black and white picture, else keep-lines",
    )
    dark: float | None = setting(
        Number(0.02, 0.9), "The share of the picture that becomes shadow.", when_unset="chosen by the picture"
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
class Plaque:
    """One board to make."""

    name: str | None = setting(FolderName(), "The folder for its files.", when_unset="its size", flag="--name")
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


@dataclass(frozen=True)
class Finish:
    """Painting and sanding."""

    sanding_loss: float = setting(Length(0, 5), "What sanding takes off the face, over all rounds.", default="0.5mm")
    least_depth_left: float = setting(Length(0, 50), "How deep a pocket must still be after sanding.", default="2.5mm")


@dataclass(frozen=True)
class Cutter:
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
class VTool:
    """The V tool that cuts the fine lines."""

    angle: float = setting(Number(20, 150, "degrees"), "The included angle of its edge.", default=60)
    greatest_depth: float = setting(
        Length(0.5, 20), "The deepest cut it makes, sanding loss included.", default="2.5mm"
    )


@dataclass(frozen=True)
class Output:
    """What is written, and how."""

    origin: str = setting(
        Choice(("corner", "centre")),
        "Where zero lies: the board's lower left corner or its centre.",
        default="corner",
    )
    files: tuple[str, ...] = setting(
        Choices(("carve", "preview")), "What to make.", default=["carve", "preview"], flag="--only"
    )
    unit: str = setting(Choice(("mm", "in")), "The unit of the files.", default="mm")
    dxf: Literal["R2010", "R2000", "R12"] = setting(
        Choice(("R2010", "R2000", "R12")), "The DXF version.", default="R2010"
    )
    tolerance: float = setting(Length(0.01, 1), "How far a written outline may lie from the design.", default="0.1mm")


@dataclass(frozen=True)
class Job:
    """One order: a picture, how to treat it, and the plaques to make from it."""

    picture: Picture
    tone: ToneOptions = ToneOptions()
    plaques: tuple[Plaque, ...] = (Plaque(),)
    finish: Finish = Finish()
    cutters: tuple[Cutter, ...] = (Cutter(),)
    v_tool: VTool = VTool()
    output: Output = Output()


@dataclass(frozen=True)
class Table:
    """Where a section stands in the job file: its heading, its field of Job, and whether it may come often."""

    heading: str
    field: str
    section: type
    many: bool = False


TABLES = (
    Table("picture", "picture", Picture),
    Table("tone", "tone", ToneOptions),
    Table("plaque", "plaques", Plaque, many=True),
    Table("finish", "finish", Finish),
    Table("cutter", "cutters", Cutter, many=True),
    Table("v_tool", "v_tool", VTool),
    Table("output", "output", Output),
)
