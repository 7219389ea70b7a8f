"""The four methods: where edges fall, what share of dark comes out, and what is refused."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
import skimage
import skimage.data
from PIL import Image
from scipy.ndimage import gaussian_filter
from scipy.special import erf
from skimage.filters import threshold_sauvola
from skimage.measure import label

from shadowrout.design.tone import two_peaks as peaks_of
from shadowrout.design.tone.choosing import Tone, choose_dark, choose_method, tone_of, within_reach
from shadowrout.errors import InputError, SettingError
from shadowrout.job.options import METHODS
from shadowrout.picture.photo import Photo, resampled
from shadowrout.picture.reading import read

PICTURES = Path(skimage.__file__).parent / "data"


def photo_of(lightness: np.ndarray) -> Photo:
    height, width = lightness.shape
    colour = np.zeros((height, width, 3), dtype=np.uint8)
    return Photo(lightness.astype(np.float32), colour, width, height)


def packaged(name: str, width_px: int = 500) -> Photo:
    """Return one of scikit-image's pictures at a width."""
    photo = read(PICTURES / name, long_side_px=2000)
    height, width = photo.lightness.shape
    return resampled(photo, width_px=width_px, height_px=round(height * width_px / width))


def made(photo: Photo, method: str, dark: float | None = None, pixel_mm: float = 0.2) -> Tone:
    return tone_of(photo, pixel_mm=pixel_mm, method=method, dark=dark, detail_mm=0.8, smoothing_mm=None)


def dark_share(tone: Tone) -> float:
    return float(np.mean(tone.field > 0))


def crossings(line: np.ndarray) -> np.ndarray:
    """Return where a row of the field is zero, in pixels, with the first pixel's centre at 0.5."""
    first = np.flatnonzero(np.diff(line > 0))
    return first + 0.5 + line[first] / (line[first] - line[first + 1])


def step(edge_px: float, low: float = 20.0, high: float = 80.0, width: int = 120) -> np.ndarray:
    """Return a vertical edge, dark on the left, whose pixels hold the mean over their area."""
    covered = np.clip(edge_px - np.arange(width), 0, 1)
    return np.tile(high + (low - high) * covered, (80, 1))


@pytest.mark.parametrize("edge_px", [60.0, 60.25, 60.5, 60.9])
@pytest.mark.parametrize("method", ["single-level", "two-tone"])
def test_step_edge_falls_where_it_is(method: str, edge_px: float):
    tone = made(photo_of(step(edge_px)), method)
    found = crossings(tone.field[40].astype(np.float64))
    assert found == pytest.approx([edge_px], abs=0.05)


@pytest.mark.parametrize("method", ["keep-lines", "uneven-light"])
def test_step_edge_is_kept_by_local_methods(method: str):
    """These draw a line on the edge's dark side, whose outer boundary is the edge itself within a finest line."""
    tone = made(photo_of(step(60.0)), method, 0.5 if method == "keep-lines" else None)
    found = crossings(tone.field[40].astype(np.float64))
    assert np.abs(found - 60).min() < 2.0


@pytest.mark.parametrize("width_px", [4.0, 7.5, 11.3])
def test_line_of_known_width(width_px: float):
    left, right = 50.2, 50.2 + width_px
    columns = np.arange(120)
    covered = np.clip(np.minimum(right, columns + 1) - np.maximum(left, columns), 0, 1)
    tone = made(photo_of(np.tile(90 - 80 * covered, (80, 1))), "two-tone")
    assert crossings(tone.field[40].astype(np.float64)) == pytest.approx([left, right], abs=0.05)


@pytest.mark.parametrize("edge_px", [55.0, 60.3])
@pytest.mark.parametrize("sigma_px", [1.0, 3.0])
def test_edge_blurred_by_a_gaussian_is_zero_at_its_middle(edge_px: float, sigma_px: float):
    """The integral of a Gaussian is half at its centre, whatever sigma."""
    ramp = 50 + 30 * erf((np.arange(120) + 0.5 - edge_px) / (sigma_px * np.sqrt(2)))
    tone = made(photo_of(np.tile(ramp, (80, 1))), "two-tone")
    assert crossings(tone.field[40].astype(np.float64)) == pytest.approx([edge_px], abs=0.05)


