"""Awkward shapes, each with a reason why a fit may go wrong on it."""

from __future__ import annotations

import contourpy
import numpy as np
import shapely
from scipy import ndimage

from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

Points = np.ndarray


def dense(corners: list[tuple[float, float]] | Points, spacing: float) -> Points:
    """Return the polygon through ``corners`` with points on its sides at most ``spacing`` apart."""
    ring = shapely.LinearRing(corners).segmentize(spacing)
    return shapely.get_coordinates(ring)[:-1]


def circle_points(radius: float, count: int, centre: tuple[float, float] = (0.0, 0.0)) -> Points:
    turn = 2 * np.pi * np.arange(count) / count
    return np.column_stack([centre[0] + radius * np.cos(turn), centre[1] + radius * np.sin(turn)])


def clockwise_circle(centre: tuple[float, float], radius: float) -> ArcPath:
    """Return the outline of a round hole."""
    path = ArcPath.circle(centre, radius)
    return ArcPath(path.vertices, -path.bulges)


def stadium(length: float, radius: float, spacing: float) -> Points:
    quarter = max(8, int(np.pi / 2 * radius / spacing))
    shape = shapely.LineString([(0, 0), (length, 0)]).buffer(radius, quad_segs=quarter)
    return shapely.get_coordinates(shape.exterior.segmentize(spacing))[:-1]


def rounded_rectangle(width: float, height: float, radius: float, spacing: float) -> Points:
    quarter = max(8, int(np.pi / 2 * radius / spacing))
    inner = shapely.box(radius, radius, width - radius, height - radius)
    return shapely.get_coordinates(inner.buffer(radius, quad_segs=quarter).exterior.segmentize(spacing))[:-1]


def koch_snowflake(order: int, side: float = 1.0) -> Points:
    """Return the snowflake's corners counter-clockwise, shape (3 * 4 ** order, 2)."""
    z = side * np.exp(2j * np.pi * np.arange(3) / 3) / np.sqrt(3)
    for _ in range(order):
        step = (np.roll(z, -1) - z) / 3
        tip = z + step + step * np.exp(-1j * np.pi / 3)
        z = np.column_stack([z, z + step, tip, z + 2 * step]).ravel()
    return np.column_stack([z.real, z.imag])


def spiral(turns: float, gap: float, width: float, spacing: float) -> Points:
    """Return a band of ``width`` wound up with ``gap`` between its turns: long neighbours all along."""
    pitch = gap + width
    angle = np.linspace(np.pi, 2 * np.pi * turns, int(40 * turns))
    radius = pitch * angle / (2 * np.pi)
    line = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    outer = line * (1 + width / 2 / radius)[:, None]
    inner = line * (1 - width / 2 / radius)[:, None]
    return dense(np.vstack([outer, inner[::-1]]), spacing)


def comb(teeth: int, gap: float, tooth: float, depth: float, spacing: float) -> Points:
    """Return a comb whose gaps may be as narrow as the tolerance."""
    corners = [(0.0, -1.0)]
    x = teeth * (tooth + gap) - gap
    corners.append((x, -1.0))
    for _ in range(teeth):
        corners += [(x, depth), (x - tooth, depth)]
        x -= tooth
        if x > gap / 2:
            corners += [(x, 0.0), (x - gap, 0.0)]
            x -= gap
    return dense(corners, spacing)


def figure_eight_neck(neck: float, count: int = 160) -> Points:
    """Return two lobes joined by a neck of the given width."""
    turn = 2 * np.pi * np.arange(count) / count
    return np.column_stack([4 * np.cos(turn), np.sin(turn) * (neck / 2 + 2 * np.cos(turn) ** 2)])


def noisy_circle(radius: float, count: int, noise: float, seed: int) -> Points:
    radii = radius + np.random.default_rng(seed).normal(0, noise, count)
    turn = 2 * np.pi * np.arange(count) / count
    return np.column_stack([radii * np.cos(turn), radii * np.sin(turn)])


