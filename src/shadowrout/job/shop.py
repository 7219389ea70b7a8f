"""How fast a shop works: what the job sheet's estimates of time and paint rest on, and nothing else does."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.job.duration import GREATEST_HOURS, LEAST_HOURS, Duration
from shadowrout.job.schema import Settings, setting
from shadowrout.job.value_kinds import Length, Number


@dataclass(frozen=True)
class Shop(Settings, heading="shop"):
    """How fast your shop works, for the job sheet's estimates alone.

    Every default is a starting point to replace by your own figure; nothing here sets a machine.
    """

    feed: float = setting(
        Number(10, 50_000, "mm a minute"), "The feed that you run the roughing cutter at.", default=1000
    )
    stepover: float = setting(
        Number(0.05, 1), "How far the cutter moves over from pass to pass, as a share of its diameter.", default=0.4
    )
    plunge: float = setting(Number(0, 600, "seconds"), "Time to lift, move over and plunge, each time.", default=4)
    router_feed: float = setting(
        Number(10, 50_000, "mm a minute"), "How fast you move a hand-held router along its template.", default=1000
    )
    sheet_feed: float = setting(
        Number(1, 50_000, "mm a minute"),
        "How fast stencils and templates are cut, by laser, knife or saw.",
        default=300,
    )
    placing: float = setting(
        Number(0, 600, "minutes"), "Fixing a stencil or a template on a board, for each of its sheets.", default=10
    )
    clearing: float = setting(
        Number(0.01, 1000, "cm3 a minute"), "Wood taken out of the pockets where that is done by hand.", default=1
    )
    paring: float = setting(Number(1, 5000, "mm a minute"), "Pocket wall pared with the gouge.", default=100)
    strokes_per_minute: float = setting(
        Number(0.1, 120), "Full strokes of the V tool by hand: one push of it, of the next two.", default=6
    )
    stroke_length: float = setting(Length(1, 500), "How far one full stroke goes.", default="25mm")
    stroke_depth: float = setting(Length(0.1, 20), "The deepest that one stroke cuts.", default="1mm")
    nick: float = setting(
        Number(0.01, 1), "What the shortest stroke takes of a full one's time, as a share of it.", default=0.2
    )
    set_up: float = setting(
        Number(0, 600, "minutes"), "Clamping, setting zero and changing the cutter, for each cutter.", default=15
    )
    gluing: float = setting(Number(0, 600, "minutes"), "Gluing the pattern on, for each plaque.", default=10)
    painting: float = setting(
        Number(0, 600, "minutes"), "Painting 10 x 10 cm of surface once; drying is not counted.", default=1
    )
    sanding: float = setting(Number(0, 600, "minutes"), "Sanding 10 x 10 cm of face.", default=4)
    took: float | None = setting(
        Duration(LEAST_HOURS, GREATEST_HOURS),
        "How long the job's first plaque took by hand, once it is carved: the rates of the V tool, of paring and of "
        "clearing are scaled so that the estimate is that, and make tells them.",
        when_unset="the rates are taken as given",
    )
    paint_coverage: float = setting(
        Number(0.5, 50, "m2 a litre"), "What a litre of paint covers once; its tin says.", default=10
    )
