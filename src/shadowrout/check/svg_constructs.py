"""What may stand in an SVG file beside its outlines: known elements, each with known attributes that leave it as drawn.

Whatever else there is, a style, a clip path, a mask, a link, a script, may hide, move or restyle what is cut, and
programs differ in what they make of it. None of it is followed: each is told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from xml.etree import ElementTree

from shadowrout.check.drawing_file import MARKS
from shadowrout.check.findings import Promise
from shadowrout.check.untrusted import number, shown

SVG = "{http://www.w3.org/2000/svg}"
PROPERTY = "{urn:shadowrout}property"

_PROPERTIES = "{urn:shadowrout}properties"
_SHAPES = ("path", "circle", "text")
_LAID = {
    "svg": ("title", "desc", "metadata", "defs", "g", *_SHAPES),
    "g": _SHAPES,
    "metadata": (_PROPERTIES,),
    _PROPERTIES: (PROPERTY,),
}
"""What an element may hold; others hold none. A shape beside the layers is told of as one without a layer."""

_ONCE = ("title", "desc", "metadata", "defs")

_TRANSFORMING = frozenset({"transform", "viewBox", "preserveAspectRatio", "zoomAndPan", "transform-origin"})
"""Attributes that move or scale what is drawn (SVG 2, chapter 8)."""

_WHITE = 0xF0
"""A colour whose channels are all as light can't be told from paper (a judgement)."""
_WIDEST_MM = 1.0
"""A line drawn wider hides what lies beside it; files have 0.2 mm."""
_COLOUR = re.compile(r"#[0-9a-f]{6}", re.IGNORECASE)


def _is_seen(colour: str) -> bool:
    channels = (colour[1:3], colour[3:5], colour[5:7])
    return bool(_COLOUR.fullmatch(colour)) and any(int(channel, 16) < _WHITE for channel in channels)


def _is_anything(value: str) -> bool:
    return True


def _one_of(*values: str) -> Callable[[str], bool]:
    return values.__contains__


_SHAPE = {"id": _is_anything, "display": _is_anything, "visibility": _is_anything}
_ATTRIBUTES: dict[str, dict[str, Callable[[str], bool]]] = {
    "svg": dict.fromkeys(("baseProfile", "version", "width", "height", "viewBox"), _is_anything),
    "g": {
        **_SHAPE,
        "fill": _one_of("none"),
        "stroke": _is_seen,
        "stroke-linejoin": _one_of("round", "miter", "bevel"),
        "stroke-width": _is_anything,
    },
    "path": {**_SHAPE, "d": _is_anything},
    "circle": {**_SHAPE, **dict.fromkeys(("cx", "cy", "r"), _is_anything)},
    "text": {
        **_SHAPE,
        **dict.fromkeys(("x", "y", "font-family", "font-size", "text-anchor", "transform"), _is_anything),
        "fill": _is_seen,
        "stroke": _one_of("none"),
    },
    PROPERTY: dict.fromkeys(("name", "value"), _is_anything),
}
"""The attributes of each element, and which values leave it as drawn; the marks may stand everywhere.

Whether it is shown, and how a text is transformed, is looked at where the shape is read.
"""

_MARKS = tuple(f"data-{name.replace('_', '-')}" for name in ("role", *MARKS))


def oddities(root: ElementTree.Element, *, unit_mm: float) -> Iterator[tuple[Promise, str]]:
    """Yield all that isn't promised in a file, by the promise that it touches, in words that follow after its name.

    What stands within an unknown element is passed over: that one is told of.
    """
    yield from _attributes(root, _ATTRIBUTES["svg"], unit_mm)
    yield from _inside(root, "", unit_mm)
    for tag in _ONCE:
        if len(root.findall(SVG + tag)) > 1:
            yield Promise.MARKED, f"holds two elements {tag}"


def _inside(holder: ElementTree.Element, layer: str, unit_mm: float) -> Iterator[tuple[Promise, str]]:
    laid = _LAID.get(_plain(holder.tag), ())
    for child in holder:
        tag = _plain(child.tag)
        own = layer or (shown(child.get("id", "")) if tag == "g" else "")
        if tag not in laid:
            where = f"layer {layer} holds" if layer else "holds"
            yield Promise.MARKED, f"{where} a {_short(tag)} in its {_short(holder.tag)}, which is not promised"
        where = f"layer {own}: " if own else ""
        known = _ATTRIBUTES.get(tag) if tag != "svg" else None
        yield from ((promise, where + what) for promise, what in _attributes(child, known, unit_mm))
        if tag in laid or tag == "g":
            yield from _inside(child, own, unit_mm)


def _attributes(
    element: ElementTree.Element, known: Mapping[str, Callable[[str], bool]] | None, unit_mm: float
) -> Iterator[tuple[Promise, str]]:
    """Yield what isn't promised of an element's attributes; of an unknown one (None) only what moves or scales."""
    tag = _plain(element.tag)
    for name, value in element.attrib.items():
        said = f"{_short(name)} ({shown(value)})"
        if name in _TRANSFORMING and name not in (known or ()):
            named = shown(element.get("id") or _short(tag))
            yield Promise.TRUE_SIZE, f"a {said} on {named} moves or scales what is drawn"
        elif known is None or name in _MARKS:
            continue
        elif name not in known:
            yield Promise.MARKED, f"a {_short(tag)} has the attribute {said}, which is not promised"
        elif not known[name](value) or (name == "stroke-width" and not _is_thin(value, unit_mm)):
            yield Promise.MARKED, f"a {_short(tag)} has the {said}, so it isn't seen as a line on white"


def _is_thin(width: str, unit_mm: float) -> bool:
    try:
        return 0 < number(width) * unit_mm <= _WIDEST_MM
    except ValueError:
        return False


def _plain(tag: str) -> str:
    return tag.removeprefix(SVG)


def _short(name: str) -> str:
    """Return a name without its namespace, which says to whom it belongs and not what it is."""
    return shown(name.rpartition("}")[2])
