"""The batch's side of its processes: hand an order to one, hear from all, and let none outlive the batch."""

from __future__ import annotations

import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from shadowrout.make.batch.orders import Order
from shadowrout.make.processes import ONE_THREAD

_START = """
import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)
import json, sys; sys.path[:] = json.loads(sys.argv[1])
from shadowrout.make.batch.worker import main; main()
"""
"""Ctrl-C reaches the whole group of processes; the batch ends its own."""

Message = dict[str, Any]


class Worker:
    """One process. It reads its requests from a pipe that closes with the batch, and ends then."""

    def __init__(self, inbox: queue.SimpleQueue[tuple[Worker, Message | None]], *, alone: bool) -> None:
        """Start a process whose answers go to ``inbox``, with None when it has died; ``alone`` it has all threads."""
        self._inbox = inbox
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START, json.dumps(sys.path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=os.environ if alone else os.environ | ONE_THREAD,
            encoding="utf-8",
        )
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()

    def ask(self, order: Order) -> None:
        """Hand an order to the process, which must be idle; one that has died answers with None."""
        request = {"name": order.name, "job_file": str(order.job_file), "out": str(order.out)}
        assert self._process.stdin
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.write(json.dumps(request) + "\n")
            self._process.stdin.flush()

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
            for line in answers:
                self._inbox.put((self, json.loads(line)))
        self._process.wait()
        self._inbox.put((self, None))


class Crew:
    """Several workers, the idle ones at hand; a worker that died is replaced."""

    def __init__(self, size: int) -> None:
        """Start no process yet."""
        self._inbox: queue.SimpleQueue[tuple[Worker, Message | None]] = queue.SimpleQueue()
        self._size = size
        self._idle: list[Worker] = []
        self._busy: dict[Worker, Order] = {}

    @property
    def busy(self) -> tuple[Order, ...]:
        """The orders that are being made."""
        return tuple(self._busy.values())

    @property
    def has_room(self) -> bool:
        """Whether another order can be begun."""
        return len(self._busy) < self._size

    def begin(self, order: Order) -> None:
        """Hand an order to an idle process, or a new one."""
        worker = self._idle.pop() if self._idle else Worker(self._inbox, alone=self._size == 1)
        self._busy[worker] = order
        worker.ask(order)

    def hear(self) -> tuple[Order, Message]:
        """Wait for the next message about an order: a step's or, with a ``code``, the last one."""
        while True:
            worker, message = self._inbox.get()
            if worker not in self._busy:
                continue
            order = self._busy[worker]
            if message is None:
                del self._busy[worker]
                return order, _death(worker.end())
            if "code" in message:
                self._idle.append(worker)
                del self._busy[worker]
            return order, message

    def end(self) -> None:
        """Kill all processes; they write files as a whole or not at all."""
        for worker in (*self._idle, *self._busy):
            worker.end()


def _death(status: int) -> Message:
    how = f"was killed by signal {-status}" if status < 0 else f"ended with status {status}"
    reason = f"its process {how}, perhaps for want of memory; fewer --workers may help"
    return {"code": 1, "reason": reason, "plaques": [], "left": []}


@contextmanager
def crew_of(size: int) -> Iterator[Crew]:
    """Give a crew whose processes end with the block."""
    crew = Crew(size)
    try:
        yield crew
    finally:
        crew.end()
