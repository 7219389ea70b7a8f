"""The job sheet as a reader sees it: facts, tables, steps and paragraphs under their headings, read from its HTML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

from shadowrout.check.findings import Finding

_MOST_BYTES = 100_000_000
"""A plaque's pictures take about 0.3 MB, so that is a sheet of some hundred plaques and more."""

_MOST_LETTERS = 8_000_000
"""What may stand on a sheet beside its pictures: a plaque takes about 10,000 letters."""

_MOST_DECLARATIONS = 100
"""Comments and the like; the sheet has one. Each that doesn't end makes the parser look through all that follows."""

_PICTURE = re.compile(r'(src="data:image/[a-z]{1,8};base64,)[A-Za-z0-9+/=]*"')

_AGAIN = "make the job again"

_BLOCKS = ("h2", "h3", "dt", "dd", "caption", "th", "td", "li", "p", "pre", "figcaption")
"""The elements whose text is read, none within another."""


@dataclass
class SheetSection:
    """What stands under two headings; ``tables`` by their captions, each with its rows of cells, the head's first."""

    part: str
    heading: str
    facts: list[tuple[str, str]] = field(default_factory=list)
    tables: list[tuple[str, list[list[str]]]] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class JobSheet:
    """The sheet as read, and the faults that reading showed; without any section where it can't be read."""

    sections: tuple[SheetSection, ...]
    faults: tuple[Finding, ...] = ()

    def under(self, part: str, heading: str = "") -> list[SheetSection]:
        """Return the sections under a heading of a part, more than one where it stands there twice."""
        return [s for s in self.sections if (s.part, s.heading) == (part, heading)]


def read_job_sheet(path: Path) -> JobSheet:
    """Return the job sheet; one that is missing, empty, too large or cut off is a fault."""
    try:
        fault, content = _content(path)
    except (OSError, UnicodeDecodeError):
        fault, content = "can't be read: it is damaged", ""
    if fault:
        return JobSheet((), (Finding(None, f"{path.name}: {fault}", _AGAIN),))
    reader = _Reader()
    reader.feed(content)
    reader.close()
    return JobSheet(tuple(reader.sections))


def _content(path: Path) -> tuple[str, str]:
    """Return what is wrong with the file, and its text without the pictures."""
    if not path.is_file():
        return "is missing", ""
    if path.stat().st_size > _MOST_BYTES:
        return "is larger than any job sheet", ""
    content = _PICTURE.sub(r'\1"', path.read_text(encoding="utf-8"))
    if not content.strip():
        return "is empty", ""
    if not content.rstrip().lower().endswith("</html>"):
        return "is cut off or damaged: its end is missing", ""
    if len(content) > _MOST_LETTERS or content.count("<!") + content.count("<?") > _MOST_DECLARATIONS:
        return "holds far more than any job sheet", ""
    return "", content


class _Reader(HTMLParser):
    """Collects the texts of blocks under their headings."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.sections = [SheetSection("", "")]
        self._block = ""
        self._text: list[str] = []
        self._term = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        section = self.sections[-1]
        if tag == "table":
            section.tables.append(("", []))
        elif tag == "tr" and section.tables:
            section.tables[-1][1].append([])
        elif tag in _BLOCKS:
            self._end_block()
            self._block, self._text = tag, []

    def handle_data(self, data: str) -> None:
        if self._block:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == self._block:
            self._end_block()

    def close(self) -> None:
        super().close()
        self._end_block()

    def _end_block(self) -> None:
        block, self._block = self._block, ""
        if not block:
            return
        raw = "".join(self._text)
        text = raw if block == "pre" else " ".join(raw.split())
        self._keep(block, text)

    def _keep(self, block: str, text: str) -> None:
        section = self.sections[-1]
        if block == "h2":
            self.sections.append(SheetSection(text, ""))
        elif block == "h3":
            self.sections.append(SheetSection(section.part, text))
        elif block == "dt":
            self._term = text
        elif block == "dd":
            section.facts.append((self._term, text))
        elif block == "caption" and section.tables:
            section.tables[-1] = (text, section.tables[-1][1])
        elif block in ("th", "td"):
            if section.tables and section.tables[-1][1]:
                section.tables[-1][1][-1].append(text)
        else:
            section.texts.append(text)


def facts_of(sections: list[SheetSection], name: str) -> Iterator[str]:
    """Yield each value that stands beside a name."""
    for section in sections:
        yield from (value for term, value in section.facts if term == name)


def tables_of(sections: list[SheetSection], caption: str) -> Iterator[list[list[str]]]:
    """Yield the rows of each table whose caption begins so, the head's first."""
    for section in sections:
        yield from (rows for words, rows in section.tables if words.startswith(caption))
