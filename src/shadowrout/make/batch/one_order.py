"""One order made, in a process of the batch."""

from __future__ import annotations

import time
from dataclasses import dataclass

from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.record import inputs_digest, keep_record
from shadowrout.make.inputs import job_in
from shadowrout.make.worker import Tell

_LEAST_SECONDS = 0.1
"""Between two reports of how far an order is."""


@dataclass(frozen=True)
class OrderStep:
    """How far an order is: the step in words and the share that is done."""

    step: str
    share: float


@dataclass(frozen=True)
class MadeOrder:
    """An order that was made: its plaques, what an earlier run left, and the promises that don't hold."""

    plaques: tuple[str, ...]
    left: tuple[str, ...]
    broken: tuple[str, ...]


def make_order(order: Order, tell: Tell) -> MadeOrder:
    """Make an order into its folder; ``tell`` gets an OrderStep now and then. Raises the errors of ``pipeline.make``.

    Its record is kept where all promises hold, so that it isn't made again.
    """
    from shadowrout.make import pipeline

    last = 0.0

    def progress(step: str, share: float) -> None:
        nonlocal last
        if time.monotonic() - last > _LEAST_SECONDS:
            last = time.monotonic()
            tell(OrderStep(step, share))

    job = job_in(order.job_file)
    inputs = inputs_digest(job, order.out)
    made = pipeline.make(job, order.out, progress=progress)
    if made.verdict.holds:
        keep_record(order, inputs)
    return MadeOrder(tuple(str(plaque.name) for plaque in made.job.plaques), made.left, made.verdict.broken)
