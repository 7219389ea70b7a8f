"""The bridges that make the bodies of a sheet one piece: the cheapest tree, without islands not worth a bridge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shadowrout.sheets.stencil.bodies import Bodies
from shadowrout.sheets.stencil.spans import Crossings

LEAST_ISLAND_WEBS = 2.0
"""An island smaller than this many squares of the web isn't worth a bridge."""

LEAST_ISLAND_BRIDGES = 1.5
"""An island smaller than this many times what its bridge covers isn't worth it either."""

LONGEST_BRIDGE_MM = 15.0
"""A bridge over a longer opening is made only for much sheet."""

_WORTH_A_LONG_BRIDGE = 4.0
"""So many times the sheet is asked of it: long bridges bend and show (no source)."""


@dataclass(frozen=True, eq=False)
class Tree:
    """The chosen bridges and the bodies they leave.

    ``crossings`` are numbers of the crossings chosen. ``dropped`` and ``unheld`` have shape (bodies + 1,): what
    isn't worth a bridge, and what no crossing reaches because bridges are forbidden there.
    """

    crossings: NDArray[np.intp]
    dropped: NDArray[np.bool_]
    unheld: NDArray[np.bool_]


def spanning_tree(bodies: Bodies, crossings: Crossings, *, web_mm: float, pixel_mm: float, drop_islands: bool) -> Tree:
    """Return the cheapest crossings that tie all groups of bodies to the frame (Kruskal 1956).

    With ``drop_islands`` whole branches go that hold less sheet than 1.5 times what their bridge covers or than 2
    squares of the web, and four times as much for a bridge over 15 mm, unless a counter is in them.
    """
    one, other = bodies.group[crossings.one], bodies.group[crossings.other]
    edges = _kruskal(one, other, crossings.cost, int(bodies.group.max()) + 1)
    groups = _Rooted.of(edges, one, other, root=int(bodies.group[bodies.frame]))
    area_mm2 = np.bincount(bodies.group, bodies.area_px * pixel_mm**2).astype(np.float64)
    counter = np.bincount(bodies.group, bodies.counter) > 0
    gone = np.zeros(len(area_mm2), dtype=bool)
    if drop_islands:
        gone = _not_worth(groups, area_mm2, counter, crossings.dark_mm, web_mm)
    unheld = np.ones(len(area_mm2), dtype=bool)
    unheld[groups.order] = False
    unheld[0] = False
    kept = np.array([groups.edge[g] for g in groups.order[1:] if not gone[g]], dtype=np.intp)
    return Tree(kept, gone[bodies.group], unheld[bodies.group])


def _kruskal(one: NDArray[np.intp], other: NDArray[np.intp], cost: NDArray[np.float64], count: int) -> list[int]:
    low, high = np.minimum(one, other), np.maximum(one, other)
    order = np.lexsort([cost, low * count + high])
    pair = (low * count + high)[order]
    first = order[np.concatenate([[True], pair[1:] != pair[:-1]])] if len(order) else order
    first = first[low[first] != high[first]]
    parent = list(range(count))

    def root(node: int) -> int:
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    chosen = []
    for edge in first[np.argsort(cost[first], kind="stable")].tolist():
        a, b = root(int(one[edge])), root(int(other[edge]))
        if a != b:
            parent[a] = b
            chosen.append(edge)
    return chosen


@dataclass(frozen=True, eq=False)
class _Rooted:
    """A tree seen from its root: nodes from the root outwards, each node's parent and the edge to it."""

    order: list[int]
    parent: dict[int, int]
    edge: dict[int, int]

    @classmethod
    def of(cls, edges: list[int], one: NDArray[np.intp], other: NDArray[np.intp], *, root: int) -> _Rooted:
        beside: dict[int, list[tuple[int, int]]] = {}
        for e in edges:
            a, b = int(one[e]), int(other[e])
            beside.setdefault(a, []).append((b, e))
            beside.setdefault(b, []).append((a, e))
        order, parent, edge = [root], {root: root}, {}
        for node in order:
            for near, e in beside.get(node, []):
                if near not in parent:
                    parent[near], edge[near] = node, e
                    order.append(near)
        return cls(order, parent, edge)


def _not_worth(
    tree: _Rooted,
    area_mm2: NDArray[np.float64],
    counter: NDArray[np.bool_],
    dark_mm: NDArray[np.float64],
    web_mm: float,
) -> NDArray[np.bool_]:
    """Return which nodes lie in a branch that isn't worth its bridge, judged from the tips inwards."""
    held, must = area_mm2.copy(), counter.copy()
    gone = np.zeros(len(held), dtype=bool)
    for node in reversed(tree.order[1:]):
        dark = dark_mm[tree.edge[node]]
        least = max(LEAST_ISLAND_BRIDGES * dark * web_mm, LEAST_ISLAND_WEBS * web_mm**2)
        if dark > LONGEST_BRIDGE_MM:
            least *= _WORTH_A_LONG_BRIDGE
        if held[node] < least and not must[node]:
            gone[node] = True
        else:
            held[tree.parent[node]] += held[node]
            must[tree.parent[node]] |= must[node]
    for node in tree.order[1:]:
        gone[node] |= gone[tree.parent[node]]
    return gone
