"""Independent pieces of work at the same time, in processes of their own."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from typing import TypeVar

from shadowrout.collector import collect_rarely
from shadowrout.errors import ShadowroutError
from shadowrout.one_thread import ONE_THREAD

Task = TypeVar("Task")
Result = TypeVar("Result")


def results_of(
    work: Callable[[Task], Result], tasks: Sequence[Task], *, workers: int, done: Callable[[int], None]
) -> list[Result]:
    """Return what ``work`` makes of each task, in the tasks' order; nothing for no tasks.

    ``work`` is a function of a module, and takes and returns what can be pickled. ``done`` is told how many tasks are
    done after each. Where one raises, the others are given up and its error is raised. No process outlives the
    call, nor this process, however that ends. Raises ShadowroutError where a process dies.
    """
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(workers, max(len(tasks), 1)), mp_context=context, initializer=_begin) as pool:
        futures = [pool.submit(work, task) for task in tasks]
        try:
            for number, future in enumerate(as_completed(futures), start=1):
                future.result()
                done(number)
        except BaseException as error:
            pool.shutdown(wait=False, cancel_futures=True)
            for process in multiprocessing.active_children():
                process.kill()
                process.join()
            if isinstance(error, BrokenProcessPool):
                raise ShadowroutError(
                    "a process was ended from outside, perhaps for want of memory; --workers 1 needs the least"
                ) from error
            raise
    return [future.result() for future in futures]


def _begin() -> None:
    """Set a new process up: one thread, Ctrl-C left to the process that asked for the work, an end with that."""
    os.environ.update(ONE_THREAD)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    collect_rarely()
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
