"""What the readers make of damaged files: every kind of picture, touch-ups and job files, with bytes changed.

    python tests/benchmarks/fuzz_readers.py [--tries 100000] [--seed 0] [--keep DIR]

Each try takes a small file, spoils it (single bytes and bits changed, cut short, stretches removed, doubled or taken
from another file, numbers set to extremes) and reads it as the main job does. It must give a picture or a job, or one
line under the program's own errors. Tries run in child processes that may take 2 GB (setrlimit), and each ten seconds
of processor time and two minutes in all. What fails otherwise is kept in DIR with its seed. The table counts tries,
results, error lines, and faults: other exceptions, tries over the time, and processes that died.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

MEMORY_BYTES = 2 << 30
PROCESSOR_SECONDS_A_TRY = 10
SECONDS_A_TRY = 120
TRIES_A_CHILD = 2000
LONG_SIDE_PX = 48

EXTREMES = (b"\0", b"\xff", b"\x7f", b"\x80", b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\0\0\1\0")


def seeds() -> dict[str, list[bytes]]:
    """Return the whole files by the kind of reader: small, so that a changed byte is likely to matter."""
    import numpy as np
    from photo_files import ENCODERS, encoded, tiff
    from PIL import Image

    pictures = {name: [encoded(name, LONG_SIDE_PX)] for name in ENCODERS}
    grey = np.linspace(0, 65535, 36 * 48).astype(np.uint16).reshape(36, 48)
    pictures["tiff"] += [tiff(grey), tiff(grey, compression="zlib", predictor=True)]
    pictures["jpeg"].append(_saved(Image.new("CMYK", (48, 36), (9, 99, 199, 20)), "JPEG", exif=_turned(6)))
    pictures["png"] += [
        _saved(Image.fromarray(grey), "PNG"),
        _saved(Image.new("P", (48, 36), 3), "PNG", transparency=3, exif=_turned(5), icc_profile=_profile()),
    ]
    return {**pictures, "touch-up": _touch_ups(), "job file": _job_files()}


def _saved(image: object, kind: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **options)  # type: ignore[attr-defined]
    return out.getvalue()


def _turned(orientation: int) -> object:
    from PIL import Image

    exif = Image.Exif()
    exif[0x0112] = orientation
    return exif


def _profile() -> bytes:
    from PIL import ImageCms

    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _touch_ups() -> list[bytes]:
    from PIL import Image, ImageDraw

    layer = Image.new("RGBA", (48, 36))
    ImageDraw.Draw(layer).ellipse((5, 5, 20, 20), fill=(0, 0, 0, 255))
    ImageDraw.Draw(layer).ellipse((25, 5, 40, 20), fill=(255, 255, 255, 255))
    return [_saved(layer, "PNG"), _saved(layer.convert("LA"), "PNG"), _saved(layer, "TIFF"), _saved(layer, "WEBP")]


def _job_files() -> list[bytes]:
    from shadowrout.job import job_file
    from shadowrout.job.options import Job, Picture
    from shadowrout.make import demo

    example = (Path(demo.__file__).parent / "example" / "job.toml").read_bytes()
    return [example, job_file.written(Job(Picture(Path("a.png"))), folder=None, explained=True).encode()]


def spoiled(content: bytes, other: bytes, rng: random.Random) -> bytes:
    """Return the file with one to four damages; ``other`` is one to take stretches from."""
    data = bytearray(content)
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(data)) if data else 0
        if rng.random() < 0.5:  # where headers are
            at = min(at, rng.randrange(256))
        until = at + rng.choice((1, 2, 4, 16, 256))
        match rng.randrange(8):
            case 0 | 1:
                data[at : at + 1] = bytes([rng.randrange(256)])
            case 2:
                data[at : at + 1] = bytes([(data[at] if data else 0) ^ 1 << rng.randrange(8)])
            case 3:
                del data[at:]
            case 4:
                del data[at:until]
            case 5:
                data[at:at] = data[at:until]
            case 6:
                start = rng.randrange(len(other))
                data[at:until] = other[start : start + until - at]
            case 7:
                extreme = rng.choice(EXTREMES)
                data[at : at + len(extreme)] = extreme
    return bytes(data)


def the_try(number: int, seed: int, files: dict[str, list[bytes]]) -> tuple[str, bytes]:
    """Return the kind of reader and the spoiled file of one try, the same for the same seed."""
    rng = random.Random(f"{seed}/{number}")
    kind = list(files)[number % len(files)]
    return kind, spoiled(rng.choice(files[kind]), rng.choice(files[rng.choice(list(files))]), rng)


def outcome(kind: str, content: bytes, path: Path) -> str:
    """Return ``result`` or ``error line``, or what else came of reading the file."""
    from shadowrout.errors import ShadowroutError

    try:
        path.write_bytes(content)
        _reader(kind)(path)
    except ShadowroutError as error:
        return "error line" if "\n" not in str(error) and 0 < len(str(error)) < 1000 else f"message: {error!r}"
    except Exception as error:
        return f"{type(error).__name__}: {error}"
    return "result"


def _reader(kind: str) -> Callable[[Path], object]:
    from shadowrout.job.options import Job
    from shadowrout.picture import reading
    from shadowrout.picture.touch_up import read_touch_up

    if kind == "job file":
        return Job.from_file
    if kind == "touch-up":
        return lambda path: read_touch_up(path, proportions_of=(48, 36), long_side_px=LONG_SIDE_PX)
    return lambda path: reading.read(path, long_side_px=LONG_SIDE_PX)


def child(first: int, last: int, seed: int) -> None:
    """Make the tries from ``first`` to before ``last``, and print one line for each as it starts and ends."""
    import resource

    files = seeds()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, last):
            kind, content = the_try(number, seed, files)
            print(json.dumps([number, kind]), flush=True)
            signal.setitimer(signal.ITIMER_PROF, PROCESSOR_SECONDS_A_TRY)  # either ends the process by default,
            signal.alarm(SECONDS_A_TRY)  # whatever a library does
            told = outcome(kind, content, Path(folder) / "file.toml")
            signal.setitimer(signal.ITIMER_PROF, 0)
            signal.alarm(0)
            print(json.dumps(told), flush=True)


def run(first: int, last: int, seed: int) -> tuple[int, list[tuple[int, str, str]]]:
    """Run one child; return the first number it left undone, and (number, kind, outcome) of the tries it made."""
    command = [sys.executable, __file__, "--child", str(first), str(last), "--seed", str(seed)]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    told = [(number, kind, what) for (number, kind), what in zip(lines[::2], lines[1::2], strict=False)]
    if done.returncode and len(lines) % 2 == 0:
        raise SystemExit(f"the child failed outside of a try:\n{done.stderr}")
    if len(lines) % 2:
        late = done.returncode in (-signal.SIGALRM, -signal.SIGPROF)
        what = (
            f"over {PROCESSOR_SECONDS_A_TRY} s" if late else f"died ({done.returncode}): {done.stderr.strip()[-200:]}"
        )
        told.append((*lines[-1], what))
    return first + len(told), told


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tries", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--keep", type=Path, help="folder for the files that showed a fault")
    parser.add_argument("--smoke", action="store_true", help="a few tries, to see that it runs")
    parser.add_argument("--child", type=int, nargs=2, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child:
        child(*asked.child, asked.seed)
        return
    tries = 240 if asked.smoke else asked.tries
    files = seeds()
    counts: dict[str, Counter[str]] = {kind: Counter() for kind in files}
    number = 0
    while number < tries:
        number, told = run(number, min(tries, number + TRIES_A_CHILD), asked.seed)
        for at, kind, what in told:
            column = what if what in ("result", "error line") else _column(what)
            counts[kind][column] += 1
            if column in COLUMNS[2:]:
                _keep(at, kind, what, asked, files)
    print_table(counts)


COLUMNS = ("result", "error line", "exception", "over time", "died")


def _column(what: str) -> str:
    return "over time" if what.startswith("over ") else "died" if what.startswith("died ") else "exception"


def _keep(number: int, kind: str, what: str, asked: argparse.Namespace, files: dict[str, list[bytes]]) -> None:
    print(f"try {number} of seed {asked.seed}, {kind}: {what}", flush=True)
    if asked.keep:
        asked.keep.mkdir(parents=True, exist_ok=True)
        (asked.keep / f"{kind}-{asked.seed}-{number}").write_bytes(the_try(number, asked.seed, files)[1])


def print_table(counts: dict[str, Counter[str]]) -> None:
    total: Counter[str] = sum(counts.values(), Counter())
    print(f"{'reader':12}" + "".join(f"{name:>12}" for name in ("tries", *COLUMNS)))
    for kind, found in (*counts.items(), ("all", total)):
        print(f"{kind:12}" + "".join(f"{count:12}" for count in (found.total(), *(found[c] for c in COLUMNS))))


if __name__ == "__main__":
    main()
