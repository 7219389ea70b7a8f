"""Independent pieces of work at the same time, in processes of their own, and how a process is set up."""

from __future__ import annotations

import atexit
import gc
import os
import signal
import threading
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, TypeVar

from shadowrout.errors import ShadowroutError

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor
    from types import TracebackType

Task = TypeVar("Task")
Result = TypeVar("Result")

_OBJECTS = 100_000

ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1"
)
"""What such a process has in its environment before it loads the libraries.

They would else start a thread for each processor in every process.
"""


def collect_rarely() -> None:
    """Have the collector go round once for 100,000 new objects, not for 700: for a process that is this program's.

    Hardly anything here refers back to itself, so the rounds over all that the libraries hold find little and take a
    twentieth of a job. Nor does it go round as the process ends, which took 0.2 s: its memory goes back as a whole.
    """
    gc.set_threshold(_OBJECTS, 20, 20)
    atexit.register(gc.freeze)


class Processes:
    """``most`` processes at most, for a block: started when first needed, kept for what comes later, gone at its end.

    None outlives the block, nor this process, however that ends.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Processes:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._pool is not None:
            self._pool.shutdown()

    def results_of(
        self, work: Callable[[Task], Result], tasks: Sequence[Task], *, done: Callable[[int], None]
    ) -> list[Result]:
        """Return what ``work`` makes of each task, in the tasks' order; nothing for no tasks.

        ``work`` is a function of a module, and takes and returns what can be pickled. ``done`` is told how many tasks
        are done after each. Where one raises, the others are given up, all processes ended, and its error is raised.
        Raises ShadowroutError where a process dies.
        """
        from concurrent.futures import as_completed
        from concurrent.futures.process import BrokenProcessPool

        pool = self._started()
        futures = [pool.submit(work, task) for task in tasks]
        try:
            for number, future in enumerate(as_completed(futures), start=1):
                future.result()
                done(number)
        except BaseException as error:
            _end(pool)
            if isinstance(error, BrokenProcessPool):
                raise ShadowroutError(
                    "a process was ended from outside, perhaps for want of memory; --workers 1 needs the least"
                ) from error
            raise
        return [future.result() for future in futures]

    def _started(self) -> ProcessPoolExecutor:
        import multiprocessing  # slow to load, and seldom needed
        from concurrent.futures import ProcessPoolExecutor

        if self._pool is None:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(self.most, mp_context=context, initializer=_begin)
        return self._pool


def _end(pool: ProcessPoolExecutor) -> None:
    import multiprocessing

    pool.shutdown(wait=False, cancel_futures=True)
    for process in multiprocessing.active_children():
        process.kill()
        process.join()


def _begin() -> None:
    """Set a new process up: one thread, Ctrl-C left to the process that asked for the work, an end with that."""
    os.environ.update(ONE_THREAD)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    collect_rarely()
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    import multiprocessing

    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
