"""The verdict on a folder of results, for programs and for people.

For people it is a table of promises for each plaque, and under it what was found. One cause makes many findings: those
that differ in place and figures alone are told once, with how many there are and where the first lie. Figures and
places are told in the job's unit.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from shadowrout.check.findings import Figure, Finding, Promise, PromiseResult
from shadowrout.words.columns import columns
from shadowrout.words.sentences import Mm, Sentence, worded
from shadowrout.words.units import Unit

MOST_KINDS = 2
"""Kinds of findings shown of one promise; the rest is counted."""

MOST_PLACES = 3
"""Places shown of one kind of finding."""

_FINEST_MM = 0.0001
"""A step of the files' decimals; what is less is told as less."""

_HOLDS = {True: "yes", False: "NO", None: "-"}


@dataclass(frozen=True)
class PlaqueVerdict:
    """The results of one plaque's files, or of one kind of stock."""

    name: str
    results: tuple[PromiseResult, ...]

    @property
    def holds(self) -> bool:
        """Whether every promise that could be tested holds."""
        return all(result.holds is not False for result in self.results)

    def result(self, promise: str) -> PromiseResult:
        """Return the result of one promise; raises KeyError where it was not tested."""
        for result in self.results:
            if result.promise == promise:
                return result
        raise KeyError(promise)

    def as_dict(self) -> dict[str, Any]:
        """Return the verdict as plain values."""
        return {"name": self.name, "holds": self.holds, "promises": [result.as_dict() for result in self.results]}


