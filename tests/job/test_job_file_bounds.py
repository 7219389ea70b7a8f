"""What no person writes into a job file is refused in a moment, in one short line, and never keeps the reader waiting.

Each is read in a moment where the parser alone would take minutes, run out of stack or wait for ever; the tests run
into the whole run's limit of time then.
"""

from __future__ import annotations

import os
import re

import pytest

from shadowrout.errors import InputError, SettingError, ShadowroutError
from shadowrout.job import job_file
from shadowrout.job.flags import with_flags
from shadowrout.job.job_unit import bare_lengths
from shadowrout.job.options import TABLES, Job, Picture, Plaque
from shadowrout.job.schema import MOST_TABLES, settings_of
from shadowrout.job.settled_boards import settled_boards
from shadowrout.job.sheet_options import StencilOptions
from shadowrout.job.toml_bounds import LARGEST_BYTES
from shadowrout.job.value_kinds import MOST_ROWS

MINIMAL = '[picture]\nfile = "cat.jpg"\n'
DIGITS = "9" * 400


def refused(text: str) -> str:
    with pytest.raises(SettingError) as caught:
        job_file.from_text(MINIMAL + text, name="rex.toml")
    assert len(str(caught.value)) < 400
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("x = " + "[" * 100_000, r"rex.toml: line 3: brackets stand within brackets more than 8 deep"),
        ("\n\n" + "[" * 100_000 + "]" * 100_000, "rex.toml: line 5: brackets stand within brackets"),
        ("x = " + "{a = " * 20_000, "brackets stand within brackets"),
        ("a" + ".a" * 100_000 + " = 1", "rex.toml: line 3: a key has more than 8 parts with dots between"),
        ("[a" + ".a" * 100_000 + "]", "a key has more than 8 parts"),
        ("'a' . " * 20_000, "a key has more than 8 parts"),
        ("".join(f"k{n}=1\n" for n in range(22_000)), "rex.toml: line 20002: there are more than 20,000 keys"),
        ("crop = " + "1" * 5000, "rex.toml: line 3: a number has more than 1,000 digits"),
        ("crop = " + "1_" * 5000 + "1", "rex.toml: holds a number of thousands of digits"),
        ("# " + "x" * LARGEST_BYTES, "rex.toml: is far too large for a job file; one may have 250 kB"),
        ("[[plaque]]\n" * 20_000, f"plaque: 20,000 are too many; a job may have {MOST_TABLES}"),
        (f"[stencil]\nbridges = [{'[1, 2, 3],' * 1001}]", r"stencil.bridges: .* \(too many: 1,001\); give a list of"),
        (f"x = a{' ' * 100_000}b", "rex.toml: line 3 .*: the line is too long to say what is wrong with it"),
        (f'[[plaque]]\nsize = "1{" " * 100_000}1"', r"plaque.size: .* \(too long for a length\)"),
        (f"{'k' * 100_000} = 1", "picture.kkkk.*kkkk...: there is no such key"),
    ],
    ids=lambda value: value[:20],
)
def test_too_much_of_anything(text, says):
    assert re.search(says, refused(text))


def test_what_stands_in_texts_and_remarks_is_not_counted():
    text = f'[shop]\n# {"[" * 50} {"a." * 50}\n[[plaque]]\nname = "a.b.c.d.e.f.g.h.i.j"\n'
    assert job_file.from_text(MINIMAL + text, name="rex.toml").plaques[0].name == "a.b.c.d.e.f.g.h.i.j"


def test_as_much_as_is_allowed_is_read_back():
    plaques = tuple(Plaque(name=f"board {n}", size=(300.0, 200.0)) for n in range(MOST_TABLES))
    rows = tuple((100.123456 + n, 200.123456, 45.123456) for n in range(MOST_ROWS))
    boxes = tuple((*row, 300.123456) for row in rows)
    job = Job(Picture("cat.jpg"), plaques=plaques, stencil=StencilOptions(bridges=rows, keep_out=boxes))
    text = job_file.written(job, folder=None)
    assert len(text.encode()) <= LARGEST_BYTES
    assert job_file.from_text(text, name="rex.toml") == job


