"""What SVG 2 can say of a drawing that these files don't use, and that moves, hides or adds what a viewer shows."""

from __future__ import annotations

import copy
from xml.etree import ElementTree

from damage_kinds.kinds import COMPLETE, FAITHFUL, FIGURES, MARKED, NO_GOUGE, SOUND, STAYS_DARK, SVG, TRUE_SIZE, drawn
from damage_kinds.svg_sheet import SVG as NS
from damage_kinds.svg_sheet import SvgSheet
from damage_kinds.things import NotHereError, Sheet

Element = ElementTree.Element
ANYTHING = (MARKED, TRUE_SIZE, FAITHFUL, NO_GOUGE, STAYS_DARK)


def construct(name: str, *promises: str, on: str = "carve", bases: tuple[str, ...] = ("photo",)):
    """Enter what is done to an SVG file's tree: a function of its root and its layers by role."""

    def enter(spoil):
        @drawn(f"SVG: {name}", *(promises or ANYTHING), on=on, forms=(SVG,), unread=True, bases=bases)
        def _(sheet: Sheet) -> None:
            if not isinstance(sheet, SvgSheet):
                raise NotHereError("SVG only")
            spoil(sheet.root, {group.get("data-role"): group for group in sheet.groups})

        return spoil

    return enter


def attribute(name: str, role: str | None, key: str, value: str, *promises: str, on: str = "carve") -> None:
    """Enter an attribute set on a layer, or on the root."""

    @construct(name, *promises, on=on, bases=("photo",) if on == "carve" else ("tone",))
    def _(root: Element, layers: dict[str, Element]) -> None:
        (layers[role] if role else root).set(key, value)


for _value, _words in (("translate(1,0)", "moves"), ("scale(0.99)", "scales"), ("rotate(2)", "turns"),
                       ("matrix(-1 0 0 1 110 0)", "mirrors")):  # fmt: skip
    attribute(f"a transform on the root {_words} all", None, "transform", _value)
    attribute(f"a transform {_words} the shadows", "shadow", "transform", _value)
    attribute(f"a transform {_words} the paths", "cutter-path", "transform", _value)
attribute("a transform moves the openings", "opening", "transform", "translate(1,1)", on="stencil")
attribute("a transform moves the template's openings", "opening", "transform", "translate(1,1)", on="template")
attribute("a style moves the shadows", "shadow", "style", "transform: translate(2px, 0)")
attribute("a style hides the walls", "pocket", "style", "display:none", MARKED)
attribute("a style makes the V lines invisible", "v-line", "style", "visibility: hidden", MARKED)
attribute("a style hides the stencil's openings", "opening", "style", "display:none", MARKED, on="stencil")
attribute("shadows are transparent", "shadow", "opacity", "0", MARKED)
attribute("strokes of paths are transparent", "cutter-path", "stroke-opacity", "0", MARKED)
attribute("walls are invisible", "pocket", "visibility", "hidden", MARKED)
attribute("walls collapse", "pocket", "visibility", "collapse", MARKED)
attribute("strokes of walls are none", "pocket", "stroke", "none", MARKED)
attribute("a class of no style sheet", "pocket", "class", "cls-1", MARKED)
attribute("a clip path on the shadows", "shadow", "clip-path", "url(#clip)", MARKED)
attribute("a mask on the shadows", "shadow", "mask", "url(#mask)", MARKED)
attribute("a filter on the walls", "pocket", "filter", "url(#blur)", MARKED)
attribute("the root is hidden", None, "display", "none", MARKED)
attribute("the root is transparent", None, "opacity", "0", MARKED)
attribute("the root has a style that scales", None, "style", "zoom: 0.5")
attribute("text on all of it in another size", "note", "style", "font-size: 0", MARKED)


@construct("a transform on one shape")
def _(root: Element, layers: dict[str, Element]) -> None:
    layers["cutter-path"][0].set("transform", "translate(0.7 0)")


