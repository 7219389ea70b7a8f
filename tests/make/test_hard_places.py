"""Streams that are closed or full, names that no terminal shows, pipes for files, little memory, an early Ctrl-C.

Wherever it runs the work is done or refused, and the exit code and one line say which.
"""

from __future__ import annotations

import io
import os
import resource
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from small_jobs import QUICK, disc, job_text, order, run

from shadowrout.cli import main
from shadowrout.errors import InputError, SettingError, UncheckedError
from shadowrout.job.options import Job, Picture
from shadowrout.make import memory, pipeline
from shadowrout.words.progress import shown_progress
from shadowrout.words.showing import showable

needs_full = pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full (Linux)")
FULL = "shadowrout: standard output can't be written (No space left on device); the work itself is done\n"


def shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a line of a POSIX shell in which $MAKE makes a small job and $RUN is the program."""
    command = f"{sys.executable} -m shadowrout"
    given = {"RUN": command, "MAKE": f"{command} make disc.png {' '.join(QUICK)} --workers 1 --out out"}
    return subprocess.run(
        ["sh", "-c", line], cwd=folder, env=os.environ | given, capture_output=True, text=True, check=False
    )


@pytest.fixture
def place(tmp_path) -> Path:
    disc(tmp_path / "disc.png")
    return tmp_path


class TestStreams:
    @pytest.mark.parametrize(
        ("ends", "code", "err"),
        [
            ("2>&-", 0, ""),
            (">&-", 0, ""),
            (">&- 2>&- <&-", 0, ""),
            pytest.param(">/dev/full", 1, FULL, marks=needs_full),
            pytest.param("--json >/dev/full 2>/dev/full", 1, "", marks=needs_full),
            pytest.param("2>/dev/full", 0, "", marks=needs_full),
        ],
    )
    def test_the_job_is_made_and_told(self, place, ends, code, err):
        done = shell(f"$MAKE {ends}", place)
        assert (done.returncode, done.stderr) == (code, err)
        assert ("Written to out" in done.stdout) == (">&-" not in ends.replace("2>&-", "") and ">/dev" not in
                                                     ends.replace("2>/dev", ""))  # fmt: skip
        assert main(["check", str(place / "out")]) == 0, "no stray byte of what was printed went into a file"

    @pytest.mark.parametrize("command", ["$MAKE", "$MAKE --json", "$RUN --help", "$RUN make --help"])
    def test_a_reader_that_has_gone_is_no_failure(self, place, command):
        done = shell(f"{{ {command}; echo $? >code; }} | head -c 0", place)
        assert (done.stderr, (place / "code").read_text()) == ("", "0\n")

    @pytest.mark.parametrize("ends", [">&-", "2>&-", pytest.param(">/dev/full", marks=needs_full), "| head -c 0"])
    def test_what_failed_keeps_its_code(self, place, ends):
        line = "$RUN make gone.png" if "|" not in ends else "{ $RUN make gone.png; echo $? >code; }"
        done = shell(f"{line} {ends}", place)
        assert "Traceback" not in done.stderr
        assert (int((place / "code").read_text()) if "|" in ends else done.returncode) == 3

    @needs_full
    def test_so_it_is_with_check_and_batch(self, place):
        order(place / "orders" / "a.toml")
        assert main(["make", str(place / "disc.png"), *QUICK, "--out", str(place / "out")]) == 0
        for command in ("$RUN check out", "$RUN batch orders --workers 1", "$RUN --version"):
            done = shell(f"{command} >/dev/full", place)
            assert (done.returncode, done.stderr) == (1, FULL)
        assert (place / "plaques" / "a" / "p" / "carve.svg").exists()

    def test_a_broken_promise_comes_before_a_full_disk(self, place):
        assert main(["make", str(place / "disc.png"), *QUICK, "--out", str(place / "out")]) == 0
        (place / "out" / "40x40mm" / "carve.svg").unlink()
        assert shell("$RUN check out >&-", place).returncode == 4

    def test_a_terminal_that_has_gone_stops_no_work(self):
        class Gone(io.StringIO):
            def isatty(self) -> bool:
                return True

            def write(self, text: str) -> int:
                raise OSError(5, "Input/output error")

        with shown_progress(Gone()) as progress:
            progress("writing", 0.5)

    def test_an_encoding_that_lacks_a_character(self, place):
        done = run("batch", order(place / "orders" / "a.toml"), "--out", place / "o", env=os.environ | ASCII)
        assert (done.returncode, done.stderr) == (0, "")
        assert r"0.03 dm\xb3" in done.stdout


ASCII = {"PYTHONIOENCODING": "ascii"}


class TestNames:
    def test_escapes_and_turned_writing_reach_neither_terminal_nor_page(self, place, capsys):
        """ESC begins a terminal's orders (ECMA-48); U+202E turns what follows round (Unicode Annex 9)."""
        name, shown = "d\x1b[31m\u202egpj.png", r"d\x1b[31m\u202egpj.png"
        (place / "disc.png").rename(place / name)
        out = place / "o\x1b[2J"
        assert main(["make", str(place / name), *QUICK, "--out", str(out)]) == 0
        told = capsys.readouterr()
        assert r"Written to " in told.out and r"o\x1b[2J" in told.out
        page = (out / "jobsheet.html").read_text(encoding="utf-8")
        assert f"<h1>Job sheet: {shown}</h1>" in page
        for text in (told.out, told.err, page):
            assert [c for c in text if not c.isprintable() and c not in "\n\u00a0"] == []
        assert main(["check", str(out), "--json"]) == 0
        assert main(["make", str(out / "job.toml"), "--out", str(out)]) == 0, "job.toml names the picture all the same"

    def test_an_orders_name_too(self, place, capsys):
        order(place / "orders" / "a\x1b[2J.toml")
        for json in ([], ["--json"]):
            assert main(["batch", str(place / "orders"), "--out", str(place / "o"), *json, "--workers", "1"]) == 0
            told = capsys.readouterr()
            assert "\x1b" not in told.out + told.err
            assert ("a\\u001b[2J" if json else r"a\x1b[2J") in told.out

    def test_what_is_shown_can_be_seen(self):
        assert showable("".join(map(chr, range(0x110000)))).replace("\n", "").replace("\u00a0", "").isprintable()

    def test_a_picture_whose_name_is_no_utf_8(self, place, capsys):
        name = os.fsdecode(b"caf\xe9.png")
        (place / "disc.png").rename(place / name)
        for command in (["make", *QUICK, "--out", str(place / "o")], ["start", "--out", str(place / "s.toml")]):
            assert main([command[0], str(place / name), *command[1:]]) == 3
            told = capsys.readouterr().err
            assert told == "shadowrout: caf\\udce9.png: its name is no text in UTF-8, so no job file can hold it; " \
                           "rename that\n"  # fmt: skip
        assert not (place / "o").exists()
        assert main(["preview-tone", str(place / name), "--size", "40x40mm", "--out", str(place / "t.png")]) == 0

    def test_a_folder_whose_name_is_no_utf_8(self, place):
        """What is made there is whole, is told, is checked, and is made again from its own job file."""
        out = os.fsdecode(b"caf\xe9")
        for source in ("disc.png", f"{out}/job.toml", f"{out}/job.toml"):
            done = run("make", source, *QUICK, "--workers", "1", "--out", out, cwd=place)
            assert (done.returncode, done.stderr) == (0, "")
            assert done.stdout.endswith("Written to caf\\udce9\n")
        assert run("check", out, cwd=place).returncode == 0
        shutil.copy(place / "disc.png", place / out)
        there = run("make", f"{out}/disc.png", *QUICK, "--out", "elsewhere", cwd=place)
        assert there.returncode == 3
        assert "disc.png: a folder's name on the way to it is no text in UTF-8" in there.stderr
        assert run("make", f"{out}/disc.png", *QUICK, "--out", out, cwd=place).returncode == 0

    @pytest.mark.parametrize("name", ["job.toml", "numbers.json", "jobsheet.html", "batch.json", "Batch.JSON",
                                      "stencil-stock-1.svg"])  # fmt: skip
    def test_a_plaque_is_not_named_as_a_file_of_the_job(self, place, name):
        with pytest.raises(SettingError, match=r"plaque\.name: .* is the name of a file beside the plaques"):
            pipeline.make(Job.from_file(order(place / "a.toml", job_text(plaques=f'[[plaque]]\nname = "{name}"\n'))),
                          place / "out")  # fmt: skip
        assert not (place / "out").exists()


