"""Layers and marks complete: every layer has a known role, every shape the numbers that its role needs."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from shadowrout.check.drawing_file import MM, DrawingFile, Shape, role_of_layer
from shadowrout.check.edge_last import edge_too_early
from shadowrout.check.findings import Finding, Promise, PromiseResult, result
from shadowrout.check.folder import PlaqueFiles
from shadowrout.words.sentences import Mm, Sentence

NEEDED = {
    "pocket": ("depth_mm", "cutter_mm"),
    "cutter-path": ("depth_mm", "cutter_mm"),
    "v-line": ("depth_mm", "width_mm"),
    "fragile-light": ("width_mm",),
}
"""The marks that the shapes of a role must carry."""

_HIDDEN_ROLES = ("fragile-light",)
"""Reference lines: their layers, and no others, are switched off in the file."""

_DEEP_ROLES = ("pocket", "cutter-path")
"""Roles whose layers have their depth, and their cutter, in the name."""
_LENGTH = r"(?:\d{1,6} )?\d{1,6}/[1-9]\d{0,5}|\d{1,6}(?:\.\d{1,9})?"
"""A number as people write it: whole, with decimals, or with a fraction."""
_NOTE = re.compile(rf"(\d{{1,6}})(?:: (wall, depth|centre, cutter|depth) ({_LENGTH}) (mm|in))?", re.ASCII)
"""A note on one pocket: its number and, where it says more, which line, and the depth or the cutter."""
_FOR_ALL = re.compile(r"pocket lines: wall, cutter-path lines: centre, cutter (.+)", re.ASCII)
"""The one note that tells what the lines of all pockets are."""
_CUTTER = re.compile(rf"({_LENGTH}) (mm|in)(?: in (\d[\d, to]*))?", re.ASCII)
"""A cutter in that note, and the pockets that it is for where there are several cutters."""
_RUN = re.compile(r"(\d{1,6})(?: to (\d{1,6}))?", re.ASCII)
"""A pocket's number, or the first and last of a run."""
_BOTH = {"wall, depth", "centre, cutter"}
"""What tells a pocket's wall and its cutter's path apart."""
_ROUNDING = {"mm": 0.006, "in": 0.02}
"""What a note's decimals leave open: half of 0.01 mm or of 0.001 in, and a little for binary fractions."""
_ADVICE = "make the plaque again; don't rename layers or strip data in another program"


def check(plaque: PlaqueFiles) -> PromiseResult:
    """Return how many layers and shapes were looked at, and what is missing or wrong about them."""
    findings = plaque.found(Promise.MARKED)
    for file in plaque.drawings.values():
        found = [*_layer_faults(file), *_mark_faults(file), *_head_faults(file), *edge_too_early(file)]
        if file.name.startswith("carve"):
            found += [*_missing_layers(file, plaque), *_note_faults(file, plaque.figures.get("pockets"))]
        findings += [finding.within(file.name) for finding in found]
    layers = sum(len(file.layers) for file in plaque.drawings.values())
    shapes = sum(len(file.shapes) for file in plaque.drawings.values())
    measured = f"{len(dict.fromkeys(findings))} faults in {layers} layers, {shapes} shapes"
    return result(Promise.MARKED, measured, "0 faults", findings)


def _layer_faults(file: DrawingFile) -> Iterator[Finding]:
    used = {shape.layer for shape in file.shapes}
    for layer in dict.fromkeys([*file.layers, *used]):
        role = role_of_layer(layer)
        if not role:
            yield Finding(None, f"layer {layer or '(no name)'} has no role's name", _ADVICE)
        elif role in _DEEP_ROLES and layer.lower() == role:
            yield Finding(None, f"layer {layer} doesn't say its depth in its name", _ADVICE)
        elif role not in _DEEP_ROLES and layer.lower() != role and not re.search(r"-\d+_\d+(mm|in)$", layer.lower()):
            yield Finding(None, f"layer {layer} has a name that is no role's", _ADVICE)
        if layer not in used:
            yield Finding(None, f"layer {layer} is empty", _ADVICE)
        if (layer in file.hidden) != (role in _HIDDEN_ROLES):
            yield Finding(None, f"layer {layer} is switched {'off' if layer in file.hidden else 'on'}", _ADVICE)
    for layer in (name for name, times in Counter(file.layers).items() if times > 1):
        yield Finding(None, f"two layers have the name {layer}", _ADVICE)


def _mark_faults(file: DrawingFile) -> Iterator[Finding]:
    """Yield what is missing on the shapes of each layer, once a layer with the number of shapes."""
    faults: dict[str, list[tuple[float, float]]] = {}
    for shape in file.shapes:
        role = role_of_layer(shape.layer)
        if shape.role != role and role:
            said = f"says its role is {shape.role}" if shape.role else "doesn't say its role"
            faults.setdefault(f"layer {shape.layer}: a shape {said}", []).append(shape.place)
        for name in NEEDED.get(role, ()):
            if name not in shape.marks:
                faults.setdefault(f"layer {shape.layer}: a shape has no mark {name}", []).append(shape.place)
            elif shape.marks[name] <= 0:
                what = f"layer {shape.layer}: a shape's mark {name} is {shape.marks[name]:g}"
                faults.setdefault(what, []).append(shape.place)
    for what, places in faults.items():
        times = f" ({len(places)} of them)" if len(places) > 1 else ""
        yield Finding(places[0], what + times, _ADVICE)


