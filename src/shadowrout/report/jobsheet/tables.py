"""What a sheet is made of: sections with facts and tables of texts."""

from __future__ import annotations

from dataclasses import dataclass

Facts = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SheetTable:
    """A table of texts; the first cell of each row names the row, ``total`` is its last row where there is one."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()


@dataclass(frozen=True)
class Section:
    """A heading with facts and tables under it, and a remark."""

    heading: str
    facts: Facts = ()
    tables: tuple[SheetTable, ...] = ()
    remark: str = ""
