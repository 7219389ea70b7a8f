"""Outlines of fields whose shapes are known by formula, against scikit-image's counts, and at the awkward spots."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import matplotlib
import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image, ImageDraw, ImageFont
from skimage.measure import euler_number, label

from shadowrout.design.mask import Mask
from shadowrout.design.tone.two_peaks import bent
from shadowrout.design.trace import outline_of
from shadowrout.errors import InputError
from shadowrout.geometry.region import Region

Distance = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""Signed distance from a shape's edge at x, y, positive inside."""


def region_of(field: np.ndarray) -> Region:
    return outline_of(Mask(field.astype(np.float32), 0.1, 0, 0)).region


def traced(dark: np.ndarray) -> Region:
    """Return the outline of a mask of bare pixels."""
    return region_of(np.where(dark, 1.0, -1.0))


def holes_of(region: Region) -> int:
    return sum(len(holes) for _, holes in region.polygons())


def rendered(distance: Distance, side: int = 120, finer: int = 16) -> np.ndarray:
    """Return a two-tone field of a shape from the share of each pixel that it covers, by 16 x 16 samples."""
    at = (np.arange(side * finer) + 0.5) / finer
    inside = distance(*np.meshgrid(at, at)) > 0
    covered = inside.reshape(side, finer, side, finer).mean(axis=(1, 3))
    return bent((2 * covered - 1).astype(np.float32))


