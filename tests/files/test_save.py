"""Saving: a file is complete or absent, whatever happens, and the folder is left clean."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from shadowrout.errors import OutputError, SettingError
from shadowrout.files import claim
from shadowrout.files.claim import claimed
from shadowrout.files.save import folder, save, save_all


def names(path: Path) -> list[str]:
    return sorted(entry.name for entry in path.iterdir())


def test_new_and_old_files_get_the_whole_content(tmp_path):
    target = tmp_path / "carve.svg"
    save(target, b"one")
    assert target.read_bytes() == b"one"
    save(target, b"")
    assert target.read_bytes() == b""
    assert names(tmp_path) == ["carve.svg"]


@pytest.mark.parametrize(("umask", "mode"), [(0o022, 0o644), (0o027, 0o640), (0o077, 0o600)])
def test_the_mode_is_what_the_umask_says(tmp_path, umask, mode):
    before = os.umask(umask)
    try:
        save(tmp_path / "carve.svg", b"x")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "carve.svg").stat().st_mode) == mode


def test_a_name_as_long_as_the_system_allows(tmp_path):
    target = tmp_path / ("n" * 251 + ".svg")
    save(target, b"x")
    assert names(tmp_path) == [target.name]


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("error", [KeyboardInterrupt, OSError(28, "No space left on device"), MemoryError])
def test_a_failure_at_any_step_keeps_the_old_file_and_no_other(tmp_path, monkeypatch, step, error):
    target = tmp_path / "carve.svg"
    save(target, b"old")

    def fail(*_):
        raise error

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    expected = OutputError if isinstance(error, OSError) else error
    with pytest.raises(expected) as caught:
        save(target, b"new")
    if expected is OutputError:
        assert str(caught.value) == f"{target}: can't be written: No space left on device"
    assert names(tmp_path) == ["carve.svg"]
    assert target.read_bytes() == b"old"


def test_a_file_system_that_cannot_sync_a_folder(tmp_path, monkeypatch):
    real = os.fsync

    def picky(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")
        real(handle)

    monkeypatch.setattr(os, "fsync", picky)
    save(tmp_path / "carve.svg", b"x")
    assert names(tmp_path) == ["carve.svg"]


def child(code: str, *arguments: str) -> subprocess.Popen:
    program = textwrap.dedent(code)
    return subprocess.Popen(
        [sys.executable, "-c", program, *arguments], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )


@pytest.mark.parametrize("old", [None, b"old"])
def test_killed_in_the_middle(tmp_path, old):
    """SIGKILL after the new content is written and before it has the target's name."""
    target = tmp_path / "carve.svg"
    if old is not None:
        target.write_bytes(old)
    process = child(
        """
        import os, sys
        from pathlib import Path
        from shadowrout.files.save import save
        def stop(*_):
            print("written", flush=True)
            sys.stdin.read()
        os.fsync = stop
        save(Path(sys.argv[1]), b"new" * 100_000)
        """,
        str(target),
    )
    with process:
        assert process.stdout.readline() == "written\n"
        process.send_signal(signal.SIGKILL)
    assert (target.read_bytes() if target.exists() else None) == old
    assert all(name.startswith(".shadowrout-") for name in names(tmp_path) if name != "carve.svg")
    save(target, b"newer")
    assert target.read_bytes() == b"newer"


def test_a_full_disk(tmp_path):
    """A real failure of the system: no file may grow past 10 kB (setrlimit)."""
    resource = pytest.importorskip("resource")
    assert resource
    process = child(
        """
        import resource, sys
        from pathlib import Path
        from shadowrout.errors import OutputError
        from shadowrout.files.save import save
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
        try:
            save(Path(sys.argv[1]), bytes(100_000))
        except OutputError as error:
            print(error)
        """,
        str(tmp_path / "carve.svg"),
    )
    told, _ = process.communicate()
    assert told == f"{tmp_path / 'carve.svg'}: can't be written: File too large\n"
    assert names(tmp_path) == []


def test_a_folder_in_the_place_of_the_file(tmp_path):
    (tmp_path / "carve.svg").mkdir()
    with pytest.raises(OutputError, match="a folder of this name stands there"):
        save(tmp_path / "carve.svg", b"x")
    assert names(tmp_path) == ["carve.svg"]


