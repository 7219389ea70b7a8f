"""The verdict as text: a table of promises for each plaque, and under it what was found."""

from __future__ import annotations

from collections.abc import Iterator

from shadowrout.check.findings import Finding, PlaqueVerdict, PromiseResult, Verdict
from shadowrout.columns import columns

MOST_FINDINGS = 5
"""Findings shown of one promise; the rest is counted."""

_FINEST_MM = 0.0001

_HOLDS = {True: "yes", False: "NO", None: "-"}


def verdict_text(verdict: Verdict) -> str:
    """Return the tables of all plaques, their findings, and a last line that says whether all promises hold."""
    blocks = [_plaque(plaque) for plaque in verdict.every]
    return "\n\n".join([*blocks, _last_line(verdict)])


def _plaque(plaque: PlaqueVerdict) -> str:
    head = (plaque.name, "measured", "limit", "holds")
    rows = [head, *(_row(result) for result in plaque.results)]
    return "\n".join([columns(rows), *_findings(plaque)])


def _row(result: PromiseResult) -> tuple[str, str, str, str]:
    return result.promise, _figure(result.measured), _figure(result.limit), _HOLDS[result.holds]


def _figure(value: float | str) -> str:
    if isinstance(value, str):
        return value
    return f"under {_FINEST_MM:g} mm" if 0 < value < _FINEST_MM else f"{value:.4g} mm"


def _findings(plaque: PlaqueVerdict) -> Iterator[str]:
    for result in plaque.results:
        if not result.findings:
            continue
        yield ""
        yield f"{result.promise}:"
        yield from (f"- {_sentence(finding)}" for finding in result.findings[:MOST_FINDINGS])
        if (more := len(result.findings) - MOST_FINDINGS) > 0:
            yield f"- and {more} more; --json lists all"


def _sentence(finding: Finding) -> str:
    place = "" if finding.place_mm is None else " at x {:.2f}, y {:.2f} mm".format(*finding.place_mm)
    return f"{finding.what}{place}: {finding.advice}"


def _last_line(verdict: Verdict) -> str:
    if verdict.holds:
        skipped = dict.fromkeys(r.promise for p in verdict.every for r in p.results if r.holds is None)
        rest = f" Not tested for want of files: {', '.join(skipped)}." if skipped else ""
        return "All promises hold on the files as written." + rest
    failed = [f"{p.name}: {r.promise}" for p in verdict.every for r in p.results if r.holds is False]
    return "Not kept: " + "; ".join(failed) + "."
