"""The orders of a batch one after the other, several at a time."""

from __future__ import annotations

import os
import time
import traceback
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shadowrout.errors import PromiseError, told
from shadowrout.files.claim import claimed
from shadowrout.job.job_unit import BareLength
from shadowrout.make.batch.one_order import MadeOrder, OrderRead, OrderStep, make_order
from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.summary import OrderResult
from shadowrout.make.processes import Died, Processes
from shadowrout.make.worker import Done, Raised, Told
from shadowrout.words.progress import Progress, silent


def run(orders: Sequence[Order], out: Path, *, workers: int, progress: Progress = silent) -> tuple[OrderResult, ...]:
    """Make each order into its folder in ``out`` and return what became of each, in their order.

    An order that is complete and whose job file, pictures and program are unchanged is left as it is. One that fails
    doesn't stop the others. However the batch ends, its processes end with it, every file is whole, and another run
    goes on with the orders that aren't complete. Raises SettingError where another run writes into ``out``.
    """
    with claimed(out), Processes(workers) as processes:
        return _Run(orders, processes, progress).results()


class _Run:
    """A batch under way."""

    def __init__(self, orders: Sequence[Order], processes: Processes, progress: Progress) -> None:
        self._orders = orders
        self._processes = processes
        self._progress = progress
        self._shares: dict[Order, float] = {}
        self._begun: dict[Order, float] = {}
        self._bare: dict[Order, tuple[BareLength, ...]] = {}
        self._results: dict[Order, OrderResult] = {}

    def results(self) -> tuple[OrderResult, ...]:
        for order in self._orders:
            while not self._processes.has_room:
                self._hear()
            self._begin(order)
        while self._processes.busy:
            self._hear()
        return tuple(self._results[order] for order in self._orders)

    def _begin(self, order: Order) -> None:
        """Hand an order to a process, where whatever is wrong with it, its job file included, is its own failure."""
        self._begun[order] = time.monotonic()
        self._processes.begin(make_order, order)

    def _hear(self) -> None:
        order, message = self._processes.hear()
        match message:
            case Told(what=OrderRead(bare=bare)):
                self._bare[order] = bare
            case Told(what=OrderStep(step=step, share=share)):
                self._shares[order] = share
                self._show(f"{order.name}: {step}")
            case Done(result=MadeOrder(before=True) as made):
                self._end(order, OrderResult(order, "as before", 0, made.plaques))
            case Done(result=made):
                self._end_now(order, _of_made(order, made))
            case Raised(error=error) if order not in self._bare:  # it wasn't even read
                self._end(order, _of_raised(order, error))
            case Raised(error=error):
                self._end_now(order, _of_raised(order, error))
            case Died(status=status):
                self._end_now(order, _of_died(order, status))

    def _end_now(self, order: Order, result: OrderResult) -> None:
        self._end(order, replace(result, seconds=time.monotonic() - self._begun[order]))

    def _end(self, order: Order, result: OrderResult) -> None:
        self._results[order] = replace(result, bare=self._bare.get(order, ()))
        self._shares[order] = 1.0
        self._show(f"{order.name}: {result.word}")

    def _show(self, step: str) -> None:
        share = sum(self._shares.values()) / len(self._orders)
        self._progress(f"{len(self._results)} of {len(self._orders)} orders; {step}", share)


def _of_made(order: Order, made: MadeOrder) -> OrderResult:
    if not made.broken:
        return OrderResult(order, "made", 0, made.plaques, left=made.left)
    reason = f"not kept: {'; '.join(made.broken)}"
    return OrderResult(order, "not kept", PromiseError.exit_code, made.plaques, reason=reason, left=made.left)


def _of_raised(order: Order, error: Exception) -> OrderResult:
    if os.environ.get("SHADOWROUT_TRACEBACK"):
        traceback.print_exception(error)
    code, reason = told(error)
    return OrderResult(order, "failed", code, reason=reason)


def _of_died(order: Order, status: int) -> OrderResult:
    how = f"was killed by signal {-status}" if status < 0 else f"ended with status {status}"
    reason = f"its process {how}, perhaps for want of memory; fewer --workers may help"
    return OrderResult(order, "failed", 1, reason=reason)
