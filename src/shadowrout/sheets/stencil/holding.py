"""Where solid material has to run so that a sheet stays in one piece: webs, bridges and second ties together."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.grid import Grid
from shadowrout.geometry.region import Box
from shadowrout.sheets.stencil.bodies import Bodies, find_bodies
from shadowrout.sheets.stencil.bridges import Tree, spanning_tree
from shadowrout.sheets.stencil.cut_stencil import Bridge, Notice
from shadowrout.sheets.stencil.openings import Field
from shadowrout.sheets.stencil.rasters import Mask, depth_px
from shadowrout.sheets.stencil.spans import Crossings, Ground, find_crossings
from shadowrout.sheets.stencil.stiffness import MOST_FREED_MM2, Hanging, Ties, second_ties, web_ties
from shadowrout.sheets.stencil.webs import Webs, find_webs
from shadowrout.words.sentences import Mm, Sentence

HandBridge = tuple[float, float, float]
"""x and y in mm and an angle in degrees, counter-clockwise from the right."""


@dataclass(frozen=True, eq=False)
class Wishes:
    """What the maker asks for: bridges by hand, boxes in mm without any other bridge, what may go and what may not."""

    bridges: Sequence[HandBridge]
    keep_out: Sequence[Box]
    drop_islands: bool
    keep: Mask
    """What must stay sheet and be held, whatever it costs, shape of the grid."""


@dataclass(frozen=True, eq=False)
class Held:
    """The middle lines of all solid material, shape (rows, columns), and what was done to join them."""

    middle: Mask
    bridges: tuple[Bridge, ...]
    webs_widened: int
    web_lines: Mask
    """The middle lines of the thin webs that are kept, and so widened."""
    notices: tuple[Notice, ...]
    unheld: tuple[Notice, ...]
    """Islands that no bridge may reach."""


def hold_together(design: Field, grid: Grid, wishes: Wishes, *, web_mm: float) -> Held:
    """Return the middle lines of a sheet whose openings are where ``design`` is positive.

    ``web_mm`` is the width that webs are built at. The rim of the sheet must be solid for one web at least.
    """
    half_web_px = web_mm / 2 / grid.pixel_mm
    solid = design <= 0
    depth = depth_px(solid)
    webs = find_webs(depth, half_web_px=half_web_px, keep_thin=not wishes.drop_islands)
    web_lines = webs.lines
    by_hand = [_by_hand(bridge, webs.core, grid) for bridge in wishes.bridges]
    webs = Webs(webs.core, webs.lines | (_drawn(by_hand, solid.shape) & ~webs.core), webs.widened, webs.given_up)
    bodies = find_bodies(solid, depth, webs, frame_row=math.ceil(half_web_px + 1), keep=wishes.keep)
    forbidden = _forbidden(wishes.keep_out, grid, margin_mm=web_mm / 2)
    ground = Ground(~solid, forbidden, grid.pixel_mm)
    crossings = find_crossings(bodies, ground)
    tree = spanning_tree(bodies, crossings, web_mm=web_mm, pixel_mm=grid.pixel_mm, drop_islands=wishes.drop_islands)
    gone = np.zeros(int(bodies.groups.max()) + 1, dtype=bool)
    gone[bodies.group[tree.dropped | tree.unheld]] = True
    middle = (webs.core | webs.lines) & ~gone[bodies.groups]
    more, loose = _stiffened(bodies, middle, crossings, tree, web_mm=web_mm, pixel_mm=grid.pixel_mm)
    chosen = np.concatenate([tree.crossings, more])
    ends = list(zip(crossings.start[chosen], crossings.end[chosen], strict=True))
    return Held(
        middle | _drawn(ends, solid.shape),
        (
            *_bridges(by_hand, solid, grid, web_mm, by_hand=True),
            *_bridges(ends, solid, grid, web_mm, by_hand=False),
        ),
        webs.widened,
        web_lines & middle,
        tuple(_hanging_notices(loose, bodies, grid)),
        tuple(_unheld_notices(tree, bodies, grid)),
    )


def _stiffened(
    bodies: Bodies, middle: Mask, crossings: Crossings, tree: Tree, *, web_mm: float, pixel_mm: float
) -> tuple[NDArray[np.intp], list[Hanging]]:
    """Return the numbers of crossings that tie a second time what would hang on one, and what still does."""
    chosen = crossings.chosen(tree.crossings)
    ties = web_ties(bodies, middle).joined(Ties(chosen.one, chosen.other, chosen.middle))
    alive = ~(tree.dropped | tree.unheld)
    usable = np.flatnonzero(alive[crossings.one] & alive[crossings.other])
    added, loose = second_ties(
        bodies,
        ties,
        crossings.chosen(usable),
        web_mm=web_mm,
        pixel_mm=pixel_mm,
    )
    return usable[added], loose


Ends = tuple[NDArray[np.intp], NDArray[np.intp]]


def _by_hand(bridge: HandBridge, core: Mask, grid: Grid) -> Ends:
    """Return the pixels of the sheet's core that a line through a point meets first, both ways."""
    x, y, angle_deg = bridge
    row, column = grid.pixel(x, y)
    step = np.array([-math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))])
    reach = np.arange(0, math.hypot(*core.shape), 0.5)
    ends = []
    for way in (1, -1):
        line = np.rint([row, column] + way * reach[:, None] * step).astype(np.intp)
        line = line[((line >= 0) & (line < core.shape)).all(axis=1)]
        met = np.flatnonzero(core[line[:, 0], line[:, 1]])
        ends.append(line[met[0] if len(met) else -1])
    return ends[0], ends[1]


