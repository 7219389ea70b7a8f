"""LWPOLYLINE and POLYLINE entities for DXF, written straight as text.

ezdxf keeps every vertex of a POLYLINE as an entity of its own and every number as a tag, which take many times as long
to make and write as a few lines of text; a plaque has thousands of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.lldxf.const import DXF12
from ezdxf.lldxf.tagwriter import AbstractTagWriter

Row = tuple[float, float, float, float]
"""A vertex: x, y, z and bulge, in the file's unit."""

_CLOSED, _IN_SPACE, _VERTEX_IN_SPACE = 1, 8, 32
"""Flags of group code 70 (DXF Reference, POLYLINE and VERTEX)."""


class _Run(DXFGraphic):
    """Entities that follow one another, as the lines of a DXF file that they will be; has the first one's handle."""

    DXFTYPE = "LWPOLYLINE"

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def export_dxf(self, tagwriter: AbstractTagWriter) -> None:
        """Write the entities."""
        tagwriter.write_str("".join(self.texts))


class Polylines:
    """Adds polylines to a document's model space, each with strings of extended data under ``application``."""

    def __init__(self, file: Document, application: str) -> None:
        self.file = file
        self.application = application
        self.space = file.modelspace()
        self.is_r12 = file.dxfversion == DXF12
        self.run = _Run()

    def add_light(
        self, rows: Sequence[tuple[float, float, float]], *, layer: str, closed: bool, z: float, strings: Sequence[str]
    ) -> None:
        """Add a flat polyline of ``rows`` of x, y and bulge at the height ``z``; R12 has none of this kind."""
        head = self._head("LWPOLYLINE", self._handle(), layer)
        height = f" 38\n{z}\n" if z else ""
        points = "".join(f" 10\n{x}\n 20\n{y}\n{_turn(bulge)}" for x, y, bulge in rows)
        self.run.texts.append(
            f"{head}100\nAcDbPolyline\n 90\n{len(rows)}\n 70\n{_CLOSED * closed}\n"
            f"{height}{points}{self._extended(strings)}"
        )

    def add(self, rows: Sequence[Row], *, layer: str, closed: bool, in_space: bool, strings: Sequence[str]) -> None:
        """Add a polyline through ``rows``, at least one; a flat one lies at the first row's height."""
        handle = self._handle()
        end = self.file.entitydb.next_handle()
        owner = self._owner(handle)
        marker = "" if self.is_r12 else f"100\nAcDb{'3' if in_space else '2'}dPolyline\n"
        place = f" 66\n1\n 10\n0.0\n 20\n0.0\n 30\n{0.0 if in_space else rows[0][2]}\n"
        flags = _CLOSED * closed + _IN_SPACE * in_space
        self.run.texts += [
            f"{self._head('POLYLINE', handle, layer)}{marker}{place} 70\n{flags}\n{self._extended(strings)}",
            *self._vertices(rows, owner, layer, in_space=in_space),
            f"  0\nSEQEND\n  5\n{end}\n{owner}  8\n{layer}\n",
        ]

    def _handle(self) -> str:
        """Return the next entity's handle, and begin a new run where another kind of entity came last."""
        if len(self.space) and self.space[-1] is self.run:
            return self.file.entitydb.next_handle()
        self.run = _Run()
        self.space.add_entity(self.run)
        return str(self.run.dxf.handle)

    def _head(self, kind: str, handle: str, layer: str) -> str:
        return f"  0\n{kind}\n  5\n{handle}\n{self._owner(self.run.dxf.owner)}  8\n{layer}\n"

    def _owner(self, handle: str) -> str:
        return "" if self.is_r12 else f"330\n{handle}\n100\nAcDbEntity\n"

    def _extended(self, strings: Sequence[str]) -> str:
        return f"1001\n{self.application}\n" + "".join(f"1000\n{string}\n" for string in strings)

    def _vertices(self, rows: Sequence[Row], owner: str, layer: str, *, in_space: bool) -> Iterator[str]:
        """Yield each vertex as text, a handle set aside for it (DXF Reference, VERTEX)."""
        kind = "AcDb3dPolylineVertex" if in_space else "AcDb2dVertex"
        marker = "" if self.is_r12 else f"100\nAcDbVertex\n100\n{kind}\n"
        head, tail = f"{owner}  8\n{layer}\n{marker}", f" 70\n{_VERTEX_IN_SPACE * in_space}\n"
        next_handle = self.file.entitydb.next_handle
        for x, y, z, bulge in rows:
            yield f"  0\nVERTEX\n  5\n{next_handle()}\n{head} 10\n{x}\n 20\n{y}\n 30\n{z}\n{_turn(bulge)}{tail}"


def _turn(bulge: float) -> str:
    return f" 42\n{bulge}\n" if bulge else ""
