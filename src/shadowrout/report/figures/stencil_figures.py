"""What holds a stencil together, and what that cost."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shadowrout.geometry.region import Box, Region, parts_meeting
from shadowrout.report.figures.precision import fine, fine_box, place, tenth
from shadowrout.sheets.stencil.cut_stencil import CutStencil

_LEAST_LEFT_MM2 = 0.5
"""What is left of a part counts from here on: a smaller piece, 0.7 mm square, is where two outlines cross."""


@dataclass(frozen=True)
class LostParts:
    """How many parts of the carved design a stencil has nothing of, and the largest's area."""

    count: int
    largest_mm2: float


@dataclass(frozen=True)
class DroppedIslandFigures:
    """An island that isn't held and was cut out with the dark around it."""

    place_mm: tuple[float, float]
    area_mm2: float


@dataclass(frozen=True)
class NoticeFigures:
    """Something to look at before cutting."""

    place_mm: tuple[float, float]
    sentence: str


@dataclass(frozen=True)
class StencilFigures:
    """One plaque's stencil. Shares are of the dark: of the carved design's, or of the stencil's own coarser one."""

    carved_dark_closed_share: float
    """Of the carved design's dark, what the stencil doesn't open."""
    carved_islands_open: LostParts
    """Islands of light of the carved design that are dark in the stencil's own."""
    carved_shadows_closed: LostParts
    """Shadows of the carved design of which nothing is open."""
    sheet_mm: Box
    web_mm: float
    kerf_mm: float
    openings: int
    bridges: int
    bridge_length_mm: float
    """Of all together, over the openings."""
    dark_lost_share: float
    """Of the stencil's own dark, what bridges and webs keep closed."""
    light_lost_share: float
    """What is open of the stencil's own light, as a share of its dark."""
    islands_dropped: tuple[DroppedIslandFigures, ...]
    webs_widened: int
    openings_merged: int
    notices: tuple[NoticeFigures, ...]


def stencil_figures(stencil: CutStencil, *, coarse: Region, carved: Region) -> StencilFigures:
    """Return the figures of a stencil that was made of a ``coarse`` design, for a plaque with the ``carved`` one."""
    return StencilFigures(
        carved_dark_closed_share=fine(carved.difference(stencil.openings).area / carved.area),
        carved_islands_open=_islands_open(carved, coarse),
        carved_shadows_closed=_left_without(carved, carved.intersection(stencil.openings)),
        sheet_mm=fine_box(stencil.sheet),
        web_mm=stencil.web_mm,
        kerf_mm=stencil.kerf_mm,
        openings=len(stencil.openings),
        bridges=len(stencil.bridges),
        bridge_length_mm=tenth(stencil.bridge_length_mm),
        dark_lost_share=fine(stencil.dark_lost_share),
        light_lost_share=fine(stencil.light_lost_share),
        islands_dropped=tuple(
            DroppedIslandFigures(place(island.place), tenth(island.area_mm2)) for island in stencil.islands
        ),
        webs_widened=stencil.webs_widened,
        openings_merged=stencil.openings_merged,
        notices=tuple(NoticeFigures(place(notice.place), str(notice.sentence)) for notice in stencil.notices),
    )


def _islands_open(carved: Region, coarse: Region) -> LostParts:
    """Return how many islands of light of the carved design a coarser one leaves nothing of."""
    islands = carved.holes(below_area=math.inf).difference(carved)
    return _left_without(islands, islands.difference(coarse))


def _left_without(parts: Region, left: Region) -> LostParts:
    """Return how many of the parts hold nothing of what is left of them."""
    _, gone = parts_meeting(parts, left.keeping(_LEAST_LEFT_MM2))
    return LostParts(len(gone), tenth(max((part.area for part in gone.parts()), default=0.0)))
