"""Several sheets on one piece of stock, side by side and none over another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import rectpack

from shadowrout.errors import SettingError

_STEPS_A_MM = 100
"""Sizes are packed as whole hundredths of a millimetre, rounded up: exact numbers can't overlap by rounding."""


@dataclass(frozen=True)
class Placement:
    """Where one sheet lies: the piece of stock counted from 0, its lower left corner in mm, a quarter turn or not."""

    stock: int
    x: float
    y: float
    turned: bool


def packed(sizes: Sequence[tuple[float, float]], *, stock: tuple[float, float], gap_mm: float) -> tuple[Placement, ...]:
    """Return a place for each sheet of (width, height), in the order given, on as few pieces of stock as found.

    Sheets stay ``gap_mm`` apart and from the stock's edge; they may be turned by a quarter. No sheets give no
    places. Raises SettingError for a sheet larger than the stock.
    """
    gap = _steps(gap_mm)
    room = tuple(math.floor(side * _STEPS_A_MM) - gap for side in stock)
    packer = rectpack.newPacker(rotation=True)
    for number, size in enumerate(sizes):
        width, height = (_steps(side) + gap for side in size)
        if not (width <= room[0] and height <= room[1]) and not (height <= room[0] and width <= room[1]):
            raise SettingError(
                "stock",
                f"a sheet of {size[0]:g}x{size[1]:g}mm doesn't fit on stock of {stock[0]:g}x{stock[1]:g}mm with "
                f"{gap_mm:g}mm around it; give larger stock",
            )
        packer.add_rect(width, height, rid=number)
    packer.add_bin(*room, count=max(1, len(sizes)))
    packer.pack()
    found = {number: (bin_, x, y, width) for bin_, x, y, width, _, number in packer.rect_list()}
    return tuple(_placement(found[number], size, gap) for number, size in enumerate(sizes))


def _steps(length_mm: float) -> int:
    return math.ceil(length_mm * _STEPS_A_MM - 1e-6)


def _placement(found: tuple[int, int, int, int], size: tuple[float, float], gap: int) -> Placement:
    stock, x, y, width = found
    turned = width != _steps(size[0]) + gap
    return Placement(stock, (x + gap) / _STEPS_A_MM, (y + gap) / _STEPS_A_MM, turned)
