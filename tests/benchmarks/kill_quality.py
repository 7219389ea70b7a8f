"""What a kill leaves: a make is killed outright at random moments, over results that are there.

    python tests/benchmarks/kill_quality.py [--kills 200] [--seed 0]

A process makes the carved drawing of a small plaque into a folder that holds the results of other settings, and gets
SIGKILL: every other time at a random moment of the whole run, else at a random moment from when it begins to write.
Then every file must be the old one or the new one, whole, and the next run must leave the new ones and nothing else.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1")
sys.path.insert(0, str(Path(__file__).parents[1]))

from small_jobs import content, job_text, order

from shadowrout.job.options import Job
from shadowrout.make import pipeline

COLUMNS = ("kills", "all old", "old and new", "all new", "half", "lost", "hidden left", "next run wrong")


@dataclass(frozen=True)
class Times:
    """Seconds from a run's start until it wrote, had written and had ended."""

    writes: float
    written: float
    ends: float


def begun(path: Path, out: Path) -> tuple[int, int]:
    """Make the job in a process of its own; return its id and a pipe that tells when it writes and has written.

    The process is a fork, so that no time goes into loading the libraries.
    """
    told, tell = os.pipe()
    pid = os.fork()
    if pid:
        os.close(tell)
        return pid, told
    try:

        def progress(step: str, share: float) -> None:
            if step in ("writing", "checking the files"):
                os.write(tell, b"!")

        made = pipeline.make(Job.from_file(path), out, progress=progress)
        os._exit(0 if made.verdict.holds else 4)
    finally:
        os._exit(1)


def whole_run(job_file: Path, out: Path) -> Times:
    """Make the job and return how long it took."""
    start = time.monotonic()
    pid, told = begun(job_file, out)
    marks = [time.monotonic() - start for _ in range(2) if os.read(told, 1)]
    _, status = os.waitpid(pid, 0)
    os.close(told)
    if status:
        raise SystemExit(f"the make failed with status {status}")
    return Times(*marks, time.monotonic() - start)


def killed(job_file: Path, out: Path, *, while_writing: bool, after_s: float) -> None:
    """Make the job and kill it after so many seconds, from its start or from when it writes."""
    pid, told = begun(job_file, out)
    if while_writing:
        os.read(told, 1)
    time.sleep(after_s)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    os.close(told)


def judged(found: dict[str, bytes], old: dict[str, bytes], new: dict[str, bytes]) -> Counter[str]:
    """Return what stands in the folder after a kill."""
    counts = Counter({"kills": 1})
    whole = {name: data for name, data in found.items() if not Path(name).name.startswith(".shadowrout-")}
    counts["hidden left"] = len(found) - len(whole)
    counts["half"] = sum(data not in (old.get(name), new.get(name)) for name, data in whole.items())
    counts["lost"] = len(old.keys() - whole.keys())
    counts["all old"], counts["all new"] = int(whole == old), int(whole == new)
    counts["old and new"] = int(not counts["half"] and not counts["lost"] and whole not in (old, new))
    return counts


@dataclass
class Rig:
    """Two jobs that share no file's bytes, what each makes, and how long the last whole run took."""

    jobs: list[Path]
    out: Path
    results: list[dict[str, bytes]]
    times: Times

    @classmethod
    def set_up(cls, place: Path) -> Rig:
        """Make both jobs once."""
        finer = job_text() + "tolerance = 0.05\n[tone]\ndetail = 1\n"
        jobs = [order(place / "a.toml"), order(place / "b.toml", finer)]
        results = []
        for job in jobs:
            times = whole_run(job, place / "out")
            results.append(content(place / "out"))
        if any(results[0][name] == results[1][name] for name in results[0]):
            raise SystemExit("the two jobs share a file, so old and new can't be told apart")
        return cls(jobs, place / "out", results, times)

    def one_kill(self, new: int, *, while_writing: bool, rng: random.Random) -> Counter[str]:
        """Kill one make over the results of the other job, and return what it left and what the next run did."""
        self._lay_out(self.results[1 - new])
        times = self.times
        longest = 1.1 * (times.written - times.writes) if while_writing else times.ends
        killed(self.jobs[new], self.out, while_writing=while_writing, after_s=rng.uniform(0, longest))
        counts = judged(content(self.out), self.results[1 - new], self.results[new])
        self.times = whole_run(self.jobs[new], self.out)
        counts["next run wrong"] = int(content(self.out) != self.results[new])
        return counts

    def _lay_out(self, files: dict[str, bytes]) -> None:
        shutil.rmtree(self.out)
        for path, data in files.items():
            (self.out / path).parent.mkdir(parents=True, exist_ok=True)
            (self.out / path).write_bytes(data)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--smoke", action="store_true", help="four kills, to see that it runs")
    asked = parser.parse_args()
    rng = random.Random(asked.seed)
    totals = {True: Counter[str](), False: Counter[str]()}
    with tempfile.TemporaryDirectory() as name:
        rig = Rig.set_up(Path(name))
        for number in range(4 if asked.smoke else asked.kills):
            while_writing = number % 2 == 0
            totals[while_writing] += rig.one_kill(number // 2 % 2, while_writing=while_writing, rng=rng)
    print(f"{'killed':16}" + "".join(f"{name:>16}" for name in COLUMNS))
    for while_writing, counts in totals.items():
        moment = "while writing" if while_writing else "at any moment"
        print(f"{moment:16}" + "".join(f"{counts[name]:16}" for name in COLUMNS))
    if any(counts["half"] + counts["lost"] + counts["next run wrong"] for counts in totals.values()):
        raise SystemExit(1)


if __name__ == "__main__":
    main()