class TestPipesForFiles:
    """Opening a pipe that nobody writes to waits for ever (POSIX, open)."""

    def test_what_is_named_for_a_picture_or_a_job(self, place, capsys):
        os.mkfifo(place / "pipe.png")
        os.mkfifo(place / "pipe.toml")
        sources = [place / "pipe.png", place / "pipe.toml", "/dev/zero"]
        for source in sources:
            assert main(["make", str(source), "--out", str(place / "o")]) == 3
            assert "device or" in capsys.readouterr().err
        (place / "touched.toml").write_text('[picture]\nfile = "disc.png"\ntouch_up = "pipe.png"\n', encoding="utf-8")
        assert main(["make", str(place / "touched.toml"), "--out", str(place / "o")]) == 3

    def test_where_the_settings_are_to_be_written(self, place, capsys):
        (place / "o").mkdir()
        os.mkfifo(place / "o" / "job.toml")
        assert main(["make", str(place / "disc.png"), *QUICK, "--out", str(place / "o")]) == 2
        assert "job.toml is no plain file" in capsys.readouterr().err
        assert main(["check", str(place / "o")]) == 3


def test_a_mark_at_the_beginning_leaves_a_job_file_ours(place, capsys):
    """Some editors set U+FEFF when they save; the folder's own job.toml stays the program's."""
    make = ["make", str(place / "disc.png"), *QUICK, "--out", str(place / "o")]
    assert main(make) == 0
    settings = place / "o" / "job.toml"
    settings.write_bytes(b"\xef\xbb\xbf" + settings.read_bytes())
    assert main(["check", str(place / "o")]) == 0
    assert main(make) == 0


