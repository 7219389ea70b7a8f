"""The folder of results: what the user put there is kept, what stands in the way is told, and nothing is half done."""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from small_jobs import QUICK, content, disc, job_text, order

from shadowrout.cli import main
from shadowrout.files import result_folder
from shadowrout.files.claim import claimed

PLAQUE = ["40x40mm/carve.dxf", "40x40mm/carve.svg", "40x40mm/design.wkb.gz"]
JOBS = ["job.toml", "jobsheet.html", "numbers.json"]


@pytest.fixture(scope="module")
def ready(tmp_path_factory) -> Path:
    """Return a folder with a picture and its results."""
    place = tmp_path_factory.mktemp("ready")
    disc(place / "disc.png")
    assert make(place) == 0
    return place


@pytest.fixture
def shop(ready, tmp_path) -> Path:
    shutil.copytree(ready, tmp_path / "shop", symlinks=True)
    return tmp_path / "shop"


def make(place: Path, *more: str, source: str = "disc.png", out: str = "out") -> int:
    given = [] if source.endswith(".toml") else QUICK
    return main(["make", str(place / source), *given, "--out", str(place / out), *more])


def refused(capsys, code: int, done: int, *says: str) -> None:
    shown = capsys.readouterr()
    assert done == code, shown.err
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    for words in says:
        assert words in shown.err


class TestWhatTheUserPutThere:
    def test_other_files_stay_and_are_not_spoken_of(self, shop, capsys):
        for name in ("order.txt", "40x40mm/carve-mine.svg", "40x40mm/photo.png", "invoices/1.pdf"):
            (shop / "out" / name).parent.mkdir(exist_ok=True)
            (shop / "out" / name).write_bytes(b"mine")
        before = content(shop)
        assert make(shop) == 0
        assert content(shop) == before
        assert capsys.readouterr().err == ""

    def test_results_are_made_again_in_their_place(self, shop):
        before = content(shop)
        assert make(shop, source="out/job.toml") == 0
        assert content(shop) == before

    def test_a_job_file_of_the_users_is_never_written_over(self, shop, capsys):
        before = order(shop / "job.toml").read_bytes()
        refused(capsys, 2, make(shop, source="job.toml", out="."), "--out: ", "job.toml is a job file of yours")
        assert (shop / "job.toml").read_bytes() == before
        assert main(["start", str(shop / "disc.png"), "--out", str(shop / "out" / "job.toml"), "--replace"]) == 0
        capsys.readouterr()
        refused(capsys, 2, make(shop), "--out: ", "job.toml is a job file of yours")

    def test_a_picture_under_the_name_of_a_result(self, shop, capsys):
        picture = disc(shop / "out" / "40x40mm" / "preview.png").read_bytes()
        before = content(shop)
        done = make(shop, "--only", "preview", source="out/40x40mm/preview.png")
        refused(capsys, 2, done, "--out: ", "preview.png is a picture of this job")
        assert content(shop) == before
        assert before["out/40x40mm/preview.png"] == picture

    def test_a_link_from_a_result_to_the_picture(self, shop, capsys):
        carve = shop / "out" / "40x40mm" / "carve.svg"
        carve.unlink()
        carve.symlink_to(shop / "disc.png")
        before = content(shop)
        refused(capsys, 2, make(shop), "carve.svg is a picture of this job")
        assert content(shop) == before

    def test_start_and_demo_write_over_no_picture(self, shop, capsys):
        before = content(shop)
        same = ["--out", str(shop / "out" / ".." / "disc.png"), "--replace"]
        refused(capsys, 2, main(["start", str(shop / "disc.png"), *same]), "is the picture itself")
        disc(shop / "chelsea.png")
        refused(capsys, 2, main(["demo", "--out", str(shop)]), "chelsea.png is another picture")
        (shop / "chelsea.png").unlink()
        assert content(shop) == before

    def test_a_write_protected_result(self, shop, capsys):
        (shop / "out" / "40x40mm" / "carve.svg").chmod(0o444)
        before = content(shop)
        refused(capsys, 1, make(shop, "--thickness", "20mm"), "carve.svg: can't be written: it is write-protected")
        assert content(shop) == before


