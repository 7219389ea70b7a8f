"""Second ties for what hangs on one, so that cutting or breaking a single tie frees little."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.sheets.stencil.bodies import Bodies
from shadowrout.sheets.stencil.bridges import LONGEST_BRIDGE_MM
from shadowrout.sheets.stencil.rasters import Mask, labelled, widened
from shadowrout.sheets.stencil.spans import Crossings

MOST_FREED_MM2 = 150.0
"""What may hang on a single tie."""

_NEAR_WEBS = 2.0
"""A second tie stands at least this many webs from the first."""


@dataclass(frozen=True, eq=False)
class Ties:
    """What holds nodes together: shape (n,) each, ``place`` (n, 2) as (row, column).

    Nodes are the bodies by number, and above them the pieces of thin web between bodies.
    """

    one: NDArray[np.intp]
    other: NDArray[np.intp]
    place: NDArray[np.float64]

    def joined(self, more: Ties) -> Ties:
        """Return these ties and more."""
        return Ties(
            np.concatenate([self.one, more.one]),
            np.concatenate([self.other, more.other]),
            np.vstack([self.place, more.place]),
        )


@dataclass(frozen=True)
class Hanging:
    """A set of nodes on a single tie, and the area they hold."""

    nodes: frozenset[int]
    tie: int
    area_mm2: float


def web_ties(bodies: Bodies, lines: Mask) -> Ties:
    """Return where thin webs touch bodies: each place of contact is a tie of the web's piece and the body."""
    between = lines & (bodies.labels == 0)
    _, pieces = labelled(between, connectivity=8)
    near = between & widened(bodies.labels > 0)
    count, spots = labelled(near, connectivity=8)
    piece = np.zeros(count + 1, dtype=np.intp)
    piece[spots] = pieces
    rows, columns = np.nonzero(near)
    ties = set()
    height, width = bodies.labels.shape
    for row_step in (-1, 0, 1):
        for column_step in (-1, 0, 1):
            r, c = np.clip(rows + row_step, 0, height - 1), np.clip(columns + column_step, 0, width - 1)
            body = bodies.labels[r, c]
            met = body > 0
            ties |= set(zip(spots[rows, columns][met].tolist(), body[met].tolist(), strict=True))
    every = np.array(sorted(ties), dtype=np.intp).reshape(-1, 2)
    size = np.maximum(np.bincount(spots[rows, columns], minlength=count + 1), 1)
    place = np.column_stack([np.bincount(spots[rows, columns], a, count + 1) / size for a in (rows, columns)])
    return Ties(piece[every[:, 0]] + bodies.count, every[:, 1], place[every[:, 0]])


def hanging(bodies: Bodies, ties: Ties, *, pixel_mm: float) -> list[Hanging]:
    """Return every set of nodes that one tie alone holds and that has too much area, the largest first.

    A tie is the only one of a set if no other way leads back from it (Tarjan 1974, cut edges by lowest reach).
    """
    beside: dict[int, list[tuple[int, int]]] = {}
    for number, (a, b) in enumerate(zip(ties.one.tolist(), ties.other.tolist(), strict=True)):
        beside.setdefault(a, []).append((b, number))
        beside.setdefault(b, []).append((a, number))
    order, via, parent = _depth_first(beside, bodies.frame)
    position = {node: i for i, node in enumerate(order)}
    low = dict(position)
    below: dict[int, list[int]] = {node: [node] for node in order}
    found = []
    for node in reversed(order):
        for near, tie in beside.get(node, []):
            if tie != via.get(node) and parent.get(near) != node:
                low[node] = min(low[node], position[near])
        if node == bodies.frame:
            continue
        up = parent[node]
        low[up] = min(low[up], low[node])
        below[up] += below[node]
        if low[node] == position[node]:
            area = sum(bodies.area_px[n] for n in below[node] if n <= bodies.count) * pixel_mm**2
            if area > MOST_FREED_MM2:
                found.append(Hanging(frozenset(below[node]), via[node], float(area)))
    return sorted(found, key=lambda h: (-h.area_mm2, h.tie))


def _depth_first(
    beside: dict[int, list[tuple[int, int]]], root: int
) -> tuple[list[int], dict[int, int], dict[int, int]]:
    """Return the nodes in the order a depth-first walk meets them, the tie it came by, and each one's parent."""
    order, via, parent = [root], {}, {}
    seen = {root}
    stack = [(root, iter(beside.get(root, [])))]
    while stack:
        node, ahead = stack[-1]
        for near, tie in ahead:
            if near not in seen:
                seen.add(near)
                order.append(near)
                via[near], parent[near] = tie, node
                stack.append((near, iter(beside.get(near, []))))
                break
        else:
            stack.pop()
    return order, via, parent


def second_ties(
    bodies: Bodies, ties: Ties, crossings: Crossings, *, web_mm: float, pixel_mm: float
) -> tuple[NDArray[np.intp], list[Hanging]]:
    """Return the numbers of the crossings to add, and what still hangs on a single tie for want of a place.

    A new tie is the cheapest crossing between what hangs and the rest, cost times 2 + the cosine of the angle
    between the two ties seen from the middle of what hangs, so that it comes to stand opposite. It crosses 15 mm of
    openings at most, or half the side of a square as large as what hangs.
    """
    added: list[int] = []
    hopeless: dict[frozenset[int], Hanging] = {}
    while sets := [h for h in hanging(bodies, ties, pixel_mm=pixel_mm) if h.nodes not in hopeless]:
        chosen = _opposite(sets[0], bodies, ties, crossings, web_mm / pixel_mm)
        if chosen is None:
            hopeless[sets[0].nodes] = sets[0]
            continue
        added.append(chosen)
        new = crossings.chosen(np.array([chosen]))
        ties = ties.joined(Ties(new.one, new.other, new.middle))
    return np.array(added, dtype=np.intp), list(hopeless.values())


def _opposite(held: Hanging, bodies: Bodies, ties: Ties, crossings: Crossings, web_px: float) -> int | None:
    inside = np.zeros(bodies.count + 1, dtype=bool)
    members = np.array([n for n in held.nodes if n <= bodies.count], dtype=np.intp)
    inside[members] = True
    place, middle = ties.place[held.tie], crossings.middle
    longest = max(LONGEST_BRIDGE_MM, held.area_mm2**0.5 / 2)
    across = (inside[crossings.one] != inside[crossings.other]) & (crossings.dark_mm <= longest)
    across &= np.hypot(*(middle - place).T) >= _NEAR_WEBS * web_px
    which = np.flatnonzero(across)
    if not len(which):
        return None
    centre = np.average(bodies.centre[members], axis=0, weights=bodies.area_px[members])
    one, other = place - centre, middle[which] - centre
    cosine = other @ one / np.maximum(np.hypot(*one) * np.hypot(*other.T), 1e-9)
    return int(which[np.argmin(crossings.cost[which] * (2 + cosine))])
