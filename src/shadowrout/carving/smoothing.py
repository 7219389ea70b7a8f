"""Strokes made smooth to follow by hand, and light: few points, none far from where it was."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from shadowrout.geometry.strokes import Stroke

SMOOTHING_MM = 0.25
"""Standard deviation of the Gaussian along a stroke."""

_STEP_MM = 0.1
"""Step of the points that are smoothed, under half the least sigma: the sum stands for the integral."""
_TRUNCATE = 4.0
"""The Gaussian is cut off at so many standard deviations."""


def smoothed(strokes: Sequence[Stroke], *, sigma_mm: float = SMOOTHING_MM) -> list[Stroke]:
    """Return the strokes at even steps of about 0.1 mm, smoothed along their length; open ends stay in place.

    All at once: each run of points is led on beyond its ends, round a closed stroke and mirrored through both ends of
    an open one, as far as the Gaussian reaches.
    """
    if not strokes:
        return []
    tracks, counts = _even_steps(strokes)
    closed = np.array([stroke.closed for stroke in strokes])
    sigma = sigma_mm / _STEP_MM
    reach = math.ceil(_TRUNCATE * sigma) + 1
    starts = np.cumsum(counts) - counts
    longer = counts - closed + 2 * reach
    stroke = np.repeat(np.arange(len(counts)), longer)
    place = np.arange(len(stroke)) - np.repeat(np.cumsum(longer) - longer + reach, longer)
    led_on = _led_on(tracks, starts[stroke], counts[stroke] - 1, place, closed[stroke])
    smooth = np.column_stack([np.convolve(column, _gaussian(sigma), mode="same") for column in led_on.T])
    inner = (place >= 0) & (place < (counts - closed)[stroke])
    runs = np.split(smooth[inner], np.cumsum(counts - closed)[:-1])
    return [
        Stroke(run[:, :2], np.maximum(run[:, 2], 0.0), stroke.closed) for run, stroke in zip(runs, strokes, strict=True)
    ]


def lengthened(stroke: Stroke, *, least_mm: float) -> Stroke:
    """Return the stroke, or a straight one of the least length about its middle where it is shorter: a dot."""
    points = stroke.points
    if stroke.closed or np.hypot(*np.diff(points, axis=0).T).sum() >= least_mm:
        return stroke
    way = points[-1] - points[0]
    size = float(np.hypot(*way))
    way = way / size if size > 0 else np.array([1.0, 0.0])
    middle = points.mean(axis=0)
    ends = np.vstack([middle - way * least_mm / 2, middle + way * least_mm / 2])
    return Stroke(ends, np.full(2, stroke.half_widths.max()), closed=False)


def thinned(strokes: Sequence[Stroke], *, tolerance_mm: float) -> list[Stroke]:
    """Return the strokes with fewer points: each left out lies within the tolerance in x, y and half width.

    Ramer's and Douglas and Peucker's method in the three together, on all strokes at once. A closed stroke
    keeps three points at least.
    """
    if not strokes:
        return []
    tracks = [_track(stroke) for stroke in strokes]
    starts = np.cumsum([0, *map(len, tracks)])
    anchors = [_anchors(stroke, len(track)) for stroke, track in zip(strokes, tracks, strict=True)]
    firsts = np.concatenate([start + a[:-1] for start, a in zip(starts, anchors, strict=False)])
    lasts = np.concatenate([start + a[1:] for start, a in zip(starts, anchors, strict=False)])
    kept = np.split(_kept(np.vstack(tracks), firsts, lasts, tolerance_mm), starts[1:-1])
    thin = []
    for stroke, flags in zip(strokes, kept, strict=True):
        chosen = flags[: len(stroke.points)]
        thin.append(Stroke(stroke.points[chosen], stroke.half_widths[chosen], stroke.closed))
    return thin


def _track(stroke: Stroke) -> NDArray[np.float64]:
    """Return x, y and half width as one array (n, 3), a closed stroke's first point again at its end."""
    track = np.column_stack([stroke.points, stroke.half_widths])
    return np.vstack([track, track[:1]]) if stroke.closed else track


