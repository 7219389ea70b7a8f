"""What a strict HTML parser (html5lib) finds in a page, and what is wrong with it for a reader or a screen reader."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import html5lib

HTML = "{http://www.w3.org/1999/xhtml}"


def parsed(page: bytes) -> Element:
    """Return the page's tree; raises html5lib's ParseError at the first breach of the HTML standard's syntax."""
    return html5lib.HTMLParser(strict=True).parse(page.decode("utf-8"))


def elements(tree: Element, name: str) -> list[Element]:
    return list(tree.iter(HTML + name))


def text_of(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def faults(page: bytes) -> list[str]:
    """Return what keeps a page from being self-contained, ordered and readable aloud (WCAG 2.2, HTML standard)."""
    tree = parsed(page)
    return [
        *_outside(tree, page),
        *_heading_faults(tree),
        *_table_faults(tree),
        *_picture_faults(tree),
        *_id_faults(tree),
    ]


def _outside(tree: Element, page: bytes) -> Iterator[str]:
    for name in ("script", "link", "iframe", "object", "embed", "base", "form"):
        if elements(tree, name):
            yield f"has a {name} element"
    for element in tree.iter():
        for key, value in element.attrib.items():
            if key.startswith("on"):
                yield f"runs {key}"
            if key in ("src", "href", "srcset", "action") and not value.startswith(("data:", "#")):
                yield f"asks for {value}"
    if re.search(rb"url\(|@import", page):
        yield "its style asks for a file"


def _heading_faults(tree: Element) -> Iterator[str]:
    levels = [int(e.tag[-1]) for e in tree.iter() if isinstance(e.tag, str) and re.fullmatch(HTML + "h[1-6]", e.tag)]
    if levels.count(1) != 1 or levels[0] != 1:
        yield "has not one first heading"
    yield from (f"goes from h{a} to h{b}" for a, b in zip(levels, levels[1:], strict=False) if b > a + 1)
    (root,) = elements(tree, "html")
    if not root.get("lang"):
        yield "has no language"
    if not any(text_of(title) for title in elements(tree, "title")):
        yield "has no title"


def _table_faults(tree: Element) -> Iterator[str]:
    for table in elements(tree, "table"):
        captions = elements(table, "caption")
        if len(captions) != 1 or not text_of(captions[0]):
            yield "has a table without one caption"
        for cell in elements(table, "th"):
            if cell.get("scope") not in ("col", "row"):
                yield f"has a header without scope: {text_of(cell)}"
        rows = [len(list(row)) for row in elements(table, "tr")]
        if len(set(rows)) != 1:
            yield "has a table with rows of different lengths"
        if not any(cell.get("scope") == "col" for cell in elements(table, "th")):
            yield "has a table without column headers"


def _picture_faults(tree: Element) -> Iterator[str]:
    for picture in elements(tree, "img"):
        if len((picture.get("alt") or "").split()) < 3:
            yield "has a picture without words"


def _id_faults(tree: Element) -> Iterator[str]:
    names = [e.get("id") for e in tree.iter() if e.get("id")]
    if len(set(names)) != len(names):
        yield "uses an id twice"
    for element in tree.iter():
        named = element.get("aria-labelledby")
        if named and named not in names:
            yield f"is labelled by {named}, which isn't there"