def disc(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 41.3 - np.hypot(x - 60.2, y - 59.6)


def ring(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 9.2 - np.abs(np.hypot(x - 60.2, y - 59.6) - 37.1)


def turned_square(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    c, s = np.cos(0.3), np.sin(0.3)
    across, down = c * (x - 60) + s * (y - 60), -s * (x - 60) + c * (y - 60)
    return 33.3 - np.maximum(np.abs(across), np.abs(down))


def stadium(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 18.4 - np.hypot(np.maximum(np.abs(x - 60.3) - 30, 0), y - 60.1)


def star(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return a pentagram of outer radius 52: at most one of its five lines has an inside point on its far side."""
    u, v = x - 60.1, y - 60.2
    turns = np.radians(90 + 72 * np.arange(5))
    inside = [52 * np.cos(np.radians(72)) - (u * np.cos(t) + v * np.sin(t)) for t in turns]
    return np.partition(inside, 1, axis=0)[1]


PENTAGRAM_AREA = 5 * 52**2 * np.sin(np.radians(36)) * np.cos(np.radians(72)) / np.cos(np.radians(36))
"""Ten triangles from the centre: outer radius R, inner radius R cos 72 / cos 36, 36 degrees between them."""

SHAPES = [
    (disc, np.pi * 41.3**2),
    (ring, np.pi * ((37.1 + 9.2) ** 2 - (37.1 - 9.2) ** 2)),
    (turned_square, 66.6**2),
    (stadium, 60 * 36.8 + np.pi * 18.4**2),
    (star, PENTAGRAM_AREA),
]


@pytest.mark.parametrize(("distance", "area"), SHAPES, ids=lambda value: getattr(value, "__name__", ""))
def test_known_shapes(distance: Distance, area: float):
    region = region_of(rendered(distance))
    tips = 1.0 if distance is star else 0.0  # square pixels that each of five tips of 36 degrees loses, at most
    assert region.area == pytest.approx(area, abs=1e-3 * area + 5 * tips)
    vertices = np.vstack(region.rings())
    off = np.abs(distance(vertices[:, 0], vertices[:, 1]))
    assert off.max() < (0.5 if distance in (turned_square, star) else 0.25)
    assert np.quantile(off, 0.98) < 0.25
    assert len(region) == 1
    assert holes_of(region) == (1 if distance is ring else 0)


def test_exact_distance_is_traced_to_a_hundredth():
    """A field that holds the signed distance itself, as a tone would on a straight slope."""
    x, y = np.meshgrid(np.arange(120) + 0.5, np.arange(120) + 0.5)
    vertices = np.vstack(region_of(disc(x, y)).rings())
    assert np.abs(disc(vertices[:, 0], vertices[:, 1])).max() < 0.01


@pytest.mark.parametrize(("radius", "count"), [(1, 5), (2, 13), (3, 29), (5, 81), (10, 317), (20, 1257), (25, 1961)])
def test_pixel_discs(radius: int, count: int):
    """Pixels with x^2 + y^2 <= r^2: OEIS A000328."""
    rows, columns = np.indices((60, 60)) - 30
    region = traced(rows**2 + columns**2 <= radius**2)
    centres = np.stack([columns + 30.5, rows + 30.5], axis=-1).reshape(-1, 2)
    assert np.count_nonzero(region.within(centres)) == count
    assert len(region) == 1


def test_square_of_pixels_loses_its_corners():
    """The level line of a 10 x 10 square of pixels encloses 99.5, not 100 (scikit-image's find_contours)."""
    dark = np.zeros((20, 20), dtype=bool)
    dark[5:15, 5:15] = True
    assert traced(dark).area == pytest.approx(99.5)


def test_horse_has_one_piece_and_one_hole():
    """scikit-image 0.26: ``~horse()`` is 43,412 pixels in one piece with one hole."""
    dark = ~skimage.data.horse().astype(bool)
    region = traced(dark)
    assert (len(region), holes_of(region)) == (1, 1)
    assert region.area == pytest.approx(43412, rel=1e-3)


HOLES = {"A": 1, "B": 2, "C": 0, "D": 1, "E": 0, "O": 1, "P": 1, "Q": 1, "R": 1, "S": 0, "0": 1, "4": 1, "8": 2}


def letters(text: str, font: str = "DejaVuSans.ttf") -> np.ndarray:
    """Return how dark a text is at each pixel, -1 to 1, as Pillow draws it."""
    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / font
    image = Image.new("L", (60 + 90 * len(text), 160), 255)
    ImageDraw.Draw(image).text((20, 10), text, font=ImageFont.truetype(str(path), 110), fill=0)
    return bent(1 - np.asarray(image, dtype=np.float32) / 127.5)


@pytest.mark.parametrize(("letter", "holes"), HOLES.items())
def test_letters_have_their_holes(letter: str, holes: int):
    region = region_of(letters(letter))
    assert (len(region), holes_of(region)) == (1, holes)


def test_whole_alphabet_has_eight_holes():
    assert holes_of(region_of(letters("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))) == 8


def test_zero_with_a_dot_nests():
    region = region_of(letters("0", "DejaVuSansMono.ttf"))
    assert (len(region), holes_of(region)) == (2, 1)


def test_shadow_on_the_left_half_is_closed_on_the_border():
    dark = np.zeros((30, 40), dtype=bool)
    dark[:, :20] = True
    region = traced(dark)
    assert region.bounds == (0, 0, 20, 30)
    assert region.area == 600


@pytest.mark.parametrize("corner", [(0, 0), (0, -1), (-1, 0), (-1, -1)])
def test_pixel_in_a_corner_reaches_it(corner: tuple[int, int]):
    """Its square but for the corner that looks inwards, an eighth of a pixel."""
    dark = np.zeros((7, 9), dtype=bool)
    dark[corner] = True
    region = traced(dark)
    x, y = (9 if corner[1] else 0), (7 if corner[0] else 0)
    assert region.area == pytest.approx(0.875)
    assert [x, y] in region.rings()[0].tolist()


def test_light_spot_in_a_dark_picture_leaves_the_picture_s_own_corners():
    dark = np.ones((20, 30), dtype=bool)
    dark[8:12, 10:20] = False
    region = traced(dark)
    assert region.area == pytest.approx(600 - 39.5)
    assert region.bounds == (0, 0, 30, 20)
    assert holes_of(region) == 1


def test_uneven_values_at_the_border_still_close_on_it():
    field = np.random.default_rng(5).uniform(0.1, 50, size=(12, 17))
    field[5:7, 5:7] = -3
    assert region_of(field).bounds == (0, 0, 17, 12)


@pytest.mark.parametrize("rings", [1, 2, 5, 9])
def test_nested_islands(rings: int):
    """Squares inside squares, dark and light by turns."""
    rows, columns = np.indices((80, 80))
    depth = np.minimum(np.minimum(rows, columns), np.minimum(79 - rows, 79 - columns)) // 2
    dark = (depth % 2 == 1) & (depth < 2 * rings)
    region = traced(dark)
    assert len(region) == rings
    assert holes_of(region) == rings
    assert region.shape.is_valid


def test_checkerboard_of_bare_pixels_is_one_piece_each():
    """Dark pixels that meet at a corner only are apart, the light between them is joined."""
    rows, columns = np.indices((9, 9))
    region = traced((rows + columns) % 2 == 0)
    assert len(region) == 41
    assert holes_of(region) == 0
    assert region.shape.is_valid


def test_saddle_goes_with_the_stronger_side():
    field = np.full((4, 4), -1.0)
    field[1, 1] = field[2, 2] = 3
    assert len(region_of(field)) == 1
    field[1, 1] = field[2, 2] = 0.5
    assert len(region_of(field)) == 2


def test_neck_of_one_pixel_holds():
    dark = np.zeros((20, 40), dtype=bool)
    dark[5:15, 3:13] = dark[5:15, 27:37] = True
    dark[10, 13:27] = True
    region = traced(dark)
    assert len(region) == 1
    assert region.shape.is_valid


@pytest.mark.parametrize("value", [1.0, 1e-3])
def test_zeros_count_as_light(value: float):
    field = np.full((9, 9), -value)
    field[3:6, 3:6] = value
    field[4, 4] = 0
    field[0, :] = 0
    region = region_of(field)
    assert region.shape.is_valid
    assert (len(region), holes_of(region)) == (1, 1)


@pytest.mark.parametrize("fill", [0.0, -1.0])
def test_all_light_has_nothing_to_carve(fill: float):
    with pytest.raises(InputError, match="nothing to carve"):
        region_of(np.full((5, 5), fill))


def test_all_dark_leaves_nothing_light():
    with pytest.raises(InputError, match="nothing left light"):
        region_of(np.ones((5, 5)))


def test_same_field_same_points():
    field = np.random.default_rng(2).normal(size=(60, 60))
    one, other = region_of(field).rings(), region_of(field).rings()
    assert all((a == b).all() for a, b in zip(one, other, strict=True))


QUAD_AREA = {0: 0.0, 1: 0.125, 2: 0.5, 3: 0.875, 4: 1.0}
"""Area that the level line leaves dark among four pixel centres, by how many are dark; on a diagonal, 0.25."""


def area_by_quads(dark: np.ndarray) -> float:
    a, b, c, d = dark[:-1, :-1], dark[:-1, 1:], dark[1:, :-1], dark[1:, 1:]
    count = a.astype(int) + b + c + d
    diagonal = (count == 2) & (a == d)
    return float(sum(QUAD_AREA[n] for n in count.ravel()) - 0.25 * diagonal.sum())


masks = arrays(np.bool_, st.tuples(st.integers(2, 14), st.integers(2, 14)))


@settings(max_examples=150, deadline=None)
@given(masks)
def test_random_masks(dark: np.ndarray):
    """Against scikit-image's labels: dark parts touch along sides, light ones at corners as well."""
    if dark.all() or not dark.any():
        with pytest.raises(InputError):
            traced(dark)
        return
    region = traced(dark)
    assert region.shape.is_valid
    framed = np.pad(dark, 1)
    pieces = label(framed, connectivity=1).max()
    assert len(region) == pieces
    assert holes_of(region) == label(~framed, connectivity=2).max() - 1
    assert len(region) - holes_of(region) == euler_number(framed, connectivity=1)
    assert abs(region.area - dark.sum()) <= 0.125 * 4 * dark.sum()


@settings(max_examples=100, deadline=None)
@given(masks)
def test_area_of_random_masks_away_from_the_border(dark: np.ndarray):
    framed = np.pad(dark, 2)
    if dark.any():
        assert traced(framed).area == pytest.approx(area_by_quads(framed))


values = arrays(np.float32, (9, 11), elements=st.sampled_from([-2.0, -1.0, -1e-6, 0.0, 1e-6, 1.0, 2.0, 50.0]))


@settings(max_examples=200, deadline=None)
@given(values)
def test_random_fields_with_zeros_are_valid(field: np.ndarray):
    dark = field > 0
    if dark.all() or not dark.any():
        return
    region = region_of(field)
    assert region.shape.is_valid
    centres = np.stack(np.meshgrid(np.arange(11) + 0.5, np.arange(9) + 0.5), axis=-1).reshape(-1, 2)
    assert (region.within(centres) == dark.ravel()).all()
    x0, y0, x1, y1 = region.bounds
    assert x0 >= 0
    assert y0 >= 0
    assert x1 <= 11
    assert y1 <= 9
