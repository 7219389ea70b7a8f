"""Whether a cut sheet stays in one piece, and stays one when every edge wears.

With w the least web and r just under w / 2: M is the largest piece of the sheet worn back by r, B is M grown by
r again. The sheet holds if it is one piece, nothing of it lies further than w from B, and no piece of what B
leaves touches B in two places while reaching more than 0.35 w away from it. That the worn sheet is one piece
would be too much to ask: every sharp corner of light would fail. This judge offsets polygons; the check has one of its
own, which counts pixels on the written files.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shadowrout.geometry.contacts import contacts, standing_out
from shadowrout.geometry.region import Box, Region
from shadowrout.words.sentences import Mm, Sentence

TWO_TOUCH_REACH = 0.35
"""How far a piece held at two ends may reach from the solid sheet, over the web: more is a web that is too thin."""

_SLACK_MM = 0.02
"""What offsets and the flattening of arcs may take from a web: twice their error and more."""
_ERROR_MM = 0.008
"""A twelfth of the usual tolerance."""
_LEAST_AREA_MM2 = 1e-3
"""Slivers that two offsets of one outline leave between them."""


@dataclass(frozen=True)
class Fault:
    """One reason why a sheet doesn't hold, and where: x and y in mm."""

    reason: str | Sentence
    place: tuple[float, float]


@dataclass(frozen=True)
class Judgement:
    """What a judge found; the sheet holds if it found no fault."""

    faults: tuple[Fault, ...]

    @property
    def holds(self) -> bool:
        """Whether the sheet stays in one piece."""
        return not self.faults

    def __bool__(self) -> bool:
        return self.holds


def holds(openings: Region, *, sheet: Box, web: float) -> Judgement:
    """Return whether a sheet with these openings, all in mm, stays one piece with every web at least ``web`` wide.

    Exact to about 0.05 mm of the web. Openings beyond the sheet are cut off at its edge. No openings hold. Raises
    ValueError for a web that isn't positive.
    """
    if not web > 0:
        raise ValueError(f"web: expected a positive width, got {web}")
    return Judgement(tuple(_faults(Region.box(sheet).difference(openings), web)))


def _faults(solid: Region, web: float) -> Iterator[Fault]:
    parts = sorted(solid.parts(), key=lambda part: -part.area)
    if len(parts) != 1:
        for part in parts[1:]:
            yield Fault("a part falls out of the sheet", _middle(part))
        if not parts:
            yield Fault("nothing is left of the sheet", (0.0, 0.0))
        return
    worn = solid.offset(-(web / 2 - _SLACK_MM), error=_ERROR_MM)
    if worn.is_empty:
        yield Fault(_nowhere_wide(web), _middle(solid))
        return
    core = max(worn.parts(), key=lambda part: part.area)
    body = core.offset(web / 2, error=_ERROR_MM)
    rest = solid.difference(body).keeping(_LEAST_AREA_MM2)
    for piece, near in standing_out(rest, body, by=TWO_TOUCH_REACH * web):
        if next(standing_out(piece, near, by=web), None) is not None:
            yield Fault(_reaching(web), _middle(piece))
        elif contacts(piece, near, within=2 * _SLACK_MM) > 1:
            yield Fault(_thin(web), _middle(piece))


def _nowhere_wide(web: float) -> Sentence:
    return Sentence("no part of the sheet is {web} wide", web=Mm(web))


def _reaching(web: float) -> Sentence:
    return Sentence("a part reaches more than {web} from the solid sheet", web=Mm(web))


def _thin(web: float) -> Sentence:
    return Sentence("a web is thinner than {web}", web=Mm(web))


def _middle(region: Region) -> tuple[float, float]:
    return region.widest_spot(precision=0.1)[0]
