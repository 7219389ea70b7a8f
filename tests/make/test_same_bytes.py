"""The same in, the same out: folder, locale, time zone, threads, processes, hash seed and memory change no byte."""

from __future__ import annotations

import os
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw
from skimage import data
from small_jobs import content, run

from shadowrout.make.repeatable import repeatable

ORDER = """
[picture]
file = "cat.jpg"
touch_up = "touch-up.png"
subject = [0.1, 0.05, 0.95, 1.2]
background = "fade"
[[plaque]]
size = "45x40mm"
[[plaque]]
size = "70x60mm"
[v_tool]
flow = true
[output]
files = ["carve", "pattern", "preview", "stencil"]
explain = true
"""

SURROUNDINGS = (
    {"PYTHONHASHSEED": "0", "TZ": "UTC", "LC_ALL": "C.UTF-8", "THREADS": "1"},
    {"PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "LC_ALL": "C", "LANG": "de_DE.UTF-8", "THREADS": "4"},
)

THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM")


def order(place: Path) -> None:
    """Write a job with everything that could vary: a subject found by chance, blurs, distances, directions."""
    place.mkdir(parents=True)
    Image.fromarray(data.chelsea()).save(place / "cat.jpg", quality=92)
    layer = Image.new("RGBA", (451, 300))
    ImageDraw.Draw(layer).line((50, 50, 200, 90), fill=(0, 0, 0, 255), width=6)
    layer.save(place / "touch-up.png")
    (place / "order.toml").write_text(ORDER)


def test_every_file_is_the_same_in_any_surroundings(tmp_path):
    made = []
    for number, settings in enumerate(SURROUNDINGS):
        place = tmp_path / ("here" if number == 0 else "ä b/there")
        order(place)
        surroundings = os.environ | settings | dict.fromkeys(THREADS, settings["THREADS"])
        where = {"cwd": place} if number == 0 else {"cwd": "/", "umask": 0o077}
        given = place if number else Path()
        done = run(
            "make", given / "order.toml", "--out", given / "out", "--workers", number + 1, env=surroundings, **where
        )
        assert done.returncode == 0, done.stderr
        made.append(content(place / "out"))
    assert len(made[0]) == 29
    assert made[0].keys() == made[1].keys()
    assert [name for name in made[0] if made[0][name] != made[1][name]] == []


def placed(values: np.ndarray, offset: int) -> np.ndarray:
    """Return a copy that begins so many bytes after a multiple of 64."""
    room = np.empty(values.nbytes + 128, np.uint8)
    start = -room.ctypes.data % 64 + offset
    copy = room[start : start + values.nbytes].view(values.dtype).reshape(values.shape)
    copy[...] = values
    return copy


OPERATIONS = {
    "distance": lambda a: cv2.distanceTransform((a > 1).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE),
    "length": lambda a: cv2.magnitude(a, placed(a[::-1], a.ctypes.data % 64)),
    "blur": lambda a: cv2.GaussianBlur(a, (0, 0), 2.5, borderType=cv2.BORDER_REFLECT),
    "smaller": lambda a: cv2.resize(a, (a.shape[1] // 3, a.shape[0]), interpolation=cv2.INTER_AREA),
    "larger": lambda a: cv2.resize(a, (a.shape[1] * 2, a.shape[0]), interpolation=cv2.INTER_CUBIC),
    "slope": lambda a: cv2.Scharr(a, cv2.CV_32F, 1, 0, borderType=cv2.BORDER_REFLECT),
    "cube root": lambda a: cv2.pow(a, 1 / 3),
}


@pytest.mark.parametrize("name", OPERATIONS)
def test_an_operation_gives_the_same_wherever_its_values_lie(name):
    values = np.random.default_rng(1).random((300, 451), dtype=np.float32) * 100
    threads = cv2.getNumThreads()
    found = set()
    try:
        with repeatable():
            for count in (1, 2, 4):
                cv2.setNumThreads(count)
                found |= {OPERATIONS[name](placed(values, offset)).tobytes() for offset in (0, 4, 16, 20, 32, 60)}
    finally:
        cv2.setNumThreads(threads)
    assert len(found) == 1


def test_the_setting_ends_with_the_block():
    before = cv2.ipp.useIPP()
    with pytest.raises(ZeroDivisionError), repeatable():
        assert not cv2.ipp.useIPP()
        raise ZeroDivisionError
    assert cv2.ipp.useIPP() == before
