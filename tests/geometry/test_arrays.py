"""Records and rows of different lengths in arrays, by hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shadowrout.geometry.arrays import Floats, Indices, ParallelArrays, following, preceding, spread


@dataclass(frozen=True, eq=False)
class Weighed(ParallelArrays):
    number: Indices
    weight: Floats


def test_records_are_taken_and_joined_field_by_field():
    records = Weighed(np.array([4, 5, 6]), np.array([0.5, 1.5, 2.5]))
    assert len(records) == 3
    for which in (np.array([2, 0]), slice(2, None, -2)):
        assert records.taken(which).number.tolist() == [6, 4]
        assert records.taken(which).weight.tolist() == [2.5, 0.5]
    assert records.taken(np.array([False, True, False])).number.tolist() == [5]
    assert records.joined(records.taken(slice(1)), records).weight.tolist() == [0.5, 1.5, 2.5, 0.5, 0.5, 1.5, 2.5]


def test_rows_of_three_none_and_two():
    row, number = spread(np.array([3, 0, 2]))
    assert row.tolist() == [0, 0, 0, 2, 2]
    assert number.tolist() == [0, 1, 2, 0, 1]


def test_neighbours_around_each_ring():
    counts = np.array([3, 1, 2])
    assert preceding(counts).tolist() == [2, 0, 1, 3, 5, 4]
    assert following(counts).tolist() == [1, 2, 0, 3, 5, 4]
