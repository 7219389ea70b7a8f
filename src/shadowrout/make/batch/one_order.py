"""One order made, in a process of the batch."""

from __future__ import annotations

import time
from dataclasses import dataclass

from shadowrout.job.job_unit import BareLength, bare_lengths
from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.record import inputs_digest, keep_record, plaques_made
from shadowrout.make.inputs import job_in
from shadowrout.make.worker import Tell

_LEAST_SECONDS = 0.1
"""Between two reports of how far an order is."""


@dataclass(frozen=True)
class OrderRead:
    """An order's job file is read, and these lengths in it were given without a unit."""

    bare: tuple[BareLength, ...]


@dataclass(frozen=True)
class OrderStep:
    """How far an order is: the step in words and the share that is done."""

    step: str
    share: float


@dataclass(frozen=True)
class MadeOrder:
    """An order that is made: its plaques, what an earlier run left, and the promises that don't hold.

    ``before`` where it is complete and unchanged, so that it was left alone.
    """

    plaques: tuple[str, ...]
    left: tuple[str, ...] = ()
    broken: tuple[str, ...] = ()
    before: bool = False


def make_order(order: Order, tell: Tell) -> MadeOrder:
    """Make an order into its folder, unless it is complete and unchanged since it was made.

    ``tell`` gets an OrderRead as soon as the job file is read, and an OrderStep now and then. Its record is kept where
    all promises hold, so that it isn't made again. Raises the errors of ``job_in``, ``inputs_digest`` and
    ``pipeline.make``.
    """
    job = job_in(order.job_file)
    tell(OrderRead(bare_lengths(job)))
    inputs = inputs_digest(job, order.out)
    if plaques := plaques_made(order, inputs):
        return MadeOrder(plaques, before=True)
    from shadowrout.make import pipeline

    last = 0.0

    def progress(step: str, share: float) -> None:
        nonlocal last
        if time.monotonic() - last > _LEAST_SECONDS:
            last = time.monotonic()
            tell(OrderStep(step, share))

    made = pipeline.make(job, order.out, progress=progress)
    if made.verdict.holds:
        keep_record(order, inputs)
    return MadeOrder(tuple(str(plaque.name) for plaque in made.job.plaques), made.left, made.verdict.broken)
