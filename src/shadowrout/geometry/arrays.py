"""Arrays that hold many things at once: records with an array for each field, and rows of different lengths in one."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class ParallelArrays:
    """Records of a subclass's fields, all of which are arrays with a row a record."""

    def __len__(self) -> int:
        return len(getattr(self, fields(self)[0].name))

    def taken(self, which: Flags | Indices | slice) -> Self:
        """Return some of the records."""
        return type(self)(*(getattr(self, field.name)[which] for field in fields(self)))

    def joined(self, *others: Self) -> Self:
        """Return these records and then the other ones."""
        every = (self, *others)
        return type(self)(*(np.concatenate([getattr(each, field.name) for each in every]) for field in fields(self)))


def spread(counts: Indices) -> tuple[Indices, Indices]:
    """Return for rows of ``counts`` items, one after the other, the row of each item and its number within the row."""
    row = np.repeat(np.arange(len(counts)), counts)
    return row, np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)


def preceding(counts: Indices) -> Indices:
    """Return for each item of such rows the one before in its row, the last one for the first."""
    before = np.arange(-1, int(counts.sum()) - 1)
    ends = np.cumsum(counts)
    before[ends - counts] = ends - 1
    return before


def following(counts: Indices) -> Indices:
    """Return for each item of such rows the one after in its row, the first one for the last."""
    after = np.arange(1, int(counts.sum()) + 1)
    ends = np.cumsum(counts)
    after[ends - 1] = ends - counts
    return after
