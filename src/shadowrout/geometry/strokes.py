"""From the graph of a medial axis to a few long strokes: spurs pruned, branches joined where they run on."""

from __future__ import annotations

import heapq
import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from shadowrout.geometry.arcs import Points
from shadowrout.geometry.arrays import Flags, Floats, Indices
from shadowrout.geometry.medial import Axis

LEAST_SPUR_MM = 0.2
"""A branch that adds less than this to the reach of the discs is noise of the outline (a judgement, no source)."""

SHARPEST_TURN_DEG = 60.0
"""Branches are joined to one stroke at a junction if it turns by no more than this (a judgement, no source)."""

_LOOK_AHEAD_MM = 0.75
"""Length over which a branch's direction is taken: right at a junction the axis bends (a judgement, no source)."""

Chain = list[int]
"""Nodes along one branch; first and last are the same for a loop."""

Places = Sequence[Sequence[float]]
"""x and y of each node."""


@dataclass(frozen=True, eq=False)
class Stroke:
    """Centre line of one stroke: ``points`` (n, 2) and ``half_widths`` (n,), mm; a closed one isn't repeated."""

    points: Points
    half_widths: Floats
    closed: bool


def chains_of(edges: Indices) -> list[Chain]:
    """Return the branches of a graph, edges (m, 2): runs between nodes that don't have exactly two edges.

    Ordered by their lower end; loops without such a node come last, each starting at its lowest node.
    """
    edges = edges[edges[:, 0] != edges[:, 1]]
    if not len(edges):
        return []
    loops = _lowest_of_loops(edges)
    ends = np.bincount(edges.ravel()) != 2
    ends[loops] = True
    way = _Ways(edges, ends)
    starts = np.flatnonzero(ends[way.source])
    # Each branch is walked from both its ends, and taken from the lower one.
    starts = starts[starts <= way.back[way.last[starts]]]
    starts = starts[np.argsort(np.isin(way.source[starts], loops), kind="stable")]
    return way.chains(starts)


def _lowest_of_loops(edges: Indices) -> Indices:
    """Return the lowest node of each part of a graph whose nodes all have two edges."""
    degrees = np.bincount(edges.ravel())
    count = len(degrees)
    links = coo_array((np.ones(len(edges), dtype=bool), tuple(edges.T)), shape=(count, count))
    _, part = connected_components(links, directed=False)
    other = np.bincount(part, degrees != 2) > 0
    lowest = np.unique(part, return_index=True)[1]
    return lowest[~other]


class _Ways:
    """Every edge of a graph as two ways, one each direction, ordered by source, and the walks that they make.

    ``source``, ``target`` (2m,) are nodes, ``back`` (2m,) the same edge the other way. A walk runs on through nodes
    that are no ``ends``; ``last`` (2m,) is its last way, and ``left`` (2m,) how many more there are.
    """

    def __init__(self, edges: Indices, ends: Flags) -> None:
        both = np.concatenate([edges, edges[:, ::-1]])
        order = np.argsort(both[:, 0], kind="stable")
        self.source, self.target = both[order].T
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        self.back = place[(order + len(edges)) % len(both)]
        first = np.searchsorted(self.source, self.target)
        on = np.where(first == self.back, first + 1, first)
        self._next = np.where(ends[self.target], np.arange(len(both)), on)
        self.last, self.left = self._next, (self._next != np.arange(len(both))).astype(np.intp)
        while True:  # each round looks twice as far ahead (pointer jumping)
            further = self.left[self.last]
            if not further.any():
                break
            self.left, self.last = self.left + further, self.last[self.last]

    def chains(self, starts: Indices) -> list[Chain]:
        """Return the nodes along the walks that begin with the ways ``starts`` (k,)."""
        lengths = self.left[starts] + 1
        walk = np.full(len(self.source), len(starts))
        walk[self.last[starts]] = np.arange(len(starts))
        walk = walk[self.last]
        heads = np.cumsum(lengths) - lengths
        inside = np.flatnonzero(walk < len(starts))
        nodes = np.empty(int(lengths.sum()), dtype=np.intp)
        nodes[(heads + lengths - 1)[walk[inside]] - self.left[inside]] = self.source[inside]
        ends = self.target[self.last[starts]].tolist()
        return [[*run.tolist(), end] for run, end in zip(np.split(nodes, heads[1:]), ends, strict=True)]


def pruned(axis: Axis) -> Indices:
    """Return the edges (m, 2) of the axis without spurs, the least one taken first.

    A free branch of length L from a junction of radius r to a tip of radius t adds L + t - r to what the
    discs reach; below ``LEAST_SPUR_MM`` it goes. A junction always keeps two branches, so no stroke is cut.
    """
    graph = _Branches(axis)
    while graph.heap:
        gain, number = heapq.heappop(graph.heap)
        if gain >= LEAST_SPUR_MM:
            break
        if graph.gain(number) == gain:
            graph.remove(number)
    chains = list(graph.chains.values())
    nodes = np.fromiter(itertools.chain.from_iterable(chains), dtype=np.intp)
    pairs = np.column_stack([nodes[:-1], nodes[1:]])
    return np.delete(pairs, np.cumsum([len(c) for c in chains], dtype=np.intp)[:-1] - 1, axis=0)


