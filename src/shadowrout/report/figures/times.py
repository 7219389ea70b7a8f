"""How long the work takes, from lengths, areas and the shop's own rates. Estimates to confirm, every one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shadowrout.carving.depths import passes
from shadowrout.carving.flow_lines import FlowLine
from shadowrout.carving.plan import Plan
from shadowrout.carving.pockets import Pocket
from shadowrout.carving.v_lines import VLine
from shadowrout.geometry.region import Box, Region
from shadowrout.job.options import Cutter, Job
from shadowrout.job.shop import Shop
from shadowrout.report.figures.amounts import Surface
from shadowrout.report.figures.precision import hundredth
from shadowrout.report.scope import Scope, scope_of
from shadowrout.sheets.router.router_template import RouterTemplate
from shadowrout.sheets.stencil.cut_stencil import CutStencil
from shadowrout.words.wording import Words, coats_of, share

LEAST_LEFT_MM2 = 1.0
"""What a router leaves of the pockets is told of and counted from here on.

Less goes with the first stroke of the gouge along the wall (common practice, no source).
"""

_ROUNDING = 1e-9
"""What rounding may add to a depth over a stroke's, so that a depth of just two strokes asks for no third."""

_ERROR_MM = 0.01
"""How exactly the bit's way round an opening is found: no time hangs on a hundredth of a millimetre."""

_MM2_PER_10_CM_SQUARE = 10_000.0
"""The square that the shop's rates of painting and sanding are for."""


_ROUGH, _CLEAR, _PARE = "rough the pockets by hand", "clear what the bit leaves", "pare the pocket walls"
_FLOW, _V_LINES = "cut the flow lines", "cut the V lines"
_BY_HAND = frozenset({_ROUGH, _CLEAR, _PARE, _FLOW, _V_LINES})


@dataclass(frozen=True)
class Task:
    """One kind of work on a plaque: how long, and the rates that say so."""

    name: str
    minutes: float
    by: str


def tasks_of(
    job: Job,
    plan: Plan,
    surface: Surface,
    *,
    coats: float,
    stencil: CutStencil | None = None,
    template: RouterTemplate | None = None,
) -> tuple[Task, ...]:
    """Return the work on one plaque in its order, without what its plan and the files of the job don't need.

    Pockets are roughed in one way: by machine where there is a drawing for it, else by a router along the
    ``template``, else by hand.
    """
    shop, scope, words = job.shop, scope_of(job.output.files), Words(job.output.settled_unit)
    tasks = (
        *(_stencil(stencil, shop, words) if stencil else ()),
        *(_template(template, shop, words) if template else ()),
        *(_by_machine(plan, shop, words) if scope.machine else ()),
        *(_by_router(template, job.cutters[0], shop, words) if template and not scope.machine else ()),
        *(_hand_work(plan, shop, words, _cleared_by_hand(plan, scope, template)) if scope.plaque else ()),
        *(_finishing(surface, coats, shop, words) if scope.plaque else ()),
    )
    return tuple(replace(task, minutes=hundredth(task.minutes)) for task in tasks)


def _stencil(stencil: CutStencil, shop: Shop, words: Words) -> Iterable[Task]:
    yield _sheet_task("cut the stencil", [stencil.drawn], stencil.sheet, shop, words)
    yield Task("mark by the stencil", shop.placing, f"{shop.placing:g} min a sheet")


def _template(template: RouterTemplate, shop: Shop, words: Words) -> Iterable[Task]:
    yield _sheet_task("cut the template", template.openings, template.sheet, shop, words)


def _sheet_task(name: str, openings: Sequence[Region], sheet: Box, shop: Shop, words: Words) -> Task:
    """Return the cutting of sheets of one size, each with its openings and its edge; holes are left out."""
    x0, y0, x1, y1 = sheet
    cut = sum(opening.perimeter + 2 * (x1 - x0 + y1 - y0) for opening in openings)
    return Task(name, cut / shop.sheet_feed, f"{words.run(cut)} of cut, feed {words.feed(shop.sheet_feed)}")


def _by_router(template: RouterTemplate, cutter: Cutter, shop: Shop, words: Words) -> Iterable[Task]:
    sheets = len(template.openings)
    yield Task("fix the template", sheets * shop.placing, f"{shop.placing:g} min a sheet")
    count = passes(template.stack.depth, cutter)
    yield Task(
        "rout the pockets",
        count * routing_mm(template, stepover=shop.stepover) / shop.router_feed,
        f"{count} {'pass' if count == 1 else 'passes'}, feed {words.feed(shop.router_feed)}, "
        f"stepover {share(shop.stepover)} of the bit",
    )


