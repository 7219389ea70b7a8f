"""Fitted outlines turn where the outlines do: next to no kinks that only the fit has made.

A kink is needless here where two pieces meet at more than 30 degrees while the outline itself, over six tolerances
before and after any place within two tolerances, turns less than half as much. Bounds and windows are the project's own
(no source). Tangents come from the radii at the arcs' ends, the outline's turns from its own points.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from skimage import color, data, filters, measure

from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.arcs import ArcPath
from shadowrout.geometry.region import Region

WIDTH_MM = 200.0
LEAST_AREA_MM2 = 4.0


def tone_of(name):
    """Return the outlines of a picture of scikit-image's, blurred and parted by Otsu's threshold, 200 mm wide."""
    grey = filters.gaussian(color.rgb2gray(getattr(data, name)()), 1.5)
    dark = np.pad(grey < filters.threshold_otsu(grey), 1)
    field = filters.gaussian(dark.astype(float), 1.0)
    shape = shapely.Polygon()
    for ring in measure.find_contours(field, 0.5):
        polygon = shapely.Polygon(ring[:, ::-1] * (WIDTH_MM / grey.shape[1]))
        if polygon.area > LEAST_AREA_MM2:
            shape = shape.symmetric_difference(polygon)
    return Region.of_shape(shape)


def tangent(start, end, bulge, *, at_end):
    """Return the direction of travel at an end of a line or arc, as a complex number of length 1."""
    if bulge == 0:
        return (end - start) / abs(end - start)
    turned = 4 * np.arctan(bulge)
    centre = (start - end * np.exp(-1j * turned)) / (1 - np.exp(-1j * turned))
    radius = (end if at_end else start) - centre
    return 1j * np.sign(bulge) * radius / abs(radius)


def kinks_deg(path):
    z = path.vertices @ [1, 1j]
    ends = np.roll(z, -1)
    kinks = []
    for k in range(len(z)):
        arriving = tangent(z[k - 1], ends[k - 1], path.bulges[k - 1], at_end=True)
        leaving = tangent(z[k], ends[k], path.bulges[k], at_end=False)
        kinks.append(abs(np.degrees(np.angle(leaving / arriving))))
    return np.array(kinks)


def outline_turns_deg(ring, vertices, tolerance):
    """Return the most that the ring itself turns near each vertex."""
    around = np.vstack([ring, ring[:1]]) @ [1, 1j]
    way = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(around)))])
    fine = np.linspace(0, way[-1], max(200, int(10 * way[-1] / tolerance)), endpoint=False)
    points = np.interp(fine, way, around)
    step = fine[1]
    arm = round(min(6 * tolerance, way[-1] / 3) / step)
    turns = np.abs(np.angle((np.roll(points, -arm) - points) / (points - np.roll(points, arm))))
    reach = round(2 * tolerance / step)
    nearest = [int(np.argmin(np.abs(points - z))) for z in vertices @ [1, 1j]]
    windows = (np.array(nearest)[:, None] + np.arange(-reach, reach + 1)) % len(points)
    return np.degrees(turns[windows].max(axis=1))


def needless(region, tolerance):
    """Return for each vertex whether it is a needless kink."""
    flags = []
    for ring, path in zip(region.rings(), fit_region(region, tolerance=tolerance).paths, strict=True):
        kinks = kinks_deg(path)
        flags.append((kinks > 30) & (outline_turns_deg(ring, path.vertices, tolerance) < kinks / 2))
    return np.concatenate(flags)


@pytest.mark.parametrize("tolerance", [0.05, 0.1, 0.2])
def test_hardly_any_needless_kinks(tolerance):
    """At most 2.5 %, and fewer on the program's smoother designs; vertices put without heed to kinks have 5 to 8 %."""
    every = [needless(tone_of(name), tolerance) for name in ("astronaut", "chelsea", "coffee")]
    assert np.concatenate(every).mean() <= 0.025


def test_the_judge_sees_kinks():
    """A zigzag across a straight edge has kinks that the edge hasn't; a square's corners are the square's own."""
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    bump = np.array([[0.0, 0.0], [4.8, 0.0], [5.0, 0.1], [5.2, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    assert kinks_deg(ArcPath.polygon(bump)) == pytest.approx([90, 26.57, 53.13, 26.57, 90, 90, 90], abs=0.01)
    turns = outline_turns_deg(square, bump, 0.1)
    assert turns[[1, 2, 3]] == pytest.approx([0, 0, 0], abs=1e-6)
    assert (turns[[0, 4, 5, 6]] > 80).all()


def test_tangents_of_half_circles():
    """A circle of two halves has no kink; one of its halves pressed flat turns by 90 degrees at both ends."""
    ends = np.array([[-2.0, 1.0], [3.0, 0.0]])
    assert kinks_deg(ArcPath(ends, np.array([1.0, 1.0]))) == pytest.approx([0, 0], abs=1e-6)
    assert kinks_deg(ArcPath(ends, np.array([1.0, 0.0]))) == pytest.approx([90, 90])