def _drawn(ends: Sequence[Ends], shape: tuple[int, int]) -> Mask:
    """Return the straight lines of pixels between pairs of pixels, 8-connected."""
    canvas = np.zeros(shape, dtype=np.uint8)
    for start, end in ends:
        cv2.line(canvas, (int(start[1]), int(start[0])), (int(end[1]), int(end[0])), 1, 1, cv2.LINE_8)
    return canvas > 0


def _forbidden(boxes: Sequence[Box], grid: Grid, *, margin_mm: float) -> Mask:
    """Return where the middle line of a bridge would let the bridge reach into one of the boxes."""
    mask = np.zeros(grid.shape, dtype=bool)
    for x0, y0, x1, y1 in boxes:
        top, left = grid.pixel(x0 - margin_mm, y1 + margin_mm)
        bottom, right = grid.pixel(x1 + margin_mm, y0 - margin_mm)
        mask[max(top, 0) : max(bottom + 1, 0), max(left, 0) : max(right + 1, 0)] = True
    return mask


def _bridges(ends: Sequence[Ends], solid: Mask, grid: Grid, width_mm: float, *, by_hand: bool) -> Iterator[Bridge]:
    """Yield the stretch of each line that runs over openings; nothing for one that lies on the sheet."""
    for start, end in ends:
        steps = 2 * int(np.abs(end - start).max()) + 1
        line = start + np.linspace(0, 1, steps)[:, None] * (end - start)
        at = np.rint(line).astype(np.intp)
        over = np.flatnonzero(~solid[at[:, 0], at[:, 1]])
        if len(over):
            yield Bridge(grid.place(*line[over[0]]), grid.place(*line[over[-1]]), width_mm, by_hand)


def _hanging_notices(loose: Sequence[Hanging], bodies: Bodies, grid: Grid) -> Iterator[Notice]:
    for hanging in loose:
        members = np.array([n for n in hanging.nodes if n <= bodies.count], dtype=np.intp)
        middle = np.average(bodies.centre[members], axis=0, weights=bodies.area_px[members])
        yield Notice(
            grid.place(*middle),
            Sentence(
                "{area:.0f} of sheet hang on a single web or bridge, and there is no place for a second; over "
                "{most:.0f} may twist: add a bridge by hand",
                area=Mm.area(hanging.area_mm2),
                most=Mm.area(MOST_FREED_MM2),
            ),
        )


def _unheld_notices(tree: Tree, bodies: Bodies, grid: Grid) -> Iterator[Notice]:
    for number in np.flatnonzero(tree.unheld):
        yield Notice(
            grid.place(*bodies.centre[number]),
            "an island can't be held, since stencil.keep_out lets no bridge reach it; make the box smaller",
        )
