"""A router template's sheets and what they leave."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.geometry.region import Box
from shadowrout.report.figures.precision import fine, fine_box, tenth
from shadowrout.sheets.router.router_template import RouterTemplate


@dataclass(frozen=True)
class SheetPlacing:
    """The register marks that are holes in one sheet, which is counted from 1."""

    sheet: int
    dowels: tuple[str, ...]


@dataclass(frozen=True)
class TemplateOpening:
    """One opening of a sheet, which is counted from 1: the box around it, and its area."""

    sheet: int
    box_mm: Box
    area_mm2: float


@dataclass(frozen=True)
class TemplateFigures:
    """One plaque's router template."""

    sheets: int
    placing: tuple[SheetPlacing, ...]
    openings: tuple[TemplateOpening, ...]
    cleared_mm2: float
    """What the bit takes out of the board with all sheets together."""
    overhang_mm: tuple[float, float]
    """How far a sheet's edges stand over the board's left and right, and below and above."""
    sheet_mm: Box
    bush_mm: float
    bit_mm: float
    offset_mm: float
    """How far the openings' edges lie outside the pockets' walls."""
    thickness_mm: float
    depth_mm: float
    bit_below_base_mm: float
    """How far the bit stands out below the router's base."""
    unreached_mm2: float
    """What the bit leaves of the pockets, since it is too thick or the wood beside is too thin."""
    under_keys_mm2: float
    """What keys of the template keep the bit from, so that it takes no narrow light."""
    under_bridges_mm2: float
    """What a bridge or a web covers on every sheet."""
    rounded_off_mm2: float
    """What the bit takes beside the pockets, no further out than the tolerance."""


def template_figures(template: RouterTemplate) -> TemplateFigures:
    """Return the figures of a router template."""
    across, along = template.overhang_mm
    return TemplateFigures(
        sheets=len(template.openings),
        placing=tuple(
            SheetPlacing(number, tuple(mark.name for mark in holes))
            for number, holes in enumerate(template.holes, start=1)
        ),
        openings=tuple(
            TemplateOpening(number, fine_box(part.bounds), tenth(part.area))
            for number, openings in enumerate(template.openings, start=1)
            for part in openings.parts()
        ),
        cleared_mm2=tenth(template.cleared.area),
        overhang_mm=(fine(across), fine(along)),
        sheet_mm=fine_box(template.sheet),
        bush_mm=template.bush_mm,
        bit_mm=template.bit_mm,
        offset_mm=template.offset_mm,
        thickness_mm=template.stack.thickness,
        depth_mm=fine(template.stack.depth),
        bit_below_base_mm=template.stack.bit_below_base,
        unreached_mm2=tenth(template.unreached.area),
        under_keys_mm2=tenth(template.under_keys.area),
        under_bridges_mm2=tenth(template.under_bridges.area),
        rounded_off_mm2=tenth(template.rounded_off.area),
    )
