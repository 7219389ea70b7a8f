"""What the check makes of damaged folders: drawings, the sized design, the figures and the job file, spoiled.

    python tests/benchmarks/fuzz_check.py [--tries 20000] [--seed 0] [--readers carve.svg,numbers.json] [--keep DIR]

Each try takes a small whole folder, spoils one file and checks the folder. Half of the tries change bytes as
``fuzz_readers.py`` does; the others change what a reader makes sense of: a number to an extreme, a word to another, and
in the figures a value to one of another type, at any key. The answer must be a verdict, or for job.toml one line under
the program's own errors. Tries run in child processes that may take 1 GB (setrlimit), and each ten seconds of processor
time and two minutes in all. What fails otherwise is kept in DIR with its seed. The table counts tries, verdicts that
hold, findings, error lines, and faults: other exceptions, tries over the time, and processes that died.
"""

from __future__ import annotations

import argparse
import copy
import gzip
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from fuzz_readers import PROCESSOR_SECONDS_A_TRY, SECONDS_A_TRY, TRIES_A_CHILD, spoiled

MEMORY_BYTES = 1 << 30

_SHEETS = ("pattern.pdf", "sheets/numbers.json")
READERS = ("carve.svg", "carve.dxf", "design.wkb.gz", "numbers.json", "job.toml", *_SHEETS)
"""The files that are spoiled: those of a folder drawn by hand, its figures with a value at every key, and two of a
folder that ``make`` wrote, with stencil, template and pattern but no carve drawing. Either is checked within 0.1 s.
"""

_JOB = """
[picture]
file = "shapes.png"
[tone]
method = "two-tone"
[[plaque]]
name = "sheets"
size = "60x48mm"
[stencil]
web = 1
least_opening = 1
[template]
bush = 10
bit = 6
[stock]
stencil = "300x300mm"
[output]
files = ["pattern", "stencil", "template"]
"""

EXTREMES = ("0", "-0", "-1", "1e-320", "1e-9", "1e9", "1e19", "1e154", "1e308", "-1e308", "1e309", "inf", "nan")
EXTREMES += ("0x10", "1_0", "1,5", "-", ".", "", "9" * 400)
WORDS = ("A", "C", "Z", "z", "M", "Infinity", "null", "true", "[]", "{}", "<g>", "</g>", "svg", "use", "a", "style")
WORDS += ("EOF", "SECTION", "LINE", "INSERT", "VERTEX", "-3d", "in", "mm", "display", "fill", "70", "1000")
VALUES: tuple[Any, ...] = (None, True, -1, 0, 2.5, 10**400, 1e308, "", "x", "../x", "\ud800", "n" * 5000)
VALUES += ([], [1], [[]], {}, {"a": 1})

_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_WORD = re.compile(rb"[A-Za-z][A-Za-z-]+")


def whole_folder(reader: str, place: Path) -> tuple[Path, Path]:
    """Write a whole folder into ``place``; return it and the file that is spoiled for a reader."""
    from check_plaque import write_folder

    if reader in _SHEETS:
        sheets = _made(place / "sheets")
        return sheets, sheets / (reader.rpartition("/")[2] if "/" in reader else f"sheets/{reader}")
    plaque = write_folder(place / "drawn")
    if reader == "numbers.json":
        _fill_in(plaque.parent / reader, _made(place / "sheets") / reader)
    return plaque.parent, next(path for path in (plaque / reader, plaque.parent / reader) if path.exists())


def _made(place: Path) -> Path:
    """Make a small plaque's sheets and pattern: a ring with a dot in it, a bar and a block."""
    import numpy as np
    from PIL import Image

    from shadowrout.job.options import Job
    from shadowrout.make.pipeline import make

    y, x = np.mgrid[:400, :500] / 10
    off = np.hypot(x - 17, y - 18)
    dark = (off < 12) & (off > 7) | (off < 3) | (abs(y - 36) < 1.2) & (abs(x - 25) < 18)
    dark |= np.maximum(abs(x - 39), abs(y - 15)) < 7
    Image.fromarray(np.where(dark, 0, 255).astype(np.uint8)).save(place.parent / "shapes.png")
    (place.parent / "shapes.toml").write_text(_JOB, encoding="utf-8")
    make(Job.from_file(place.parent / "shapes.toml"), place)
    return place


def _fill_in(path: Path, others: Path) -> None:
    """Put the figures of another job among those of a folder where it has none, so that all keys are there."""
    own, more = (json.loads(file.read_text(encoding="utf-8")) for file in (path, others))
    plaque = {**more["plaques"][0], **own["plaques"][0]}
    path.write_text(json.dumps({**more, **own, "plaques": [plaque]}), encoding="utf-8")


def damaged(name: str, content: bytes, rng: random.Random) -> bytes:
    """Return one file of the folder, damaged."""
    packed = name.endswith(".gz")
    plain = gzip.decompress(content) if packed else content
    if packed and rng.random() < 0.2:
        return spoiled(content, content, rng)
    if name.endswith("numbers.json") and rng.random() < 0.7:
        return retyped(plain, rng)
    by_bytes = packed or rng.random() < 0.5
    plain = spoiled(plain, plain, rng) if by_bytes else reworded(plain, rng)
    return gzip.compress(plain, mtime=0) if packed else plain


