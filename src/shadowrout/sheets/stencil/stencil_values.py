"""What a stencil consists of. All lengths are millimetres, y up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.region import Box, Region
from shadowrout.words.sentences import Sentence

Place = tuple[float, float]


@dataclass(frozen=True)
class Bridge:
    """A strip of sheet left across an opening; start and end are where its middle line enters the sheet."""

    start: Place
    end: Place
    width_mm: float
    by_hand: bool = False

    @property
    def length_mm(self) -> float:
        """Length over the opening."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True)
class DroppedIsland:
    """An island of the design that isn't held and became part of the opening around it."""

    place: Place
    area_mm2: float


@dataclass(frozen=True)
class Notice:
    """Something to look at before cutting: one sentence and where."""

    place: Place
    sentence: str | Sentence


@dataclass(frozen=True, eq=False)
class Stencil:
    """A sheet with openings that stays in one piece.

    ``openings`` are what is open after cutting, ``drawn`` the same inset by half the kerf: the line that the
    beam's middle follows. ``dark_lost_share`` is the share of the design's dark that isn't open, ``light_lost_share``
    what is open of its light, over the same. ``webs_widened`` counts thin webs of the design made as wide as the
    least web, ``web_middles``, shape (n, 2), are points all along their middles; ``openings_merged`` counts openings
    that became one with another because the web between them was too thin to save.
    """

    openings: Region
    drawn: Region
    sheet: Box
    web_mm: float
    kerf_mm: float
    bridges: tuple[Bridge, ...]
    dark_lost_share: float
    light_lost_share: float
    islands: tuple[DroppedIsland, ...]
    webs_widened: int
    web_middles: Points
    openings_merged: int
    notices: tuple[Notice, ...]

    @property
    def islands_dropped(self) -> int:
        """How many islands of the design aren't held."""
        return len(self.islands)

    @property
    def bridge_length_mm(self) -> float:
        """Length of all bridges over openings."""
        return sum(bridge.length_mm for bridge in self.bridges)
