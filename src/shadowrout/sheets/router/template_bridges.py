"""Bridges across a template's opening round its islands, and where a second template has them instead."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shadowrout.errors import PromiseError
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.lines import chords_through
from shadowrout.geometry.region import Region, union_all
from shadowrout.geometry.sweeps import band_between
from shadowrout.sheets.router.guarding import ERROR_MM
from shadowrout.words.sentences import Mm, Sentence

_DIRECTIONS = 12
"""Every 15 degrees of half a turn."""
_ROOM_MM = 0.02
"""What the errors of the offsets that follow may take from a bridge's width, and more."""
_OVERLAP_WEIGHT = 20.0
"""A square millimetre that stays uncut on both sheets weighs as much as 20 of opening under a bridge: it is left
there only where an island offers no other place."""


@dataclass(frozen=True, eq=False)
class Variant:
    """One opening for one sheet, and where the bit's middle can go in it."""

    opening: Region
    centres: Region


def ring_variants(
    opening: Region, centres: Region, *, bush_mm: float, web_mm: float, bit_mm: float, both: bool
) -> Iterator[Variant]:
    """Yield the opening with its islands held by short straight bridges, and with ``both`` a second one.

    Each island gets a bridge on both sides of its middle. The second opening has its bridges where the first leaves
    as little as possible under them. Raises PromiseError for an island that no straight bridge holds.
    """
    first = _held(opening, Region.empty(), bush_mm, web_mm)
    yield first
    if both:
        reach = centres.offset(bit_mm / 2, error=ERROR_MM)
        left = reach.difference(first.centres.offset(bit_mm / 2, error=ERROR_MM))
        yield _held(opening, left, bush_mm, web_mm)


def _held(opening: Region, avoid: Region, bush_mm: float, web_mm: float) -> Variant:
    """Return the opening with bridges that hold all its islands and cover as little of ``avoid`` as may be.

    Islands that hold on to one another only are bridged again as one, until all hang on what lies around.
    """
    islands = _holes(opening)
    for _ in range(len(islands) + 1):
        if not islands:
            free = opening.offset(-bush_mm / 2, error=ERROR_MM)
            return Variant(free.offset(bush_mm / 2, error=ERROR_MM), free)
        bands = [_cheapest(opening, island, avoid, web_mm + _ROOM_MM, bush_mm) for island in islands]
        opening = opening.difference(union_all(bands))
        before, islands = len(islands), _holes(opening)
        if len(islands) >= before:
            break
    place, _ = Region.of_polygons([(islands[0], [])]).widest_spot(precision=0.1)
    told = Sentence("template: no straight bridge holds the island at {place:.1f}", place=Mm.place(*place))
    raise PromiseError(told)


def _holes(opening: Region) -> list[Points]:
    return [hole for _, holes in opening.polygons() for hole in holes]


def _cheapest(opening: Region, island: Points, avoid: Region, width: float, bush_mm: float) -> Region:
    """Return the bands on both sides of an island in the direction that costs the opening least."""
    middle, _ = Region.of_polygons([(island, [])]).widest_spot(precision=0.1)
    best, least = Region.empty(), math.inf
    for step in range(_DIRECTIONS):
        ends = chords_through(opening, middle, math.pi * step / _DIRECTIONS)
        band = union_all(band_between(*pair, width=width) for pair in ends)
        cost = sum(math.dist(*pair) for pair in ends) * width
        if not avoid.is_empty:
            covered = band.offset(bush_mm / 2, error=0.1).intersection(avoid)
            cost += _OVERLAP_WEIGHT * covered.area
        if ends and cost < least:
            best, least = band, cost
    return best
