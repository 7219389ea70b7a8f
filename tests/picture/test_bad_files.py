"""Whatever a file holds, it gives a picture or one clear line: no traceback, no hang, no flood of memory."""

from __future__ import annotations

import os
import random
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest
from photo_files import ENCODERS, PACKAGED, encoded, tiff, written
from PIL import Image

from shadowrout.errors import InputError
from shadowrout.picture.photo import Photo
from shadowrout.picture.reading import read, size_of


def _problem(path: Path, **options: object) -> str:
    with pytest.raises(InputError) as caught:
        read(path, long_side_px=100, **options)
    message = str(caught.value)
    assert caught.value.exit_code == 3
    assert "\n" not in message
    assert len(message) < 400
    return message


def _outcome(path: Path) -> Photo | None:
    """Return the picture, or None for an InputError with a fitting message; anything else fails the test."""
    try:
        return read(path, long_side_px=64)
    except InputError as error:
        assert str(error).startswith(path.name)
        assert "\n" not in str(error)
        return None


class TestNoPicture:
    def test_no_such_file(self, tmp_path):
        assert _problem(tmp_path / "none.jpg") == "none.jpg: no such file"

    def test_a_file_used_as_a_folder(self, tmp_path):
        assert _problem(written(tmp_path, "png") / "a.jpg").endswith("no such file")

    def test_a_folder(self, tmp_path):
        assert "a folder" in _problem(tmp_path)
        assert "a folder" in _problem(Path("/"))

    def test_an_empty_file(self, tmp_path):
        assert "an empty file" in _problem(written(tmp_path, "jpeg", b""))

    @pytest.mark.parametrize(
        "content", [b"x", b"To whom it may concern\n" * 100, b"%PDF-1.7 ...", b"<svg></svg>", b"\0" * 99]
    )
    def test_something_else_named_jpg(self, tmp_path, content):
        message = _problem(written(tmp_path, "jpeg", content))
        assert "not a picture" in message
        assert "JPEG, PNG" in message

    def test_a_picture_under_a_wrong_name_is_read(self, tmp_path):
        assert read(written(tmp_path, "jpeg", encoded("png")), long_side_px=128).colour.shape == (96, 128, 3)

    @pytest.mark.skipif(not Path("/dev/zero").exists(), reason="needs devices")
    def test_a_device(self):
        assert "device or pipe" in _problem(Path("/dev/zero"))

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
    def test_a_pipe_that_nobody_writes(self, tmp_path):
        os.mkfifo(tmp_path / "a.jpg")
        assert "device or pipe" in _problem(tmp_path / "a.jpg")

    @pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read all")
    def test_a_file_that_may_not_be_read(self, tmp_path):
        path = written(tmp_path, "png")
        path.chmod(0)
        assert "can't be opened: Permission denied" in _problem(path)

    def test_a_refusal_by_the_system_is_passed_on(self, tmp_path, monkeypatch):
        def refuse(*_args: object) -> None:
            raise PermissionError(13, "Permission denied", "/somewhere/private.png")

        path = written(tmp_path, "png")
        monkeypatch.setattr(Path, "open", refuse)
        assert _problem(path) == "picture.png: can't be opened: Permission denied"

    def test_a_link_to_itself(self, tmp_path):
        (tmp_path / "a.jpg").symlink_to(tmp_path / "a.jpg")
        assert "can't be opened" in _problem(tmp_path / "a.jpg")

    @pytest.mark.parametrize("name", ["n" * 300, "a\0b", "two\nlines.jpg", "\udcff.jpg"])
    def test_odd_names(self, tmp_path, name):
        _problem(tmp_path / name).encode()


class TestSize:
    @pytest.mark.parametrize("size", [(1, 1), (15, 400), (400, 15)])
    def test_too_small(self, tmp_path, size):
        Image.new("L", size).save(tmp_path / "a.png")
        message = _problem(tmp_path / "a.png")
        assert f"too small to carve: it has {size[0]} x {size[1]} pixels" in message
        assert "16 or more" in message

    def test_the_least_that_is_read(self, tmp_path):
        Image.new("L", (16, 16)).save(tmp_path / "a.png")
        assert read(tmp_path / "a.png", long_side_px=100).lightness.shape == (16, 16)

    def test_a_crop_that_leaves_too_little(self):
        message = _problem(PACKAGED / "astronaut.png", crop=(0.5, 0.5, 0.51, 0.9))
        assert "the crop leaves 5 x 205 pixels" in message

    @pytest.mark.parametrize("side", [20_000, 100_000, 2**31 - 1])
    def test_a_png_that_declares_too_many_pixels(self, tmp_path, side):
        """The header by hand (ISO/IEC 15948, 11.2.2), with no more data than fit a screen."""
        message = _problem(written(tmp_path, "png", _png(side, side, b"\0" * 1000)))
        assert f"{side} x {side} pixels" in message
        assert "300 megapixels" in message
        with pytest.raises(InputError, match="300 megapixels"):
            size_of(tmp_path / "picture.png")

    def test_a_bmp_that_declares_too_many_pixels(self, tmp_path):
        header = bytearray(encoded("bmp"))
        header[18:26] = struct.pack("<ii", 60_000, 60_000)
        assert "3600 megapixels" in _problem(written(tmp_path, "bmp", bytes(header)))

    def test_a_gif_that_declares_too_many_pixels(self, tmp_path):
        header = bytearray(encoded("gif"))
        header[6:10] = struct.pack("<HH", 65_535, 65_535)
        assert "4295 megapixels" in _problem(written(tmp_path, "gif", bytes(header)))

    def test_a_jpeg_that_declares_too_many_pixels(self, tmp_path):
        header = encoded("jpeg")
        frame = header.index(b"\xff\xc0")
        assert header[frame + 5 : frame + 9] == struct.pack(">HH", 96, 128)
        bomb = header[: frame + 5] + struct.pack(">HH", 65_000, 65_000) + header[frame + 9 :]
        assert "4225 megapixels" in _problem(written(tmp_path, "jpeg", bomb))

    def test_a_float_tiff_of_too_many_numbers(self, tmp_path):
        content = tiff(np.zeros((32, 32, 3)), photometric="rgb")
        for tag in (256, 257):  # width and height, each one LONG (TIFF 6.0, section 2)
            entry = struct.pack("<HHI", tag, 4, 1)
            assert entry + struct.pack("<I", 32) in content
            content = content.replace(entry + struct.pack("<I", 32), entry + struct.pack("<I", 10_000))
        assert "at most 400 can be read" in _problem(written(tmp_path, "tiff", content))

    def test_a_file_that_is_too_long(self, tmp_path):
        path = written(tmp_path, "webp")
        os.truncate(path, 300_000_000)  # sparse: it takes no room
        assert "300 MB long" in _problem(path)

    def test_pillows_own_limit_is_left_as_it_was(self, tmp_path):
        limit = Image.MAX_IMAGE_PIXELS
        read(written(tmp_path, "png"), long_side_px=10)
        _problem(written(tmp_path, "png", b"\x89PNG\r\n\x1a\nrubbish"))
        assert limit == Image.MAX_IMAGE_PIXELS