def test_straight_ramp_is_cut_at_the_share_asked_for():
    """On an even ramp from dark to light, the share dark is the place of the cut over the width."""
    tone = made(photo_of(np.tile(np.linspace(0, 100, 200), (100, 1))), "single-level", 0.3)
    assert crossings(tone.field[50].astype(np.float64)) == pytest.approx([60.0], abs=0.6)


@pytest.mark.parametrize("method", ["keep-lines", "single-level", "uneven-light"])
@pytest.mark.parametrize("dark", [0.15, 0.3, 0.5])
@pytest.mark.parametrize("name", ["camera.png", "coffee.png"])
def test_share_is_met(name: str, dark: float, method: str):
    assert dark_share(made(packaged(name), method, dark)) == pytest.approx(dark, abs=0.02)


def test_share_out_of_reach_names_the_nearest_and_that_one_works():
    horse = packaged("horse.png")
    with pytest.raises(SettingError, match="tone.dark.*nearest share that works is") as caught:
        made(horse, "two-tone", 0.6)
    nearest = float(str(caught.value).split()[-1])
    assert dark_share(made(horse, "two-tone", nearest)) == pytest.approx(nearest, abs=0.02)


@pytest.mark.parametrize("dark", [0.0, 1.0, -0.2, 3.0, float("nan")])
def test_share_outside_zero_to_one_is_refused(dark: float):
    with pytest.raises(SettingError, match="tone.dark"):
        made(packaged("camera.png", 100), "keep-lines", dark)


@pytest.mark.parametrize(
    ("key", "lengths"),
    [("tone.detail", (0.0, None)), ("tone.detail", (-1.0, None)), ("tone.smoothing", (0.8, -0.1))],
)
def test_lengths_that_make_no_sense_are_refused(key: str, lengths: tuple[float, float | None]):
    with pytest.raises(SettingError, match=key):
        tone_of(
            packaged("camera.png", 100),
            pixel_mm=0.2,
            method="keep-lines",
            dark=0.3,
            detail_mm=lengths[0],
            smoothing_mm=lengths[1],
        )


def test_unknown_method_lists_the_methods():
    with pytest.raises(SettingError, match="keep-lines, single-level, uneven-light, two-tone"):
        made(packaged("camera.png", 100), "etching")


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("lightness", [0.0, 54.0, 100.0])
@pytest.mark.parametrize("dark", [None, 0.3])
def test_flat_picture_has_nothing_to_carve(method: str, lightness: float, dark: float | None):
    flat = photo_of(np.full((60, 80), lightness))
    with pytest.raises(InputError, match="nothing to carve"):
        made(flat, method, dark)
    with pytest.raises(InputError, match="nothing to carve"):
        choose_dark(flat, method)
    assert choose_method(flat) in METHODS


@pytest.mark.parametrize("shape", [(1, 1), (1, 40), (40, 1), (2, 2), (3, 5)])
@pytest.mark.parametrize("method", METHODS)
def test_tiny_pictures_give_a_field_or_a_clear_error(shape: tuple[int, int], method: str):
    lightness = np.linspace(0, 100, shape[0] * shape[1]).reshape(shape)
    try:
        tone = made(photo_of(lightness), method)
    except InputError:
        return
    except SettingError as error:
        assert error.key == "tone.dark"
        return
    assert tone.field.shape == shape
    assert tone.field.dtype == np.float32
    assert np.isfinite(tone.field).all()


@pytest.mark.parametrize("name", ["horse.png", "chessboard_GRAY.png"])
def test_two_tone_pictures_are_known(name: str):
    assert choose_method(packaged(name, 1000)) == "two-tone"


