"""One edit made in the SVG, in the DXF, and in both alike, as somebody does who keeps them in step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from shadowrout.check.findings import Promise
from spoil.handles import DAMAGES, Damage, dxf, svg


def damage_in_each(
    promise: Promise, *words: str, in_svg: Callable, in_dxf: Callable, whole: str = "drawn", name: str
) -> None:
    """Enter three damages; the edits take an SVG's root and a DXF's document. Each must be found alone, and both."""

    def svg_alone(place: Path) -> None:
        with svg(place) as root:
            in_svg(root)

    def dxf_alone(place: Path) -> None:
        with dxf(place) as document:
            in_dxf(document)

    def both(place: Path) -> None:
        svg_alone(place)
        dxf_alone(place)

    for where, spoil in (("in_the_svg", svg_alone), ("in_the_dxf", dxf_alone), ("in_both_files", both)):
        DAMAGES.append(Damage(f"{name}_{where}", spoil, promise, words, whole))
