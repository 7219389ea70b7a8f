"""A PDF file, read into pages of imprints in millimetres.

pypdf gives pages, their boxes and their streams; what the streams paint is read in ``pdf_content``. pypdf is Python
throughout and bounds what it unpacks: a damaged file raises, and can't end the process as a native library's could.
"""

from __future__ import annotations

import logging
import re
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shadowrout.check.pdf_content import Content, ShownString, Use, read_content
from shadowrout.check.pdf_tokens import FARTHEST, ContentError
from shadowrout.check.printed_page import (
    IDENTITY,
    Imprint,
    ImprintSet,
    Lettering,
    Matrix,
    Pane,
    PrintedPage,
    Showing,
    joined,
    picture,
)

if TYPE_CHECKING:
    from pypdf import PageObject, PdfReader

LARGEST_BYTES = 20_000_000
"""A hundred times a dense 200 mm plaque's pattern; what is larger would take too long to read."""

MM_A_POINT = 25.4 / 72
"""A PDF's unit is 1/72 in where the page doesn't say otherwise (ISO 32000-1, 8.3.2.3)."""

_LARGEST_CONTENT = 30_000_000
"""Bytes of all streams unpacked: thirty times a dense plaque's."""
_DEEPEST = 8
"""Forms within forms; a pattern's pages show its forms themselves, and other programs wrap a page once or twice."""
_MOST_SHOWINGS = 5_000
"""On one page; a pattern's have three."""
_SAME_MM = 0.001
"""Boxes nearer than this are one."""

_HIDDEN, _PRINTED = 2, 4
"""Flags of a note (ISO 32000-1, table 165)."""

_CODES = re.compile(rb"beginbf(char|range)(.*?)endbf", re.DOTALL)
_CHAR = re.compile(rb"<([\dA-Fa-f]{2})>\s*<([\dA-Fa-f]{4})>")
_RANGE = re.compile(rb"<([\dA-Fa-f]{2})>\s*<([\dA-Fa-f]{2})>\s*<([\dA-Fa-f]{4})>")


class UnreadablePdfError(ValueError):
    """Why a PDF can't be read, in words for people."""


def read_pdf(path: Path, *, most_pages: int) -> tuple[PrintedPage, ...]:
    """Return a file's pages, in order; raises UnreadablePdfError for one that is damaged, locked, or larger or longer.

    What it would have to guess counts as damage.
    """
    if path.stat().st_size > LARGEST_BYTES:
        raise UnreadablePdfError("is larger than any pattern")
    with _faults_told():
        from pypdf import PdfReader

        file = _File(PdfReader(path))
        if file.reader.is_encrypted:
            raise UnreadablePdfError("is locked by a password")
        if file.reader.get_num_pages() > most_pages:
            raise UnreadablePdfError(f"has more than {most_pages} pages")
        return tuple(file.page(page) for page in file.reader.pages)


@contextmanager
def _faults_told() -> Iterator[None]:
    """Turn whatever pypdf raises on a damaged file, or only warns of, into UnreadablePdfError."""
    from pypdf.errors import DependencyError, PyPdfError

    warned = _Warned()
    logger = logging.getLogger("pypdf")
    told_before, logger.propagate = logger.propagate, False
    logger.addHandler(warned)
    try:
        yield
    except ContentError as problem:
        raise UnreadablePdfError(f"is damaged: {problem}") from None
    except (UnreadablePdfError, KeyboardInterrupt):
        raise
    except (
        # Its own, and what slips through where a file holds things of another kind than the standard's.
        *(PyPdfError, DependencyError, NotImplementedError, OSError, EOFError, ValueError, TypeError, AttributeError),
        *(LookupError, ArithmeticError, AssertionError, RecursionError, zlib.error, struct.error, MemoryError),
    ):
        raise UnreadablePdfError("is damaged: it can't be read as PDF") from None
    finally:
        logger.removeHandler(warned)
        logger.propagate = told_before
    if warned.any:
        raise UnreadablePdfError("is damaged: a part of it can't be read as PDF")


class _Warned(logging.Handler):
    any = False

    def emit(self, record: logging.LogRecord) -> None:
        self.any = self.any or record.levelno >= logging.WARNING


