"""Settings of a stencil that can't go together, found before any work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shadowrout.errors import SettingError
from shadowrout.geometry.lines import union_all
from shadowrout.geometry.region import Box, Region

if TYPE_CHECKING:
    from shadowrout.job.options import Stencil as StencilOptions

_SLACK_MM = 1e-6
"""What the last bits of floating-point sums may add."""


def check_settings(shadow: Region, sheet: Box, options: StencilOptions, plaque: Box | None) -> None:
    """Raise SettingError for the first setting that can't be used with this design, sheet and plaque."""
    _check_sheet(shadow, sheet, options, plaque)
    _check_widths(shadow, options)
    for x, y, _ in options.bridges:
        if not (sheet[0] < x < sheet[2] and sheet[1] < y < sheet[3]):
            raise SettingError(
                "stencil.bridges", f"the bridge at {x:g}, {y:g}mm lies off the sheet, which spans {_span(sheet)}"
            )
    for box in options.keep_out:
        if not (box[0] < box[2] and box[1] < box[3]):
            raise SettingError(
                "stencil.keep_out", f"the box {_numbers(box)} is empty; give left, bottom, right, top in mm"
            )


def check_keep_out(field: Box, options: StencilOptions) -> None:
    """Raise SettingError where the boxes leave no place for a bridge on the design's field."""
    boxes = [Region.box(box) for box in options.keep_out]
    if boxes and Region.box(field).difference(union_all(boxes)).is_empty:
        raise SettingError(
            "stencil.keep_out",
            f"its boxes cover the whole design, {_span(field)}, so that no bridge could hold anything; leave part of "
            "it free",
        )


def check_holes(holes: Region, sheet: Box, web_mm: float) -> None:
    """Raise SettingError for a hole nearer than ``web_mm`` to the sheet's edge."""
    for hole in holes.parts():
        x0, y0, x1, y1 = hole.bounds
        near = min(x0 - sheet[0], y0 - sheet[1], sheet[2] - x1, sheet[3] - y1)
        if near < web_mm - _SLACK_MM:
            raise SettingError(
                "stencil.sheet",
                f"the dowel hole at {(x0 + x1) / 2:.1f}, {(y0 + y1) / 2:.1f}mm lies {near:.1f}mm from the sheet's "
                f"edge; give a sheet that leaves {web_mm:g}mm there",
            )


def _check_sheet(shadow: Region, sheet: Box, options: StencilOptions, plaque: Box | None) -> None:
    for name, box in (("plaque", plaque), ("design", None if shadow.is_empty else shadow.bounds)):
        if box is not None and not _inside(box, sheet):
            raise SettingError(
                "stencil.sheet",
                f"the sheet of {_size(sheet)} is smaller than the {name} of {_size(box)}; give a larger "
                "one, or none for one that fits",
            )
    least = min(sheet[2] - sheet[0], sheet[3] - sheet[1])
    if not options.web <= options.margin < least / 2:
        raise SettingError(
            "stencil.margin",
            f"{options.margin:g}mm can't be used; give at least the web, {options.web:g}mm, and less than "
            f"{least / 2:g}mm, half the sheet",
        )


def _check_widths(shadow: Region, options: StencilOptions) -> None:
    if not shadow.is_empty:
        x0, y0, x1, y1 = shadow.bounds
        least = min(x1 - x0, y1 - y0)
        if options.web > least:
            raise SettingError(
                "stencil.web", f"{options.web:g}mm is wider than the whole design, {least:.1f}mm; give a narrower web"
            )
    if options.kerf >= options.least_opening:
        raise SettingError(
            "stencil.kerf",
            f"{options.kerf:g}mm must be less than the least opening, {options.least_opening:g}mm",
        )


def _inside(box: Box, sheet: Box) -> bool:
    low = all(box[i] >= sheet[i] - _SLACK_MM for i in (0, 1))
    return low and all(box[i] <= sheet[i] + _SLACK_MM for i in (2, 3))


def _size(box: Box) -> str:
    return f"{box[2] - box[0]:g}x{box[3] - box[1]:g}mm"


def _span(box: Box) -> str:
    return f"{box[0]:g} to {box[2]:g}mm across and {box[1]:g} to {box[3]:g}mm up"


def _numbers(box: Box) -> str:
    return ", ".join(f"{value:g}" for value in box)
