"""The number of pieces against the true minimum."""

from __future__ import annotations

import pytest
from fewest_pieces import fewest_pieces
from zoo import circle_points, random_region, rounded_rectangle, stadium

from shadowrout.fit.fitting import fit_region
from shadowrout.geometry.region import Region


@pytest.mark.parametrize(
    ("ring", "pieces"),
    [(circle_points(5, 60), 2), (stadium(6, 2, 0.5), 4), (rounded_rectangle(10, 8, 2, 0.5), 8)],
    ids=["circle", "stadium", "rounded rectangle"],
)
def test_the_minimum_of_known_shapes(ring, pieces):
    assert fewest_pieces(ring, 0.02) == pieces


@pytest.mark.parametrize("tolerance", [0.1, 0.2])
def test_pieces_against_the_minimum(tolerance):
    """Traced noise at one unit a pixel: at most 1.08 times the fewest; fewer where vertices aside save some."""
    pieces = fewest = 0
    for seed in range(1, 40):
        for ring in random_region(seed, most=24).rings():
            if 20 <= len(ring) <= 90:
                (path,) = fit_region(Region.of_polygons([(ring, [])]), tolerance=tolerance).paths
                pieces += len(path.bulges)
                fewest += fewest_pieces(ring, tolerance)
    assert fewest > 100
    assert 0.85 * fewest <= pieces <= 1.08 * fewest
