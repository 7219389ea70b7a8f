"""Make the same jobs with two checkouts and compare all that they write, byte by byte.

    python tests/same_jobs.py OLD NEW [--only NAME,NAME] [--drawings] [--workers N] [--keep DIR]

It shows that a change which should only arrange the code anew changes nothing that anybody gets. OLD and NEW are
checkouts, folders that hold ``src/shadowrout``; the jobs stand in ``varied_jobs``. Standard output, standard error,
exit codes and every file are compared. It ends with 0 where all is the same and OLD did what each job expects of it,
else with 1; with ``--drawings`` only drawings and exit codes count, and the rest is told all the same.

Both checkouts write a job into the same place, one after the other, since some words and files name their folder.
"""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import zip_longest
from pathlib import Path

from small_jobs import content
from varied_jobs import JOBS, Job, write_inputs

DRAWING_SUFFIXES = (".svg", ".dxf", ".pdf", ".png", ".gz")
TEXT_SUFFIXES = (".svg", ".dxf", ".html", ".toml", ".json", ".txt")
EXIT_CODE, STDOUT, STDERR = "exit-code.txt", "stdout.txt", "stderr.txt"

MOST_AT_A_TIME = 64

TIMED = re.compile(r"  \d+ s(?:  +|$)", re.MULTILINE)
"""The seconds that an order took, in the table of a batch."""


@dataclass(frozen=True)
class Place:
    """Where the inputs lie, where jobs are made, and where what each checkout made of them is kept."""

    root: Path

    @property
    def inputs(self) -> Path:
        return self.root / "inputs"

    def making(self, job: Job) -> Path:
        return self.root / "making" / job.name

    def kept(self, side: str, job: Job) -> Path:
        return self.root / side / job.name


