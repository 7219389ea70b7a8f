"""The job sheet: one printable page over all plaques, for the bench."""

from __future__ import annotations

from collections.abc import Mapping

import jinja2

from shadowrout.job.options import Job
from shadowrout.report.figures.job_figures import JobFigures
from shadowrout.report.jobsheet.all_plaques import batch_of, tools_of
from shadowrout.report.jobsheet.embedded import Embedded, embedded
from shadowrout.report.jobsheet.sections import plaque_of
from shadowrout.report.jobsheet.steps import steps_of
from shadowrout.report.jobsheet.stock_section import stock_sections
from shadowrout.report.scope import scope_of
from shadowrout.words.cautions import CAUTIONS
from shadowrout.words.showing import showable
from shadowrout.words.wording import Words, tied

PICTURES = ("preview.png", "preview-sanding.png", "stencil.png")
"""The files of a plaque that are shown on the sheet, where they were made."""


def job_sheet(job: Job, figures: JobFigures, *, files: Mapping[str, Mapping[str, bytes]], settings: str) -> bytes:
    """Return the page as UTF-8 HTML that needs no other file, the same for the same input.

    ``figures`` are those of ``numbers.json``, ``files`` each plaque's files by the plaque's name, ``settings``
    the text of a job file with the settings as used. Every text is escaped, whoever wrote it.
    """
    words = Words(job.output.settled_unit)
    scope = scope_of(job.output.files)
    plaques = [plaque_of(job, plaque, scope, words) for plaque in figures.plaques]
    page = _template().render(
        picture=figures.picture,
        program=figures.program,
        notes=figures.notes,
        batch=(
            *batch_of(job, figures.plaques, scope, words, stock=figures.stock),
            *stock_sections(figures.stock, words),
        ),
        tools=tools_of(job, figures.plaques, scope, words),
        steps=steps_of(job, figures.plaques, scope, words),
        cautions=CAUTIONS,
        plaques=[(plaque, _pictures(files[plaque.name])) for plaque in plaques],
        settings=settings,
    )
    return page.encode()


def _pictures(files: Mapping[str, bytes]) -> dict[str, Embedded]:
    return {name: embedded(files[name]) for name in PICTURES if name in files}


def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("shadowrout.report.jobsheet", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_shown,
    )
    environment.filters["tied"] = tied
    return environment.get_template("jobsheet.html")


def _shown(value: object) -> object:
    """Return what the template is to write, each text as a page may show it."""
    is_markup = hasattr(value, "__html__")  # what a macro of the template has written, its texts shown already
    return showable(value) if isinstance(value, str) and not is_markup else value