class TestLeftOver:
    def test_results_of_other_runs_are_named_on_one_line_and_kept(self, shop, capsys):
        assert make(shop, "--only", "carve,stencil") == 0
        assert make(shop, "--name", "new") == 0
        (line,) = capsys.readouterr().err.splitlines()
        assert "from an earlier run and not of this job" in line
        assert line.endswith(": 40x40mm/")
        assert make(shop) == 0
        (line,) = capsys.readouterr().err.splitlines()
        left = ["kerf-test.dxf", "kerf-test.svg", "stencil-design.wkb.gz", "stencil.dxf", "stencil.png", "stencil.svg"]
        assert line.endswith(": " + ", ".join([*(f"40x40mm/{name}" for name in left), "new/"]))
        assert (shop / "out" / "new" / "carve.svg").exists()
        assert (shop / "out" / "40x40mm" / "stencil.svg").exists()

    def test_every_name_that_a_run_makes_is_known(self, shop):
        files = ["--only", "carve,pattern,preview,stencil,template", "--explain"]
        assert make(shop, *files, "--bit", "3mm", "--bush", "5mm", out="all") == 0
        made = {path.name for path in (shop / "all" / "40x40mm").iterdir()}
        assert len(made) > 12
        left = result_folder.left_over(shop / "all", [shop / "all" / "40x40mm" / result_folder.DESIGN_FILE])
        assert {name.removeprefix("40x40mm/") for name in left} == made - {result_folder.DESIGN_FILE}


class TestStandsInTheWay:
    def test_another_run(self, shop, capsys):
        with claimed(shop / "out"):
            refused(capsys, 2, make(shop), "--out: another run is writing to")

    def test_a_file_for_a_plaques_folder(self, shop, capsys):
        (shop / "out" / "b").write_text("mine")
        before = content(shop)
        refused(capsys, 2, make(shop, "--name", "b"), "--name: ", "b is a file")
        assert content(shop) == before

    def test_a_folder_for_a_file(self, shop, capsys):
        (shop / "out" / "40x40mm" / "carve.svg").unlink()
        (shop / "out" / "40x40mm" / "carve.svg").mkdir()
        before = content(shop)
        refused(capsys, 1, make(shop), "carve.svg: can't be written: a folder of this name stands there")
        assert content(shop) == before

    @pytest.mark.parametrize("name", ["job.toml", "Numbers.json", "jobsheet.html"])
    def test_a_plaque_of_a_files_name(self, shop, capsys, name):
        refused(capsys, 2, make(shop, "--name", name, out="new"), "is the name of a file beside the plaques")
        assert not (shop / "new").exists()

    def test_folders_that_are_links(self, shop):
        (shop / "far").mkdir()
        (shop / "near").symlink_to(shop / "far")
        (shop / "far" / "40x40mm").symlink_to(shop / "out" / "40x40mm")
        assert make(shop, out="near") == 0
        assert (shop / "near").is_symlink()
        assert sorted(path.name for path in (shop / "far").iterdir()) == ["40x40mm", *JOBS]

    def test_a_link_that_leads_nowhere(self, shop, capsys):
        (shop / "broken").symlink_to(shop / "gone" / "far")
        refused(capsys, 2, make(shop, out="broken"), "--out: ")
        assert not (shop / "gone").exists()

    def test_a_result_that_is_a_link(self, shop):
        carve = shop / "out" / "40x40mm" / "carve.svg"
        shutil.move(carve, shop / "real.svg")
        carve.symlink_to(shop / "real.svg")
        before = content(shop)
        (shop / "real.svg").write_bytes(b"old")
        assert make(shop) == 0
        assert carve.is_symlink()
        assert content(shop) == before


