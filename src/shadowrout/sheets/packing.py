"""Several sheets on one piece of stock, side by side and none over another."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import rectpack

from shadowrout.errors import SettingError
from shadowrout.words.sentences import Mm, Sentence

_STEPS_A_MM = 100
"""Sizes are packed as whole hundredths of a millimetre, rounded up: exact numbers can't overlap by rounding."""

_PACKS = (rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.MaxRectsBl, rectpack.GuillotineBssfSas)
"""How the packing library may lay rectangles: no one way is best always."""

_SORTS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE)
"""In which order it may take them: likewise."""

_Place = tuple[int, int, int, int, int]


@dataclass(frozen=True)
class Placement:
    """Where one sheet lies: the piece of stock counted from 0, its lower left corner in mm, a quarter turn or not."""

    stock: int
    x: float
    y: float
    turned: bool


def packed(
    sizes: Sequence[tuple[float, float]],
    *,
    stock: tuple[float, float],
    gap_mm: float,
    key: str = "stock",
    names: Sequence[str] = (),
) -> tuple[Placement, ...]:
    """Return a place for each sheet of (width, height), in the order given, on as few pieces of stock as found.

    Sheets stay ``gap_mm`` apart and from the stock's edge; they may be turned by a quarter. Of several ways to pack
    them the one on the fewest pieces is taken, of those the one that leaves the largest rests. No sheets give no
    places. Raises SettingError, under ``key``, for a sheet larger than the stock, which it calls by its name.
    """
    for number, size in enumerate(sizes):
        check_fits(size, stock=stock, gap_mm=gap_mm, key=key, name=names[number] if names else f"sheet {number + 1}")
    gap = _steps(gap_mm)
    room = _room(stock, gap)
    rectangles = [(_steps(width) + gap, _steps(height) + gap) for width, height in sizes]
    ways = [_one_way(rectangles, room, pack, sort) for pack, sort in itertools.product(_PACKS, _SORTS)]
    found = min(ways, key=_cost)
    return tuple(_placement(*place, rectangle, gap) for place, rectangle in zip(found, rectangles, strict=True))


def check_fits(size: tuple[float, float], *, stock: tuple[float, float], gap_mm: float, key: str, name: str) -> None:
    """Raise SettingError, under ``key``, where a sheet is larger than the stock even when turned by a quarter."""
    gap = _steps(gap_mm)
    room = _room(stock, gap)
    width, height = (_steps(side) + gap for side in size)
    if not ((width <= room[0] and height <= room[1]) or (height <= room[0] and width <= room[1])):
        raise _too_large(key, name, size, stock, gap_mm)


def _room(stock: tuple[float, float], gap: int) -> tuple[int, ...]:
    """Return the stock's sides less one gap, in steps: the other goes with each rectangle."""
    return tuple(math.floor(side * _STEPS_A_MM) - gap for side in stock)


def _too_large(
    key: str, name: str, size: tuple[float, float], stock: tuple[float, float], gap_mm: float
) -> SettingError:
    width, height = (math.ceil(side + 2 * gap_mm) for side in size)
    told = Sentence(
        "{name} is a sheet of {size} and doesn't fit on stock of {stock} with {gap} around it; give {least} or more",
        name=name,
        size=Mm.size(*size),
        stock=Mm.size(*stock),
        gap=Mm(gap_mm),
        least=Mm.size(width, height, bound="least"),
    )
    return SettingError(key, told)


def _one_way(rectangles: Sequence[tuple[int, int]], room: tuple[int, ...], pack: Any, sort: Any) -> list[_Place]:
    """Return (piece of stock, x, y, width, height) of each rectangle as one packing rule lays them, in their order."""
    packer = rectpack.newPacker(pack_algo=pack, sort_algo=sort, rotation=True)
    for number, (width, height) in enumerate(rectangles):
        packer.add_rect(width, height, rid=number)
    packer.add_bin(*room, count=max(1, len(rectangles)))
    packer.pack()
    found = {number: place for *place, number in packer.rect_list()}
    return [tuple(found[number]) for number in range(len(rectangles))]


def _cost(places: Sequence[_Place]) -> tuple[int, int]:
    """Return how many pieces of stock are used, and the area of the boxes around what lies on each."""
    pieces = {piece for piece, *_ in places}
    boxes = 0
    for piece in pieces:
        here = [place for place in places if place[0] == piece]
        boxes += max(x + width for _, x, _, width, _ in here) * max(y + height for _, _, y, _, height in here)
    return len(pieces), boxes


def _steps(length_mm: float) -> int:
    return math.ceil(length_mm * _STEPS_A_MM - 1e-6)


def _placement(stock: int, x: int, y: int, width: int, _: int, rectangle: tuple[int, int], gap: int) -> Placement:
    turned = width != rectangle[0]
    return Placement(stock, (x + gap) / _STEPS_A_MM, (y + gap) / _STEPS_A_MM, turned)