@pytest.mark.parametrize(
    "name",
    [
        *("astronaut.png", "camera.png", "chelsea.png", "coffee.png", "coins.png", "moon.png", "rocket.jpg"),
        *("brick.png", "cell.png", "clock_motion.png", "grass.png", "gravel.png", "hubble_deep_field.jpg"),
        *("ihc.png", "microaneurysms.png", "motorcycle_left.png", "retina.jpg"),
    ],
)
def test_photos_are_known(name: str):
    photo = packaged(name, 400)
    assert choose_method(photo) == "keep-lines"
    for loss in (0.5, 0.9):
        assert choose_method(photo_of(darkened_to_corners(photo.lightness, loss))) == "keep-lines"


def darkened_to_corners(lightness: np.ndarray, loss: float) -> np.ndarray:
    """Return L* as a lens would take it whose light falls by a share towards the corners."""
    rows, columns = ((np.arange(side) + 0.5) / side - 0.5 for side in lightness.shape)
    fall = 2 * (rows[:, None] ** 2 + columns**2)
    return (lightness + 16) * np.cbrt(1 - loss * fall) - 16


@pytest.mark.parametrize("name", ["page.png", "text.png"])
@pytest.mark.parametrize("change", ["none", "blurred", "shaded", "noisy"])
def test_blurred_scans_on_uneven_paper_are_known(name: str, change: str):
    """scikit-image's ``page`` and ``text`` are photographed print and handwriting, blurred and unevenly lit."""
    lightness = packaged(name, 600).lightness
    if change == "blurred":
        lightness = gaussian_filter(lightness, 1.5)
    if change == "shaded":
        lightness = darkened_to_corners(lightness, 0.6)
    if change == "noisy":
        lightness = lightness + np.random.default_rng(5).normal(0, 2, lightness.shape)
    assert choose_method(photo_of(lightness)) == "two-tone"


def test_dark_thing_on_white_ground_is_a_photo():
    lightness = np.full((400, 500), 96.0, dtype=np.float32)
    lightness[100:300, 150:350] = packaged("camera.png", 200).lightness
    assert choose_method(photo_of(lightness)) == "keep-lines"


def test_paper_of_blurred_writing_comes_out_light():
    """The letters of ``page`` are those that Sauvola's level (scikit-image's) finds, but for soft rims."""
    page = packaged("page.png", 1000)
    expected = page.lightness < threshold_sauvola(page.lightness, window_size=61, k=0.2, r=50)
    found = made(page, "two-tone").field > 0
    assert np.mean(found == expected) > 0.98


def drawing() -> np.ndarray:
    """Return scikit-image's blobs as a drawing, True where ink."""
    blobs: np.ndarray = skimage.data.binary_blobs(length=400, volume_fraction=0.3, rng=7)
    return blobs


def scanned(ink: np.ndarray) -> np.ndarray:
    """Return the drawing as L* of a scan whose light falls to a third in one corner, with some noise."""
    rows, columns = np.indices(ink.shape) / len(ink)
    light = 1 - 0.65 * (rows + columns) / 2
    reflectance = np.where(ink, 0.05, 0.85) * light
    lightness = 116 * np.cbrt(reflectance) - 16  # CIE 1976, above Y = 216/24389
    return np.clip(lightness + np.random.default_rng(3).normal(0, 1, ink.shape), 0, 100)


def test_uneven_paper_is_divided_out():
    ink = drawing()
    scan = photo_of(scanned(ink))
    assert choose_method(scan) == "two-tone"
    found = made(scan, "two-tone").field > 0
    assert np.mean(found == ink) > 0.999


def test_even_paper_is_left_alone():
    lightness = np.where(drawing(), 10, 90).astype(np.float32)
    assert peaks_of.evened(lightness) is lightness


def test_picture_that_is_mostly_ink_is_not_taken_for_paper():
    lightness = np.full((200, 300), 8.0)
    lightness[80:120, 100:200] = 92
    tone = made(photo_of(lightness), "two-tone")
    assert np.count_nonzero((tone.field > 0) != (lightness < 50)) <= 4  # the corners of bare pixels are rounded


