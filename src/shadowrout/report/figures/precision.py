"""How exactly figures are told: each is rounded once, where it is measured, so that all who read it say the same."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shadowrout.geometry.region import Box


def fine(value: float) -> float:
    """Return a depth, a size, a share or a weight: 0.1 um and 0.1 g are below all that a shop can set or weigh."""
    return round(value, 4)


def thousandth(value: float) -> float:
    """Return a width or a depth measured on a raster or along a stroke, which is no finer than a thousandth of a mm."""
    return round(value, 3)


def hundredth(value: float) -> float:
    """Return a width to compare with a cutter's, a pocket's area, or minutes."""
    return round(value, 2)


def tenth(value: float) -> float:
    """Return the length of a stroke or of many, an area or a volume: what is summed up, or looked for by eye."""
    return round(value, 1)


def place(point: tuple[float, float]) -> tuple[float, float]:
    """Return where something is, near enough to find it on the board."""
    x, y = point
    return tenth(x), tenth(y)


def fine_box(box: Box) -> Box:
    """Return a box by its sides."""
    x0, y0, x1, y1 = box
    return fine(x0), fine(y0), fine(x1), fine(y1)
