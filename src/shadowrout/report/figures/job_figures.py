"""All figures of a finished job, as ``numbers.json`` holds them and every sheet tells them."""

from __future__ import annotations

from dataclasses import dataclass, field

from shadowrout.geometry.region import Box
from shadowrout.report.figures.amounts import Amounts
from shadowrout.report.figures.boards import Blank
from shadowrout.report.figures.figures_json import EMPTY_WHERE_NONE
from shadowrout.report.figures.fragile_figures import FragileFigures
from shadowrout.report.figures.outline_figures import OutlineFigures
from shadowrout.report.figures.pattern_figures import PatternFigures
from shadowrout.report.figures.pocket_figures import IdleCutter, PocketFigures
from shadowrout.report.figures.register_figures import RegisterFigures
from shadowrout.report.figures.stencil_figures import StencilFigures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.figures.stroke_figures import FlowLineFigures, VLineFigures
from shadowrout.report.figures.template_figures import TemplateFigures
from shadowrout.report.figures.times import Task
from shadowrout.report.figures.width_figures import WidthFigures


@dataclass(frozen=True)
class PlaqueFigures:
    """One plaque. Lengths are in mm, areas in mm2, shares from 0 to 1; what wasn't made is None."""

    name: str
    size_mm: tuple[float, float]
    shape: str
    thickness_mm: float
    picture_box_mm: Box
    """Where the (cropped) picture lies on the plaque."""
    pixel_mm: float
    """A side of the pixels that the design was worked out in."""
    dark_share: float
    """Of the picture, what is shadow."""
    shadows: int
    specks_removed: int
    pinholes_filled: int
    slivers_dropped: int
    widths: WidthFigures
    pockets: tuple[PocketFigures, ...]
    idle_cutters: tuple[IdleCutter, ...]
    rest_share: float
    """Of the shadow, what no cutter reaches."""
    uncut_share: float
    """Of the shadow, what lies away from every cut and stays light."""
    v_lines: VLineFigures
    flow_lines: FlowLineFigures
    fragile_light: FragileFigures
    outlines: OutlineFigures
    register: RegisterFigures | None = field(metadata=EMPTY_WHERE_NONE)
    stencil: StencilFigures | None = field(metadata=EMPTY_WHERE_NONE)
    template: TemplateFigures | None = field(metadata=EMPTY_WHERE_NONE)
    pattern: PatternFigures | None = field(metadata=EMPTY_WHERE_NONE)
    amounts: Amounts
    times: tuple[Task, ...]
    files: tuple[str, ...]
    """By their names in the plaque's folder."""

    @property
    def minutes(self) -> float:
        """About how long all work on the plaque takes."""
        return sum(task.minutes for task in self.times)

    @property
    def blank(self) -> Blank:
        """The board that it is cut from."""
        amounts = self.amounts
        return Blank(amounts.wood, self.size_mm, self.thickness_mm, amounts.blank_mm3, amounts.blank_kg)


@dataclass(frozen=True)
class JobFigures:
    """A whole job."""

    program: str
    """Its name and version."""
    picture: str
    """The name of its file."""
    notes: tuple[str, ...]
    """Sentences on what was assumed while the picture was read."""
    method: str
    detail_mm: float
    tolerance_mm: float
    unit: str
    plaques: tuple[PlaqueFigures, ...]
    stock: tuple[StockFigures, ...]