@dataclass(eq=False)
class _Form:
    """A stream as read: what it paints itself, and between that what it uses; ``odd`` as ``odd_imprints`` of pages."""

    parts: list[ImprintSet | Use]
    resources: dict[str, Any]
    matrix: Matrix
    pane: Pane | None
    odd: tuple[str, ...]


@dataclass(eq=False)
class _Shown:
    """What a page is found to show, as far as it is followed."""

    showings: list[Showing] = field(default_factory=list)
    odd: dict[str, None] = field(default_factory=dict)


class _File:
    """Reads the pages of one file; what several of them show is read once."""

    def __init__(self, reader: PdfReader) -> None:
        self.reader = reader
        self.bytes_left = _LARGEST_CONTENT
        self.forms: dict[int, tuple[Any, _Form]] = {}
        self.codes: dict[int, tuple[Any, dict[int, str]]] = {}

    def page(self, page: PageObject) -> PrintedPage:
        """Return one page as read."""
        x0, y0, x1, y1 = _box(page.mediabox)
        to_mm = (MM_A_POINT, 0.0, 0.0, MM_A_POINT, -x0 * MM_A_POINT, -y0 * MM_A_POINT)
        shown = _Shown()
        resources = _resolved(page.get("/Resources")) or {}
        self._follow(self._read(self._stream(page.get("/Contents")), resources, IDENTITY, None), to_mm, None, shown)
        size = ((x1 - x0) * MM_A_POINT, (y1 - y0) * MM_A_POINT)
        return PrintedPage(size, tuple(shown.showings), tuple(_odd_sizes(page)), (*shown.odd, *_printed_notes(page)))

    def _stream(self, content: Any) -> bytes:
        """Return a page's content: one stream, or several that count as one."""
        content = _resolved(content)
        if content is None:
            return b""
        streams = [_resolved(part) for part in content] if isinstance(content, list) else [content]
        joined_up = b"\n".join(stream.get_data() for stream in streams)
        self.bytes_left -= len(joined_up)
        if self.bytes_left < 0:
            raise ContentError("it holds more than any pattern needs")
        return joined_up

    def _read(self, stream: bytes, resources: dict[str, Any], matrix: Matrix, pane: Pane | None) -> _Form:
        content = read_content(stream)
        return _Form(self._parts(content, resources), resources, matrix, pane, tuple(_odd(content, resources)))

    def _parts(self, content: Content, resources: dict[str, Any]) -> list[ImprintSet | Use]:
        parts: list[ImprintSet | Use] = []
        imprints: list[Imprint] = []
        letterings: list[Lettering] = []
        for item in (*content.items, None):
            if isinstance(item, Imprint):
                imprints.append(item)
            elif isinstance(item, ShownString):
                letterings.append(Lettering(self._words(item, resources), item.at, item.size, item.shown))
            else:
                if imprints or letterings:
                    parts.append(ImprintSet(tuple(imprints), tuple(letterings)))
                imprints, letterings = [], []
                parts += [item] if item else []
        return parts

    def _follow(self, form: _Form, matrix: Matrix, pane: Pane | None, shown: _Shown, depth: int = 0) -> None:
        """Add to ``shown`` what a form paints and uses, ``matrix`` taking its space to the page's mm."""
        shown.odd |= dict.fromkeys(form.odd)
        for part in form.parts:
            if len(shown.showings) > _MOST_SHOWINGS or depth > _DEEPEST:
                raise ContentError("it shows more within each other than any pattern")
            if isinstance(part, ImprintSet):
                shown.showings.append(Showing(part, matrix, pane))
                continue
            there = part.pane.placed(matrix).within(pane) if part.pane else pane
            self._follow_use(
                _entry(form.resources, "/XObject", part.name), joined(part.matrix, matrix), there, shown, depth
            )

    def _follow_use(self, used: Any, matrix: Matrix, pane: Pane | None, shown: _Shown, depth: int) -> None:
        if "/OC" in used:
            shown.odd["it has layers that can be switched off"] = None
        if used.get("/Subtype") != "/Form":
            shown.showings.append(Showing(ImprintSet((picture((0.0, 0.0, 1.0, 1.0), IDENTITY, None),)), matrix, pane))
            return
        form = self._form(used)
        there = joined(form.matrix, matrix)
        self._follow(form, there, form.pane.placed(there).within(pane) if form.pane else pane, shown, depth + 1)

    def _form(self, used: Any) -> _Form:
        """Return a form as read; the object itself is kept beside it, so that no other gets its identity."""
        if id(used) not in self.forms:
            a, b, c, d, e, f = (float(part) for part in _resolved(used.get("/Matrix")) or IDENTITY)
            pane = Pane(_box(_resolved(used["/BBox"])))
            form = self._read(self._stream(used), _resolved(used.get("/Resources")) or {}, (a, b, c, d, e, f), pane)
            self.forms[id(used)] = (used, form)
        return self.forms[id(used)][1]

    def _words(self, string: ShownString, resources: dict[str, Any]) -> str:
        font = _entry(resources, "/Font", string.font)
        if id(font) not in self.codes:
            self.codes[id(font)] = (font, _codes(font))
        codes = self.codes[id(font)][1]
        return "".join(codes.get(byte, chr(byte)) for byte in string.code)


