"""One plaque, from the pictures to everything that is drawn of it: the rooms in their order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from shadowrout.carving.plaque_carving import PlaqueCarving, carve_plaque
from shadowrout.carving.streams import Directions
from shadowrout.carving.trimming import LeftOut
from shadowrout.design.board import Design, Layout, Resolution
from shadowrout.design.coarse_design import coarse_shadow
from shadowrout.design.plaque_design import PlaqueDesign, design_plaque, flow_on_plaque
from shadowrout.geometry.region import Region
from shadowrout.job.options import USUAL_LINES, Job, Lines, Plaque
from shadowrout.picture.pictures import Pictures
from shadowrout.sheets.plaque_marks import check_marks, marks_of
from shadowrout.sheets.register import RegisterMark
from shadowrout.sheets.router.plaque_template import PlaqueTemplate, template_of
from shadowrout.sheets.stencil.plaque_stencil import PlaqueStencil, check_coarse, stencil_of

_FLOW_SMOOTHING_SPACINGS = 1.0
"""Standard deviation over which directions are blended, as a share of the flow lines' spacing."""


@dataclass(frozen=True, eq=False)
class PlaqueToMake:
    """All that one plaque is made from: a settled job, the board and its working pixels, and the job's pictures."""

    job: Job
    layout: Layout
    resolution: Resolution
    pictures: Pictures
    levels: tuple[Lines, ...] = ()
    """The amounts of line to choose from where its hours are limited, from the most; else nothing."""

    @property
    def name(self) -> str:
        """The plaque's name, and its folder's."""
        return str(self.layout.plaque.name)

    @property
    def pixels(self) -> int:
        """How many pixels it is worked out on."""
        return self.resolution.width_px * self.resolution.height_px


@dataclass(frozen=True, eq=False)
class MadePlaque:
    """Everything that was worked out for one plaque; a stencil and a template only where the job asks for them."""

    drawn: PlaqueDesign
    carving: PlaqueCarving
    marks: tuple[RegisterMark, ...]
    stencil: PlaqueStencil | None
    template: PlaqueTemplate | None
    lines: Lines = USUAL_LINES
    """The amount of line that it was drawn with."""
    left_out: LeftOut | None = None
    """What was left out to save work; None where nothing was."""

    @property
    def layout(self) -> Layout:
        """The board, and the picture's place on it."""
        return self.drawn.design.layout

    @property
    def plaque(self) -> Plaque:
        """The plaque's own settings."""
        return self.layout.plaque


def make_plaque(plaque: PlaqueToMake, *, step: Callable[[str], None] = lambda name: None) -> MadePlaque:
    """Return one plaque worked out; ``step`` is told the name of each step as it starts."""
    job, layout = plaque.job, plaque.layout
    coarse = coarse_of(job, layout, plaque.pictures)  # refused here, before the long work
    drawn = design_plaque(job, layout, plaque.resolution, plaque.pictures, step=step)
    return carved_plaque(plaque, drawn, coarse, step=step)


def carved_plaque(
    plaque: PlaqueToMake,
    drawn: PlaqueDesign,
    coarse: Region | None,
    *,
    step: Callable[[str], None] = lambda name: None,
) -> MadePlaque:
    """Return one plaque worked out from its design; a stencil only where there is the ``coarse`` design of one."""
    job, layout, design = plaque.job, plaque.layout, drawn.design
    carving = carve_design(plaque, design, step=step)
    pockets = carving.plan.pockets
    marks = marks_of(job, layout, design.shadow, pockets)
    step("stencil and template")
    stencil = None if coarse is None else stencil_of(job, layout, coarse, marks)
    template = template_of(job, design, carving, marks) if "template" in job.output.files else None
    return MadePlaque(drawn, carving, marks, stencil, template, lines=job.tone.lines or USUAL_LINES)


def carve_design(
    plaque: PlaqueToMake, design: Design, *, step: Callable[[str], None] = lambda name: None
) -> PlaqueCarving:
    """Return how a plaque's design is carved; raises SettingError where it leaves no room for the register marks."""
    check_marks(plaque.job, plaque.layout, shadow=design.shadow)  # refused here, before the long work
    return carve_plaque(plaque.job, design, directions=_directions(plaque), step=step)


def coarse_of(job: Job, layout: Layout, pictures: Pictures) -> Region | None:
    """Return the design that a stencil of the job is made from; None where none is asked for."""
    if "stencil" not in job.output.files:
        return None
    shadow = coarse_shadow(job, layout, pictures)
    check_coarse(job, layout, shadow)
    return shadow


def _directions(plaque: PlaqueToMake) -> Directions | None:
    """Return the way the picture's edges run, smooth enough for lines at the job's spacing; None without flow lines."""
    v_tool, resolution = plaque.job.v_tool, plaque.resolution
    if not v_tool.flow:
        return None
    smoothing_mm = _FLOW_SMOOTHING_SPACINGS * v_tool.flow_spacing
    flow = flow_on_plaque(plaque.pictures, resolution, smoothing_mm=smoothing_mm)
    return Directions(flow, plaque.layout.picture_box_mm, resolution.pixel_mm)