@construct("one shape is hidden", MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    layers["shadow"][0].set("display", "none")


@construct("one shape is hidden by its style", MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    layers["v-line"][0].set("style", "display:none")


@construct("a style sheet hides the walls", MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    root.insert(0, made("style", "[data-role=pocket] { display: none }"))


@construct("a style sheet moves all paths")
def _(root: Element, layers: dict[str, Element]) -> None:
    root.insert(0, made("style", "path { transform: translate(1px, 1px) }"))


def wrapped(words: str, tag: str, **attributes: str) -> None:
    @construct(f"the shadow's layer {words}", MARKED, TRUE_SIZE, FAITHFUL, COMPLETE)
    def _(root: Element, layers: dict[str, Element]) -> None:
        at = list(root).index(layers["shadow"])
        root.remove(layers["shadow"])
        outer = made(tag, **attributes)
        outer.append(layers["shadow"])
        root.insert(at, outer)


wrapped("in a group that is moved", "g", transform="translate(1 2)")
wrapped("in a group that is hidden", "g", display="none")
wrapped("in a drawing of another scale", "svg", x="0", y="0", width="50", height="50", viewBox="0 0 110 80")
wrapped("in a link", "a", href="x", transform="scale(1.01)")
wrapped("in a switch", "switch", systemLanguage="xx")
wrapped("in defs, so never drawn", "defs")
wrapped("in a symbol, so never drawn", "symbol", id="s")
wrapped("in a clip path, so never drawn", "clipPath", id="c")
wrapped("in a pattern, so never drawn", "pattern", id="p")
wrapped("in a marker, so never drawn", "marker", id="m")


def added(words: str, role: str | None, tag: str, *promises: str, **attributes: str) -> None:
    """Enter a shape of a kind that the files don't use, on a layer or beside all of them."""

    @construct(words, *(promises or (MARKED, SOUND, NO_GOUGE, FAITHFUL)))
    def _(root: Element, layers: dict[str, Element]) -> None:
        (layers[role] if role else root).append(made(tag, **attributes))


added("a rectangle on the layer of walls", "pocket", "rect", x="20", y="20", width="10", height="10")
added("a rectangle on the layer of paths", "cutter-path", "rect", x="2", y="2", width="10", height="3")
added("an ellipse on the layer of paths", "cutter-path", "ellipse", cx="20", cy="3", rx="10", ry="1")
added("a line on the layer of V lines", "v-line", "line", x1="2", y1="2", x2="90", y2="2")
added("a polyline on the layer of V lines", "v-line", "polyline", points="2,2 90,2 90,70")
added("a polygon on the layer of shadows", "shadow", "polygon", points="2,2 9,2 9,7")
added("a circle on the layer of shadows", "shadow", "circle", cx="5", cy="40", r="2")
added("a path beside all layers", None, "path", MARKED, SOUND, NO_GOUGE, d="M 2 2 L 90 2", stroke="#000", fill="none")
added("a use of the whole layer of paths, moved", None, "use", MARKED, NO_GOUGE, href="#cutter-path-3_00mm", x="5")
added("a picture over all of it", None, "image", MARKED, href="a.png", width="110", height="80")
added("a picture on the layer of walls", "pocket", "image", MARKED, href="a.png", width="110", height="80")
added("a foreign object", None, "foreignObject", MARKED, width="50", height="50")
added(
    "a movement over time on the shadows",
    "shadow",
    "animateTransform",
    MARKED,
    attributeName="transform",
    type="translate",
    to="5",
    fill="freeze",
)  # noqa: E501
added("a value set over time on the walls", "pocket", "set", MARKED, attributeName="display", to="none")
added("a script", None, "script", MARKED, href="x.js")
added("a text on the layer of paths", "cutter-path", "text", MARKED, x="20", y="20")
added("a path without data on the layer of walls", "pocket", "path", MARKED, SOUND)
added("a path of one point on the layer of paths", "cutter-path", "path", MARKED, SOUND, d="M 5 5 Z")
added("a path of no length on the layer of V lines", "v-line", "path", MARKED, SOUND, STAYS_DARK, d="M 5 5 L 5 5")
added("a group without a role that holds nothing but its name", None, "g", MARKED, id="pocket-9_00mm")


def data(words: str, change, role: str = "cutter-path", *promises: str) -> None:
    """Enter a path's data that other programs write, or that nobody should."""

    @construct(words, MARKED, SOUND, COMPLETE, NO_GOUGE, FAITHFUL, STAYS_DARK, *promises)
    def _(root: Element, layers: dict[str, Element]) -> None:
        path = layers[role][0]
        path.set("d", change(path.get("d")))


data("a curve in the path's data", lambda d: d.replace("Z", "C 5 5 9 9 20 20 Z", 1))
data("a second ring in the path's data", lambda d: d + " M 2 2 L 12 2 L 12 5 Z")
data("a relative move in the path's data", lambda d: d.replace("L", "l", 1) if "L" in d else d.replace("A", "a", 1))
data("nan in the path's data", lambda d: d.replace("M ", "M nan ", 1))
data("a number too few in the path's data", lambda d: " ".join(d.split()[:-2]) + " Z")
data("1e308 in the path's data", lambda d: d.replace("Z", "L 1e308 1e308 Z"))
data("a point far outside the page", lambda d: d.replace("Z", "L 9000 9000 Z"))
data("the path's data cut off", lambda d: d[: len(d) // 2])
data("a decimal comma in the path's data", lambda d: d.replace(".", ","))
data("an arc of two radii", lambda d: _arc(d, 2, lambda radius: radius * 2), "shadow")
data("an arc's flags turned", lambda d: _arc(d, 4, lambda flag: 1 - flag), "shadow")
data("an arc of no radius", lambda d: _arc(d, 1, lambda radius: 0.0), "shadow")
data("an arc's radius below its chord's half", lambda d: _arc(_arc(d, 1, lambda r: 0.01), 2, lambda r: 0.01), "shadow")
data("the path's data end in a letter of no meaning", lambda d: d + " W 5")


def _arc(d: str, at: int, change) -> str:
    """Change one number of the largest arc in a path's data: radii 1 and 2, large 4, sweep 5."""
    words = d.split()
    arcs = [number for number, word in enumerate(words) if word == "A"]
    if not arcs:
        raise NotHereError("no arc")
    best = max(arcs, key=lambda number: float(words[number + 1]) if float(words[number + 1]) < 30 else 0)
    words[best + at] = f"{change(float(words[best + at])):g}"
    return " ".join(words)


@construct("a layer given twice", MARKED, SOUND, FIGURES, FAITHFUL)
def _(root: Element, layers: dict[str, Element]) -> None:
    root.append(copy.deepcopy(layers["pocket"]))


@construct("two layers of one name", MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    layers["v-line"].set("id", "shadow")


@construct("a layer's name gone", MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    del layers["shadow"].attrib["id"]


@construct("a layer's role gone", MARKED, FAITHFUL, COMPLETE)
def _(root: Element, layers: dict[str, Element]) -> None:
    del layers["shadow"].attrib["data-role"]


@construct("a role of no meaning", MARKED, FAITHFUL, COMPLETE)
def _(root: Element, layers: dict[str, Element]) -> None:
    layers["shadow"].set("data-role", "engrave")


@construct("shapes of a layer lie beside it", MARKED, STAYS_DARK, FIGURES, COMPLETE)
def _(root: Element, layers: dict[str, Element]) -> None:
    for path in list(layers["cutter-path"]):
        layers["cutter-path"].remove(path)
        root.append(path)


@construct("shapes of a layer in a group of their own that is moved")
def _(root: Element, layers: dict[str, Element]) -> None:
    inner = made("g", transform="translate(0 1)")
    inner.extend(list(layers["shadow"]))
    for path in list(layers["shadow"]):
        layers["shadow"].remove(path)
    layers["shadow"].append(inner)


@construct("a shape's namespace is another", MARKED, FAITHFUL, STAYS_DARK, FIGURES, COMPLETE)
def _(root: Element, layers: dict[str, Element]) -> None:
    for path in layers["shadow"]:
        path.tag = "{http://example.org/other}path"


@construct("the root is no svg", COMPLETE, MARKED)
def _(root: Element, layers: dict[str, Element]) -> None:
    root.tag = NS + "g"


@construct("the drawing's namespace is another", COMPLETE, MARKED, FAITHFUL)
def _(root: Element, layers: dict[str, Element]) -> None:
    for element in root.iter():
        element.tag = element.tag.replace("2000/svg", "1999/svg")


@construct("all layers gone", COMPLETE, MARKED, FAITHFUL, TRUE_SIZE)
def _(root: Element, layers: dict[str, Element]) -> None:
    for group in root.findall(NS + "g"):
        root.remove(group)


def made(tag: str, text: str = "", **attributes: str) -> Element:
    element = ElementTree.Element(NS + tag, attributes)
    element.text = text or None
    return element
