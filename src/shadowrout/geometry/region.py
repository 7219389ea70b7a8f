"""Regions of the plane bounded by polygons with holes, and what can be done with them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats

Point = tuple[float, float]
"""x, y."""

Box = tuple[float, float, float, float]
"""Upright rectangle: x0, y0, x1, y1."""


_SAME_POINT = 1e-9
"""Distance up to which points are one: far more than rounding of coordinates, far less than any decimal written."""

_MANY_HOLES = 500
"""Holes from which on a polygon is grown ring by ring; at once the time goes by the square of their number."""

_LEAST_POINTS = 4
"""Points of the smallest ring, its first again at its end."""


def buffered(pieces: NDArray[np.object_], radius: float, *, quad_segs: int) -> BaseGeometry:
    """Return all that lies in pieces of any kind grown by a disc, or in areas shrunk by it where ``radius`` < 0.

    Each piece alone, and then the union of what meets: of many pieces at once the time goes by the square of their
    number. Areas to be shrunk share none.
    """
    pieces = np.asarray(pieces, dtype=object)
    riddled = shapely.get_num_interior_rings(pieces) > _MANY_HOLES
    grown = np.empty(len(pieces), dtype=object)
    grown[~riddled] = shapely.buffer(pieces[~riddled], radius, quad_segs=quad_segs)
    grown[riddled] = [_by_rings(piece, radius, quad_segs) for piece in pieces[riddled]]
    if radius < 0:
        return shapely.GeometryCollection(grown.tolist())
    spoiled = ~shapely.is_valid(grown)  # a few in a million come out crossing themselves, which no union takes
    grown[spoiled] = shapely.make_valid(grown[spoiled])
    return shapely.disjoint_subset_union_all(grown)


def _by_rings(piece: shapely.Polygon, radius: float, quad_segs: int) -> BaseGeometry:
    """Return a polygon grown by a disc, or shrunk where ``radius`` < 0: its outline grows and its holes shrink."""
    filled = shapely.buffer(shapely.polygons([piece.exterior]), radius, quad_segs=quad_segs)
    holes = buffered(shapely.polygons(list(piece.interiors)), -radius, quad_segs=quad_segs)
    left: BaseGeometry = shapely.make_valid(filled[0]).difference(shapely.make_valid(holes))
    return left


@dataclass(frozen=True, eq=False)
class Region:
    """Any number of polygons with holes that share no area, in one unit of length, y up.

    Rings come out oriented: outer rings counter-clockwise, holes clockwise. The shape is valid in the sense of
    OGC 06-103r4: no ring crosses itself or another.
    """

    shape: shapely.MultiPolygon

    @classmethod
    def empty(cls) -> Region:
        """Return the region that holds no point."""
        return cls(shapely.MultiPolygon())

    @classmethod
    def of_polygons(cls, polygons: Iterable[tuple[Points, Sequence[Points]]]) -> Region:
        """Return the region of (outer ring, holes) pairs, rings of shape (n, 2), n >= 3, in any direction.

        Rings that touch or cross themselves are made valid first, which keeps their area by the even-odd rule.
        """
        return cls.of_shape(shapely.MultiPolygon([shapely.Polygon(outer, holes) for outer, holes in polygons]))

    @classmethod
    def of_shape(cls, shape: BaseGeometry) -> Region:
        """Return the areas of any shapely geometry as a region; points and lines in it are dropped."""
        if not shape.is_valid:
            shape = shapely.make_valid(shape)
        parts = shapely.get_parts(shapely.get_parts(shape))  # make_valid nests areas in a collection
        areas = parts[(shapely.get_type_id(parts) == shapely.GeometryType.POLYGON) & (shapely.area(parts) > 0)]
        return cls(shapely.multipolygons(areas))

    @classmethod
    def together(cls, regions: Iterable[Region]) -> Region:
        """Return regions that share no area as one, their polygons in the order given."""
        return cls(shapely.MultiPolygon([polygon for region in regions for polygon in region.shape.geoms]))

    @classmethod
    def box(cls, bounds: Box) -> Region:
        """Return an upright rectangle."""
        return cls.of_shape(shapely.box(*bounds))

    @property
    def is_empty(self) -> bool:
        """Whether no point lies in the region."""
        return bool(self.shape.is_empty)

    @property
    def area(self) -> float:
        """Area, in the square of the region's unit."""
        return float(self.shape.area)

    @property
    def perimeter(self) -> float:
        """Length of all rings together, in the region's unit."""
        return float(self.shape.length)

    @property
    def bounds(self) -> Box:
        """Smallest upright box around the region; raises ValueError for the empty region."""
        if self.is_empty:
            raise ValueError("the empty region has no bounds")
        x0, y0, x1, y1 = self.shape.bounds
        return x0, y0, x1, y1

    def __len__(self) -> int:
        return len(self.shape.geoms)

    def parts(self) -> Iterator[Region]:
        """Yield each connected part as a region of its own, in the region's order."""
        for polygon in self.shape.geoms:
            yield Region(shapely.MultiPolygon([polygon]))

    def polygons(self) -> Iterator[tuple[Points, list[Points]]]:
        """Yield (outer ring, holes) of each part: arrays (n, 2) without the closing point, oriented.

        Points that overlays leave closer together than a billionth of the unit come out as one.
        """
        shape = shapely.remove_repeated_points(shapely.orient_polygons(self.shape), tolerance=_SAME_POINT)
        for polygon in shapely.get_parts(shape):
            outer, *holes = (shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(polygon))
            yield outer, holes

    def rings(self) -> list[Points]:
        """Return every ring, each outer ring followed by its holes, as in ``polygons``."""
        return [ring for outer, holes in self.polygons() for ring in (outer, *holes)]

    def covers(self, other: Region) -> bool:
        """Return whether no point of the other region lies outside this one."""
        return bool(self.shape.covers(other.shape))

    def union(self, other: Region) -> Region:
        """Return what lies in either region."""
        if other.is_empty:
            return self
        return Region.of_shape(self.shape.union(other.shape))

    def intersection(self, other: Region) -> Region:
        """Return what lies in both regions."""
        return Region.of_shape(self.shape.intersection(other.shape))

    def difference(self, other: Region) -> Region:
        """Return what lies in this region and not in the other."""
        return Region.of_shape(self.shape.difference(other.shape))

    def offset(self, distance: float, *, error: float) -> Region:
        """Return the region grown by a disc of radius ``distance``, or shrunk by it where negative.

        Corners come out round. The result's outline is within ``error`` of the exact one: on input of many
        short segments the worst found is 2.2 d (1 - cos(pi / 4q)) for q segments a quarter, so q follows from
        it. With few segments a quarter false rings appear far from where they belong; 8 is the least used, and small
        rings are held against the exact distance all the same.
        """
        if distance == 0 or self.is_empty:
            return self
        cosine = max(0.0, 1 - error / (2.2 * abs(distance)))
        quarter = max(8, math.ceil(math.pi / (4 * math.acos(cosine)))) if cosine < 1 else 8
        changed = Region.of_shape(buffered(shapely.get_parts(self.shape), distance, quad_segs=quarter))
        return changed._without_false_rings(self, distance, error=error)

    def _without_false_rings(self, given: Region, distance: float, *, error: float) -> Region:
        """Return the region, ``given`` grown or shrunk, without holes or parts that lie where there can be none."""
        rings, part = shapely.get_rings(shapely.get_parts(self.shape), return_index=True)
        is_hole = np.diff(part, prepend=-1) == 0
        small = np.flatnonzero((is_hole == (distance > 0)) & (shapely.area(shapely.polygons(rings)) < distance**2))
        reach = abs(distance) - 2 * error
        if reach <= 0 or not len(small):
            return self
        bound = given.shape if distance > 0 else given.shape.boundary
        shapely.prepare(bound)
        false = small[shapely.dwithin(bound, shapely.get_point(rings[small], 0), reach)]
        if not len(false):
            return self
        kept = np.ones(len(rings), dtype=bool)
        kept[false] = False
        kept &= np.isin(part, part[kept & ~is_hole])
        if not kept.any():
            return Region.empty()
        number = np.unique(part[kept], return_inverse=True)[1]
        polygons = np.asarray(shapely.polygons(rings[kept], indices=number))
        return Region.of_shape(shapely.MultiPolygon(polygons.tolist()))

    def keeping(self, least_area: float) -> Region:
        """Return the region without parts smaller than ``least_area``; holes are left alone."""
        return Region(shapely.MultiPolygon([p for p in self.shape.geoms if p.area >= least_area]))

    def holes(self, *, below_area: float) -> Region:
        """Return every hole smaller than ``below_area``, and with it what lies in the hole."""
        holes = [ring for p in self.shape.geoms for ring in p.interiors]
        small = [hole for ring in holes if (hole := shapely.Polygon(ring)).area < below_area]
        return Region.of_shape(shapely.disjoint_subset_union_all(small)) if small else Region.empty()

    def holes_filled(self, least_area: float) -> Region:
        """Return the region with every hole smaller than ``least_area`` filled, and with it what lies in the hole."""
        small = self.holes(below_area=least_area)
        return self if small.is_empty else self.union(small)

    def mapped(self, scale: tuple[float, float], shift: tuple[float, float]) -> Region:
        """Return the region with every point multiplied by ``scale`` and then moved by ``shift``."""
        moved = shapely.transform(self.shape, lambda xy: xy * np.array(scale) + np.array(shift))
        return Region(moved)

    def simplified(self, tolerance: float) -> Region:
        """Return the region with fewer points, each left-out point within ``tolerance`` of the new outline.

        Keeps the nesting: Douglas and Peucker's method on each ring alone, and where rings would then vanish, cross or
        touch, on all together (shapely's, which preserves topology and takes ten times as long). On rings the true
        error was found to exceed ``tolerance`` by half at worst, so pass less than a promise allows.
        """
        simple = [
            shapely.simplify(shapely.get_rings(part), tolerance, preserve_topology=False) for part in self.shape.geoms
        ]
        if all((shapely.get_num_coordinates(rings) >= _LEAST_POINTS).all() for rings in simple):
            shape = shapely.MultiPolygon([shapely.Polygon(rings[0], rings[1:]) for rings in simple])
            if shape.is_valid:
                return Region(shape)
        return Region.of_shape(self.shape.simplify(tolerance, preserve_topology=True))

    def well_known_binary(self) -> bytes:
        """Return the region as a MultiPolygon in well-known binary, little endian (OGC 06-103r4, clause 8)."""
        return bytes(shapely.to_wkb(self.shape, byte_order=1))

    def widest_spot(self, *, precision: float) -> tuple[tuple[float, float], float]:
        """Return the centre and radius of the largest disc that fits inside, to within ``precision``.

        Raises ValueError for the empty region.
        """
        if self.is_empty:
            raise ValueError("the empty region has no widest spot")
        line = shapely.maximum_inscribed_circle(self.shape, tolerance=precision)
        (x, y), _ = shapely.get_coordinates(line)
        return (float(x), float(y)), float(line.length)

    def within(self, points: Points) -> Flags:
        """Return for each of ``points``, shape (n, 2), whether it lies inside; shape (n,)."""
        inside: Flags = shapely.contains_xy(self.shape, points[:, 0], points[:, 1])
        return inside

    def distances(self, points: Points) -> Floats:
        """Return how far ``points``, shape (n, 2), are from the region: 0 inside, infinite from the empty one."""
        if self.is_empty:
            return np.full(len(points), np.inf)
        away: Floats = np.asarray(shapely.distance(self.shape, shapely.points(points)))
        return away


def union_all(regions: Iterable[Region]) -> Region:
    """Return what lies in any of the regions; the empty region for none."""
    return Region.of_shape(shapely.disjoint_subset_union_all([region.shape for region in regions]))


def parts_meeting(region: Region, other: Region) -> tuple[Region, Region]:
    """Return those parts of the region that share a point with ``other``, and those that share none."""
    parts = shapely.get_parts(region.shape)
    _, met = shapely.STRtree(parts).query(shapely.get_parts(other.shape), predicate="intersects")
    meets = np.zeros(len(parts), dtype=bool)
    meets[met] = True
    return Region(shapely.MultiPolygon(list(parts[meets]))), Region(shapely.MultiPolygon(list(parts[~meets])))
