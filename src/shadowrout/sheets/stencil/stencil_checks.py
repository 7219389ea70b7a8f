"""Settings of a stencil that can't go together, found before any work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shadowrout.errors import SettingError
from shadowrout.geometry.region import Box, Region, union_all
from shadowrout.words.sentences import Mm, Sentence

if TYPE_CHECKING:
    from shadowrout.job.sheet_options import StencilOptions

_SLACK_MM = 1e-6
"""What the last bits of floating-point sums may add."""


def check_settings(shadow: Region, sheet: Box, options: StencilOptions, plaque: Box | None) -> None:
    """Raise SettingError for the first setting that can't be used with this design, sheet and plaque."""
    _check_sheet(shadow, sheet, options, plaque)
    _check_widths(shadow, options)
    for x, y, _ in options.bridges:
        if not (sheet[0] < x < sheet[2] and sheet[1] < y < sheet[3]):
            told = Sentence(
                "the bridge at {place} lies off the sheet, which spans {sheet}",
                place=Mm(x, y, pattern="{}, {}"),
                sheet=_span(sheet),
            )
            raise SettingError("stencil.bridges", told)
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
            Sentence(
                "its boxes cover the whole design, {design}, so that no bridge could hold anything; leave part of it "
                "free",
                design=_span(field),
            ),
        )


def check_holes(holes: Region, sheet: Box, web_mm: float) -> None:
    """Raise SettingError for a hole nearer than ``web_mm`` to the sheet's edge."""
    for hole in holes.parts():
        x0, y0, x1, y1 = hole.bounds
        near = min(x0 - sheet[0], y0 - sheet[1], sheet[2] - x1, sheet[3] - y1)
        if near < web_mm - _SLACK_MM:
            raise SettingError(
                "stencil.sheet",
                Sentence(
                    "the dowel hole at {place:.1f} lies {near:.1f} from the sheet's edge; give a sheet that leaves "
                    "{web} there",
                    place=Mm((x0 + x1) / 2, (y0 + y1) / 2, pattern="{}, {}"),
                    near=Mm(near),
                    web=Mm(web_mm),
                ),
            )


def _check_sheet(shadow: Region, sheet: Box, options: StencilOptions, plaque: Box | None) -> None:
    for name, box in (("plaque", plaque), ("design", None if shadow.is_empty else shadow.bounds)):
        if box is not None and not _inside(box, sheet):
            raise SettingError(
                "stencil.sheet",
                Sentence(
                    "the sheet of {sheet} is smaller than the {name} of {size}; give a larger one, or none for one "
                    "that fits",
                    sheet=_size(sheet),
                    name=name,
                    size=_size(box),
                ),
            )
    least = min(sheet[2] - sheet[0], sheet[3] - sheet[1])
    if not options.web <= options.margin < least / 2:
        raise SettingError(
            "stencil.margin",
            Sentence(
                "{margin} can't be used; give at least the web, {web}, and less than {most}, half the sheet",
                margin=Mm(options.margin),
                web=Mm(options.web),
                most=Mm(least / 2, bound="most"),
            ),
        )


def _check_widths(shadow: Region, options: StencilOptions) -> None:
    if not shadow.is_empty:
        x0, y0, x1, y1 = shadow.bounds
        least = min(x1 - x0, y1 - y0)
        if options.web > least:
            told = Sentence(
                "{web} is wider than the whole design, {design:.1f}; give a narrower web",
                web=Mm(options.web),
                design=Mm(least),
            )
            raise SettingError("stencil.web", told)
    if options.kerf >= options.least_opening:
        raise SettingError(
            "stencil.kerf",
            Sentence(
                "{kerf} must be less than the least opening, {opening}",
                kerf=Mm(options.kerf),
                opening=Mm(options.least_opening),
            ),
        )


def _inside(box: Box, sheet: Box) -> bool:
    low = all(box[i] >= sheet[i] - _SLACK_MM for i in (0, 1))
    return low and all(box[i] <= sheet[i] + _SLACK_MM for i in (2, 3))


def _size(box: Box) -> Mm:
    return Mm.size(box[2] - box[0], box[3] - box[1])


def _span(box: Box) -> Sentence:
    x0, y0, x1, y1 = box
    return Sentence("{across} across and {up} up", across=Mm.span(x0, x1), up=Mm.span(y0, y1))


def _numbers(box: Box) -> str:
    return ", ".join(f"{value:g}" for value in box)