def _finishing(surface: Surface, coats: float, shop: Shop, words: Words) -> tuple[Task, ...]:
    square = words.square_10_cm
    return (
        Task(
            "paint",
            surface.painted_mm2 / _MM2_PER_10_CM_SQUARE * shop.painting * coats,
            f"{coats_of(coats)}, {shop.painting:g} min for {square} each; drying not counted",
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


def routing_mm(template: RouterTemplate, *, stepover: float) -> float:
    """Return the way of a router's bit over all pockets, once: round each opening, then over all that it clears."""
    round_it = sum(opening.offset(-template.bush_mm / 2, error=_ERROR_MM).perimeter for opening in template.openings)
    return round_it + template.cleared.area / (stepover * template.bit_mm)


def roughing_minutes(pocket: Pocket, shop: Shop) -> float:
    """Return how long one pocket takes: each pass at the feed, and a plunge for each part of the path."""
    way = clearing_mm(pocket, stepover=shop.stepover)
    return pocket.passes * (way / shop.feed + len(pocket.cutter_path) * shop.plunge / 60)


def by_hand(tasks: Iterable[Task]) -> float:
    """Return the minutes that carving by hand takes of some tasks: strokes, paring, clearing."""
    return math.fsum(task.minutes for task in tasks if task.name in _BY_HAND)


def line_minutes(line: VLine, shop: Shop) -> float:
    """Return how long one V line takes."""
    return strokes_for(line, shop) / shop.strokes_per_minute


def pocket_minutes_by_hand(pocket: Pocket, job: Job) -> float:
    """Return how long one pocket takes by hand: its wall to pare, and its wood where that is cleared by hand."""
    shop = job.shop
    pared = sum(map(_perimeter, pocket.wall.rings())) / shop.paring if pocket.allowance_mm > 0 else 0.0
    return pared + (pocket.volume_mm3 / (1000 * shop.clearing) if scope_of(job.output.files).by_hand else 0.0)


def strokes_for(line: VLine, shop: Shop) -> float:
    """Return how many full strokes of the hand a line is worth, by its length and the depth reached along it.

    Each layer, a stroke deep, is cut where the line goes below the one before: its length counts in strokes, and a
    nick at least as the shop says.
    """
    ends = np.append(line.depth_mm, line.depth_mm[:1]) if line.closed else line.depth_mm
    low, high = np.minimum(ends[:-1], ends[1:]), np.maximum(ends[:-1], ends[1:])
    layers = max(1, math.ceil(float(ends.max()) / shop.stroke_depth - _ROUNDING))
    total = 0.0
    for layer in range(layers):
        over = layer * shop.stroke_depth
        part = np.clip((high - over) / np.maximum(high - low, _ROUNDING), 0.0, 1.0)
        total += max(float((part * line.segments_mm).sum()) / shop.stroke_length, shop.nick)
    return total


def flow_strokes_for(line: FlowLine, shop: Shop) -> float:
    """Return how many full strokes of the hand a flow line is worth, by its length and depth below the floor."""
    layers = max(1, math.ceil(line.below_floor_mm / shop.stroke_depth - _ROUNDING))
    return layers * max(line.length / shop.stroke_length, shop.nick)


def _by_machine(plan: Plan, shop: Shop, words: Words) -> Iterable[Task]:
    if not plan.pockets:
        return
    cutters = len({pocket.cutter_mm for pocket in plan.pockets})
    yield Task("set up the machine", cutters * shop.set_up, f"{shop.set_up:g} min a cutter")
    yield Task(
        "rough the pockets",
        sum(roughing_minutes(pocket, shop) for pocket in plan.pockets),
        f"feed {words.feed(shop.feed)}, stepover {share(shop.stepover)} of the diameter, {shop.plunge:g} s a plunge",
    )


def _cleared_by_hand(plan: Plan, scope: Scope, template: RouterTemplate | None) -> tuple[str, float]:
    """Return what is taken out of the pockets by hand, in words and in mm3: all, or what the router's bit leaves."""
    if scope.by_hand:
        return _ROUGH, sum(pocket.volume_mm3 for pocket in plan.pockets)
    if template is None or scope.machine:
        return "", 0.0
    left = template.unreached.area + template.under_keys.area + template.under_bridges.area
    return _CLEAR, left * template.stack.depth if left >= LEAST_LEFT_MM2 else 0.0


def _hand_work(plan: Plan, shop: Shop, words: Words, by_hand: tuple[str, float]) -> Iterable[Task]:
    yield Task("glue the pattern", shop.gluing, f"{shop.gluing:g} min a plaque")
    what, wood_mm3 = by_hand
    if wood_mm3 > 0:
        yield Task(what, wood_mm3 / (1000 * shop.clearing), words.clearing(shop.clearing))
    walls = [ring for p in plan.pockets if p.allowance_mm > 0 for ring in p.wall.rings()]
    if walls:
        minutes = sum(map(_perimeter, walls)) / shop.paring
        yield Task(_PARE, minutes, f"{words.length(shop.paring)} of wall a minute")
    if plan.flow_lines:
        strokes = sum(flow_strokes_for(line, shop) for line in plan.flow_lines)
        yield _stroke_task(_FLOW, strokes, shop, words)
    if plan.v_lines:
        yield _stroke_task(_V_LINES, sum(strokes_for(line, shop) for line in plan.v_lines), shop, words)


def _stroke_task(name: str, strokes: float, shop: Shop, words: Words) -> Task:
    rate = f"{shop.strokes_per_minute:g} a minute"
    size = f"{words.length(shop.stroke_length)}, {words.length(shop.stroke_depth)} deep"
    by = f"as many as {math.ceil(strokes)} full strokes of {size}, {rate}"
    return Task(name, strokes / shop.strokes_per_minute, by)


def _perimeter(ring: Iterable[Iterable[float]]) -> float:
    points = [tuple(point) for point in ring]
    return math.fsum(math.dist(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True))