def rectangle(left: float, top: float, right: float, bottom: float, side: int = 100) -> np.ndarray:
    """Return an upright dark rectangle, anti-aliased by the exact area that it covers of each pixel."""
    at = np.arange(side)
    across = np.clip(np.minimum(right, at + 1) - np.maximum(left, at), 0, 1)
    down = np.clip(np.minimum(bottom, at + 1) - np.maximum(top, at), 0, 1)
    return 95 - 90 * np.outer(down, across)


def test_two_tone_keeps_corners_sharp():
    """Nothing is smoothed: each pixel is dark exactly where more than half of it is covered."""
    lightness = rectangle(30.3, 25.6, 70.7, 66.2)
    field = made(photo_of(lightness), "two-tone").field
    assert ((field > 0) == (lightness < 50)).all()
    assert crossings(field[40].astype(np.float64)) == pytest.approx([30.3, 70.7], abs=0.01)


@pytest.mark.parametrize("width_px", [440, 500, 800, 2000])
def test_bare_pixels_are_known_at_any_enlargement(width_px: int):
    """scikit-image's horse is 400 pixels wide; its file has grey edges, ``horse()`` makes it bare black and white."""
    enlarged = width_px / 400
    bare = photo_of(np.where(skimage.data.horse(), 100.0, 0.0))
    larger = resampled(bare, width_px=width_px, height_px=round(328 * enlarged)).lightness
    assert peaks_of.stairs_px(larger, enlarged=enlarged) == pytest.approx(1.2 * enlarged)
    assert peaks_of.stairs_px(packaged("horse.png", width_px).lightness, enlarged=enlarged) == 0


def test_lines_of_one_bare_pixel_survive():
    lightness = np.full((100, 100), 95.0)
    lightness[20:80, 10:90:8] = 5
    field = made(photo_of(lightness), "two-tone").field
    assert (field[25:75, 10:90:8] > 0).all()


def test_stairs_of_bare_pixels_come_off():
    """A slanted edge of pixels that are black or white strays half a pixel from the line; smoothed, a tenth."""
    rows, columns = np.indices((300, 300)) + 0.5
    slope = 0.3
    lightness = np.where(rows < 150 + slope * (columns - 150), 5.0, 95.0)
    field = made(photo_of(lightness), "two-tone").field.astype(np.float64)
    found = np.array([crossings(field[:, column])[0] for column in range(40, 260)])
    expected = 150 + slope * (np.arange(40, 260) + 0.5 - 150)
    assert np.abs(found - expected).max() < 0.15
    bare = tone_of(
        photo_of(lightness), pixel_mm=0.2, method="two-tone", dark=None, detail_mm=0.8, smoothing_mm=0
    ).field.astype(np.float64)
    stairs = np.array([crossings(bare[:, column])[0] for column in range(40, 260)])
    assert np.abs(stairs - expected).max() > 0.3


@pytest.mark.parametrize("method", ["keep-lines", "single-level"])
def test_pixel_size_does_not_change_the_design(method: str):
    coarse = made(packaged("chelsea.png", 600), method, 0.4, pixel_mm=0.2).field > 0
    fine = made(packaged("chelsea.png", 1200), method, 0.4, pixel_mm=0.1).field
    halved = fine.reshape(coarse.shape[0], 2, coarse.shape[1], 2).mean(axis=(1, 3)) > 0
    assert (coarse & halved).sum() / (coarse | halved).sum() > 0.95


@pytest.mark.parametrize("name", ["chelsea.png", "rocket.jpg", "moon.png"])
def test_resaving_as_jpeg_does_not_change_the_design(name: str, tmp_path: Path):
    """JPEG at quality 60 adds noise of its own; the dark of a 200 mm design must stay nine tenths the same."""
    resaved = tmp_path / "again.jpg"
    with Image.open(PICTURES / name) as picture:
        picture.convert("RGB").save(resaved, quality=60)
    before, after = (read(path, long_side_px=2000) for path in (PICTURES / name, resaved))
    height_px = round(1000 * before.lightness.shape[0] / before.lightness.shape[1])
    dark = choose_dark(before, "keep-lines")
    one, other = (
        made(resampled(photo, width_px=1000, height_px=height_px), "keep-lines", dark).field > 0
        for photo in (before, after)
    )
    assert (one & other).sum() / (one | other).sum() > 0.9


