"""Pictures that would take hours are refused with the reason, before the work that would take them is begun."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from small_jobs import QUICK, disc, run

from shadowrout.design.widths import bounds
from shadowrout.design.widths.right_width import right_for_size
from shadowrout.errors import InputError
from shadowrout.geometry.region import Region
from shadowrout.job.options import Job, Output, Picture, Plaque
from shadowrout.make import pipeline

FINEST, LIGHT = 0.8, 0.4


def lines(count: int, *, width: float, pitch: float) -> Region:
    """Return that many upright lines with round ends side by side, each 10 mm long: one stroke each."""
    middles = [shapely.LineString([(x, 0), (x, 10 - width)]) for x in np.arange(count) * pitch]
    return Region.of_shape(shapely.MultiLineString(middles).buffer(width / 2))


def right(shadow: Region) -> None:
    right_for_size(shadow, finest_mm=FINEST, least_light_mm=LIGHT)


class TestStrokes:
    def test_as_many_as_may_be_are_taken_and_one_more_is_refused_with_their_number(self, monkeypatch):
        monkeypatch.setattr(bounds, "MOST_STROKES", 30)
        right(lines(30, width=1.0, pitch=3.0))
        with pytest.raises(InputError, match="the picture: its design has 31 strokes at this size, and 30 is the"):
            right(lines(31, width=1.0, pitch=3.0))

    def test_a_busy_photo_at_1200_mm_is_far_from_the_limit(self):
        """scikit-image's coffee has about 4,900 there, counted by this program; noise on 200 mm as many."""
        assert bounds.MOST_STROKES > 2 * 4_900


class TestCrowded:
    """Lines 0.3 mm wide want 0.25 mm more on each side; where light of 0.1 mm lies between them there is no room."""

    def test_lines_without_room_are_refused_where_none_may_be(self, monkeypatch):
        monkeypatch.setattr(bounds, "MOST_CROWDED", 0)
        with pytest.raises(InputError, match=r"places at this size .* finest width, 0.8mm, .* and 0 is the most"):
            right(lines(3, width=0.3, pitch=0.4))

    def test_as_thin_lines_with_room_never_are(self, monkeypatch):
        monkeypatch.setattr(bounds, "MOST_CROWDED", 0)
        right(lines(30, width=0.3, pitch=3.0))

    def test_a_page_of_small_checks_is_refused_with_what_to_do(self, tmp_path: Path):
        """Squares of 0.79 mm, as narrow as a line, that all touch at their corners: the worst picture known."""
        y, x = np.mgrid[:1000, :1000]
        Image.fromarray(((x // 8 + y // 8) % 2 * 255).astype(np.uint8)).save(tmp_path / "checks.png")
        asked = "--size", "115x115mm", "--only", "carve", "--lines", "all"
        done = run("make", tmp_path / "checks.png", *asked, "--out", tmp_path / "out")
        assert done.returncode == InputError.exit_code
        assert "too close together to be widened" in done.stderr and "make the plaque larger" in done.stderr
        assert not (tmp_path / "out").exists()


def test_outlines_longer_than_the_most_are_refused_with_their_length(tmp_path: Path, monkeypatch):
    """A disc of 20 of 60 pixels' radius on a field of 24 mm has an outline of 2 pi 8 = 50 mm."""
    size = float(QUICK[1].split("x")[0])
    job = Job(
        Picture(disc(tmp_path / "disc.png")), plaques=(Plaque(size=(size, size)),), output=Output(files=("carve",))
    )
    monkeypatch.setattr(bounds, "MOST_OUTLINE_MM", 40.0)
    with pytest.raises(InputError, match=r"the picture: its design has 0 m of outlines .* make the plaque smaller"):
        pipeline.make(job, tmp_path / "out")
    monkeypatch.setattr(bounds, "MOST_OUTLINE_MM", 60.0)
    pipeline.make(job, tmp_path / "out")


@pytest.mark.parametrize("distance", [-0.36, -0.2, 0.15, 0.5])
def test_a_part_with_many_holes_grows_as_shapely_grows_it_at_once(distance):
    """900 holes of 0.8 mm, 0.7 mm apart: grown ring by ring here, in one go by shapely's buffer."""
    corners = [(1.5 * column + 0.4, 1.5 * row + 0.4) for column in range(30) for row in range(30)]
    holes = [shapely.box(x, y, x + 0.8, y + 0.8).exterior for x, y in corners]
    sieve = shapely.Polygon(shapely.box(0, 0, 45.1, 45.1).exterior, holes)
    grown = Region.of_shape(sieve).offset(distance, error=0.001)
    at_once = sieve.buffer(distance, quad_segs=64)
    assert grown.shape.symmetric_difference(at_once).area < 0.001 * max(at_once.length, 1.0)
