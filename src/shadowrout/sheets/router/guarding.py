"""Wood too thin for a guide bush to follow: pockets are kept away from it.

A template's opening is larger than the pocket by the offset o all round, so wood thinner than 2 o would leave no
template that keeps the bush from it, and wood thinner than 2 o + web a template too weak to do so.
"""

from __future__ import annotations

from collections.abc import Iterator

from shadowrout.errors import PromiseError
from shadowrout.geometry.contacts import contacts, standing_out
from shadowrout.geometry.region import Region, union_all
from shadowrout.words.sentences import Mm, Sentence

ERROR_MM = 0.004
"""What each offset may be wrong by: a twenty-fifth of the usual tolerance, since several follow one another."""

HAIR_MM = 0.05
"""What is thinner is what offsets there and back leave along an edge, no wood to speak of: half the usual tolerance."""

SPECK_MM2 = 0.5
"""What is smaller is left to the sanding (no source)."""

_MOST_ROUNDS = 8
"""Moving a wall may make other wood thin; what takes more rounds than this is taken never to end."""


def guarded(walls: Region, *, offset_mm: float, web_mm: float) -> Region:
    """Return one pocket's wall moved away from wood in or around it that its template couldn't guard; mm.

    Such wood is an island or a neck thinner than twice the offset and a web, a point as thin and longer than the web,
    or a point that is thinner than twice the offset further than a corner of 60 degrees reaches. It gets half
    that width of wood on all sides. Empty where nothing is left; raises PromiseError where no wall was found.
    """
    radius = offset_mm + web_mm / 2
    for _ in range(_MOST_ROUNDS):
        thin = list(_thin_wood(walls, offset_mm, radius))
        if not thin:
            return walls
        walls = walls.difference(union_all(thin).offset(radius, error=ERROR_MM)).keeping(SPECK_MM2)
        if walls.is_empty:
            return walls
    place, _ = thin[0].widest_spot(precision=0.1)
    told = Sentence(
        "template: no opening was found that keeps the bush off the thin wood at {place:.1f}", place=Mm.place(*place)
    )
    raise PromiseError(told)


def _thin_wood(walls: Region, offset_mm: float, radius_mm: float) -> Iterator[Region]:
    # A rim with square corners would be thin wood itself, where it is opened by more than it may stand out.
    wood = Region.box(walls.bounds).offset(4 * radius_mm, error=ERROR_MM).difference(walls)
    for reach, longest in ((offset_mm, offset_mm + 2 * HAIR_MM), (radius_mm, 2 * (radius_mm - offset_mm) - HAIR_MM)):
        if reach == 0:
            continue
        solid = wood.offset(-reach, error=ERROR_MM).offset(reach, error=ERROR_MM)
        thin = wood.difference(solid.offset(HAIR_MM, error=ERROR_MM)).keeping(SPECK_MM2)
        yield from (piece for piece, _ in standing_out(thin, solid, by=longest))
        yield from (piece for piece in thin.parts() if contacts(piece, solid, within=3 * HAIR_MM) != 1)
