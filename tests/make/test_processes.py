"""Work in several processes: the same results in the same order, errors told, no process left behind."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from shadowrout.errors import InputError, PromiseError, SettingError, ShadowroutError
from shadowrout.make.processes import Processes


def results_of(work, tasks, *, done=lambda number: None):
    with Processes(2) as processes:
        return processes.results_of(work, tasks, done=done)


def square(number: int) -> int:
    time.sleep(0.2 if number == 0 else 0.0)
    return number**2


def refuse(task: tuple[int, str]) -> None:
    number, folder = task
    if number == 1:
        _wait_for(lambda: [*Path(folder).iterdir()], len)
        raise SettingError("plaque.size", "is too small; give more")
    tell_and_wait(folder)


def threads(number: int) -> tuple[int, int]:
    """Return how many threads OpenCV uses, and how many the process has beside Python's own."""
    import cv2
    import numpy as np

    np.ones((600, 600)) @ np.ones((600, 600))
    return cv2.getNumThreads(), len([*Path("/proc/self/task").iterdir()]) - threading.active_count()


def own_id(wait_s: float) -> int:
    time.sleep(wait_s)
    return os.getpid()


def fault(number: int) -> float:
    return 1 / number


def die(number: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return number


def tell_and_wait(folder: str) -> None:
    (Path(folder) / str(os.getpid())).touch()
    time.sleep(60)


class TestResults:
    def test_come_in_the_order_of_the_tasks(self) -> None:
        told: list[int] = []
        assert results_of(square, [0, 3, 2], done=told.append) == [0, 9, 4]
        assert told == [1, 2, 3]

    def test_a_second_lot_of_work_finds_the_processes_of_the_first(self) -> None:
        with Processes(2) as processes:
            first, second = (
                {processes.results_of(own_id, [wait], done=lambda number: None)[0] for _ in range(2)}
                for wait in (0.0, 0.1)
            )
            assert os.getpid() not in first | second
            assert len(first | second) <= 2
        assert not [pid for pid in first | second if _is_running(pid)]

    @pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is a matter of POSIX")
    def test_a_process_that_died_with_nothing_to_do_is_replaced(self) -> None:
        with Processes(1) as processes:
            (first,) = processes.results_of(own_id, [0.0], done=lambda number: None)
            os.kill(first, signal.SIGKILL)
            _wait_for(lambda: _is_running(first), lambda running: not running)
            (second,) = processes.results_of(own_id, [0.0], done=lambda number: None)
        assert second != first

    def test_no_tasks(self) -> None:
        assert results_of(square, []) == []

    @pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="threads are counted as Linux lists them")
    def test_each_process_has_one_thread(self) -> None:
        assert results_of(threads, [0, 1]) == [(1, 0)] * 2


class TestFailure:
    def test_an_error_ends_the_others_and_is_raised_as_it_was(self, tmp_path: Path) -> None:
        begun = time.monotonic()
        with Processes(2) as processes:
            with pytest.raises(SettingError, match=r"^plaque\.size: is too small; give more$") as caught:
                processes.results_of(refuse, [(n, str(tmp_path)) for n in range(3)], done=lambda number: None)
            assert (caught.value.key, caught.value.exit_code) == ("plaque.size", 2)
            assert time.monotonic() - begun < 50, "the call waited for work that was given up"
            (other,) = (int(path.name) for path in tmp_path.iterdir())
            assert not _is_running(other)
            assert processes.results_of(square, [1, 2], done=lambda number: None) == [1, 4]

    def test_a_fault_of_the_program_says_where_it_was_to_those_who_ask(self, monkeypatch) -> None:
        monkeypatch.setenv("SHADOWROUT_TRACEBACK", "1")
        with pytest.raises(ZeroDivisionError) as caught:
            results_of(fault, [0])
        assert "return 1 / number" in caught.value.__notes__[0]

    @pytest.mark.skipif(sys.platform == "win32", reason="signals are told apart on POSIX only")
    def test_a_process_that_dies_is_told(self) -> None:
        with pytest.raises(ShadowroutError, match="perhaps for want of memory; --workers 1"):
            results_of(die, [0, 1])

    @pytest.mark.skipif(sys.platform == "win32", reason="kill -9 is a matter of POSIX")
    def test_no_process_outlives_a_parent_that_is_killed(self, tmp_path: Path) -> None:
        code = (
            "from test_processes import tell_and_wait, results_of\n"
            f"if __name__ == '__main__': results_of(tell_and_wait, [{str(tmp_path)!r}] * 2)"
        )
        script = tmp_path / "script.py"
        script.write_text(code)
        place = os.pathsep.join([str(Path(__file__).parent), *sys.path])
        parent = subprocess.Popen([sys.executable, str(script)], env=os.environ | {"PYTHONPATH": place})
        workers = _wait_for(
            lambda: [int(f.name) for f in tmp_path.iterdir() if f.name.isdigit()], lambda found: len(found) == 2
        )
        parent.kill()
        parent.wait()
        assert _wait_for(lambda: [pid for pid in workers if _is_running(pid)], lambda left: not left) == []


@pytest.mark.parametrize("error", [SettingError("a", "b c"), InputError("a", "b c"), PromiseError("a: b c")])
def test_errors_cross_a_pickle(error: ShadowroutError) -> None:

    again = pickle.loads(pickle.dumps(error))
    assert (type(again), str(again), vars(again)) == (type(error), str(error), vars(error))


def _wait_for(look, enough):
    """Return what ``look`` gives once it is enough, or after a minute whatever it gives."""
    for _ in range(600):
        if enough(found := look()):
            break
        time.sleep(0.1)
    return found


def _is_running(pid: int) -> bool:
    """Return whether a process is there and not merely waiting to be reaped."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False
