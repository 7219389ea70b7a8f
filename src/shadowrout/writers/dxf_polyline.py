"""POLYLINE entities for DXF, their vertices written straight as text.

ezdxf keeps every vertex as an entity of its own, which takes many times as long to make and write as its few lines of
text; a plaque has thousands of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.factory import bind
from ezdxf.entities.polyline import Polyline
from ezdxf.lldxf.const import DXF12
from ezdxf.lldxf.tagwriter import AbstractTagWriter

Row = tuple[float, float, float, float]
"""A vertex: x, y, z and bulge, in the file's unit."""


class TextPolyline(Polyline):
    """A polyline whose vertices are the lines of a DXF file that they will be."""

    vertex_text = ""

    def export_dxf(self, tagwriter: AbstractTagWriter) -> None:
        """Write the entity, its vertices, and the end of their sequence."""
        DXFGraphic.export_dxf(self, tagwriter)
        tagwriter.write_str(self.vertex_text)
        self.process_sub_entities(lambda end: end.export_dxf(tagwriter))


def add_polyline(file: Document, rows: Sequence[Row], *, layer: str, closed: bool, in_space: bool) -> TextPolyline:
    """Add a polyline through ``rows``, at least one, to the model space; a flat one lies at the first row's height."""
    line = TextPolyline.new(dxfattribs={"layer": layer, "flags": Polyline.POLYLINE_3D if in_space else 0})
    line.close(closed)
    if not in_space:
        line.dxf.elevation = (0.0, 0.0, rows[0][2])
    bind(line, file)
    file.modelspace().add_entity(line)
    line.vertex_text = "".join(_vertices(file, line, rows))
    return line


def _vertices(file: Document, line: TextPolyline, rows: Sequence[Row]) -> Iterator[str]:
    """Yield each vertex as text, a handle set aside for it (DXF Reference, VERTEX)."""
    owner, markers = "", ""
    if file.dxfversion != DXF12:
        kind = "AcDb3dPolylineVertex" if line.is_3d_polyline else "AcDb2dVertex"
        owner, markers = f"330\n{line.dxf.handle}\n100\nAcDbEntity\n", f"100\nAcDbVertex\n100\n{kind}\n"
    head, tail = f"{owner}  8\n{line.dxf.layer}\n{markers}", f" 70\n{line.get_vertex_flags()}\n"
    for x, y, z, bulge in rows:
        turn = f" 42\n{bulge}\n" if bulge else ""
        yield f"  0\nVERTEX\n  5\n{file.entitydb.next_handle()}\n{head} 10\n{x}\n 20\n{y}\n 30\n{z}\n{turn}{tail}"