def _head_faults(file: DrawingFile) -> Iterator[Finding]:
    if not file.shapes:
        return
    for name in ("title", "description"):
        if not file.titles.get(name):
            yield Finding(None, f"has no {name}", _ADVICE)


def _missing_layers(file: DrawingFile, plaque: PlaqueFiles) -> Iterator[Finding]:
    if not file.shapes:
        return
    needed = ["plaque-edge", "shadow"]
    if plaque.figures.get("pockets"):
        needed += ["pocket", "cutter-path", "note"]
    lines = plaque.figures.get("v_lines")
    if isinstance(lines, dict) and lines.get("count"):
        needed.append("v-line")
    fragile = plaque.figures.get("fragile_light")
    if isinstance(fragile, dict) and fragile.get("count"):
        needed.append("fragile-light")
    there = {role_of_layer(shape.layer) for shape in file.shapes}
    for role in needed:
        if role not in there:
            yield Finding(None, f"the layer {role} is missing", _ADVICE)


def _note_faults(file: DrawingFile, pockets: Any) -> Iterator[Finding]:
    """Yield what is wrong with the notes beside the pockets: each has its number, its depth and its cutter.

    What is its wall and what its cutter's path is said by itself, or by one note for all.
    """
    notes = [shape for shape in file.shapes if shape.text and role_of_layer(shape.layer) == "note"]
    if not isinstance(pockets, list) or not file.shapes:
        return
    known = {pocket.get("number"): pocket for pocket in pockets if isinstance(pocket, dict)}
    told: dict[int, set[str]] = {}
    for_all = False
    for note, text in _sentences(notes):
        if all_of := _FOR_ALL.fullmatch(text):
            for_all = True
            yield from _cutter_faults(note, all_of[1], list(known.values()))
            continue
        found = _NOTE.fullmatch(text)
        if not found:
            yield Finding(note.at, f"the note {text!r} says nothing of a pocket", _ADVICE)
            continue
        pocket = known.get(int(found[1]))
        if pocket is None:
            yield Finding(note.at, f"a note tells of pocket {found[1]}, which numbers.json doesn't know", _ADVICE)
            continue
        told.setdefault(int(found[1]), set()).add(found[2] or "")
        if found[2]:
            key = "cutter_mm" if found[2].endswith("cutter") else "depth_mm"
            if not _agree(found[3], found[4], float(pocket.get(key, 0))):
                clash = Sentence(
                    "the note {note!r} contradicts numbers.json, which gives {given:g mm}",
                    note=text,
                    given=Mm(float(pocket.get(key, 0))),
                )
                yield Finding(note.at, clash, _ADVICE)
    yield from _untold(list(known), told, for_all=for_all)


def _untold(numbers: Sequence[Any], told: dict[int, set[str]], *, for_all: bool) -> Iterator[Finding]:
    """Yield the pockets that no note tells of, and those whose wall and path no note tells apart."""
    for number in numbers:
        said = told.get(number)
        if said is None:
            yield Finding(None, f"pocket {number} has no note", _ADVICE)
        elif not for_all and not said >= _BOTH:
            what = f"no note says which line of pocket {number} is its wall and which its cutter's path"
            yield Finding(None, what, _ADVICE)


def _cutter_faults(note: Shape, words: str, pockets: Sequence[dict[str, Any]]) -> Iterator[Finding]:
    """Yield where a note for all pockets names other cutters than theirs, or gives one to other pockets."""
    told = list(_told_cutters(words, [pocket.get("number", 0) for pocket in pockets]))
    known = {pocket.get("number"): float(pocket.get("cutter_mm", 0)) for pocket in pockets}
    agreeing = [number for number, length, unit in told if number in known and _agree(length, unit, known[number])]
    if not len(agreeing) == len(told) == len(known) == len(set(agreeing)):
        cutters = set(known.values())
        what = Sentence(
            "the note for all pockets, 'cutter {words}', contradicts numbers.json, which gives {given}",
            words=words,
            given=Sentence.joined([Sentence("{cutter:g mm}", cutter=Mm(cutter)) for cutter in sorted(cutters)]),
        )
        yield Finding(note.at, what, _ADVICE)


def _told_cutters(words: str, numbers: Sequence[int]) -> Iterator[tuple[Any, str, str]]:
    """Yield each pocket's number with its cutter as written: the one cutter is that of all pockets."""
    for part in words.split("; "):
        found = _CUTTER.fullmatch(part)
        runs = [_RUN.fullmatch(run) for run in found[3].split(", ")] if found and found[3] else []
        if found is None or any(run is None or int(run[2] or run[1]) > max(numbers, default=0) for run in runs):
            yield None, "0", "mm"
            continue
        listed = [n for run in runs if run for n in range(int(run[1]), int(run[2] or run[1]) + 1)]
        yield from ((number, found[1], found[2]) for number in (listed if runs else numbers))


def _agree(number: str, unit: str, length_mm: float) -> bool:
    """Return whether a length as written, a fraction perhaps, is this one."""
    said_mm = float(sum(map(Fraction, number.split()))) * MM[unit]
    return abs(said_mm - length_mm) <= _ROUNDING[unit]


def _sentences(notes: Sequence[Shape]) -> Iterator[tuple[Shape, str]]:
    """Yield each note's text with where it begins; what ends in a comma, colon or semicolon goes on in the next."""
    begun: list[Shape] = []
    for note in notes:
        begun.append(note)
        if not note.text.strip().endswith((",", ":", ";")):
            yield begun[0], " ".join(part.text.strip() for part in begun)
            begun = []
    if begun:
        yield begun[0], " ".join(part.text.strip() for part in begun)