def _resolved(value: Any) -> Any:
    """Return what a reference stands for, None for the file's own null; anything else as it is."""
    value = value.get_object() if hasattr(value, "get_object") else value
    return None if type(value).__name__ == "NullObject" else value


def _entry(resources: dict[str, Any], kind: str, name: str) -> Any:
    found = _resolved((_resolved(resources.get(kind)) or {}).get(name))
    if not isinstance(found, dict):
        raise ContentError(f"it uses {name[:20]}, which isn't there")
    return found


def _box(sides: Any) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = (float(_resolved(side)) for side in sides)
    if not all(abs(side) <= FARTHEST for side in (x0, y0, x1, y1)):
        raise ContentError("a box reaches beyond any sheet")
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def _codes(font: dict[str, Any]) -> dict[int, str]:
    """Return the characters that a font's one-byte codes stand for, as far as it says so (ISO 32000-1, 9.10.3)."""
    told = _resolved(font.get("/ToUnicode"))
    table = told.get_data() if told is not None and hasattr(told, "get_data") else b""
    codes: dict[int, str] = {}
    for kind, entries in _CODES.findall(table):
        found = [(c, c, to) for c, to in _CHAR.findall(entries)] if kind == b"char" else _RANGE.findall(entries)
        for first, last, character in found:
            for step, code in enumerate(range(int(first, 16), int(last, 16) + 1)):
                codes[code] = chr(min(int(character, 16) + step, 0xFFFF))
    return codes


def _odd(content: Content, resources: dict[str, Any]) -> Iterator[str]:
    if content.layers:
        yield "it has layers that can be switched off"
    for name in sorted(content.states):
        state = _entry(resources, "/ExtGState", name)
        clear = any(float(_resolved(state.get(key, 1.0))) < 1.0 for key in ("/ca", "/CA"))
        if clear or _resolved(state.get("/SMask", "/None")) != "/None":
            yield "a part of it is transparent"
        if _resolved(state.get("/BM", "/Normal")) not in ("/Normal", "/Compatible"):
            yield "a part of it is blended with what lies below"


def _printed_notes(page: PageObject) -> Iterator[str]:
    """Yield whether notes with a picture of their own are printed on the page (ISO 32000-1, 12.5.3)."""
    for note in map(_resolved, _resolved(page.get("/Annots")) or ()):
        flags = int(_resolved(note.get("/F", 0)))
        if "/AP" in note and flags & _PRINTED and not flags & _HIDDEN:
            yield "a note is printed over it"


def _odd_sizes(page: PageObject) -> Iterator[str]:
    if (turned := int(_resolved(page.get("/Rotate", 0)))) % 360:
        yield f"it is turned by {turned % 360}°"
    if (unit := float(_resolved(page.get("/UserUnit", 1.0)))) != 1.0:
        yield f"its unit is {unit:g} times as large as it should be"
    for name, box in (("cropped", page.cropbox), ("trimmed", page.trimbox)):
        off = max(abs(a - b) for a, b in zip(_box(box), _box(page.mediabox), strict=True))
        if off * MM_A_POINT > _SAME_MM:
            yield f"it is {name}"
