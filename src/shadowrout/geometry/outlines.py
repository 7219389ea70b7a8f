"""The outlines that boards have, as exact lines and arcs around a given box, counter-clockwise."""

from __future__ import annotations

import math

import numpy as np

from shadowrout.geometry.arcs import ArcPath, Points
from shadowrout.geometry.arrays import Floats
from shadowrout.geometry.region import Box

_QUARTER_TURN = math.tan(math.pi / 8)
"""Bulge of a quarter of a circle: the tangent of a quarter of its angle."""

_PAIRS_A_QUARTER = 12
"""Pairs of arcs that stand for a quarter of an ellipse: see there how near they come."""


def rectangle(box: Box) -> ArcPath:
    """Return the box itself, from its lower left corner."""
    x0, y0, x1, y1 = box
    return ArcPath.polygon(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))


def rounded_rectangle(box: Box, radius: float) -> ArcPath:
    """Return the box with its corners rounded by arcs of ``radius``, at most half its shorter side."""
    x0, y0, x1, y1 = box
    r = radius
    vertices = [
        *([x0 + r, y0], [x1 - r, y0], [x1, y0 + r], [x1, y1 - r]),
        *([x1 - r, y1], [x0 + r, y1], [x0, y1 - r], [x0, y0 + r]),
    ]
    return ArcPath(np.array(vertices), np.array([0.0, _QUARTER_TURN] * 4))


def arch(box: Box) -> ArcPath:
    """Return a rectangle under a half circle as wide as the box; its height must exceed half its width."""
    x0, y0, x1, y1 = box
    spring = y1 - (x1 - x0) / 2
    vertices = np.array([[x0, y0], [x1, y0], [x1, spring], [x0, spring]])
    return ArcPath(vertices, np.array([0.0, 0.0, 1.0, 0.0]))


def ellipse(box: Box) -> ArcPath:
    """Return the ellipse that fills the box, as arcs that meet without a kink; a circle as two half turns.

    Each quarter is twelve pairs of arcs that take the ellipse's points and directions (Bolton 1975, biarcs).
    The extremes are exact; up to proportions of 4:1 the curve is within 3e-5 of the longer side.
    """
    x0, y0, x1, y1 = box
    a, b = (x1 - x0) / 2, (y1 - y0) / 2
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    if math.isclose(a, b, rel_tol=1e-12):
        return ArcPath.circle(centre, a)
    turns = np.arange(4 * _PAIRS_A_QUARTER) * (math.pi / 2 / _PAIRS_A_QUARTER)
    points = np.column_stack([a * np.cos(turns), b * np.sin(turns)])
    ahead = np.column_stack([-a * np.sin(turns), b * np.cos(turns)])
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    return _arc_pairs(points + centre, ahead)


def _arc_pairs(points: Points, ahead: Points) -> ArcPath:
    """Return the closed path of two arcs from each point to the next that leaves and arrives as ``ahead`` says.

    The joint lies where both tangent lengths are equal: d solves
    |v|^2 - 2 d v.(t0 + t1) - 2 d^2 (1 - t0.t1) = 0 for the chord v and unit directions t0 and t1.
    """
    chord = np.roll(points, -1, axis=0) - points
    arriving = np.roll(ahead, -1, axis=0)
    along = np.sum(chord * (ahead + arriving), axis=1)
    bend = 2 * (1 - np.sum(ahead * arriving, axis=1))
    d = (np.sqrt(along**2 + bend * np.sum(chord**2, axis=1)) - along) / bend
    joints = points + (chord + d[:, None] * (ahead - arriving)) / 2
    vertices = np.stack([points, joints], axis=1).reshape(-1, 2)
    pieces = np.roll(vertices, -1, axis=0) - vertices
    first, second = pieces[0::2], pieces[1::2]
    bulges = np.stack([_half_tangent(ahead, first), _half_tangent(second, arriving)], axis=1)
    return ArcPath(vertices, bulges.reshape(-1))


def _half_tangent(start: Points, end: Points) -> Floats:
    """Return the tangent of half the angle from one direction to the other, a quarter of the arc's angle."""
    cross = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
    tangent: Floats = np.tan(np.arctan2(cross, np.sum(start * end, axis=1)) / 2)
    return tangent
