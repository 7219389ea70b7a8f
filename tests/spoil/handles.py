"""What a damage is, and hands on a plaque's files: SVG is changed as XML, DXF with ezdxf, the rest as bytes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

import ezdxf

from shadowrout.check.findings import Promise

SVG = "{http://www.w3.org/2000/svg}"
APPLICATION = "SHADOWROUT"


@dataclass(frozen=True)
class Damage:
    """One way to spoil a folder; ``words`` must all stand in one finding against ``promise``.

    ``spoil`` takes the plaque's folder; ``whole`` names the whole folder it is meant for, of ``spoil.folders``.
    """

    name: str
    spoil: Callable[[Path], None]
    promise: Promise
    words: tuple[str, ...]
    whole: str


DAMAGES: list[Damage] = []


def damage(promise: Promise, *words: str, whole: str = "drawn"):
    def register(spoil):
        DAMAGES.append(Damage(spoil.__name__, spoil, promise, words, whole))
        return spoil

    return register


# Handles on the files


@contextmanager
def svg(place: Path, name: str = "carve.svg") -> Iterator[ElementTree.Element]:
    """Give the root of an SVG file, which is written back."""
    ElementTree.register_namespace("", SVG[1:-1])
    root = ElementTree.fromstring((place / name).read_bytes())
    yield root
    (place / name).write_bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


@contextmanager
def dxf(place: Path, name: str = "carve.dxf") -> Iterator[ezdxf.document.Drawing]:
    """Give the document of a DXF file, which is written back."""
    document = ezdxf.readfile(place / name)
    yield document
    document.saveas(place / name)


@contextmanager
def figures(place: Path) -> Iterator[dict]:
    """Give what numbers.json holds, which is written back."""
    path = place.parent / "numbers.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    yield told
    path.write_text(json.dumps(told), encoding="utf-8")


def group(root: ElementTree.Element, role: str) -> ElementTree.Element:
    return next(g for g in root.iter(f"{SVG}g") if g.get("data-role") == role)


def entities(document, role: str) -> list:
    wanted = f"role={role}"
    return [e for e in document.modelspace() if any(tag.value == wanted for tag in strings(e))]


def strings(entity) -> list:
    return [tag for tag in entity.get_xdata(APPLICATION) if tag.code == 1000]


def mark(entity, **values: float) -> None:
    """Change numbers in an entity's extended data."""
    kept = [tag.value for tag in strings(entity) if tag.value.split("=")[0] not in values]
    entity.set_xdata(APPLICATION, [(1000, text) for text in [*kept, *(f"{k}={v:g}" for k, v in values.items())]])


def replace_text(place: Path, name: str, old: str, new: str, *, count: int = -1) -> None:
    text = (place / name).read_text(encoding="utf-8")
    assert old in text, f"{name} has no {old!r} to spoil"
    (place / name).write_text(text.replace(old, new, count), encoding="utf-8")


# One path's data as (command, radius, large, sweep, end) after its start; closing lines made explicit.


def pieces(d: str) -> tuple[complex, list[tuple], bool]:
    words = d.split()
    start = end = complex(float(words[1]), float(words[2]))
    parts, at = [], 3
    while at < len(words) and words[at] != "Z":
        if words[at] == "L":
            end = complex(float(words[at + 1]), float(words[at + 2]))
            parts.append(("L", "", "", "", end))
            at += 3
        else:
            end = complex(float(words[at + 6]), float(words[at + 7]))
            parts.append(("A", words[at + 1], words[at + 4], words[at + 5], end))
            at += 8
    closed = words[-1] == "Z"
    if closed and end != start:
        parts.append(("L", "", "", "", start))
    return start, parts, closed


def data(start: complex, parts: list[tuple], closed: bool) -> str:
    words = [f"M {start.real:.6g} {start.imag:.6g}"]
    for command, radius, large, sweep, end in parts:
        arc = f" {radius} {radius} 0 {large} {sweep}" if command == "A" else ""
        words.append(f"{command}{arc} {end.real:.6g} {end.imag:.6g}")
    return " ".join([*words, *(["Z"] if closed else [])])


def turned(d: str) -> str:
    start, parts, closed = pieces(d)
    starts = [start, *(part[4] for part in parts)][:-1]
    back = [(c, r, large, "01"[s == "0"], a) for a, (c, r, large, s, _) in zip(starts, parts, strict=True)]
    return data(parts[-1][4], back[::-1], closed)


def moved(d: str, shift: complex, *, only: int | None = None) -> str:
    """Return the path with all its points moved, or the end of one piece."""
    start, parts, closed = pieces(d)
    if only is None:
        return data(start + shift, [(*p[:4], p[4] + shift) for p in parts], closed)
    parts[only] = (*parts[only][:4], parts[only][4] + shift)
    return data(start, parts, closed)


def largest(elements, *, least_pieces: int = 1) -> ElementTree.Element:
    """Return the path with the widest spread in x, of those with so many pieces."""

    def spread(element) -> float:
        start, parts, _ = pieces(element.get("d"))
        xs = [start.real, *(p[4].real for p in parts)]
        return max(xs) - min(xs)

    return max((e for e in elements if len(pieces(e.get("d"))[1]) >= least_pieces), key=spread)


def a_hole(root: ElementTree.Element, role: str) -> ElementTree.Element:
    """Return a path that runs clockwise with y up, so counter-clockwise as the file's numbers have it."""
    return next(p for p in group(root, role) if p.tag == f"{SVG}path" and _area_down(p.get("d")) > 0)


def _area_down(d: str) -> float:
    """Twice the area with y down, mirrored in sign: positive for a hole; arcs count by a point on them."""
    start, parts, _ = pieces(d)
    points, last = [start], start
    for command, radius, large, sweep, end in parts:
        if command == "A":
            points.append(_on_arc(last, end, float(radius), large == "1", sweep == "1"))
        points.append(end)
        last = end
    rolled = points[1:] + points[:1]
    return sum((a.conjugate() * b).imag for a, b in zip(points, rolled, strict=True))


def _on_arc(a: complex, b: complex, radius: float, large: bool, sweep: bool) -> complex:
    """Return the middle of an arc: off the chord's middle by r minus or plus the centre's distance from the chord."""
    half = abs(b - a) / 2
    off = max(0.0, radius**2 - half**2) ** 0.5
    rise = radius + off if large else radius - off
    return (a + b) / 2 + (-1j if sweep else 1j) * (b - a) / abs(b - a) * rise
