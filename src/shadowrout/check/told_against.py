"""How one figure is held against another: a sentence where they differ, nothing where they agree."""

from __future__ import annotations

import math

from shadowrout.words.sentences import Mm, Sentence

NUMBERS = "numbers.json"
FINE_MM = 0.001
"""Far above the four decimals that lengths have in numbers.json."""


def differs(told: float, there: float, slack: float = FINE_MM) -> bool:
    """Return whether two figures lie further apart than the slack; one that couldn't be read has a fault of its own."""
    return abs(told - there) > slack and not math.isnan(told)


def length(where: str, what: str, told: float, there: float, slack: float = FINE_MM) -> str | Sentence:
    """Return how a length told in numbers.json differs from the one that was found ``where``."""
    if not differs(told, there, slack):
        return ""
    told_words = "{where}: {what} is {there:.4g mm}, numbers.json gives {told:.4g mm}"
    return Sentence(told_words, where=where, what=what, there=Mm(there), told=Mm(told))


def number(where: str, what: str, told: float, there: float, slack: float = 0.0, *, unit: str = "") -> str:
    """Return how a count, an area, a share or another number differs from the one that was found ``where``."""
    if not differs(told, there, slack):
        return ""
    return f"{where}: {what} is {there:.6g}{unit}, numbers.json gives {told:.6g}{unit}"


def within(what: str, told: float, least: float, most: float, *, unit: str = "") -> str:
    """Return how a number in numbers.json lies outside of what is possible."""
    if math.isnan(told) or least <= told <= most:
        return ""
    return f"{NUMBERS}: {what} is {told:.6g}{unit}, and can only be {least:.6g} to {most:.6g}{unit}"


def text(where: str, what: str, told: object, there: object) -> str:
    """Return how a text or a list in numbers.json differs from the one that was found ``where``."""
    return "" if told == there else f"{where}: {what} is {there}, numbers.json gives {told}"


Row = str | Sentence
