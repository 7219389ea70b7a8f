"""How long the work takes, from lengths, areas and the shop's own rates. Estimates to confirm, every one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from shadowrout.jobsheet.amounts import Surface
from shadowrout.jobsheet.scope import scope_of
from shadowrout.jobsheet.wording import Words, share
from shadowrout.options import Finish, Output, Shop
from shadowrout.plan import FlowLine, Plan, Pocket, VLine

_MM2_PER_10_CM_SQUARE = 10_000.0


@dataclass(frozen=True)
class Task:
    """One kind of work on a plaque: how long, and the rates that say so."""

    name: str
    minutes: float
    by: str


def tasks_of(plan: Plan, surface: Surface, *, finish: Finish, shop: Shop, output: Output) -> tuple[Task, ...]:
    """Return the work on one plaque in its order, without what its plan and the files of ``output`` don't need.

    Work on stencils and templates has no rate and isn't among it.
    """
    scope, words = scope_of(output.files), Words(str(output.unit))
    return (
        *(_roughing(plan, shop, words) if scope.machine else ()),
        *(_hand_work(plan, shop, words) if scope.hand else ()),
        *(_finishing(surface, finish, shop, words) if scope.plaque else ()),
    )


def _finishing(surface: Surface, finish: Finish, shop: Shop, words: Words) -> tuple[Task, ...]:
    square = words.square_10_cm
    return (
        Task(
            "paint",
            surface.painted_mm2 / _MM2_PER_10_CM_SQUARE * shop.painting * finish.coats,
            f"{finish.coats:g} coats, {shop.painting:g} min for {square} each; drying not counted",
        ),
        Task(
            "sand",
            surface.face_mm2 / _MM2_PER_10_CM_SQUARE * shop.sanding,
            f"{shop.sanding:g} min for {square} of face",
        ),
    )


def clearing_mm(pocket: Pocket, *, stepover: float) -> float:
    """Return the way of the cutter over a pocket's floor, once: round its path, then over all that it encloses.

    Rows a stepover apart over an area are as long together as the area over the stepover.
    """
    round_it = sum(_perimeter(ring) for ring in pocket.cutter_path.rings())
    return round_it + pocket.cutter_path.area / (stepover * pocket.cutter_mm)


def roughing_minutes(pocket: Pocket, shop: Shop) -> float:
    """Return how long one pocket takes: each pass at the feed, and a plunge for each part of the path."""
    way = clearing_mm(pocket, stepover=shop.stepover)
    return pocket.passes * (way / shop.feed + len(pocket.cutter_path) * shop.plunge / 60)


def strokes_for(line: VLine, shop: Shop) -> int:
    """Return how many strokes of the hand a line takes, by its length and by its greatest depth."""
    along = math.ceil(line.length / shop.stroke_length)
    deep = math.ceil(float(line.depth_mm.max()) / shop.stroke_depth)
    return max(along, 1) * max(deep, 1)


def flow_strokes_for(line: FlowLine, shop: Shop) -> int:
    """Return how many strokes of the hand a flow line takes, by its length and its depth below the pocket's floor."""
    along = math.ceil(line.length / shop.stroke_length)
    return max(along, 1) * max(math.ceil(line.below_floor_mm / shop.stroke_depth), 1)


def _roughing(plan: Plan, shop: Shop, words: Words) -> Iterable[Task]:
    if not plan.pockets:
        return
    cutters = len({pocket.cutter_mm for pocket in plan.pockets})
    yield Task("set up the machine", cutters * shop.set_up, f"{shop.set_up:g} min a cutter")
    yield Task(
        "rough the pockets",
        sum(roughing_minutes(pocket, shop) for pocket in plan.pockets),
        f"feed {words.feed(shop.feed)}, stepover {share(shop.stepover)} of the diameter, {shop.plunge:g} s a plunge",
    )


def _hand_work(plan: Plan, shop: Shop, words: Words) -> Iterable[Task]:
    yield Task("glue the pattern", shop.gluing, f"{shop.gluing:g} min a plaque")
    walls = [ring for p in plan.pockets if p.allowance_mm > 0 for ring in p.wall.rings()]
    if walls:
        minutes = sum(map(_perimeter, walls)) / shop.paring
        yield Task("pare the pocket walls", minutes, f"{words.length(shop.paring)} of wall a minute")
    if plan.flow_lines:
        yield _stroke_task(
            "cut the flow lines", sum(flow_strokes_for(line, shop) for line in plan.flow_lines), shop, words
        )
    if plan.v_lines:
        yield _stroke_task("cut the V lines", sum(strokes_for(line, shop) for line in plan.v_lines), shop, words)


def _stroke_task(name: str, strokes: int, shop: Shop, words: Words) -> Task:
    rate = f"{shop.strokes_per_minute:g} a minute"
    size = f"{words.length(shop.stroke_length)}, {words.length(shop.stroke_depth)} deep"
    by = f"{strokes} strokes of at most {size}, {rate}"
    return Task(name, strokes / shop.strokes_per_minute, by)


def _perimeter(ring: Iterable[Iterable[float]]) -> float:
    points = [tuple(point) for point in ring]
    return math.fsum(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True))