def reworded(content: bytes, rng: random.Random) -> bytes:
    """Return a text with one to three of its numbers or words changed for others."""
    for _ in range(rng.choice((1, 1, 2, 3))):
        pattern, others = rng.choice(((_NUMBER, EXTREMES), (_NUMBER, EXTREMES), (_WORD, WORDS)))
        places = [found.span() for found in pattern.finditer(content)]
        if places:
            start, end = rng.choice(places)
            content = content[:start] + rng.choice(others).encode() + content[end:]
    return content


def retyped(content: bytes, rng: random.Random) -> bytes:
    """Return the figures with the value of one key, or of two, changed for one of another type, or left out."""
    figures = json.loads(content)
    for _ in range(rng.choice((1, 1, 1, 2))):
        places = list(_places(figures))
        if places:
            holder, key = rng.choice(places)
            if rng.random() < 0.05:
                del holder[key]
            else:
                holder[key] = copy.deepcopy(rng.choice(VALUES))
    return json.dumps(figures).encode()


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    if isinstance(value, (dict, list)):
        for key in list(value) if isinstance(value, dict) else range(len(value)):
            yield value, key
            yield from _places(value[key])


def the_try(number: int, seed: int, name: str, content: bytes) -> bytes:
    """Return the damaged file of one try, the same for the same seed."""
    return damaged(name, content, random.Random(f"{seed}/{name}/{number}"))


def outcome(out: Path) -> str:
    """Return how the check of a folder ended: ``holds``, ``findings``, ``error line``, or what else came of it."""
    from shadowrout.check.checking import check_folder
    from shadowrout.errors import ShadowroutError

    try:
        verdict = check_folder(out)
        told = verdict.as_text() + verdict.as_json()
        told.encode()
    except ShadowroutError as error:
        return "error line" if "\n" not in str(error) and 0 < len(str(error)) < 1000 else f"message: {error!r}"
    except Exception as error:
        import traceback

        return f"{type(error).__name__}: {error} ({traceback.extract_tb(error.__traceback__)[-1]})"[:400]
    return "holds" if verdict.holds else "findings"


def child(name: str, first: int, last: int, seed: int) -> None:
    """Make the tries from ``first`` to before ``last``, and print one line for each as it starts and ends."""
    import resource

    with tempfile.TemporaryDirectory() as folder:
        out, spoiled_file = whole_folder(name, Path(folder))
        content = spoiled_file.read_bytes()
        assert outcome(out) in ("holds", "findings")
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        for number in range(first, last):
            spoiled_file.write_bytes(the_try(number, seed, name, content))
            print(json.dumps(number), flush=True)
            signal.setitimer(signal.ITIMER_PROF, PROCESSOR_SECONDS_A_TRY)  # either ends the process by default,
            signal.alarm(SECONDS_A_TRY)  # whatever a library does
            told = outcome(out)
            signal.setitimer(signal.ITIMER_PROF, 0)
            signal.alarm(0)
            print(json.dumps(told), flush=True)


def run(name: str, first: int, last: int, seed: int) -> tuple[int, list[tuple[int, str]]]:
    """Run one child; return the first number it left undone, and (number, outcome) of the tries it made."""
    command = [sys.executable, __file__, "--child", name, str(first), str(last), "--seed", str(seed)]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    told = list(zip(lines[::2], lines[1::2], strict=False))
    if done.returncode and len(lines) % 2 == 0:
        raise SystemExit(f"the child failed outside of a try:\n{done.stderr}")
    if len(lines) % 2:
        late = done.returncode in (-signal.SIGALRM, -signal.SIGPROF)
        died = f"died ({done.returncode}): {done.stderr.strip()[-200:]}"
        told.append((lines[-1], f"over {PROCESSOR_SECONDS_A_TRY} s" if late else died))
    return first + len(told), told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=20_000, help="of each reader")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--readers", default=",".join(READERS))
    parser.add_argument("--keep", type=Path, help="folder for the files that showed a fault")
    parser.add_argument("--smoke", action="store_true", help="a few tries, to see that it runs")
    parser.add_argument("--child", nargs=3, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child:
        child(asked.child[0], int(asked.child[1]), int(asked.child[2]), asked.seed)
        return
    tries = 20 if asked.smoke else asked.tries
    print(f"{'file':20}" + "".join(f"{name:>12}" for name in ("tries", *COLUMNS)))
    for name in asked.readers.split(","):
        counts = Counter[str]()
        number = 0
        while number < tries:
            number, told = run(name, number, min(tries, number + TRIES_A_CHILD), asked.seed)
            for at, what in told:
                counts[_column(what)] += 1
                if _column(what) in COLUMNS[3:]:
                    _keep(name, at, what, asked)
        print(f"{name:20}" + "".join(f"{count:12}" for count in (counts.total(), *(counts[c] for c in COLUMNS))))


COLUMNS = ("holds", "findings", "error line", "exception", "over time", "died")


def _column(what: str) -> str:
    if what in COLUMNS:
        return what
    return "over time" if what.startswith("over ") else "died" if what.startswith("died ") else "exception"


def _keep(name: str, number: int, what: str, asked: argparse.Namespace) -> None:
    print(f"try {number} of seed {asked.seed}, {name}: {what}", flush=True)
    if asked.keep:
        asked.keep.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory() as folder:
            content = whole_folder(name, Path(folder))[1].read_bytes()
        kept = asked.keep / f"{asked.seed}-{number}-{name.replace('/', '-')}"
        kept.write_bytes(the_try(number, asked.seed, name, content))


if __name__ == "__main__":
    main()
