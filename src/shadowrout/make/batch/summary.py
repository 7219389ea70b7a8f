"""What became of a batch: the closing tables, figures for programs, and the exit code."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from shadowrout.job.job_unit import BareLength
from shadowrout.make.batch.orders import Order
from shadowrout.make.batch.shopping import Figures, as_text, figures_of, to_fetch
from shadowrout.words.columns import columns

_WORST_FIRST = (1, 4, 3, 2)
"""A fault of the program before a broken promise, an input that can't be used, and a wrong setting."""


@dataclass(frozen=True)
class OrderResult:
    """What became of one order.

    ``word``: ``made``, ``as before`` (complete and unchanged, so left alone), ``not kept`` (made, but a promise
    doesn't hold) or ``failed``. ``code``: what ``make`` would have exited with. ``left``: what an earlier run left in
    its folder. ``bare``: lengths without a unit in an order in inches.
    """

    order: Order
    word: str
    code: int
    plaques: tuple[str, ...] = ()
    seconds: float = 0.0
    reason: str = ""
    left: tuple[str, ...] = ()
    bare: tuple[BareLength, ...] = ()


def exit_code(results: Sequence[OrderResult]) -> int:
    """Return 0 where all is done, else the worst of the orders' codes: 1 before 4, 3 and 2."""
    codes = {result.code for result in results}
    return next((code for code in _WORST_FIRST if code in codes), 0)


def summary(results: Sequence[OrderResult]) -> str:
    """Return the table of the orders, what to fetch for those that are made, and a line that counts them all."""
    rows = [
        (r.order.name, ", ".join(r.plaques) or "-", r.word, f"{r.seconds:.0f} s" if r.seconds else "-", r.reason)
        for r in results
    ]
    words = [result.word for result in results]
    counted = ", ".join(f"{words.count(word)} {word}" for word in dict.fromkeys(words))
    table = columns([("order", "plaques", "result", "time", "why"), *rows])
    made = _made(results)
    unit = "in" if any(figures["unit"] == "in" for figures in made) else "mm"
    fetch = [as_text(to_fetch(made), unit=unit)] if made else []
    return "\n\n".join([table, *fetch, f"{len(words)} order{'s' * (len(words) != 1)}: {counted}"])


def _made(results: Sequence[OrderResult]) -> list[Figures]:
    """Return the figures of the orders that are made and keep their promises, now or before."""
    return [figures_of(result.order.out) for result in results if result.plaques and result.code == 0]


def as_json(results: Sequence[OrderResult]) -> str:
    """Return the results as indented JSON text (RFC 8259)."""
    orders = [
        {
            "order": r.order.name,
            "job": str(r.order.job_file),
            "folder": str(r.order.out),
            "plaques": r.plaques,
            "result": r.word,
            "code": r.code,
            "seconds": round(r.seconds, 2),
            "reason": r.reason,
            "left": r.left,
        }
        for r in results
    ]
    told = {"orders": orders, "to_fetch": to_fetch(_made(results)), "code": exit_code(results)}
    return json.dumps(told, indent=2, ensure_ascii=False) + "\n"
