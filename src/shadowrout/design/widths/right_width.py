"""Lines right for their size: those below the finest line are widened where there is room, dropped where there is none.

A stroke's width is twice the radius of the discs along its medial axis. A thin stretch is widened by the discs of
half the finest width along its axis, moved off the axis of the light around it, so that a gap as wide as the least
light stays (the light's share is its own: no neighbour is touched). Of thin lines too close together to be widened
side by side, the shortest gives way to the others. What is then still narrower, but at tapered ends, is short: there
the dark wins, and light that it makes too narrow is closed.
"""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.design.widths.bounds import check_outlines, check_strokes
from shadowrout.design.widths.rule import ATTAINED, Rule
from shadowrout.design.widths.sorting import CRUMB_SHARE, SLACK, sorted_by_width
from shadowrout.design.widths.stretch import ERROR_MM, Stretch, WidthReport, dot, step_mm
from shadowrout.geometry.medial import Boundary, Diagram
from shadowrout.geometry.necks import neck_fillings
from shadowrout.geometry.region import Region


def right_for_size(
    shadow: Region, *, finest_mm: float, least_light_mm: float, drop_crumbs: bool = True
) -> tuple[Region, WidthReport]:
    """Return the shadow with lines below ``finest_mm`` widened or dropped, and what was done; all in mm.

    Shadow that is wide enough keeps its outline exactly, but for what a widened neighbour adds. Light between
    strokes isn't narrowed below ``least_light_mm`` by the widening, or a tenth less where a line wouldn't come out wide
    otherwise; where it was narrower it stays as it was, or is closed beside a narrow place. With ``drop_crumbs`` parts
    of the shadow far below a finest line's dot go: the tails of strokes fall into such when traced; without it they
    are widened, as what a hand drew must be. The empty region comes back as it is. Raises ValueError for widths that
    aren't positive, and InputError for a design that holds more than ``bounds`` allow.
    """
    if not (finest_mm > 0 and least_light_mm > 0):
        raise ValueError(f"widths: expected positive lengths, got {finest_mm} and {least_light_mm}")
    check_outlines(shadow.perimeter)
    crumbs = [dot(part) for part in shadow.parts() if drop_crumbs and part.area < CRUMB_SHARE * finest_mm**2]
    shadow = shadow.keeping(CRUMB_SHARE * finest_mm**2) if crumbs else shadow
    rule = Rule(finest_mm, least_light_mm)
    sorted_out = _sorted_out(shadow.simplified(ERROR_MM), rule)
    added, necks = neck_fillings(
        sorted_out.shadow,
        narrow_mm=ATTAINED * finest_mm,
        width_mm=(1 - SLACK) * finest_mm,
        least_gap_mm=ATTAINED * least_light_mm,
    )
    *earlier, (thin, widening) = sorted_out.changes
    for gone, widened_first in earlier:
        shadow = rule.without(shadow, gone).union(widened_first)
    grown = rule.without(shadow, thin).union(widening.union(added))
    shadow = grown if grown is shadow and not earlier else grown.holes_filled(least_light_mm**2)
    widened = (*sorted_out.widened, *map(Stretch.of_neck, necks))
    return shadow, WidthReport(finest_mm, sorted_out.kept, widened, (*crumbs, *sorted_out.dropped))


@dataclass(frozen=True, eq=False)
class _SortedOut:
    """A shadow with lines widened or dropped, what was taken off and then added, in this order, and the stretches."""

    shadow: Region
    changes: tuple[tuple[Region, Region], ...]
    kept: tuple[Stretch, ...]
    widened: tuple[Stretch, ...]
    dropped: tuple[Stretch, ...]


def _sorted_out(shadow: Region, rule: Rule) -> _SortedOut:
    """Return what becomes of a shadow; few points are enough to judge it, and the time goes by them."""
    step = step_mm(rule.finest_mm)
    diagram = Diagram.of(Boundary.of(shadow, step_mm=step), step_mm=step)
    inside = diagram.within(shadow)
    kept, thin = sorted_by_width(shadow, diagram.axis(inside), rule.finest_mm)
    check_strokes(len(kept) + len(thin))
    grown = rule.widened_twice(shadow, thin, rule.light_beside(thin, diagram, ~inside))
    widened, failed = rule.judged(thin, grown.wide)
    if not failed:
        return _SortedOut(grown.shadow, ((Region.empty(), grown.added),), tuple(kept), tuple(widened), ())
    dropped, spared = rule.first_to_go(failed)
    left, gone = widened + spared, rule.thin_wood(dropped, grown.wide)
    cleared = rule.without(shadow, gone)
    grown = rule.widened_twice(cleared, left, rule.light_around(left, cleared))
    widened, failed = rule.judged(left, grown.wide)
    gone_too = rule.thin_wood(failed, grown.wide)
    changes = ((gone, grown.added), (gone_too, Region.empty()))
    return _SortedOut(rule.without(grown.shadow, gone_too), changes, tuple(kept), tuple(widened), (*dropped, *failed))
