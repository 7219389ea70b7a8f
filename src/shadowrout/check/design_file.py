"""Reads the sized design, whose headers are walked before any library is given them.

That is the design before lines and arcs were fitted, one multipolygon in mm, y up, in the well-known binary form (OGC
06-103r4, 8.2), compressed with gzip (RFC 1952).
"""

from __future__ import annotations

import gzip
import io
import struct
import zlib
from pathlib import Path

import numpy as np
import shapely

from shadowrout.check.geometry_bounds import FURTHEST_MM
from shadowrout.check.untrusted import UnusableFileError, bytes_of

DESIGN = "design.wkb.gz"
STENCIL_DESIGN = "stencil-design.wkb.gz"
"""The coarser design that a stencil is made from, likewise."""

_MOST_PACKED = 32_000_000
_MOST_BYTES = 64_000_000
"""Four million points, one every 0.04 mm of the longest outlines that a plaque may have; half of it when packed."""
_MOST_LENGTH_MM = 300_000.0
"""Twice the length of outlines beyond which ``make`` refuses a plaque."""
_MOST_RINGS = 200_000
"""Four times the shadows of the finest picture known, 50,000 specks."""
_MULTIPOLYGON, _POLYGON = 6, 3
_POINT_BYTES = 16
_LEAST_POINTS = 4
"""A ring of fewer, the first one repeated at its end, encloses nothing."""
_DAMAGED = "is damaged"


def read_design(path: Path) -> shapely.MultiPolygon:
    """Return the sized design: at least one polygon, valid, each coordinate near.

    Raises UnusableFileError, with words that follow after "it", where the file is missing or holds anything else.
    """
    if not path.is_file():
        raise UnusableFileError("is missing")
    packed = bytes_of(path, most=_MOST_PACKED)
    try:
        with gzip.open(io.BytesIO(packed)) as unpacked:
            content = unpacked.read(_MOST_BYTES + 1)
    except (OSError, EOFError, zlib.error):
        raise UnusableFileError(_DAMAGED) from None
    if len(content) > _MOST_BYTES:
        raise UnusableFileError(f"holds more than {_MOST_BYTES // 1_000_000} MB when it is unpacked")
    _Walk(content).multipolygon()
    try:
        shape = shapely.from_wkb(content)
    except shapely.errors.ShapelyError:
        raise UnusableFileError(_DAMAGED) from None
    if not shape.is_valid:
        raise UnusableFileError("has outlines that cross")
    if not isinstance(shape, shapely.MultiPolygon):
        raise UnusableFileError(_DAMAGED)
    return shape


class _Walk:
    """Goes through the headers, each count held against the bytes that are left; raises UnusableFileError."""

    def __init__(self, content: bytes) -> None:
        self.content = content
        self.at = 0
        self.rings = 0
        self.length_mm = 0.0

    def multipolygon(self) -> None:
        order = self.header(_MULTIPOLYGON)
        polygons = self.whole(order)
        if polygons == 0:
            raise UnusableFileError("holds no polygon")
        for _ in range(self.bounded(polygons, least_bytes=9)):
            self.polygon()
        if self.at != len(self.content):
            raise UnusableFileError(_DAMAGED)

    def polygon(self) -> None:
        order = self.header(_POLYGON)
        rings = self.whole(order)
        if rings == 0:
            raise UnusableFileError("holds a polygon without an outline")
        for _ in range(self.bounded(rings, least_bytes=4)):
            self.ring(order)

    def ring(self, order: str) -> None:
        count = self.bounded(self.whole(order), least_bytes=_POINT_BYTES)
        points = np.frombuffer(self.content, dtype=f"{order}f8", count=2 * count, offset=self.at).reshape(-1, 2)
        self.at += count * _POINT_BYTES
        if count < _LEAST_POINTS or not (np.abs(points) <= FURTHEST_MM).all() or (points[0] != points[-1]).any():
            raise UnusableFileError("has an outline that can't be one")
        self.length_mm += float(np.hypot(*np.diff(points, axis=0).T).sum())
        self.rings += 1
        if self.length_mm > _MOST_LENGTH_MM or self.rings > _MOST_RINGS:
            raise UnusableFileError("has more outlines than any plaque")

    def header(self, kind: int) -> str:
        """Return the byte order, as ``struct`` and numpy have it, of a geometry that must be of one kind."""
        order = {0: ">", 1: "<"}.get(self.taken("B"), "")
        if not order or self.whole(order) != kind:
            raise UnusableFileError("holds no multipolygon")
        return order

    def whole(self, order: str) -> int:
        return self.taken(f"{order}I")

    def taken(self, form: str) -> int:
        end = self.at + struct.calcsize(form)
        if end > len(self.content):
            raise UnusableFileError(_DAMAGED)
        (number,) = struct.unpack(form, self.content[self.at : end])
        self.at = end
        return int(number)

    def bounded(self, count: int, *, least_bytes: int) -> int:
        """Return a count of things that so many bytes each at least must follow for."""
        if count * least_bytes > len(self.content) - self.at:
            raise UnusableFileError(_DAMAGED)
        return count
