"""All figures of a finished job, as ``numbers.json`` holds them and every sheet tells them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from shadowrout.carving.plan import Plan
from shadowrout.carving.plaque_carving import PlaqueCarving
from shadowrout.carving.trimming import LeftOut
from shadowrout.design.plaque_design import PlaqueDesign
from shadowrout.geometry.region import Box
from shadowrout.job.options import Job
from shadowrout.job.settled import settled
from shadowrout.report.figures.amounts import Amounts, Surface, amounts_of
from shadowrout.report.figures.boards import Blank
from shadowrout.report.figures.figures_json import EMPTY_WHERE_NONE
from shadowrout.report.figures.fragile_figures import FragileFigures, fragile_figures
from shadowrout.report.figures.hours_figures import HoursFigures, hours_figures
from shadowrout.report.figures.outline_figures import OutlineFigures, outline_figures
from shadowrout.report.figures.pattern_figures import PatternFigures, pattern_figures
from shadowrout.report.figures.pocket_figures import IdleCutter, PocketFigures, idle_cutters, pocket_figures
from shadowrout.report.figures.precision import fine, fine_box, tenth
from shadowrout.report.figures.register_figures import RegisterFigures, register_figures
from shadowrout.report.figures.stencil_figures import StencilFigures, stencil_figures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.figures.stroke_figures import FlowLineFigures, VLineFigures, flow_line_figures, v_line_figures
from shadowrout.report.figures.template_figures import TemplateFigures, template_figures
from shadowrout.report.figures.times import Task, tasks_of
from shadowrout.report.figures.width_figures import WidthFigures, width_figures
from shadowrout.report.figures.written_figures import WrittenFile
from shadowrout.sheets.register import RegisterMark
from shadowrout.sheets.router.plaque_template import PlaqueTemplate
from shadowrout.sheets.stencil.plaque_stencil import PlaqueStencil
from shadowrout.words.program import VERSION

DARK_LEFT_AIMED = 0.97
"""A plaque of whose shadow less stays dark is told of: a strip of a thirtieth begins to show (a judgement)."""


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
    uncut_mm2: float
    """The area of that."""
    dark_left_share: float
    """Of the shadow, what stays dark after exactly the planned sanding."""
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
    hours: HoursFigures
    files: tuple[str, ...]
    """By their names in the plaque's folder."""

    @property
    def minutes(self) -> float:
        """About how long all work on the plaque takes."""
        return sum(task.minutes for task in self.times)

    @property
    def loses_dark(self) -> bool:
        """Whether noticeably less of its shadow stays dark than was designed."""
        return self.dark_left_share < DARK_LEFT_AIMED

    @property
    def blank(self) -> Blank:
        """The board that it is cut from."""
        amounts = self.amounts
        return Blank(amounts.wood, self.size_mm, self.thickness_mm, amounts.blank_mm3, amounts.blank_kg)


@dataclass(frozen=True)
class JobFigures:
    """All that was counted and measured of a job, as numbers.json holds it."""

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
    made_of: tuple[WrittenFile, ...] = ()
    """The picture, and the touch-up where there is one."""
    written: tuple[WrittenFile, ...] = ()
    """Every file of the job but numbers.json; known once they are all worked out."""


def plaque_figures(
    job: Job,
    drawn: PlaqueDesign,
    carving: PlaqueCarving,
    *,
    marks: tuple[RegisterMark, ...],
    stencil: PlaqueStencil | None,
    template: PlaqueTemplate | None,
    surface: Surface,
    files: tuple[str, ...],
    lines: str,
    left_out: LeftOut | None = None,
) -> PlaqueFigures:
    """Return the figures of one plaque of a settled job, whose carved board has the ``surface``.

    It was drawn with an amount of ``lines``, less what was ``left_out``.
    """
    design, mask, plan, plaque = drawn.design, drawn.mask, carving.plan, drawn.design.layout.plaque
    amounts = amounts_of(plaque, surface, finish=job.finish, shop=job.shop)
    times = _times(job, plan, surface, amounts.coats, stencil, template)
    return PlaqueFigures(
        name=settled(plaque.name),
        size_mm=settled(plaque.size),
        shape=plaque.shape,
        thickness_mm=plaque.thickness,
        picture_box_mm=fine_box(design.layout.picture_box_mm),
        pixel_mm=fine(mask.pixel_mm),
        dark_share=fine(design.dark_share),
        shadows=len(design.shadow),
        specks_removed=mask.specks_removed,
        pinholes_filled=mask.pinholes_filled,
        slivers_dropped=design.slivers_dropped,
        widths=width_figures(drawn.widths),
        pockets=tuple(pocket_figures(paths.pocket, paths.cutter_path) for paths in carving.paths.pockets),
        idle_cutters=idle_cutters(job, plan.pockets, design.shadow),
        rest_share=fine(min(plan.rest.area / design.shadow.area, 1.0)),  # the rest is of the outlines as fitted
        uncut_share=fine(carving.cut.uncut_share),
        uncut_mm2=tenth(carving.cut.uncut_mm2),
        dark_left_share=fine(carving.cut.dark_left_share),
        v_lines=v_line_figures(plan),
        flow_lines=flow_line_figures(plan.flow_lines),
        fragile_light=fragile_figures(plan),
        outlines=outline_figures(carving.paths.shadow, deviation_mm=carving.deviation_mm),
        register=register_figures(marks),
        stencil=stencil_figures(stencil.stencil, coarse=stencil.shadow, carved=design.shadow) if stencil else None,
        template=template_figures(template.template) if template else None,
        pattern=pattern_figures(job, design.layout.board_mm),
        amounts=amounts,
        times=times,
        hours=hours_figures(plaque, times, lines=lines, left_out=left_out),
        files=files,
    )


def _times(
    job: Job,
    plan: Plan,
    surface: Surface,
    coats: float,
    stencil: PlaqueStencil | None,
    template: PlaqueTemplate | None,
) -> tuple[Task, ...]:
    return tasks_of(
        job,
        plan,
        surface,
        coats=coats,
        stencil=stencil.stencil if stencil else None,
        template=template.template if template else None,
    )


def job_figures(
    job: Job,
    plaques: Sequence[PlaqueFigures],
    *,
    notes: Sequence[str],
    stock: Sequence[StockFigures] = (),
    made_of: tuple[WrittenFile, ...] = (),
) -> JobFigures:
    """Return the figures of a settled job: those of its plaques, and of what is laid out on stock.

    ``notes`` are sentences on what was assumed while the picture was read, ``made_of`` the pictures' files.
    """
    return JobFigures(
        program=f"shadowrout {VERSION}",
        picture=job.picture.file.name,
        notes=tuple(notes),
        method=settled(job.tone.method),
        detail_mm=settled(job.tone.detail),
        tolerance_mm=job.output.tolerance,
        unit=job.output.settled_unit,
        plaques=tuple(plaques),
        stock=tuple(stock),
        made_of=made_of,
    )
