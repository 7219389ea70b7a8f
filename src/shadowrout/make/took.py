"""The shop's rates by hand, scaled to how long a plaque took that was carved."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from shadowrout.design.board import Layout
from shadowrout.errors import SettingError
from shadowrout.job.duration import told_time
from shadowrout.job.options import Job
from shadowrout.report.figures.times import Task, by_hand

_DIGITS = 3
"""Significant digits of a scaled rate: more than an estimate deserves, few enough to write down."""


def refuse(job: Job, layout: Layout) -> None:
    """Raise SettingError where a plaque's hours are limited at rates that are still to be scaled."""
    if job.shop.took is not None and layout.plaque.hours is not None:
        raise SettingError(
            "shop.took",
            "goes with a plaque as it was carved; make that without plaque.hours, and write the rates that it gives "
            "under [shop]",
        )


def at_its_rates(job: Job, times: Sequence[Task]) -> Job:
    """Return the job with its rates by hand such that its first plaque, whose work takes ``times``, took what it took.

    Raises SettingError where nothing of that plaque is done by hand, or where the rates would leave their limits.
    """
    shop, planned = job.shop, by_hand(times)
    if shop.took is None:
        return job
    if not planned:
        raise SettingError("shop.took", "can't be used; nothing of the first plaque is carved by hand")
    factor = planned / (60 * shop.took)
    try:
        scaled = dataclasses.replace(
            shop,
            strokes_per_minute=_rounded(factor * shop.strokes_per_minute),
            paring=_rounded(factor * shop.paring),
            clearing=_rounded(factor * shop.clearing),
        )
    except SettingError:
        told = f"{told_time(shop.took)} is out of proportion to the {told_time(planned / 60)} that were planned"
        raise SettingError("shop.took", f"{told}; is it the time of the first plaque?") from None
    return dataclasses.replace(job, shop=scaled)


def told_rates(job: Job) -> str:
    """Return the sentence that tells a job's rates, scaled to the time that its first plaque took."""
    shop = job.shop
    rates = ", ".join(f"{name} = {getattr(shop, name):g}" for name in ("strokes_per_minute", "paring", "clearing"))
    return f"by the {told_time(shop.took or 0)} that {job.plaques[0].name} took by hand, write under [shop]: {rates}"


def _rounded(rate: float) -> float:
    return float(f"{rate:.{_DIGITS}g}")