class _Branches:
    """The branches of an axis while spurs are taken off: branches are merged where a junction dissolves."""

    def __init__(self, axis: Axis) -> None:
        self._axis = axis
        self.chains: dict[int, Chain] = {}
        self.heap: list[tuple[float, int]] = []
        self._at: defaultdict[int, list[int]] = defaultdict(list)
        self._next = 0
        for chain in chains_of(axis.edges):
            self._add(chain)
        self.heap = [(g, n) for n in self.chains if (g := self.gain(n)) is not None]
        heapq.heapify(self.heap)

    def gain(self, number: int) -> float | None:
        """Return what a spur adds to the reach; None for a branch that isn't one, or is gone."""
        chain = self.chains.get(number)
        if chain is None:
            return None
        tip, root = (chain[0], chain[-1]) if len(self._at[chain[0]]) == 1 else (chain[-1], chain[0])
        if len(self._at[tip]) != 1 or len(self._at[root]) < 3:
            return None
        length = np.hypot(*np.diff(self._axis.points[chain], axis=0).T).sum()
        return float(length + self._axis.radii[tip] - self._axis.radii[root])

    def remove(self, number: int) -> None:
        """Take a spur off, and join the last two branches of its junction."""
        chain = self._drop(number)
        for end in (chain[0], chain[-1]):
            meeting = self._at[end]
            if len(meeting) == 2 and meeting[0] != meeting[1]:
                first, second = (self._drop(n) for n in tuple(meeting))
                first = first if first[-1] == end else first[::-1]
                second = second if second[0] == end else second[::-1]
                self._add(first + second[1:])
                joined = self.gain(self._next - 1)
                if joined is not None:
                    heapq.heappush(self.heap, (joined, self._next - 1))

    def _add(self, chain: Chain) -> None:
        self.chains[self._next] = chain
        self._at[chain[0]].append(self._next)
        self._at[chain[-1]].append(self._next)
        self._next += 1

    def _drop(self, number: int) -> Chain:
        chain = self.chains.pop(number)
        self._at[chain[0]].remove(number)
        self._at[chain[-1]].remove(number)
        return chain


def strokes_of(axis: Axis, edges: Indices) -> list[Stroke]:
    """Return the strokes of an axis along the given edges (m, 2), branches joined at their junctions."""
    strokes = []
    for chain in _joined(chains_of(edges), axis.points.tolist()):
        closed = len(chain) > 3 and chain[0] == chain[-1]
        nodes = chain[:-1] if closed else chain
        strokes.append(Stroke(axis.points[nodes], axis.radii[nodes], closed))
    return strokes


def _joined(chains: Sequence[Chain], points: Places) -> list[Chain]:
    """Return longer chains: at each junction the ends that run on into each other with the least turn."""
    meeting: defaultdict[int, list[tuple[int, int]]] = defaultdict(list)
    for number, chain in enumerate(chains):
        if chain[0] != chain[-1]:
            meeting[chain[0]].append((number, 0))
            meeting[chain[-1]].append((number, 1))
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for ends in meeting.values():
        for a, b in _pairs(ends, chains, points):
            partner[a], partner[b] = b, a
    return list(_linked(chains, partner))


def _pairs(
    ends: Sequence[tuple[int, int]], chains: Sequence[Chain], points: Places
) -> Iterable[tuple[tuple[int, int], tuple[int, int]]]:
    ways = [_heading(chains[n] if side == 0 else chains[n][::-1], points) for n, side in ends]
    turns = [(_turn_deg(ways[i], ways[j]), i, j) for i in range(len(ends)) for j in range(i)]
    taken: set[int] = set()
    for turn, i, j in sorted(turns):
        if turn <= SHARPEST_TURN_DEG and not taken & {i, j}:
            taken |= {i, j}
            yield ends[i], ends[j]


def _heading(chain: Chain, points: Places) -> tuple[float, float]:
    """Return the unit direction from the chain's start to the point a little way along it."""
    x0, y0 = points[chain[0]]
    for node in chain:
        x, y = points[node]
        away = math.hypot(x - x0, y - y0)
        if away >= _LOOK_AHEAD_MM:
            break
    away = max(away, 1e-12)
    return (x - x0) / away, (y - y0) / away


def _turn_deg(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Return by how much a line turns that comes against one unit direction and goes on along the other."""
    return math.degrees(math.acos(min(1.0, max(-1.0, -one[0] * other[0] - one[1] * other[1]))))


def _linked(chains: Sequence[Chain], partner: dict[tuple[int, int], tuple[int, int]]) -> Iterable[Chain]:
    """Yield the chains strung together by their partners; rings of chains last."""
    done: set[int] = set()
    open_ends = [(n, side) for n in range(len(chains)) for side in (0, 1) if (n, side) not in partner]
    for number, side in [*open_ends, *((n, 0) for n in range(len(chains)))]:
        if number in done:
            continue
        path: Chain = []
        at: tuple[int, int] | None = (number, side)
        while at is not None and at[0] not in done:
            done.add(at[0])
            piece = chains[at[0]] if at[1] == 0 else chains[at[0]][::-1]
            path += piece[1:] if path else piece
            at = partner.get((at[0], 1 - at[1]))
        yield path
