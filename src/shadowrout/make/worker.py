"""A process at work: it does one task after another as it is asked to, and tells how it goes.

Requests come on standard input and are answered on standard output, as pickles with their length before them: that it
begins, what is told under way, and one answer at the end. Standard input ends with the process that asks, however that
dies, and this one ends with it.
"""

from __future__ import annotations

import atexit
import gc
import os
import pickle
import queue
import sys
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, Any

from shadowrout.errors import ShadowroutError, told

_OBJECTS = 100_000
"""New objects to a round of the collector; see ``collect_rarely``."""

_LENGTH_BYTES = 8

Tell = Callable[[Any], None]
"""What a task tells under way."""


@dataclass(frozen=True, eq=False)
class Begun:
    """A request has come in whole, and nothing was done of it yet."""


@dataclass(frozen=True, eq=False)
class Told:
    """Something told under way."""

    what: Any


@dataclass(frozen=True, eq=False)
class Done:
    """A task's result."""

    result: Any


@dataclass(frozen=True, eq=False)
class Raised:
    """The error that a task ended with."""

    error: Exception


def collect_rarely() -> None:
    """Have the collector go round once for 100,000 new objects, not for 700: for a process that is this program's.

    Hardly anything here refers back to itself, so the rounds over all that the libraries hold find little and take a
    twentieth of a job. Nor does it go round as the process ends, which took 0.2 s: its memory goes back as a whole.
    """
    gc.set_threshold(_OBJECTS, 20, 20)
    atexit.register(gc.freeze)


def send(pipe: IO[bytes], message: object) -> None:
    """Write a message, whole."""
    content = pickle.dumps(message)
    pipe.write(len(content).to_bytes(_LENGTH_BYTES, "big"))
    pipe.write(content)
    pipe.flush()


def received(pipe: IO[bytes]) -> bytes | None:
    """Return the next message, still a pickle; None where the pipe has ended, in the middle of one perhaps."""
    length = int.from_bytes(pipe.read(_LENGTH_BYTES), "big")
    content = pipe.read(length)
    return content if content and len(content) == length else None


def main() -> None:
    """Serve until standard input ends."""
    collect_rarely()
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not come between the answers
    requests: queue.SimpleQueue[bytes] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(requests,), daemon=True).start()
    while True:
        request = requests.get()
        send(answers, Begun())
        send(answers, _answer(request, lambda what: send(answers, Told(what))))


def _listen(requests: queue.SimpleQueue[bytes]) -> None:
    while (request := received(sys.stdin.buffer)) is not None:
        requests.put(request)
    os._exit(0)


def _answer(request: bytes, tell: Tell) -> Done | Raised:
    try:
        work, task = pickle.loads(request)
        return Done(work(task, tell))
    except Exception as error:  # whatever it is, a fault of the program too: it goes to where the work was asked for
        if os.environ.get("SHADOWROUT_TRACEBACK"):
            error.add_note(traceback.format_exc())
        return Raised(error if _travels(error) else ShadowroutError(told(error)[1]))


def _travels(error: Exception) -> bool:
    """Return whether an error can be made again from its pickle: a library's own may need more than that holds."""
    return isinstance(error, ShadowroutError) or type(error).__module__ == "builtins"
