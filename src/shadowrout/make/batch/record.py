"""What an order was made from, kept with its results, so that it is made once."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from shadowrout.errors import InputError
from shadowrout.files.result_folder import JOB_FILE, NUMBERS_FILE, RECORD_FILE
from shadowrout.files.save import save
from shadowrout.job import job_file
from shadowrout.job.options import Job
from shadowrout.make.batch.order_numbers import numbers_of
from shadowrout.make.batch.orders import Order
from shadowrout.report.figures.written_figures import WrittenFile
from shadowrout.words.program import VERSION

_BLOCK_BYTES = 1 << 20
"""1 MiB: a picture need not be in memory whole to be digested."""


def inputs_digest(job: Job, out: Path) -> str:
    """Return a digest (SHA-256) of all that the results in ``out`` follow from: program, settings and pictures.

    Raises InputError where a picture can't be read.
    """
    digest = hashlib.sha256(f"{VERSION}\n{job_file.written(job, folder=out)}".encode())
    for picture in (job.picture.file, job.picture.touch_up):
        if picture is not None:
            digest.update(_file_digest(picture))
    return digest.hexdigest()


def keep_record(order: Order, inputs: str) -> None:
    """Write down that the order's results are complete and what they were made from."""
    record = {"inputs": inputs, **_results_digests(order.out)}
    save(order.out / RECORD_FILE, (json.dumps(record, indent=2) + "\n").encode())


def plaques_made(order: Order, inputs: str) -> tuple[str, ...]:
    """Return the plaques' names if the order was made from these inputs and is complete, else none.

    Complete is an order whose settings and figures are those of its record and whose files are all there, whole: of the
    size and with the digest that the figures give.
    """
    try:
        record = json.loads((order.out / RECORD_FILE).read_bytes())
        if record != {"inputs": inputs, **_results_digests(order.out)}:
            return ()
        numbers = numbers_of(order.out)
        whole = all(_is_whole(order.out / written.file, written) for written in numbers.written)
    except (OSError, ValueError, InputError):
        return ()
    return tuple(plaque.name for plaque in numbers.plaques) if whole else ()


def _is_whole(path: Path, written: WrittenFile) -> bool:
    """Return whether a file is as it was written; raises OSError or InputError where it is gone or can't be read."""
    return path.stat().st_size == written.bytes_ and _file_digest(path).hex() == written.sha256


def _results_digests(out: Path) -> dict[str, str]:
    return {name: hashlib.sha256((out / name).read_bytes()).hexdigest() for name in (JOB_FILE, NUMBERS_FILE)}


def _file_digest(path: Path) -> bytes:
    digest = hashlib.sha256()
    try:
        if not path.is_file():
            raise InputError(path.name, "no such file")
        with path.open("rb") as file:
            while block := file.read(_BLOCK_BYTES):
                digest.update(block)
    except OSError as problem:
        raise InputError(path.name, f"can't be opened: {problem.strerror}") from None
    return digest.digest()