@dataclass(frozen=True)
class ChangedFile:
    """A file that isn't as it was made, by its place in the folder: the promises that hold for what stands in it now.

    A change alone breaks no promise; ``broken`` are those of which something was found in this file.
    """

    file: str
    bytes_made: int
    bytes_now: int
    holds: tuple[str, ...]
    broken: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the change as plain values."""
        size = {"bytes_made": self.bytes_made, "bytes": self.bytes_now}
        return {"file": self.file, **size, "holds": list(self.holds), "broken": list(self.broken)}

    def told(self) -> str:
        """Return the change in a sentence."""
        promises = f"still holds for what stands in it: {', '.join(self.holds)}" if self.holds else "no promise holds"
        broken = f"; broken: {', '.join(self.broken)}" if self.broken else ""
        return f"CHANGED since it was made: {self.file}; {promises}{broken}."


@dataclass(frozen=True)
class Verdict:
    """The results of a whole folder: of each plaque, and of each kind of stock that sheets are laid out on.

    All lengths are in mm; ``unit`` is the job's, in which people are told of them. ``changed`` are the files that
    aren't as they were made, which alone breaks no promise.
    """

    plaques: tuple[PlaqueVerdict, ...]
    stock: tuple[PlaqueVerdict, ...] = ()
    unit: str = "mm"
    changed: tuple[ChangedFile, ...] = ()

    @property
    def every(self) -> tuple[PlaqueVerdict, ...]:
        """The plaques' verdicts, then those of the stock."""
        return self.plaques + self.stock

    @property
    def holds(self) -> bool:
        """Whether every promise holds on every plaque and on the stock."""
        return all(verdict.holds for verdict in self.every)

    @property
    def broken(self) -> tuple[str, ...]:
        """The promises that don't hold, each after the name of its plaque or its stock."""
        return tuple(f"{v.name}: {r.promise}" for v in self.every for r in v.results if r.holds is False)

    @property
    def findings(self) -> tuple[tuple[str, str, Finding], ...]:
        """All findings, each with the name of its plaque or its stock and its promise."""
        return tuple((v.name, r.promise, f) for v in self.every for r in v.results for f in r.findings)

    def as_dict(self) -> dict[str, Any]:
        """Return the verdict as plain values, for programs."""
        plaques, stock = ([verdict.as_dict() for verdict in group] for group in (self.plaques, self.stock))
        changed = [file.as_dict() for file in self.changed]
        return {"holds": self.holds, "plaques": plaques, "stock": stock, "changed": changed}

    def as_json(self) -> str:
        """Return the verdict as indented JSON text (RFC 8259)."""
        return json.dumps(self.as_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"

    def as_text(self) -> str:
        """Return the tables of all plaques, their findings, what was changed, and whether all promises hold."""
        blocks = [_plaque(plaque, Unit(self.unit)) for plaque in self.every]
        changed = ["\n".join(file.told() for file in self.changed)] if self.changed else []
        return "\n\n".join([*blocks, *changed, _last_line(self)])


def _plaque(plaque: PlaqueVerdict, unit: Unit) -> str:
    head = (plaque.name, "measured", "limit", "holds")
    unusable = _unusable(plaque)
    rows = [head, *(_row(result, unusable, unit) for result in plaque.results)]
    return "\n".join([columns(rows), *_findings(plaque, unusable, unit), *_culprit(plaque)])


def _unusable(plaque: PlaqueVerdict) -> frozenset[str]:
    """Return the files that are missing or damaged: what other promises find in them follows from that."""
    complete = (f for r in plaque.results if r.promise == Promise.COMPLETE for f in r.findings)
    return frozenset(finding.file for finding in complete)


def _own(result: PromiseResult, unusable: frozenset[str]) -> tuple[Finding, ...]:
    """Return the findings of a promise that don't follow from a file that is missing or damaged."""
    if result.promise == Promise.COMPLETE:
        return result.findings
    return tuple(finding for finding in result.findings if finding.file not in unusable)


def _row(result: PromiseResult, unusable: frozenset[str], unit: Unit) -> tuple[str, str, str, str]:
    measured = _figure(result.measured)
    if result.findings and not _own(result, unusable):
        files = dict.fromkeys(finding.file for finding in result.findings)
        measured = f"{', '.join(files)} can't be tested"
    return result.promise, worded(measured, unit), worded(_figure(result.limit), unit), _HOLDS[result.holds]


def _figure(value: Figure) -> str | Sentence:
    if isinstance(value, (str, Sentence)):
        return value
    if 0 < value < _FINEST_MM:
        return Sentence("under {finest:g mm}", finest=Mm(_FINEST_MM))
    return Sentence("{length:.4g mm}", length=Mm(value))


def _findings(plaque: PlaqueVerdict, unusable: frozenset[str], unit: Unit) -> Iterator[str]:
    for result in plaque.results:
        kinds: defaultdict[tuple[str, str], list[Finding]] = defaultdict(list)
        for finding in _own(result, unusable):
            kinds[_kind(finding)].append(finding)
        if not kinds:
            continue
        yield ""
        yield f"{result.promise}:"
        every = list(kinds.values())
        yield from (f"- {_sentence(findings).told(unit)}" for findings in every[:MOST_KINDS])
        if (more := sum(map(len, every[MOST_KINDS:]))) > 0:
            yield f"- and {more} of other kinds; --json lists all"
        yield from (f"  {advice[0].upper()}{advice[1:]}." for advice in dict.fromkeys(advice for _, advice in kinds))


def _kind(finding: Finding) -> tuple[str, str]:
    """Return what findings of one kind have in common: all but figures, and the layer within a file."""
    return re.sub(r"layer [\w.-]+|(?<![\w-])\d+(\.\d+)?(?![\w-])", "*", str(finding.what)), finding.advice


def _sentence(findings: list[Finding]) -> Sentence:
    """Return one kind of finding in words: the first, how many more there are and where the next lie."""
    first, places = findings[0], [f.place_mm for f in findings if f.place_mm is not None]
    told = Sentence("{what}", what=first.what)
    shown = [Sentence("{place:.2f mm}", place=Mm.place(*place)) for place in places[:MOST_PLACES]]
    if shown:
        told = Sentence("{told} at {place}", told=told, place=shown[0])
    if len(findings) > 1:
        told = Sentence("{told}, and {count} more such", told=told, count=len(findings) - 1)
    if shown[1:]:
        told = Sentence("{told}, the next at {places}", told=told, places=Sentence.joined(shown[1:], " and "))
    return told


def _culprit(plaque: PlaqueVerdict) -> Iterator[str]:
    """Yield a line where all that was found lies in one file, and what was compared with it."""
    names = {finding.file.partition(",")[0] for result in plaque.results for finding in result.findings}
    files = [name for name in names if "." in name]
    if len(files) == 1 and names <= {files[0], files[0].partition(".")[0]}:
        yield ""
        yield f"All of it is in {files[0]}; the plaque's other files keep their promises."


def _last_line(verdict: Verdict) -> str:
    if verdict.holds:
        skipped = dict.fromkeys(r.promise for p in verdict.every for r in p.results if r.holds is None)
        rest = f" Not tested for want of files: {', '.join(skipped)}." if skipped else ""
        return "All promises hold on the files as written." + rest
    return "Not kept: " + "; ".join(verdict.broken) + "."
