"""Help, and what is wrong with arguments and settings, come without the libraries that do the work."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from small_jobs import disc, job_text

from shadowrout.cli import COMMANDS, main

RUN_ALL = """
import contextlib, io, json, sys
before = set(sys.modules)
from shadowrout.cli import main
told = []
for arguments in json.load(sys.stdin):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main(arguments)
        except SystemExit as end:
            code = end.code
    loaded = {name.partition(".")[0] for name in set(sys.modules) - before}
    told.append([code, out.getvalue(), err.getvalue(), sorted(loaded - set(sys.stdlib_module_names))])
json.dump(told, sys.stdout)
"""


def results(commands: list[list[str]], folder: Path) -> list[tuple[int, str, str, list[str]]]:
    """Run commands one after the other in one process: exit code, both outputs, packages loaded so far."""
    given = json.dumps(commands)
    done = subprocess.run(
        [sys.executable, "-c", RUN_ALL], input=given, capture_output=True, text=True, check=True, cwd=folder
    )
    return json.loads(done.stdout)


def test_help_loads_no_library(tmp_path):
    commands = [["--help"], ["--version"], *([command, "--help"] for command in COMMANDS)]
    for command, (code, out, err, loaded) in zip(commands, results(commands, tmp_path), strict=True):
        assert (code, err, loaded) == (0, "", ["shadowrout"]), command
        assert ("--finishing-allowance" in out) == (command == ["make", "--help"])


def test_errors_in_arguments_and_settings_load_no_library(tmp_path):
    picture = str(disc(tmp_path / "disc.png"))
    files = {
        "bad.toml": "Dear Sir",
        "key.toml": "[picture]\nfile = 'disc.png'\n[tone]\ndrak = 0.3\n",
        "value.toml": "[picture]\nfile = 'disc.png'\n[tone]\ndark = 3\n",
        "gone.toml": job_text("gone.png"),
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text)
    cases = [
        ([], 2, "say what to do, as in: shadowrout make PHOTO; there are make, batch"),
        (["maek", picture], 2, "maek: there is no such command; did you mean make?"),
        (["xyzzy"], 2, "there are make, batch"),
        ([picture], 2, f"there is no such command; to make plaques of this file: shadowrout make {picture}"),
        (["make"], 2, "PHOTO|JOB.toml is missing"),
        (["make", picture, "--size"], 2, "--size stands without its value"),
        (["start", picture, "--size", "8x10in"], 2, "--size: start takes no such flag; write that into the job file"),
        (["preview-tone", picture, "--kerf", "1mm"], 2, "--kerf: preview-tone takes no such flag; give it to make"),
        (["make", picture, "--flow", "yes"], 2, "yes: a switch stands alone: --flow turns it on, --no-flow off"),
        (["make", "DISC"], 3, "DISC: no such file; did you mean disc.png?"),
        (["make", picture, "--dark", "30"], 2, "(too large for a share of 1: for 30 % write 0.3)"),
        (["make", picture, "--paper", "leter"], 2, "(not among the choices; did you mean letter?)"),
        (["make", picture, "--sise", "8x10in"], 2, "did you mean --size?"),
        (["make", picture, "again.png"], 2, "again.png: is one argument too many"),
        (["make", picture, "--size", "8x10"], 2, "--size: '8x10' can't be used"),
        (["make", picture, "--detail", "9 miles"], 2, "--detail: "),
        (["make", picture, "--only", "cave"], 2, "--only: "),
        (["preview-tone", picture, "--dark", "2"], 2, "--dark: "),
        (["make", picture, "--depth", "17"], 2, "--depth: 17 mm leaves 1 mm of the board of 18 mm"),
        (["make", picture, "--greatest-depth", "0.5mm"], 2, "--greatest-depth: 0.5 mm leaves no line"),
        (["make", "gone.png"], 3, "gone.png: no such file"),
        (["start", "gone.png"], 3, "gone.png: no such file"),
        (["start", picture, "--out", "bad.toml"], 2, "bad.toml is there already"),
        (["make", "none.toml"], 3, "none.toml: there is no such file"),
        (["make", "bad.toml"], 2, "bad.toml: line 1 (Dear Sir): a line is a heading"),
        (["make", "key.toml"], 2, "tone.drak: there is no such key; did you mean dark?"),
        (["make", "value.toml"], 2, "tone.dark: 3 can't be used"),
        (["make", "gone.toml"], 3, "gone.png: no such file"),
        (["make", "gone.toml"], 3, "write its new place as file under [picture] in gone.toml"),
        (["batch", "gone.toml", "--workers", "0"], 2, "--workers: '0' can't be used; give a whole number from 1"),
        (["batch", picture], 3, "is no job file"),
        (["batch", "gone.toml", "key.toml", "--workers", "many"], 2, "--workers: "),
        (["check", "gone"], 3, "gone: is no folder"),
    ]
    for (arguments, code, says), told in zip(cases, results([case[0] for case in cases], tmp_path), strict=True):
        assert (told[0], told[1], told[3]) == (code, "", ["shadowrout"]), arguments
        assert says in told[2]
        assert told[2].count("\n") == 1


def test_the_test_sees_a_library_that_is_loaded(tmp_path):
    ((code, _, _, loaded),) = results([["make", str(disc(tmp_path / "disc.png")), "--crop", "0,0,0.1,0.1"]], tmp_path)
    assert code == 3
    assert {"numpy", "cv2"} <= set(loaded)


def test_a_job_without_a_pattern_loads_nothing_for_pdf(tmp_path):
    make = ["make", str(disc(tmp_path / "disc.png")), "--size", "40x40mm", "--out", "out", "--only"]
    carve, pattern = results([[*make, "carve"], [*make, "carve,pattern"]], tmp_path)
    assert (carve[0], pattern[0]) == (0, 0), (carve, pattern)
    assert "reportlab" not in carve[3]
    assert "reportlab" in pattern[3]


MAKE_AND_LIST = """
import contextlib, io, sys
from shadowrout.cli import main
with contextlib.redirect_stdout(io.StringIO()):
    code = main(sys.argv[1:])