def zoo() -> dict[str, Region]:
    """Return the shapes by name. They are meant for tolerances from 0.02 to 2."""
    nested = [circle_points(r, int(60 * r) + 12) for r in (10.0, 9.9, 9.7, 9.0, 5.0, 4.95)]
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    near_edge = [circle_points(0.15, 12, (5.0, y)) for y in (0.17, 9.83)]
    tilted = np.array([[0.0, 0.0], [8.0, 0.02], [8.0, 0.04]])
    one = {
        "square of four points": (np.array(square), []),
        "square": (dense(square, 0.2), []),
        "circle": (circle_points(10, 400), []),
        "stadium": (stadium(20, 5, 0.2), []),
        "rounded rectangle": (rounded_rectangle(30, 20, 4, 0.2), []),
        "spiral, wide gap": (spiral(4, 1.0, 1.0, 0.2), []),
        "spiral, gap near the tolerance": (spiral(4, 0.1, 0.4, 0.2), []),
        "comb": (comb(8, 0.5, 1.0, 5.0, 0.2), []),
        "comb, gap near the tolerance": (comb(8, 0.1, 0.2, 5.0, 0.2), []),
        "comb, gap far below it": (comb(6, 0.01, 0.05, 3.0, 0.2), []),
        "needle": (dense(tilted, 0.1), []),
        "needle of three points": (tilted, []),
        "star of needles": (
            np.array([[(9.0, 0.3)[k % 2] * f(k * np.pi / 12) for f in (np.cos, np.sin)] for k in range(24)]),
            [],
        ),
        "tiny triangle": (np.array([[0.0, 0.0], [0.01, 0.0], [0.0, 0.01]]), []),
        "tiny circle": (circle_points(0.02, 20), []),
        "speck far off": (circle_points(0.02, 20, (1e6, -1e6)), []),
        "figure eight": (figure_eight_neck(0.05), []),
        "figure eight, hair neck": (figure_eight_neck(1e-4), []),
        "noise": (noisy_circle(10, 600, 0.03, 1), []),
        "much noise": (noisy_circle(10, 200, 0.3, 2), []),
        "holes at the edge": (dense(square, 0.2), near_edge),
        "hole like the outside": (circle_points(10, 400), [circle_points(9.96, 400)]),
        "hole touching the outside": (dense(square, 0.5), [np.array([[0.0, 5.0], [2.0, 6.0], [2.0, 4.0]])]),
        "snowflake": (koch_snowflake(4, 20), []),
        "huge coordinates": (rounded_rectangle(30, 20, 4, 0.2) + 1e6, []),
        "repeated points": (np.repeat(dense(square, 1.0), 2, axis=0), []),
    }
    shapes = {name: Region.of_polygons([polygon]) for name, polygon in one.items()}
    shapes["nested rings"] = Region.of_polygons(
        [(nested[0], [nested[1]]), (nested[2], [nested[3]]), (nested[4], [nested[5]])]
    )
    shapes["corners that touch"] = Region.of_polygons(
        [(dense(square, 0.3), []), (dense(np.array(square) + 10.0, 0.3), [])]
    )
    shapes["sides that nearly touch"] = Region.of_polygons(
        [(dense(square, 0.3), []), (dense(np.array(square) + [10.001, 0.0], 0.3), [])]
    )
    shapes["specks beside a wall"] = Region.of_polygons(
        [(dense(square, 0.3), []), *((circle_points(0.05, 9, (10.06, y)), []) for y in (2.0, 5.0, 8.0))]
    )
    return shapes


def random_region(seed: int, *, least: int = 14, most: int = 40) -> Region:
    """Return smooth noise cut at a level and traced, one unit a pixel; every fourth has the steps of a mask."""
    dice = np.random.default_rng(seed)
    size = int(dice.integers(least, most))
    field = ndimage.gaussian_filter(dice.normal(size=(size, size)), dice.uniform(0.7, 3))
    field = np.pad(field / field.std() + dice.uniform(-0.5, 0.5), 1, constant_values=-1.0)
    if seed % 4 == 0:
        field = np.where(field > 0, 1.0, -1.0)
    return traced(field)


def traced(field: np.ndarray, pixel: float = 1.0) -> Region:
    """Return the region where ``field`` is positive, ``pixel`` long units a pixel."""
    generator = contourpy.contour_generator(z=field, fill_type=contourpy.FillType.OuterOffset)
    parts = []
    for points, offsets in zip(*generator.filled(0.0, np.inf), strict=True):
        rings = [points[a:b] * pixel for a, b in zip(offsets[:-1], offsets[1:], strict=True)]
        parts.append((rings[0], rings[1:]))
    return Region.of_polygons(parts)