def test_no_folder_or_a_file_in_its_place(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="Not a directory"):
        save(tmp_path / "file" / "carve.svg", b"x")
    with pytest.raises(OutputError, match="No such file or directory"):
        save(tmp_path / "absent" / "carve.svg", b"x")
    assert names(tmp_path) == ["file"]


def test_a_link_is_kept_and_its_target_replaced(tmp_path):
    (tmp_path / "far").mkdir()
    real = tmp_path / "far" / "real.svg"
    real.write_bytes(b"old")
    link = tmp_path / "carve.svg"
    link.symlink_to(real)
    save(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    dangling = tmp_path / "dangling.svg"
    dangling.symlink_to(tmp_path / "far" / "fresh.svg")
    save(dangling, b"fresh")
    assert (tmp_path / "far" / "fresh.svg").read_bytes() == b"fresh"
    assert names(tmp_path / "far") == ["fresh.svg", "real.svg"]


def test_folder_makes_parents_and_accepts_what_is_there(tmp_path):
    wanted = tmp_path / "a" / "b"
    assert folder(wanted) == wanted
    assert folder(wanted) == wanted
    assert wanted.is_dir()
    assert names(wanted) == []


def test_folder_refuses_what_it_cannot_use(tmp_path):
    (tmp_path / "file").write_text("x")
    for bad in (tmp_path / "file", tmp_path / "file" / "below", tmp_path / ("n" * 300)):
        with pytest.raises(SettingError) as caught:
            folder(bad)
        assert caught.value.key == "--out"
        assert caught.value.exit_code == 2
        assert "\n" not in str(caught.value)
    with pytest.raises(SettingError, match="^output.folder: "):
        folder(tmp_path / "file", key="output.folder")


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a file system that nobody can write to")
def test_folder_refuses_a_file_system_that_is_read_only():
    with pytest.raises(SettingError, match="/proc can't be written"):
        folder(Path("/proc"))


class TestSeveralFiles:
    def test_none_takes_its_place_before_all_are_on_the_disk(self, tmp_path):
        """A real failure of the system: the third file is larger than a file may grow (setrlimit)."""
        pytest.importorskip("resource")
        (tmp_path / "a").write_bytes(b"old")
        process = child(
            """
            import resource, sys
            from pathlib import Path
            from shadowrout.errors import OutputError
            from shadowrout.files.save import save_all
            resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
            out = Path(sys.argv[1])
            try:
                save_all({out / "a": b"new", out / "b": b"new", out / "c": bytes(100_000), out / "d": b"new"})
            except OutputError as error:
                print(error)
            """,
            str(tmp_path),
        )
        told, _ = process.communicate()
        assert told == f"{tmp_path / 'c'}: can't be written: File too large\n"
        assert names(tmp_path) == ["a"]
        assert (tmp_path / "a").read_bytes() == b"old"

    @pytest.mark.parametrize("killed_at", range(5))
    def test_killed_between_two_files(self, tmp_path, killed_at):
        """SIGKILL when so many of four files have taken their place: each is the old one or the new, whole."""
        for name in "abcd":
            (tmp_path / name).write_bytes(b"old")
        process = child(
            """
            import os, signal, sys
            from pathlib import Path
            from shadowrout.files.save import save_all
            out, left = Path(sys.argv[1]), int(sys.argv[2])
            real = Path.replace
            def replace(part, target):
                global left
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                left -= 1
                return real(part, target)
            Path.replace = replace
            save_all({out / name: b"new" * 10_000 for name in "abcd"})
            """,
            str(tmp_path),
            str(killed_at),
        )
        assert process.wait() == (-signal.SIGKILL if killed_at < 4 else 0)
        process.stdin.close()
        process.stdout.close()
        found = [(tmp_path / name).read_bytes() for name in "abcd"]
        assert found == [b"new" * 10_000] * killed_at + [b"old"] * (4 - killed_at)
        assert len(names(tmp_path)) == 4 + (4 - killed_at)
        with claimed(tmp_path):
            assert names(tmp_path) == list("abcd")

    def test_an_interruption_between_two_files_leaves_no_others(self, tmp_path, monkeypatch):
        real = Path.replace

        def once(part, target):
            monkeypatch.setattr(Path, "replace", interrupted)
            return real(part, target)

        def interrupted(*_):
            raise KeyboardInterrupt

        monkeypatch.setattr(Path, "replace", once)
        with pytest.raises(KeyboardInterrupt):
            save_all({tmp_path / "a": b"1", tmp_path / "b": b"2"})
        assert names(tmp_path) == ["a"]


def test_a_write_protected_file_is_left_alone(tmp_path):
    target = tmp_path / "carve.svg"
    target.write_bytes(b"mine")
    target.chmod(0o444)
    with pytest.raises(OutputError, match=r"carve.svg: can't be written: it is write-protected$"):
        save(target, b"x")
    assert target.read_bytes() == b"mine"
    assert names(tmp_path) == ["carve.svg"]


HOLDER = """
    import sys
    from pathlib import Path
    from shadowrout.files.claim import claimed
    with claimed(Path(sys.argv[1])):
        print("held", flush=True)
        sys.stdin.read()
"""


@pytest.mark.skipif(claim.fcntl is None, reason="this system has no locks that end with their process")
class TestClaim:
    def test_a_second_run_is_refused_and_a_dead_one_lets_go(self, tmp_path):
        (tmp_path / ".shadowrout-1234abcd.part").write_bytes(b"x")
        link = tmp_path.parent / f"{tmp_path.name}-link"
        link.symlink_to(tmp_path)
        with child(HOLDER, str(tmp_path)) as first:
            assert first.stdout.readline() == "held\n"
            for path in (tmp_path, link):
                with pytest.raises(SettingError, match="^--out: another run is writing to ") as caught, claimed(path):
                    pass
                assert caught.value.exit_code == 2
            first.send_signal(signal.SIGKILL)
            first.wait()
            with claimed(tmp_path) as held:
                assert held.path == tmp_path
        assert names(tmp_path) == []

    def test_what_dead_runs_left_is_removed_and_what_living_ones_write_is_not(self, tmp_path):
        part = ".shadowrout-1234abcd.part"
        for place in (tmp_path, tmp_path / "dead", tmp_path / "living", tmp_path / "deep" / "below"):
            place.mkdir(parents=True, exist_ok=True)
            (place / part).write_bytes(b"x")
            (place / "mine.part").write_bytes(b"x")
        with child(HOLDER, str(tmp_path / "living")) as other:
            assert other.stdout.readline() == "held\n"
            (tmp_path / "living" / part).write_bytes(b"x")
            with claimed(tmp_path):
                found = sorted(str(path.relative_to(tmp_path)) for path in tmp_path.rglob("*.part"))
            other.send_signal(signal.SIGKILL)
        assert found == ["dead/mine.part", f"deep/below/{part}", "deep/below/mine.part", f"living/{part}",
                         "living/mine.part", "mine.part"]  # fmt: skip

    def test_folders_made_for_nothing_are_removed(self, tmp_path):
        (tmp_path / "a").mkdir()
        with pytest.raises(ZeroDivisionError), claimed(tmp_path / "a" / "b" / "c") as held:
            held.folder("d", key="plaque.name")
            raise ZeroDivisionError
        assert [path.name for path in tmp_path.rglob("*")] == ["a"]

    def test_folders_with_something_in_them_stay(self, tmp_path):
        with pytest.raises(ZeroDivisionError), claimed(tmp_path / "b") as held:
            (held.folder("d", key="plaque.name") / "e").write_bytes(b"x")
            raise ZeroDivisionError
        assert (tmp_path / "b" / "d" / "e").exists()

    @pytest.mark.parametrize("error", [errno.ENOLCK, errno.ENOTSUP, errno.EBADF])
    def test_a_file_system_without_locks_is_used_without(self, tmp_path, monkeypatch, error):
        def fail(*_):
            raise OSError(error, os.strerror(error))

        monkeypatch.setattr(claim.fcntl, "flock", fail)
        (tmp_path / ".shadowrout-1234abcd.part").write_bytes(b"x")
        with claimed(tmp_path), claimed(tmp_path) as held:
            save(held.path / "a", b"x")
        assert names(tmp_path) == [".shadowrout-1234abcd.part", "a"]


def test_a_system_without_locks_is_used_without(tmp_path, monkeypatch):
    monkeypatch.setattr(claim, "fcntl", None)
    with claimed(tmp_path), claimed(tmp_path) as held:
        save(held.path / "a", b"x")
    assert names(tmp_path) == ["a"]
