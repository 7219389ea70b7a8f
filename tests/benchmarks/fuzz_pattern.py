"""What the check makes of damaged paper patterns: a file's bytes changed, and the content of its pages.

    python tests/benchmarks/fuzz_pattern.py [--tries 20000] [--seed 0] [--keep DIR]

Each try spoils the pattern of a small plaque, of one sheet or four, in one of three ways: as the photo readers' files
are spoiled; so that every length and offset stays right, with its streams not packed, so that what pages paint is
changed; or the packed file in the same way. The pattern is then judged as ``shadowrout check`` does. It must give a
judgement. Tries run in child processes that may take 1 GB (setrlimit), and each ten seconds of processor time. The
table counts tries, those without and with a finding, and faults: exceptions, tries over the time, processes that died.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from fuzz_readers import spoiled  # noqa: E402

MEMORY_BYTES = 1 << 30
PROCESSOR_SECONDS_A_TRY = 10
TRIES_A_CHILD = 2000
WAYS = ("file", "content", "in place")
COLUMNS = ("no finding", "finding", "exception", "over time", "died")
WORD = re.compile(rb"(?<=\s)[A-Za-z*]{1,2}(?=\s)|-?[\d.]+|/\w+")


def seeds(folder: Path) -> None:
    """Make the plaques to spoil the patterns of, and write their files packed and not packed into ``folder``."""
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import DecodedStreamObject, StreamObject
    from spoil.folders import made
    from spoil.pattern import sheets

    for name, make in (("made", made), ("sheets", sheets)):
        pattern = make(folder / name / "out") / "pattern.pdf"
        writer = PdfWriter(clone_from=PdfReader(pattern))
        for at, entry in enumerate(writer._objects):
            if isinstance(entry, StreamObject):
                plain = DecodedStreamObject()
                plain.set_data(entry.get_data())
                plain.update({key: value for key, value in entry.items() if key not in ("/Filter", "/Length")})
                writer._objects[at] = plain
        writer.write(pattern.with_suffix(".plain"))


def changed_in_place(content: bytes, rng: random.Random) -> bytes:
    """Return the content with one to four changes that leave its length as it is: bytes, numbers, words, stretches."""
    data = bytearray(content)
    words = list(WORD.finditer(content))
    for _ in range(rng.choice((1, 1, 2, 4))):
        one, other = rng.choice(words), rng.choice(words)
        size = one.end() - one.start()
        match rng.randrange(5):
            case 0:
                data[rng.randrange(len(data))] = rng.randrange(256)
            case 1:
                data[one.start() : one.end()] = other[0][:size].ljust(size)
            case 2:
                data[one.start() : one.end()] = bytes(rng.choice(b"0123456789.-") for _ in range(size))
            case 3:
                stretch = rng.choice((1, 8, 64, 512))
                at, there = (rng.randrange(max(1, len(data) - stretch)) for _ in range(2))
                data[at : at + stretch] = content[there : there + stretch]
            case 4:
                data[one.start() : one.end()] = b" " * size
    return bytes(data)


def the_try(number: int, seed: int, files: dict[str, tuple[bytes, bytes]]) -> tuple[str, str, bytes]:
    """Return the way, the plaque and the spoiled pattern of one try, the same for the same seed."""
    rng = random.Random(f"{seed}/{number}")
    way, name = WAYS[number % len(WAYS)], rng.choice(sorted(files))
    packed, plain = files[name]
    if way == "file":
        return way, name, spoiled(packed, plain, rng)
    return way, name, changed_in_place(plain if way == "content" else packed, rng)


def child(first: int, last: int, seed: int, folder: Path) -> None:
    """Make the tries from ``first`` to before ``last``, and print one line for each as it starts and ends."""
    from shadowrout.check.folder import read_folder, read_plaque
    from shadowrout.check.pattern_pages import judged

    plaques, files = {}, {}
    for name in ("made", "sheets"):
        out = folder / name / "out"
        read = read_folder(out)
        plaques[name] = read_plaque(out, read, read.job.plaques[0])
        files[name] = tuple((out / name / f"pattern.{kind}").read_bytes() for kind in ("pdf", "plain"))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as scratch:
        for number in range(first, last):
            way, name, content = the_try(number, seed, files)
            print(json.dumps([number, way]), flush=True)
            signal.setitimer(signal.ITIMER_PROF, PROCESSOR_SECONDS_A_TRY)  # ends the process by default
            (Path(scratch) / "pattern.pdf").write_bytes(content)
            plaques[name].folder = Path(scratch)
            try:
                told = "finding" if judged(plaques[name]).faults else "no finding"
            except Exception as error:
                told = f"{type(error).__name__}: {error}"
            signal.setitimer(signal.ITIMER_PROF, 0)
            print(json.dumps(told), flush=True)


def run(first: int, last: int, seed: int, folder: Path) -> list[tuple[int, str, str]]:
    """Run one child; return (number, way, outcome) of the tries it made, the last one's where it died in it."""
    command = [sys.executable, __file__, "--child", str(first), str(last), str(folder), "--seed", str(seed)]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    told = [(number, way, what) for (number, way), what in zip(lines[::2], lines[1::2], strict=False)]
    if done.returncode and len(lines) % 2 == 0:
        raise SystemExit(f"the child failed outside of a try:\n{done.stderr}")
    if len(lines) % 2:
        late = done.returncode == -signal.SIGPROF
        told.append((*lines[-1], "over time" if late else f"died ({done.returncode}): {done.stderr.strip()[-200:]}"))
    return told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--keep", type=Path, help="folder for the files that showed a fault")
    parser.add_argument("--smoke", action="store_true", help="a few tries, to see that it runs")
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child:
        first, last, folder = asked.child
        child(int(first), int(last), asked.seed, Path(folder))
        return
    tries, number = 120 if asked.smoke else asked.tries, 0
    counts: dict[str, Counter[str]] = {way: Counter() for way in WAYS}
    with tempfile.TemporaryDirectory() as folder:
        seeds(Path(folder))
        while number < tries:
            told = run(number, min(tries, number + TRIES_A_CHILD), asked.seed, Path(folder))
            number += len(told)
            for at, way, what in told:
                column = what if what in COLUMNS else "died" if what.startswith("died ") else "exception"
                counts[way][column] += 1
                if column in COLUMNS[2:]:
                    _keep(at, way, what, asked, Path(folder))
    print_table(counts)


def _keep(number: int, way: str, what: str, asked: argparse.Namespace, folder: Path) -> None:
    print(f"try {number} of seed {asked.seed}, {way}: {what}", flush=True)
    if asked.keep:
        names = ("made", "sheets")
        files = {
            name: tuple((folder / name / "out" / name / f"pattern.{kind}").read_bytes() for kind in ("pdf", "plain"))
            for name in names
        }
        asked.keep.mkdir(parents=True, exist_ok=True)
        (asked.keep / f"{asked.seed}-{number}.pdf").write_bytes(the_try(number, asked.seed, files)[2])


def print_table(counts: dict[str, Counter[str]]) -> None:
    total: Counter[str] = sum(counts.values(), Counter())
    print(f"{'way':12}" + "".join(f"{name:>12}" for name in ("tries", *COLUMNS)))
    for way, found in (*counts.items(), ("all", total)):
        print(f"{way:12}" + "".join(f"{count:12}" for count in (found.total(), *(found[c] for c in COLUMNS))))


if __name__ == "__main__":
    main()
