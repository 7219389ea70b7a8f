"""Which cutters make sense beside each other."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from shadowrout.errors import SettingError
from shadowrout.words.sentences import Mm, Sentence

LEAST_STEP_MM = 0.1
"""Cutters whose diameters differ by less are one size: the smaller reaches nothing that the larger leaves."""

ROUNDING_MM = 1e-9
"""What subtracting two diameters may lose."""


def check_sizes(diameters_mm: Iterable[float]) -> None:
    """Raise SettingError where two cutters, in any order, are of one size."""
    for smaller, larger in pairwise(sorted(diameters_mm)):
        if larger - smaller < LEAST_STEP_MM - ROUNDING_MM:
            raise SettingError(
                "cutter.diameter",
                Sentence(
                    "{larger:g mm} and {smaller:g mm} are one size; give cutters {step:g mm} apart or more",
                    larger=Mm(larger),
                    smaller=Mm(smaller),
                    step=Mm(LEAST_STEP_MM),
                ),
            )
