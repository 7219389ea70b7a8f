"""Which orders a batch has, and where the results of each go."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from shadowrout.errors import InputError, SettingError
from shadowrout.files.result_folder import JOB_FILE


@dataclass(frozen=True)
class Order:
    """One job file and the folder for its results."""

    name: str
    job_file: Path
    out: Path


def orders_of(sources: Sequence[Path], out: Path) -> tuple[Order, ...]:
    """Return the orders in ``sources``: job files, and folders that hold some, each at ``out`` / its name.

    An order is named after its job file, or after the folder of one that is called job.toml. A folder's job files
    come by name, and all that end in .toml are orders, that which can't be read too, so that it is named; a job file
    given twice counts once. Raises InputError where a source is neither or a folder holds
    none, and SettingError where two orders would share a folder.
    """
    orders: dict[Path, Order] = {}
    folders: dict[str, Path] = {}
    for job_file in (job_file for source in sources for job_file in _job_files(source)):
        path = Path(os.path.realpath(job_file))
        if path in orders:
            continue
        named = path if path.exists() else job_file.absolute()  # a link to nothing goes by its own name
        name = named.parent.name if named.name == JOB_FILE else named.stem
        other = folders.setdefault(name.casefold(), job_file)
        if other != job_file:
            raise SettingError("JOB.toml", f"{other} and {job_file} are both the order {name!r}; rename one of them")
        orders[path] = Order(name, job_file, out / name)
    return tuple(orders.values())


def _job_files(source: Path) -> Iterator[Path]:
    if not source.is_dir():
        if source.suffix.lower() != ".toml":
            raise InputError(str(source), "is no job file; give job files, as JOB.toml, or folders that hold some")
        yield source
        return
    try:
        found = sorted(path for path in source.iterdir() if path.suffix.lower() == ".toml")
    except OSError as problem:
        raise InputError(str(source), f"can't be read: {problem.strerror}") from None
    if not found:
        raise InputError(str(source), "holds no job files; they end in .toml, and shadowrout start PHOTO writes one")
    yield from found