def _anchors(stroke: Stroke, count: int) -> NDArray[np.intp]:
    """Return the points of a track that stay whatever the tolerance."""
    last = count - 1
    return np.array([0, last // 3, 2 * last // 3, last] if stroke.closed else [0, last], dtype=np.intp)


def _even_steps(strokes: Sequence[Stroke]) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return the tracks of all strokes at even steps, one after the other, and how many points each has."""
    tracks = [_track(stroke) for stroke in strokes]
    track, ends = np.vstack(tracks), np.cumsum([len(t) for t in tracks])
    steps = np.hypot(*np.diff(track[:, :2], axis=0).T)
    steps[ends[:-1] - 1] = _STEP_MM  # from one stroke to the next
    way = np.concatenate([[0.0], np.cumsum(steps)])
    first, last = way[np.concatenate([[0], ends[:-1]])], way[ends - 1]
    counts = np.maximum(2, np.round((last - first) / _STEP_MM).astype(np.intp) + 1)
    stroke = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(stroke)) - np.repeat(np.cumsum(counts) - counts, counts)) / (counts - 1)[stroke]
    at = first[stroke] + share * (last - first)[stroke]
    return np.column_stack([np.interp(at, way, column) for column in track.T]), counts


def _gaussian(sigma: float) -> NDArray[np.float64]:
    """Return the weights of a Gaussian that is cut off at _TRUNCATE standard deviations, their sum 1."""
    reach = int(_TRUNCATE * sigma + 0.5)
    bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    weights: NDArray[np.float64] = bell / bell.sum()
    return weights


def _led_on(
    track: NDArray[np.float64],
    start: NDArray[np.intp],
    last: NDArray[np.intp],
    place: NDArray[np.intp],
    closed: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Return the points at ``place`` (m,) of runs that begin at ``start`` and have ``last`` steps, beyond them too.

    A run that is mirrored through its end and again through its start comes back moved by twice its span.
    """
    turns, rest = np.divmod(place, last)
    mirrored = (turns % 2 == 1) & ~closed
    span = track[start + last] - track[start]
    found = track[start + np.where(mirrored, last - rest, rest)]
    found = np.where(mirrored[:, None], 2 * track[start + last] - found, found)
    moved = np.where(closed, 0, turns - mirrored)
    led_on: NDArray[np.float64] = found + moved[:, None] * span
    return led_on


def _kept(
    track: NDArray[np.float64], firsts: NDArray[np.intp], lasts: NDArray[np.intp], tolerance: float
) -> NDArray[np.bool_]:
    """Return which points (n, 3) to keep, given spans whose ends stay; each round splits all spans at once."""
    kept = np.zeros(len(track), dtype=bool)
    kept[firsts] = kept[lasts] = True
    while True:
        long = lasts - firsts >= 2
        firsts, lasts = firsts[long], lasts[long]
        if not len(firsts):
            return kept
        counts = lasts - firsts - 1
        heads = np.cumsum(counts) - counts
        span = np.repeat(np.arange(len(firsts)), counts)
        inner = firsts[span] + 1 + np.arange(len(span)) - heads[span]
        offsets = _from_chords(track[inner], track[firsts], track[lasts], span)
        worst = np.maximum.reduceat(offsets, heads)
        _, at = np.unique(span[offsets == worst[span]], return_index=True)
        split = inner[offsets == worst[span]][at]
        open_spans = worst > tolerance
        kept[split[open_spans]] = True
        firsts, lasts = (
            np.concatenate([firsts[open_spans], split[open_spans]]),
            np.concatenate([split[open_spans], lasts[open_spans]]),
        )


def _from_chords(
    points: NDArray[np.float64], starts: NDArray[np.float64], ends: NDArray[np.float64], span: NDArray[np.intp]
) -> NDArray[np.float64]:
    way = ends - starts
    square = np.maximum((way**2).sum(axis=1), 1e-30)
    offset = points - starts[span]
    share = np.clip((offset * way[span]).sum(axis=1) / square[span], 0.0, 1.0)
    distances: NDArray[np.float64] = np.linalg.norm(offset - share[:, None] * way[span], axis=1)
    return distances