@pytest.mark.parametrize("format_name", ENCODERS)
def test_cut_short_at_ten_places(tmp_path, format_name):
    """Never half a picture: bytes missing from the pixels are an error."""
    whole = encoded(format_name)
    for tenth in range(10):
        message = _problem(written(tmp_path, format_name, whole[: len(whole) * tenth // 10]))
        assert any(words in message for words in ("cut short", "an empty file", "damaged at its beginning"))


@pytest.mark.parametrize("format_name", ENCODERS)
def test_random_byte_flips(tmp_path, format_name, capfd):
    """200 seeded damages of one to four bytes, half of them in the header."""
    whole = encoded(format_name, 96)
    chance = random.Random(format_name)
    readable = 0
    for number in range(200):
        damaged = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(len(damaged) if number % 2 else min(300, len(damaged)))
            damaged[place] = chance.randrange(256)
        readable += _outcome(written(tmp_path, format_name, bytes(damaged))) is not None
    assert readable < 200  # else nothing was damaged
    assert capfd.readouterr() == ("", "")  # decoders must not talk past the one line


@pytest.mark.parametrize("format_name", ENCODERS)
def test_the_undamaged_file_is_read(tmp_path, format_name):
    """What the two tests above damage is sound to begin with."""
    assert _outcome(written(tmp_path, format_name, encoded(format_name, 96))) is not None


@pytest.mark.parametrize("format_name", ENCODERS)
def test_rubbish_behind_a_true_beginning(tmp_path, format_name):
    rubbish = random.Random(7).randbytes(5000)
    for kept in (4, 12, 16, 40):
        assert _outcome(written(tmp_path, format_name, encoded(format_name)[:kept] + rubbish)) is None


@pytest.mark.parametrize(
    ("values", "options"),
    [
        (np.ones((32, 32), np.complex64), {}),
        (np.ones((32, 32, 9), np.float32), {"photometric": "minisblack", "planarconfig": "contig"}),
        (np.ones((32, 32, 3), np.int32), {"photometric": "rgb"}),
    ],
)
def test_kinds_of_tiff_that_hold_no_picture_are_refused(tmp_path, values, options):
    assert "TIFF" in _problem(written(tmp_path, "tiff", tiff(values, **options)))


def test_reading_a_common_picture_loads_no_slow_library():
    code = """
import sys
from pathlib import Path
from shadowrout.picture.reading import read
read(Path(sys.argv[1]), long_side_px=50)
print([name for name in ("skimage", "tifffile", "pillow_heif", "scipy") if name in sys.modules])
"""
    command = [sys.executable, "-c", code, str(PACKAGED / "rocket.jpg")]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip() == "[]"


_PEAK = """
import sys
from pathlib import Path
from shadowrout.picture.reading import read
photo = read(Path(sys.argv[1]), long_side_px=2000)
assert max(photo.lightness.shape) == 2000
status = Path("/proc/self/status").read_text()
print(next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM")))
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs the system's count of memory")
def test_a_hundred_megapixels_within_a_gigabyte_and_a_half(tmp_path):
    path = written(tmp_path, "png", _png(10_000, 10_000, (b"\0" + bytes(range(250)) * 120) * 10_000))
    command = [sys.executable, "-c", _PEAK, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert int(done.stdout) < 1_500_000  # kilobytes


def _png(width_px: int, height_px: int, rows: bytes) -> bytes:
    """Return an 8-bit RGB PNG file, ``rows`` each led by a filter byte, whether or not they fit the size."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    parts = (b"\x89PNG\r\n\x1a\n", chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(rows, 1)), chunk(b"IEND", b""))
    return b"".join(parts)
