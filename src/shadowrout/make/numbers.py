"""The figures of a finished job, put together from what was made."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shadowrout import __version__
from shadowrout.job.options import Job
from shadowrout.make.plaque import MadePlaque
from shadowrout.make.plaque_sheets import MadeTemplates
from shadowrout.report.figures.amounts import Amounts
from shadowrout.report.figures.fragile_figures import fragile_figures
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures
from shadowrout.report.figures.outline_figures import outline_figures
from shadowrout.report.figures.pattern_figures import pattern_figures
from shadowrout.report.figures.pocket_figures import idle_cutters, pocket_figures
from shadowrout.report.figures.precision import fine, fine_box
from shadowrout.report.figures.register_figures import register_figures
from shadowrout.report.figures.stencil_figures import stencil_figures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.figures.stroke_figures import flow_line_figures, v_line_figures
from shadowrout.report.figures.template_figures import template_figures
from shadowrout.report.figures.times import Task
from shadowrout.report.figures.width_figures import width_figures


@dataclass(frozen=True, eq=False)
class Finished:
    """One plaque as it was worked out, its files by name, what it takes and how long."""

    made: MadePlaque
    templates: MadeTemplates
    files: Mapping[str, bytes]
    amounts: Amounts
    tasks: tuple[Task, ...]


def figures_of_job(
    job: Job, plaques: Sequence[Finished], *, notes: Sequence[str], stock: Sequence[StockFigures] = ()
) -> JobFigures:
    """Return all figures of a settled job.

    ``notes`` are sentences on what was assumed while the picture was read, ``stock`` the figures of what is laid out
    on stock.
    """
    return JobFigures(
        program=f"shadowrout {__version__}",
        picture=job.picture.file.name,
        notes=tuple(notes),
        method=str(job.tone.method),
        detail_mm=job.tone.detail or 0.0,
        tolerance_mm=job.output.tolerance,
        unit=job.output.settled_unit,
        plaques=tuple(_figures_of(job, finished) for finished in plaques),
        stock=tuple(stock),
    )


def _figures_of(job: Job, finished: Finished) -> PlaqueFigures:
    made, stencil, template = finished.made, finished.templates.stencil, finished.templates.template
    plaque, design, plan = made.plaque, made.design, made.plan
    return PlaqueFigures(
        name=str(plaque.name),
        size_mm=plaque.size or (0.0, 0.0),
        shape=plaque.shape,
        thickness_mm=plaque.thickness,
        picture_box_mm=fine_box(design.layout.picture_box_mm),
        pixel_mm=fine(made.mask.pixel_mm),
        dark_share=fine(design.dark_share),
        shadows=len(design.shadow),
        specks_removed=made.mask.specks_removed,
        pinholes_filled=made.mask.pinholes_filled,
        slivers_dropped=design.slivers_dropped,
        widths=width_figures(made.widths),
        pockets=tuple(pocket_figures(pocket.pocket, pocket.cutter_path) for pocket in made.paths.pockets),
        idle_cutters=idle_cutters(job, plan.pockets, design.shadow),
        rest_share=fine(plan.rest.area / design.shadow.area),
        uncut_share=fine(plan.uncut_share),
        v_lines=v_line_figures(plan),
        flow_lines=flow_line_figures(plan.flow_lines),
        fragile_light=fragile_figures(plan),
        outlines=outline_figures(made.paths.shadow, deviation_mm=made.deviation_mm),
        register=register_figures(made.marks),
        stencil=stencil_figures(stencil.stencil, coarse=stencil.shadow, carved=design.shadow) if stencil else None,
        template=template_figures(template.template) if template else None,
        pattern=pattern_figures(job, design.layout.board_mm),
        amounts=finished.amounts,
        times=finished.tasks,
        files=tuple(finished.files),
    )