def test_lines_survive_where_one_level_loses_them():
    """A faint line across a light part: 1 mm wide, 12 L* darker, far from the picture's own level."""
    lightness = np.full((300, 300), 85.0)
    lightness[:, :120] = 15
    lightness[148:153, 160:280] = 73
    photo = photo_of(lightness)
    assert not (made(photo, "single-level").field[150, 170:270] > 0).any()
    assert (made(photo, "keep-lines").field[150, 170:270] > 0).all()


def islands(dark: np.ndarray, least_px: int) -> int:
    """Return how many shadows lie in a window apart from its border."""
    parts = label(dark, connectivity=2)
    at_border = np.unique(np.concatenate([parts[0], parts[-1], parts[:, 0], parts[:, -1]]))
    return sum(1 for n in range(1, parts.max() + 1) if n not in at_border and (parts == n).sum() >= least_px)


def test_face_keeps_its_features_at_100_mm():
    """The astronaut's face is 15 mm wide on a plaque of 100 mm; both brows and the eye apart from the nose stay apart.

    The window is where they lie in scikit-image's picture, looked up by eye.
    """
    dark = made(packaged("astronaut.png", 500), "keep-lines", 0.39).field > 0
    assert islands(dark[82:108, 183:262], least_px=20) == 3


def test_low_contrast_picture_keeps_lines():
    """A picture of a quarter of the contrast gets much the same lines, though drawn with a wider Gaussian."""
    strong = packaged("coffee.png", 600).lightness
    weak = photo_of(50 + (strong - 50) / 4)
    dark, expected = (made(p, "keep-lines", 0.3).field > 0 for p in (weak, photo_of(strong)))
    assert (dark & expected).sum() / (dark | expected).sum() > 0.75


def test_dark_background_does_not_swallow_the_subject():
    """A night picture: Otsu's level makes seven tenths dark, most of it sky."""
    rocket = packaged("rocket.jpg", 800)
    assert dark_share(made(rocket, "single-level")) > 0.65
    assert choose_dark(rocket, "keep-lines") < 0.3


@pytest.mark.parametrize("method", METHODS)
def test_chosen_share_is_within_reach(method: str):
    for name in ("coffee.png", "camera.png", "horse.png"):
        photo = packaged(name)
        dark = choose_dark(photo, method)
        assert 0 < dark < 1
        assert dark == round(dark, 3)
        assert dark_share(made(photo, method, dark)) == pytest.approx(dark, abs=0.02)


def test_a_share_that_nobody_asked_for_is_met_on_a_sheet_of_dots():
    """Dots near the finest line go in crowds as the level falls, so that the share jumps."""
    side, pitch = 100, 8
    dice = np.random.default_rng(0)
    page = np.full((side * pitch, side * pitch), 255, np.uint8)
    for place in range(side * side):
        radius = dice.uniform(0.12, 0.3) * pitch
        middle = (np.array([place % side, place // side]) + 0.5 + dice.uniform(-0.15, 0.15, 2)) * pitch
        cv2.circle(page, np.round(middle).astype(int).tolist(), round(radius), 0, -1, cv2.LINE_AA)
    photo = photo_of(page / 2.55)
    width_mm = 406.0
    dark = choose_dark(photo, "keep-lines")
    met = within_reach(photo, dark=dark, width_mm=width_mm, detail_mm=0.8, smoothing_mm=None)
    assert dark_share(made(photo, "keep-lines", met, pixel_mm=width_mm / (side * pitch))) == pytest.approx(
        met, abs=0.02
    )


@pytest.mark.parametrize("method", METHODS)
def test_same_picture_same_field(method: str):
    photo = packaged("coffee.png", 300)
    assert (made(photo, method).field == made(photo, method).field).all()