@pytest.mark.parametrize("value", [DIGITS, f"-{DIGITS}", "1e308", "-1e308", f'"{DIGITS}"', "nan",
                                   "[1e308, -1e308, 1e308]", "[[1e308, -1e308, 1e308]]", f"[[{DIGITS}, 1, 1]]",
                                   "[[-1e308, -1e308, 1e308, 1e308]]", f"[{DIGITS}, 1, 1, 1]"])  # fmt: skip
def test_numbers_past_all_measure_are_refused_for_every_setting(value):
    """IEEE 754 doubles end at 1.8e308; the last settings to take such numbers were bridges and keep_out."""
    for table in TABLES:
        for declared in settings_of(table.section):
            heading = "" if table.heading == "picture" else f"{table.in_brackets}\n"
            text = MINIMAL if declared.name != "file" else "[picture]\n"
            try:
                job = job_file.from_text(f"{text}{heading}{declared.name} = {value}\n", name="rex.toml")
            except SettingError as error:
                assert str(error).startswith(f"{table.heading}.{declared.name}: ")
                continue
            assert declared.name in ("file", "touch_up", "name"), "nothing but a name is such text"
            bare_lengths(settled_boards(job, aspect=1.0))


@pytest.mark.parametrize("flag", ["--bridges", "--keep-out"])
def test_so_they_are_as_flags(flag):
    job = job_file.from_text(MINIMAL, name="rex.toml")
    row = "1,2,3" if flag == "--bridges" else "1,2,3,4"
    with_flags(job, {flag: row})
    for spoiled in (row.replace("1", "1e308"), row.replace("2", "-1e308"), row.replace("3", DIGITS)):
        with pytest.raises(SettingError, match=f"^{flag}: "):
            with_flags(job, {flag: spoiled})


def test_the_mark_that_editors_set_at_a_files_beginning(tmp_path):
    """U+FEFF, as bytes EF BB BF (Unicode 23.8)."""
    path = tmp_path / "rex.toml"
    path.write_bytes(b"\xef\xbb\xbf" + MINIMAL.encode())
    assert Job.from_file(path) == Job(Picture(tmp_path / "cat.jpg"))


class TestWhatIsNoPlainFile:
    def says(self, path) -> str:
        with pytest.raises(InputError) as caught:
            Job.from_file(path)
        return str(caught.value)

    def test_a_pipe(self, tmp_path):
        os.mkfifo(tmp_path / "job.toml")
        assert "job.toml: is a device or a pipe; give a plain file" in self.says(tmp_path / "job.toml")

    def test_a_device(self, tmp_path):
        (tmp_path / "job.toml").symlink_to("/dev/zero")
        assert "is a device or a pipe" in self.says(tmp_path / "job.toml")

    def test_a_link_to_nothing(self, tmp_path):
        (tmp_path / "job.toml").symlink_to("gone.toml")
        assert "is a link to gone.toml, which isn't there" in self.says(tmp_path / "job.toml")

    def test_a_link_to_itself(self, tmp_path):
        (tmp_path / "job.toml").symlink_to("job.toml")
        assert "is a link to job.toml, which isn't there" in self.says(tmp_path / "job.toml")

    def test_a_name_too_long_for_the_system(self, tmp_path):
        assert "can't be read: " in self.says(tmp_path / ("x" * 300 + ".toml"))

    def test_a_file_far_too_large(self, tmp_path):
        with (tmp_path / "job.toml").open("wb") as file:
            file.truncate(10**12)  # of which nothing but its end is on the disk
        with pytest.raises(ShadowroutError, match="far too large"):
            Job.from_file(tmp_path / "job.toml")
