"""What a job asks of the sheets beside its plaques that no design can have, told before any work."""

from __future__ import annotations

from shadowrout.design.board import Layout
from shadowrout.job.options import Job
from shadowrout.sheets.packing import check_fits
from shadowrout.sheets.plaque_marks import check_marks
from shadowrout.sheets.router.router_template import check_template
from shadowrout.sheets.stencil.plaque_stencil import refuse_stencil, stencil_sheet_mm


def refuse(job: Job, layout: Layout) -> None:
    """Raise SettingError where a job with settled boards can't have its marks, sheets or stock for one of them."""
    check_marks(job, layout)
    if "stencil" in job.output.files:
        refuse_stencil(job, layout)
    if "template" in job.output.files:
        check_template(job.template, job.template.islands)
    _refuse_stock(job, layout)


def _refuse_stock(job: Job, layout: Layout) -> None:
    """Raise SettingError where a sheet is larger than its stock.

    A template's size is known once it is made; it is no smaller than its board, or as set.
    """
    plaque = layout.plaque
    for kind, stock in (("stencil", job.stock.stencil), ("template", job.stock.template)):
        if stock is not None and kind in job.output.files:
            beside = stencil_sheet_mm(job, plaque) if kind == "stencil" else job.template.sheet or plaque.size
            sheet, name = beside or (0.0, 0.0), f"{plaque.name}/{kind}"
            check_fits(sheet, stock=stock, gap_mm=job.stock.gap, key=f"stock.{kind}", name=name)
