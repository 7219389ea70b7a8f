"""Independent pieces of work at the same time, in processes of their own: plaques side by side, and a batch's orders.

The standard library's pool can't be used for both: where one of its processes dies, which the system does to the
largest when memory runs out, it gives up all work and can't tell whose process it was. A batch has to go on.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import queue
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

from shadowrout.errors import ShadowroutError
from shadowrout.make.worker import Begun, Done, Raised, Tell, Told, received, send

if TYPE_CHECKING:
    from types import TracebackType

Task = TypeVar("Task")
Result = TypeVar("Result")

_START = """
import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)
import json, sys; sys.path[:] = json.loads(sys.argv[1])
from shadowrout.make.worker import main; main()
"""
"""Ctrl-C reaches the whole group of processes; the one that asked for the work ends the others."""

ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1"
)
"""What each of several processes has in its environment before it loads the libraries.

They would else start a thread for each processor in every process.
"""


@dataclass(frozen=True)
class Died:
    """A process was ended in the middle of a task, with this exit status; negative is a signal."""

    status: int


class Processes:
    """``most`` processes at most, for a block: started when first needed, kept for what comes later, gone at its end.

    None outlives the block, nor this process, however that ends. One that dies is replaced. Where ``most`` is 1 the one
    process has all threads.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self._inbox: queue.SimpleQueue[tuple[_Process, bytes | None]] = queue.SimpleQueue()
        self._idle: list[_Process] = []
        self._busy: dict[_Process, tuple[Callable[[Any, Tell], Any], Any]] = {}

    def __enter__(self) -> Processes:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end()

    @property
    def busy(self) -> tuple[Any, ...]:
        """The tasks that are being done."""
        return tuple(task for _, task in self._busy.values())

    @property
    def has_room(self) -> bool:
        """Whether another task can be begun."""
        return len(self._busy) < self.most

    def begin(self, work: Callable[[Task, Tell], Any], task: Task) -> None:
        """Hand a task to an idle process, or a new one; there must be room.

        ``work`` is a function of a module; it takes the task and what to call to tell something under way. What it
        takes, tells and returns can be pickled.
        """
        process = self._idle.pop() if self._idle else _Process(self._inbox, alone=self.most == 1)
        self._busy[process] = (work, task)
        process.ask(work, task)

    def hear(self) -> tuple[Any, Told | Done | Raised | Died]:
        """Wait for what comes next of a task that is being done, and return it with the task."""
        while True:
            process, content = self._inbox.get()
            if process in self._idle:  # it died with nothing to do
                self._idle.remove(process)
                process.end()
                continue
            work, task = self._busy[process]
            if content is None:
                del self._busy[process]
                status = process.end()
                if process.has_served and not process.has_begun:  # it had died before it was asked
                    self.begin(work, task)
                    continue
                return task, Died(status)
            message: Begun | Told | Done | Raised = pickle.loads(content)
            if isinstance(message, Begun):
                process.has_begun = True
                continue
            if not isinstance(message, Told):
                process.has_served = True
                self._idle.append(process)
                del self._busy[process]
            return task, message

    def results_of(
        self, work: Callable[[Task], Result], tasks: Sequence[Task], *, done: Callable[[int], None]
    ) -> list[Result]:
        """Return what ``work`` makes of each task, in the tasks' order; nothing for no tasks.

        ``work`` is a function of a module, and takes and returns what can be pickled. ``done`` is told how many tasks
        are done after each. Where one raises, the others are given up, all processes ended, and its error is raised.
        Raises ShadowroutError where a process dies.
        """
        waiting = deque(enumerate(tasks))
        results: dict[int, Result] = {}
        try:
            while waiting or self._busy:
                while waiting and self.has_room:
                    self.begin(partial(_quietly, work), waiting.popleft())
                (number, _), message = self.hear()
                results[number] = _result(message)
                done(len(results))
        except BaseException:
            self._end()
            raise
        return [results[number] for number in range(len(tasks))]

    def _end(self) -> None:
        """Kill all processes; they write files as a whole or not at all."""
        for process in (*self._idle, *self._busy):
            process.end()
        self._idle, self._busy, self._inbox = [], {}, queue.SimpleQueue()


def _quietly(work: Callable[[Task], Result], numbered: tuple[int, Task], tell: Tell) -> Result:
    _, task = numbered
    return work(task)


def _result(message: Told | Done | Raised | Died) -> Any:
    match message:
        case Done(result=result):
            return result
        case Raised(error=error):
            raise error
        case _:
            raise ShadowroutError(
                "a process was ended from outside, perhaps for want of memory; --workers 1 needs the least"
            )


class _Process:
    """One process, as those see it who ask it for work. It reads from a pipe that closes with them, and ends then."""

    def __init__(self, inbox: queue.SimpleQueue[tuple[_Process, bytes | None]], *, alone: bool) -> None:
        """Start a process whose answers go to ``inbox``, with None when it has died; ``alone`` it has all threads."""
        self.has_begun = False
        """Whether it has begun with what it was asked for last."""
        self.has_served = False
        """Whether it has ever ended a task: one that dies at its first would do so again."""
        self._inbox = inbox
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START, json.dumps(sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=os.environ if alone else os.environ | ONE_THREAD,
        )
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()

    def ask(self, work: Callable[[Task, Tell], Any], task: Task) -> None:
        """Hand a task to the process, which must be idle; one that has died answers with None."""
        assert self._process.stdin
        self.has_begun = False
        with contextlib.suppress(BrokenPipeError):
            send(self._process.stdin, (work, task))

    def end(self) -> int:
        """Kill the process, whatever it does, and return its exit status."""
        self._process.kill()
        status = self._process.wait()
        self._listener.join()
        assert self._process.stdin
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.close()
        return status

    def _listen(self) -> None:
        assert self._process.stdout
        with self._process.stdout as answers:
            while (content := received(answers)) is not None:
                self._inbox.put((self, content))
        self._process.wait()
        self._inbox.put((self, None))
