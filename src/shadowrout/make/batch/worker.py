"""A process of the batch: makes one order after another as they are asked for, and tells how it goes.

Requests come as lines of JSON on standard input and are answered on standard output, one line for each step and one
at the end. Standard input ends when the batch does, however it dies, and the process ends with it.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from shadowrout.errors import PromiseError, told
from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.record import inputs_digest, keep_record
from shadowrout.make.inputs import job_in
from shadowrout.make.processes import collect_rarely

_LEAST_SECONDS = 0.1
"""Between two reports of how far an order is: as often as an eye follows."""


def main() -> None:
    """Serve until standard input ends."""
    collect_rarely()
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever a library prints must not come between the answers
    requests: queue.SimpleQueue[dict[str, str]] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(requests,), daemon=True).start()

    def answer(message: dict[str, Any]) -> None:
        answers.write(json.dumps(message) + "\n")
        answers.flush()

    while True:
        request = requests.get()
        answer(_result_of(Order(request["name"], Path(request["job_file"]), Path(request["out"])), answer))


def _listen(requests: queue.SimpleQueue[dict[str, str]]) -> None:
    for line in sys.stdin:
        requests.put(json.loads(line))
    os._exit(0)


def _result_of(order: Order, answer: Callable[[dict[str, Any]], None]) -> dict[str, Any]:
    """Return the order's exit code and the reason for it, its plaques, and what is left from an earlier run."""
    try:
        return _made(order, answer)
    except Exception as error:  # whatever it is, a fault of the program too: it ends this order and no other
        if os.environ.get("SHADOWROUT_TRACEBACK"):
            sys.excepthook(type(error), error, error.__traceback__)
        code, reason = told(error)
        return {"code": code, "reason": reason, "plaques": [], "left": []}


def _made(order: Order, answer: Callable[[dict[str, Any]], None]) -> dict[str, Any]:
    from shadowrout.make import pipeline

    last = 0.0

    def progress(step: str, share: float) -> None:
        nonlocal last
        if time.monotonic() - last > _LEAST_SECONDS:
            last = time.monotonic()
            answer({"step": step, "share": share})

    job = job_in(order.job_file)
    inputs = inputs_digest(job, order.out)
    made = pipeline.make(job, order.out, progress=progress)
    plaques = [str(plaque.name) for plaque in made.job.plaques]
    result = {"code": 0, "reason": "", "plaques": plaques, "left": list(made.left)}
    if made.verdict.holds:
        keep_record(order, inputs)
        return result
    broken = [f"{p.name}: {r.promise}" for p in made.verdict.plaques for r in p.results if not r.holds]
    return result | {"code": PromiseError.exit_code, "reason": f"not kept: {'; '.join(broken)}"}
