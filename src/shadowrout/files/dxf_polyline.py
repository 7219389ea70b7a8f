"""Polylines for DXF: the points of one whose depth changes along it, and the entities, written straight as text.

ezdxf keeps every vertex of a POLYLINE as an entity of its own and every number as a tag, which take many times as long
to make and write as a few lines of text; a plaque has thousands of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.lldxf.const import DXF12
from ezdxf.lldxf.tagwriter import AbstractTagWriter
from numpy.typing import NDArray

from shadowrout.files.rounding import cut_up
from shadowrout.geometry.arcs import ArcPath

Row = tuple[float, float, float, float]
"""A vertex: x, y, z and bulge, in the file's unit."""

_CLOSED, _IN_SPACE, _VERTEX_IN_SPACE = 1, 8, 32
"""Flags of group code 70 (DXF Reference, POLYLINE and VERTEX)."""


def points_3d(path: ArcPath, depths: Sequence[float], *, flat: float) -> NDArray[np.float64]:
    """Return points (m, 3) along the path, z = -depth, whose chords leave its arcs by ``flat`` at the most.

    A polyline in space has no arcs. ``depths`` has one number a vertex; between two it changes evenly with the length.
    All is in the path's unit. Every vertex is among the points, and a closed path's first point isn't repeated. Raises
    ValueError where ``depths`` are not as many as the vertices.
    """
    if len(depths) != len(path.vertices):
        raise ValueError(f"depths: expected {len(path.vertices)}, one a vertex, got {len(depths)}")
    points, places = cut_up(path, _chords(path, flat))
    known = np.append(depths, depths[:1]) if path.closed else np.asarray(depths)
    z = 0.0 - np.interp(places, np.arange(len(known)), known)
    return np.column_stack([points, z])


def _chords(path: ArcPath, flat: float) -> NDArray[np.intp]:
    """Return into how many chords each piece is cut: one of angle t rises r (1 - cos(t / 2)) over its chord."""
    radii = np.maximum(path.radii, flat)
    step = 2 * np.arccos(1 - flat / radii)
    counts = np.ceil(np.abs(path.angles_rad) / np.maximum(step, 1e-9) - 1e-9)
    return np.where(path.bulges == 0, 1, np.maximum(1, counts)).astype(np.intp)


class _Entities(DXFGraphic):
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
        self.run = _Entities()

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
        self.run = _Entities()
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