print(code, *sys.modules)
"""


def modules_loaded(arguments: list[str], folder: Path) -> set[str]:
    """Run a command that succeeds in a process of its own, and return the modules that it has loaded."""
    told = subprocess.run([sys.executable, "-c", MAKE_AND_LIST, *arguments], capture_output=True, text=True, cwd=folder)
    code, *modules = told.stdout.split()
    assert code == "0", told.stderr
    return set(modules)


def test_a_carving_loads_no_library_that_only_other_files_need(tmp_path):
    make = ["make", str(disc(tmp_path / "disc.png")), "--size", "40x40mm", "--workers", "1", "--out", "out", "--only"]
    carve = modules_loaded([*make, "carve"], tmp_path)
    assert not carve & {"scipy.ndimage", "scipy.interpolate", "skimage", "reportlab", "tifffile", "pillow_heif"}
    assert {"numpy", "scipy.spatial", "ezdxf"} <= carve
    assert "reportlab" in modules_loaded([*make, "carve,pattern"], tmp_path)


@pytest.mark.parametrize(
    ("flags", "says"),
    [
        (["--depth", "17"], "--depth: 17 mm leaves"),
        (["--depth", "12", "--margin", "30mm"], "--margin: "),
        (["--depth", "12", "--size", "50x60mm", "--shape", "round"], "--size: "),
        ([], "cutter.depth: 16 mm leaves"),
        (["--cutter", "3mm"], "cutter.depth: 16 mm leaves"),
    ],
)
def test_a_setting_is_named_as_it_was_given(tmp_path, capsys, flags, says):
    disc(tmp_path / "disc.png")
    (tmp_path / "order.toml").write_text(job_text() + "[[cutter]]\ndepth = 16\n")
    assert main(["make", str(tmp_path / "order.toml"), "--out", str(tmp_path / "out"), *flags]) == 2
    assert says in capsys.readouterr().err
