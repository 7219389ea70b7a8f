"""Keys: template material that keeps the bush from where its bit would cut light.

The bush goes wherever an opening lets it. With R and r the radii of bush and bit, o = R - r, M the template's material
and F the light, the cut stays off F where each point of F lies within o of M: a disc of r about a place that is R from
M reaches no such point. An opening's edge lies o outside its pocket's wall, so this fails where a tip of light between
two walls is narrower than the bush can follow round. There a key is added to M: a small disc within o of all of that
tip, and what joins it to the material beside it. Where the bush can go only becomes less, so that no key undoes
another's work, nor a bridge or a second sheet that of any.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from shadowrout.errors import PromiseError
from shadowrout.geometry.arcs import Points
from shadowrout.geometry.contacts import clearance
from shadowrout.geometry.discs import disc, halves, joined, places_within
from shadowrout.geometry.region import Point, Region, union_all
from shadowrout.sheets.router.guarding import ERROR_MM
from shadowrout.words.sentences import Mm, Sentence

TIP_MM = 0.3
"""Radius of a key's tip: 0.6 mm of hardboard or plywood is about the least that a saw or a beam leaves whole, and the
key grows broader from there on (a judgement)."""

_BREADTH_MM = 1.0
"""How much of the material beside it a key stands on: half of the chord at this depth is more than a millimetre."""

_LEAST_LIGHT_MM2 = 1e-4
"""A hundredth of a millimetre square, far smaller than any fibre: what offsets there and back leave along an edge."""

_MOST_TIPS = 5000
"""No opening with so many tips of light is one that a bush could follow."""

_STANDING_SHARE = 0.05
"""Where the bit takes no more than this share of its own circle beside that, the bush stands still (a judgement)."""


@dataclass(frozen=True)
class Bush:
    """A guide bush and its bit, in mm, and by how much an opening may come out larger than it is meant."""

    radius: float
    bit_radius: float
    enlarged: float

    @property
    def offset(self) -> float:
        """By how much the bush keeps the bit away from the template."""
        return self.radius - self.bit_radius

    @property
    def reach(self) -> float:
        """How far from a key's middle light is safe, even where the opening comes out larger."""
        return self.offset + TIP_MM - self.enlarged - 2 * ERROR_MM

    def cut(self, centres: Region) -> Region:
        """Return all that the bit may take out where its middle was meant to keep to these centres."""
        opening = centres.offset(self.radius, error=ERROR_MM).offset(self.enlarged, error=ERROR_MM)
        return opening.offset(-self.radius, error=ERROR_MM).offset(self.bit_radius + ERROR_MM, error=ERROR_MM)

    def moves_in(self, centres: Region) -> bool:
        """Return whether the bush has a way to go where the bit's middle keeps to these centres."""
        beside = centres.area + centres.perimeter * self.bit_radius  # Steiner's formula, less the circle
        return beside > _STANDING_SHARE * math.pi * self.bit_radius**2


def keyed(centres: Region, may_cut: Region, bush: Bush) -> Region:
    """Return where the bit's middle may go when keys keep it within ``may_cut``; empty where nothing is left."""
    return union_all(_keyed(part, may_cut, bush) for part in centres.parts())


def _keyed(centres: Region, may_cut: Region, bush: Bush) -> Region:
    """Return one part's centres, less what its keys take."""
    light = bush.cut(centres).difference(may_cut).keeping(_LEAST_LIGHT_MM2)
    if light.is_empty:
        return centres
    material = _around(centres, bush)
    keys = list(_keys(light, centres, material, bush))
    left = centres.difference(union_all(keys).offset(bush.radius + ERROR_MM, error=ERROR_MM))
    return Region.together(part for part in left.parts() if bush.moves_in(part))


def _around(centres: Region, bush: Bush) -> Region:
    """Return the template's material around and in an opening."""
    opening = centres.offset(bush.radius, error=ERROR_MM)
    x0, y0, x1, y1 = opening.bounds
    rim = 2 * bush.radius
    return Region.box((x0 - rim, y0 - rim, x1 + rim, y1 + rim)).difference(opening)


def _keys(light: Region, centres: Region, material: Region, bush: Bush) -> Iterator[Region]:
    """Yield a key for each tip of light, those nearest to the material first: a key may hold the next."""
    waiting = sorted(light.parts(), key=lambda tip: clearance(tip, material))
    safe = Region.empty()
    for _ in range(_MOST_TIPS):
        if not waiting:
            return
        tip = waiting.pop(0).difference(safe).keeping(_LEAST_LIGHT_MM2)
        if tip.is_empty:
            continue
        places = places_within(tip, bush.reach)
        if not len(places):
            waiting = [*halves(tip), *waiting]
            continue
        place = _cheapest(places, centres, bush)
        key = joined(disc(place, TIP_MM), place, material, breadth=_BREADTH_MM)
        yield key
        material = material.union(key)
        safe = safe.union(disc(place, bush.reach))
    place, _ = waiting[0].widest_spot(precision=0.1)
    told = Sentence(
        "template: no keys were found that keep the bit off the light at {place:.1f}", place=Mm.place(*place)
    )
    raise PromiseError(told)


def _cheapest(places: Points, centres: Region, bush: Bush) -> Point:
    """Return the place at which a key's tip takes least of where the bit's middle can go."""
    taken = [centres.intersection(disc(place, bush.radius + TIP_MM)).area for place in places.tolist()]
    x, y = places[min(range(len(taken)), key=taken.__getitem__)].tolist()
    return x, y