def run(checkout: Path, arguments: Sequence[str], *, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run Python on a checkout's own code."""
    surroundings = os.environ | {"PYTHONPATH": str(checkout / "src")}
    command = [sys.executable, *arguments]
    return subprocess.run(command, cwd=cwd, env=surroundings, capture_output=True, text=True, check=False)


def make(job: Job, checkout: Path, side: str, place: Place) -> None:
    """Make a job with one checkout and move all that came of it to where it is kept, words and exit codes as files."""
    out, kept = place.making(job), place.kept(side, job)
    out.mkdir(parents=True)
    commands = [arguments_of(command, out) for command in (job.command, job.then) if command]
    done = [run(checkout, ["-m", "shadowrout", *command], cwd=place.inputs) for command in commands]
    kept.mkdir(parents=True)
    out.rename(kept / "out")
    texts = {
        EXIT_CODE: [str(each.returncode) for each in done],
        STDOUT: [TIMED.sub("  ? s  ", each.stdout) for each in done],
        STDERR: [each.stderr for each in done],
    }
    for name, parts in texts.items():
        (kept / name).write_text("\n".join(parts), encoding="utf-8")


def arguments_of(command: str, out: Path) -> list[str]:
    """Return a command's arguments with its folder, and with one process where it could have more."""
    arguments = shlex.split(command)
    if "{out}" not in command:
        arguments += ["--out", "{out}"]
    if arguments[0] in ("make", "batch", "check", "demo") and "--workers" not in arguments:
        arguments += ["--workers", "1"]
    return [argument.replace("{out}", str(out)) for argument in arguments]


@dataclass(frozen=True)
class Difference:
    """A file that isn't the same on both sides, and how."""

    name: str
    how: str

    @property
    def sort(self) -> str:
        """What kind of file it is in: what is cut, printed or looked at, an exit code, or other words and figures."""
        if self.name == EXIT_CODE:
            return "exit code"
        return "drawing" if self.name.endswith(DRAWING_SUFFIXES) else "other"


@dataclass(frozen=True)
class Outcome:
    """What came of a job: what OLD did otherwise than expected, and what differs."""

    job: Job
    fault: str
    differences: tuple[Difference, ...]

    def fails(self, *, drawings_alone: bool) -> bool:
        """Whether it counts for the exit code."""
        return bool(self.fault) or any(each.sort != "other" or not drawings_alone for each in self.differences)

    def told(self) -> str:
        """Return a line on the job, and one on each difference, other files than drawings last."""
        parted = sorted(self.differences, key=lambda each: each.sort == "other")
        details = [f"    {each.sort:9}  {each.name}: {each.how}" for each in parted]
        return "\n".join([f"{self.job.name:20} {'; '.join(filter(None, (self.fault, self._counted())))}", *details])

    def _counted(self) -> str:
        counts = Counter(each.sort for each in self.differences)
        counted = ", ".join(f"{count} {sort}{'s' * (count != 1)}" for sort, count in sorted(counts.items()))
        return f"differs: {counted}" if counted else "same"


def outcome(job: Job, *, old: Path, new: Path, place: Place) -> Outcome:
    """Make a job with both checkouts and compare."""
    make(job, old, "old", place)
    make(job, new, "new", place)
    before, after = content(place.kept("old", job)), content(place.kept("new", job))
    names = sorted(name for name in before | after if before.get(name) != after.get(name))
    return Outcome(job, fault_of(job, before), tuple(Difference(n, how(n, before.get(n), after.get(n))) for n in names))


def fault_of(job: Job, made: dict[str, bytes]) -> str:
    """Return how OLD ended otherwise than the job should, with its last word; empty where it ended as it should."""
    codes = made[EXIT_CODE].decode().split()
    if all(code == str(job.ends) for code in codes):
        return ""
    last = made[STDERR].decode().strip().rpartition("\n")[2]
    return f"OLD ends with {' and '.join(codes)} instead of {job.ends}: {last[:200]}"


def how(name: str, old: bytes | None, new: bytes | None) -> str:
    """Return in a few words how two files differ; None is a file that isn't there."""
    if old is None or new is None:
        return "only in NEW" if old is None else "only in OLD"
    if not name.endswith(TEXT_SUFFIXES):
        return f"from byte {first_difference(old, new)} on, of {len(old)} in OLD and {len(new)} in NEW"
    pairs = zip_longest(old.splitlines(keepends=True), new.splitlines(keepends=True), fillvalue=b"")
    number, (one, other) = next((n, pair) for n, pair in enumerate(pairs, start=1) if pair[0] != pair[1])
    return f"line {number}: OLD {excerpt(one, other)}, NEW {excerpt(other, one)}"


def first_difference(one: bytes, other: bytes) -> int:
    """Return the place of the first byte that differs, which may be the end of the shorter."""
    return len(os.path.commonprefix([one, other]))


def excerpt(line: bytes, other: bytes) -> str:
    """Return the part of a line round the first byte in which it differs from another."""
    start = max(0, first_difference(line, other) - 30)
    return ("..." if start else "") + repr(line[start : start + 70].decode("utf-8", "replace"))


def asked(arguments: Sequence[str] | None) -> argparse.Namespace:
    """Return the checked command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("old", metavar="OLD", type=importable)
    parser.add_argument("new", metavar="NEW", type=importable)
    parser.add_argument("--only", metavar="NAME,NAME", type=jobs_named, default=JOBS, help="just these jobs")
    parser.add_argument("--drawings", action="store_true", help="only drawings and exit codes count for the exit code")
    parser.add_argument("--workers", metavar="N", type=number_at_a_time, default=2, help="jobs at a time; default: 2")
    parser.add_argument("--keep", metavar="DIR", type=Path, help="a new folder in which inputs and results stay")
    options = parser.parse_args(arguments)
    if options.keep and options.keep.exists():
        parser.error(f"--keep: {options.keep} is there already; name a new folder")
    return options


def importable(name: str) -> Path:
    """Return a checkout's path; raises ArgumentTypeError unless Python takes the package from there."""
    path = Path(name).resolve()
    imported = run(path, ["-c", "import shadowrout; print(shadowrout.__file__)"], cwd=Path(tempfile.gettempdir()))
    if Path(imported.stdout.strip()).parent != path / "src" / "shadowrout":
        raise argparse.ArgumentTypeError(f"{name} holds no src/shadowrout that can be imported")
    return path


def jobs_named(names: str) -> tuple[Job, ...]:
    """Return the jobs of these names; raises ArgumentTypeError where there is no such job."""
    if unknown := set(names.split(",")) - {job.name for job in JOBS}:
        known = ", ".join(job.name for job in JOBS)
        raise argparse.ArgumentTypeError(f"no such job: {', '.join(sorted(unknown))}; there are {known}")
    return tuple(job for job in JOBS if job.name in names.split(","))


def number_at_a_time(text: str) -> int:
    """Return a number of jobs; raises ArgumentTypeError for one that can't be used."""
    if not (text.isdecimal() and 1 <= int(text) <= MOST_AT_A_TIME):
        raise argparse.ArgumentTypeError(f"{text!r} can't be used; give a whole number from 1 to {MOST_AT_A_TIME}")
    return int(text)


def main(arguments: Sequence[str] | None = None) -> int:
    """Compare two checkouts and return the exit code."""
    options = asked(arguments)
    root = options.keep or Path(tempfile.mkdtemp(prefix="same-jobs-"))
    try:
        place = Place(root.resolve())
        place.inputs.mkdir(parents=True)
        write_inputs(place.inputs)
        return compared(options, place)
    finally:
        if not options.keep:
            shutil.rmtree(root)


def compared(options: argparse.Namespace, place: Place) -> int:
    """Make all jobs, tell of each when it is done, and return the exit code."""
    failed = []
    with ThreadPoolExecutor(options.workers) as pool:
        for one in pool.map(partial(outcome, old=options.old, new=options.new, place=place), options.only):
            print(one.told(), flush=True)
            failed += [one.job.name] if one.fails(drawings_alone=options.drawings) else []
    print(f"{len(options.only)} jobs; not the same: {', '.join(failed) or 'none'}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