class TestMemory:
    @pytest.mark.parametrize("command", ["make disc.png", "check .", "start disc.png", "batch a.toml"])
    def test_too_little_to_begin_is_refused_at_once(self, place, command):
        """600,000 kB, with which the libraries wait for memory for ever."""
        order(place / "a.toml")
        done = subprocess.run(
            [sys.executable, "-m", "shadowrout", *command.split()],
            cwd=place,
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (600_000 << 10, 600_000 << 10)),
        )
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr.startswith("shadowrout: this process may have 614 MB of memory (ulimit -v) and needs ")
        assert sorted(path.name for path in place.iterdir()) == ["a.toml", "disc.png"]

    def test_no_limit_is_no_hindrance(self):
        memory.check_memory()

    @pytest.mark.parametrize(
        ("error", "says"),
        [
            (MemoryError(), "there is not enough memory"),
            (InputError("x", "went away"), "x: went away"),
            (ZeroDivisionError("division by zero"), "a fault of the program, please report it: ZeroDivisionError"),
        ],
    )
    def test_files_that_could_not_be_checked_are_said_to_be(self, place, capsys, monkeypatch, error, says):
        def fails(*_: object) -> None:
            raise error

        monkeypatch.setattr(pipeline, "check_in", fails)
        out = place / "o"
        assert main(["make", str(place / "disc.png"), *QUICK, "--out", str(out)]) == 1
        told = capsys.readouterr().err
        assert told.startswith(f"shadowrout: the files in {out} are written but not checked, don't cut by them: {says}")
        with pytest.raises(UncheckedError):
            pipeline.make(Job(Picture(place / "disc.png")), out)

    def test_so_it_is_said_of_an_interrupted_check(self, place, capsys, monkeypatch):
        def stopped(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(pipeline, "check_in", stopped)
        assert main(["make", str(place / "disc.png"), *QUICK, "--out", str(place / "o")]) == 130
        assert f"stopped; the files in {place / 'o'} are written and whole, but not checked" in capsys.readouterr().err


class TestEarlyInterrupts:
    STOP_AT = """
import runpy, sys
name = sys.argv.pop()
class Stop:
    def find_spec(self, asked, path=None, target=None):
        if asked == name:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Stop())
runpy.run_module("shadowrout", run_name="__main__", alter_sys=True)
"""

    @pytest.mark.parametrize(
        "module",
        ["shadowrout.cli", "argparse", "shadowrout.errors", "shadowrout.job.options", "shadowrout.make.worker"],
    )
    def test_while_the_command_line_is_loaded(self, module):
        done = subprocess.run(
            [sys.executable, "-c", self.STOP_AT, module], capture_output=True, text=True, check=False, timeout=60
        )
        assert (done.returncode, done.stdout) == (130, "")
        assert done.stderr == "shadowrout: stopped; no file is half-written\n"

    def test_whatever_is_loaded_before_the_guard_is_next_to_nothing(self):
        """Python's own start can't be guarded, so nothing of the program may come before but the package's face."""
        code = "import sys; before = set(sys.modules); import shadowrout.__main__; print(*sys.modules.keys() - before)"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        loaded = set(done.stdout.split())
        assert {name for name in loaded if name.startswith("shadowrout")} == {"shadowrout", "shadowrout.__main__"}
        assert not loaded & {"typing", "re", "argparse", "signal", "subprocess"}

    def test_the_script_is_the_guarded_one(self):
        project = Path(__file__).parents[2] / "pyproject.toml"
        assert 'shadowrout = "shadowrout.__main__:main"' in project.read_text(encoding="utf-8")

    def test_in_the_middle_of_loading(self, place):
        with subprocess.Popen(
            [sys.executable, "-c", "import shadowrout.__main__ as m, sys; print('on', flush=True); sys.exit(m.main())",
             "make", "disc.png", "--out", "o"],
            cwd=place, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        ) as process:  # fmt: skip
            assert process.stdout.readline() == "on\n"
            process.send_signal(signal.SIGINT)
            _, err = process.communicate(timeout=60)
        assert process.returncode in (130, -signal.SIGINT), "a shell says 130 of both"
        assert err == "shadowrout: stopped; no file is half-written\n"
