"""Records held as arrays of one length, a field each."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Rows:
    """Records of a subclass's fields, all of which are arrays with a row a record."""

    def __len__(self) -> int:
        return len(getattr(self, fields(self)[0].name))

    def taken(self, which: Flags | Indices) -> Self:
        """Return some of the records."""
        return type(self)(*(getattr(self, field.name)[which] for field in fields(self)))

    def joined(self, *others: Self) -> Self:
        """Return these records and then the other ones."""
        every = (self, *others)
        return type(self)(*(np.concatenate([getattr(each, field.name) for each in every]) for field in fields(self)))
