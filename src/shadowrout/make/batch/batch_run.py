"""The orders of a batch one after the other, several at a time."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shadowrout.errors import ShadowroutError
from shadowrout.files.claim import claimed
from shadowrout.job.job_unit import BareLength, bare_lengths
from shadowrout.make.batch.crew import Crew, crew_of
from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.record import inputs_digest, plaques_made
from shadowrout.make.batch.summary import OrderResult
from shadowrout.make.inputs import job_in
from shadowrout.words.progress import Progress, silent


def run(orders: Sequence[Order], out: Path, *, workers: int, progress: Progress = silent) -> tuple[OrderResult, ...]:
    """Make each order into its folder in ``out`` and return what became of each, in their order.

    An order that is complete and whose job file, pictures and program are unchanged is left as it is. One that fails
    doesn't stop the others. However the batch ends, its processes end with it, every file is whole, and another run
    goes on with the orders that aren't complete. Raises SettingError where another run writes into ``out``.
    """
    with claimed(out), crew_of(workers) as crew:
        return _Run(orders, crew, progress).results()


class _Run:
    """A batch under way."""

    def __init__(self, orders: Sequence[Order], crew: Crew, progress: Progress) -> None:
        self._orders = orders
        self._crew = crew
        self._progress = progress
        self._shares: dict[Order, float] = {}
        self._begun: dict[Order, float] = {}
        self._bare: dict[Order, tuple[BareLength, ...]] = {}
        self._results: dict[Order, OrderResult] = {}

    def results(self) -> tuple[OrderResult, ...]:
        for order in self._orders:
            while not self._crew.has_room:
                self._hear()
            self._begin(order)
        while self._crew.busy:
            self._hear()
        return tuple(self._results[order] for order in self._orders)

    def _begin(self, order: Order) -> None:
        """Hand an order to the crew, unless it is done before, or can't even be read."""
        self._begun[order] = time.monotonic()
        try:
            job = job_in(order.job_file)
            self._bare[order] = bare_lengths(job)
            plaques = plaques_made(order, inputs_digest(job, order.out))
        except ShadowroutError as error:
            self._end(order, OrderResult(order, "failed", error.exit_code, reason=str(error)))
            return
        if plaques:
            self._end(order, OrderResult(order, "as before", 0, plaques=plaques))
        else:
            self._crew.begin(order)

    def _hear(self) -> None:
        order, message = self._crew.hear()
        if "code" not in message:
            self._shares[order] = message["share"]
            self._show(f"{order.name}: {message['step']}")
            return
        seconds = time.monotonic() - self._begun[order]
        code, plaques = message["code"], tuple(message["plaques"])
        word = "made" if code == 0 else "not kept" if plaques else "failed"
        left = tuple(message["left"])
        self._end(order, OrderResult(order, word, code, plaques, seconds, message["reason"], left))

    def _end(self, order: Order, result: OrderResult) -> None:
        self._results[order] = replace(result, bare=self._bare.get(order, ()))
        self._shares[order] = 1.0
        self._show(f"{order.name}: {result.word}")

    def _show(self, step: str) -> None:
        share = sum(self._shares.values()) / len(self._orders)
        self._progress(f"{len(self._results)} of {len(self._orders)} orders; {step}", share)
