"""Files complete: everything that the job asks for is there, whole, and nothing half-written is left."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from pathlib import Path

from shadowrout.check.findings import Finding, Promise, PromiseResult, result
from shadowrout.check.folder import DRAWINGS, PlaqueFiles
from shadowrout.check.untrusted import UnusableFileError, bytes_of

_PNG = b"\x89PNG\r\n\x1a\n"
"""The signature (PNG, 5.2)."""
_MOST_BYTES = 200_000_000
"""Ten times the largest picture or pattern of the largest board."""
_AGAIN = "make the plaque again"
_EMPTY = "holds no shape that can be read"
"""Follows from whatever else was found while reading, and is told only where nothing was."""


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return how many files are there, and which are missing, empty, cut off or left over."""
    findings = plaque.found(Promise.COMPLETE)
    expected = _expected(plaque)
    told = {finding.file for finding in findings}
    for name in expected:
        faults = faults_of(plaque.folder / name, plaque)
        findings += [Finding(None, f"{name}: {what}", _AGAIN) for what in faults if what != _EMPTY or name not in told]
    if plaque.folder.is_dir():
        for part in sorted(plaque.folder.glob(".shadowrout-*.part")):
            findings.append(Finding(None, f"{part.name}: is left over from an interrupted run", "remove it"))
    faulty = {finding.file for finding in findings}
    whole = sum(name not in faulty for name in expected)
    return result(Promise.COMPLETE, f"{whole} of {len(expected)} files whole", "all, whole", findings)


def _expected(plaque: PlaqueFiles) -> list[str]:
    """Return the files that the job asks for and those that numbers.json lists, each once."""
    asked = [f"{stem}{s}" for stem in DRAWINGS if stem in plaque.job.output.files for s in (".svg", ".dxf")]
    listed = plaque.figures.get("files")
    names = [name for name in listed if isinstance(name, str)] if isinstance(listed, list) else []
    return list(dict.fromkeys([*asked, *names]))


def faults_of(path: Path, plaque: PlaqueFiles) -> Iterator[str]:
    """Yield what is wrong with one file: that it is missing, empty, cut off or damaged."""
    if not path.is_file():
        yield "is missing"
        return
    try:
        content = bytes_of(path, most=_MOST_BYTES)
    except UnusableFileError as problem:
        yield str(problem)
        return
    if not content:
        yield "is empty"
    elif path.suffix == ".pdf" and not (content.startswith(b"%PDF-") and content.rstrip().endswith(b"%%EOF")):
        yield "is no whole PDF: it is cut off or damaged"
    elif path.suffix == ".png" and not _whole_png(content):
        yield "is no whole PNG: it is cut off or damaged"
    elif path.name in plaque.drawings and not plaque.drawings[path.name].shapes:
        yield _EMPTY


def _whole_png(content: bytes) -> bool:
    """Return whether every chunk is whole and its checksum right, down to IEND (PNG, 5.3)."""
    if not content.startswith(_PNG):
        return False
    at = len(_PNG)
    while at + 12 <= len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        body = content[at + 4 : at + 8 + length]
        if content[at + 8 + length : at + 12 + length] != zlib.crc32(body).to_bytes(4, "big"):
            return False
        if body[:4] == b"IEND":
            return True
        at += 12 + length
    return False