class TestTheSystemRefuses:
    @pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX limits")
    def test_a_full_disk_leaves_the_earlier_results_whole(self, shop):
        """A real failure of the system: no file may grow past 5 kB (setrlimit), which the job sheet does."""
        before = content(shop)
        code = (
            "import resource, sys; from shadowrout.cli import main; import shadowrout.make.pipeline\n"
            "resource.setrlimit(resource.RLIMIT_FSIZE, (5_000, 5_000))\n"
            "print(*(main([*sys.argv[2:], '--out', f'{sys.argv[1]}/{out}']) for out in ('out', 'new')))"
        )
        given = ["make", str(shop / "disc.png"), *QUICK, "--thickness", "20mm"]
        command = [sys.executable, "-c", code, str(shop), *given]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.stdout == "1 1\n"
        for out, line in zip(("out", "new"), done.stderr.splitlines(), strict=True):
            assert re.fullmatch(f"shadowrout: .*/{out}/.*: can't be written: File too large", line)
        assert content(shop) == before
        assert not (shop / "new").exists()

    @pytest.mark.skipif(not hasattr(os, "geteuid"), reason="needs POSIX modes")
    @pytest.mark.parametrize("which", ["out", "out/40x40mm"])
    def test_a_read_only_folder(self, shop, capsys, which, monkeypatch):
        """The mode is a real one; for the superuser, whom no mode holds, the system's refusal is played."""
        place = shop / which
        place.chmod(0o555)
        before = content(shop)
        if os.geteuid() == 0:
            real = os.open

            def obedient(path, flags, *rest, **more):
                writes = flags & (os.O_WRONLY | os.O_RDWR)
                folder = Path(path) if Path(path).is_dir() else Path(path).parent
                if writes and not folder.stat().st_mode & stat.S_IWUSR:
                    raise PermissionError(13, "Permission denied")
                return real(path, flags, *rest, **more)

            monkeypatch.setattr(os, "open", obedient)
        key = "--out: " if which == "out" else "plaque.name: "
        refused(capsys, 2, make(shop), key, "can't be written (Permission denied)")
        place.chmod(0o755)
        assert content(shop) == before


class TestNames:
    @pytest.mark.parametrize("name", ["Großmutter", "a b.c_d-e+f", "字" * 60])
    def test_odd_names_that_work(self, shop, name):
        assert make(shop, "--name", name, out="new") == 0
        assert (shop / "new" / name / "carve.svg").exists()
        assert main(["check", str(shop / "new")]) == 0

    @pytest.mark.parametrize(
        "name", ["", ".", "..", "../x", "a/b", "a\\\\b", "/tmp", "a\\u0000b", "a\\nb", "-x", " x", "x ", "x.", "a:b",
                 "x" * 61, "e\\u0301", "\\u202Ex", "字" * 61]
    )  # fmt: skip
    def test_names_that_lead_elsewhere_or_nowhere(self, tmp_path, capsys, name):
        job = order(tmp_path / "order.toml", job_text(plaques=f'[[plaque]]\nname = "{name}"\nsize = "40x40mm"\n'))
        refused(capsys, 2, make(tmp_path, source="order.toml"), "plaque.name: ", "can't be used")
        assert sorted(path.name for path in tmp_path.iterdir()) == ["disc.png", job.name]

    def test_pictures_may_lie_elsewhere_and_are_only_read(self, tmp_path):
        disc(tmp_path / "disc.png")
        (tmp_path / "a" / "b").mkdir(parents=True)
        (tmp_path / "a" / "b" / "order.toml").write_text(job_text("../../disc.png"))
        assert make(tmp_path, source="a/b/order.toml") == 0
        assert 'file = "../disc.png"' in (tmp_path / "out" / "job.toml").read_text()

    @pytest.mark.parametrize(
        ("picture", "code"), [("../../etc/passwd", 3), ("/dev/zero", 3), ("..", 3), ("/", 3), ("a\\u0000.png", 2)]
    )
    def test_a_path_in_the_job_file_that_leads_to_no_picture(self, tmp_path, capsys, picture, code):
        order(tmp_path / "order.toml", job_text(picture))
        refused(capsys, code, make(tmp_path, source="order.toml"))
        assert not (tmp_path / "out").exists()
