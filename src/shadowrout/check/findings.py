"""What a check says: findings with a place and an advice, and a result for each promise."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from shadowrout.words.sentences import Sentence

Place = tuple[float, float]
"""A point of the drawing in mm, y up."""

Figure = float | str | Sentence
"""A length in mm, or a text that says what was counted."""

NO_CARVE = "no carve drawing"
"""What is lacking where a promise is of pockets, V lines and shadows alone."""

_PLACE_DECIMALS = 3
_FIGURE_DECIMALS = 4


class Promise(StrEnum):
    """The promises that are tested, in the order of the table; the value is what people read."""

    COMPLETE = "files complete"
    NO_GOUGE = "no gouge"
    FAITHFUL = "faithful"
    SOUND = "sound"
    ONE_PIECE = "one piece"
    STAYS_DARK = "stays dark"
    TRUE_SIZE = "true size"
    AGREE = "SVG and DXF agree"
    MARKED = "layers and marks"
    FIGURES = "figures agree"
    APART = "sheets apart"


@dataclass(frozen=True)
class Finding:
    """One fault: where it is (None where it has no one place), what is wrong, and what to do about it."""

    place_mm: Place | None
    what: str | Sentence
    advice: str

    @property
    def file(self) -> str:
        """The file it is in, as far as it says: what stands before the first colon."""
        return str(self.what).partition(":")[0]

    def within(self, where: str) -> Finding:
        """Return the finding with where it is said before it: the file, and the layer in it."""
        return replace(self, what=Sentence("{where}: {what}", where=where, what=self.what))

    def as_dict(self) -> dict[str, Any]:
        """Return the finding as plain values."""
        place = None if self.place_mm is None else [round(x, _PLACE_DECIMALS) for x in self.place_mm]
        return {"place_mm": place, "what": str(self.what), "advice": self.advice}


@dataclass(frozen=True)
class PromiseResult:
    """How one promise fared: the measured figure, its limit, and what was found.

    A number is in mm; a text says what was counted. ``holds`` is False exactly where there are findings, None where
    there was nothing to test; ``measured`` then says what is lacking.
    """

    promise: str
    measured: Figure
    limit: Figure
    holds: bool | None
    findings: tuple[Finding, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return the result as plain values."""
        return {
            "promise": self.promise,
            "measured": _figure(self.measured),
            "limit": _figure(self.limit),
            "holds": self.holds,
            "findings": [finding.as_dict() for finding in self.findings],
        }


def result(promise: Promise, measured: Figure, limit: Figure, findings: Iterable[Finding]) -> PromiseResult:
    """Return the result of a promise, which holds where nothing was found; the same finding counts once."""
    every = tuple(dict.fromkeys(findings))
    return PromiseResult(str(promise), measured, limit, not every, every)


def untested(promise: Promise, lacking: str, limit: Figure, findings: Iterable[Finding]) -> PromiseResult:
    """Return the result of a promise that had nothing to be tested on, and why; not kept where reading found faults."""
    found = result(promise, lacking, limit, findings)
    return found if found.findings else replace(found, holds=None)


def _figure(value: Figure) -> float | str:
    return str(value) if isinstance(value, (str, Sentence)) else round(value, _FIGURE_DECIMALS)
