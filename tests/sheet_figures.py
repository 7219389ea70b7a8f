"""Figures of a plaque and of what may be made for it, as the sheets read them."""

from __future__ import annotations

from shadowrout.report.figures.amounts import Amounts
from shadowrout.report.figures.fragile_figures import FragileFigures
from shadowrout.report.figures.hours_figures import HoursFigures, LeftOutFigures
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures
from shadowrout.report.figures.outline_figures import OutlineFigures
from shadowrout.report.figures.pattern_figures import PatternFigures
from shadowrout.report.figures.register_figures import DistanceFigures, MarkFigures, RegisterFigures
from shadowrout.report.figures.stencil_figures import DroppedIslandFigures, LostParts, NoticeFigures, StencilFigures
from shadowrout.report.figures.stock_figures import StockFigures
from shadowrout.report.figures.stroke_figures import FlowLineFigures, SandingFigures, VLineFigures
from shadowrout.report.figures.template_figures import SheetPlacing, TemplateFigures, TemplateOpening
from shadowrout.report.figures.width_figures import WidthFigures

STENCIL = StencilFigures(
    carved_dark_closed_share=0.29,
    carved_islands_open=LostParts(2, 5.2),
    carved_shadows_closed=LostParts(1, 3.1),
    sheet_mm=(-6.0, -6.0, 126.0, 106.0),
    web_mm=3.0,
    kerf_mm=0.2,
    openings=13,
    bridges=2,
    bridge_length_mm=6.8,
    dark_lost_share=0.021,
    light_lost_share=0.01,
    islands_dropped=(DroppedIslandFigures((12.5, 34.0), 7.5),),
    webs_widened=0,
    openings_merged=0,
    notices=(NoticeFigures((60.0, 50.0), "dark stays closed"),),
)
TEMPLATE = TemplateFigures(
    sheets=2,
    placing=(SheetPlacing(1, ("A", "B", "C")), SheetPlacing(2, ("A",))),
    openings=(
        TemplateOpening(1, (20.0, 20.0, 60.0, 50.0), 1150.0),
        TemplateOpening(2, (20.0, 60.0, 60.0, 90.0), 1150.0),
    ),
    cleared_mm2=2000.0,
    overhang_mm=(16.0, 16.0),
    sheet_mm=(0.0, 0.0, 140.0, 100.0),
    bush_mm=16.0,
    bit_mm=8.0,
    offset_mm=4.0,
    thickness_mm=6.0,
    depth_mm=3.0,
    bit_below_base_mm=9.0,
    unreached_mm2=120.0,
    under_keys_mm2=4.0,
    under_bridges_mm2=0.0,
    rounded_off_mm2=2.0,
)
PATTERN = PatternFigures("A4", 6, rows=2, columns=3)
FLOW_LINES = FlowLineFigures(4, 2500.0, greatest_below_floor_mm=0.5)
REGISTER = RegisterFigures(
    6.35, (MarkFigures("A", 4.0, 4.0), MarkFigures("B", 1005.25, 4.0)), (DistanceFigures("A and B", 1001.25),)
)
AMOUNTS = Amounts("basswood", 2.0, 216_000.0, 0.0895, 0.085, 12_000.0, 12_900.0, 1400.0, 0.0026)
UNCUT = VLineFigures(0, 0.0, 0.0, (), (), SandingFigures((0.5,), (1.0,), None, (), ()))


def plaque(name: str = "a", **given) -> PlaqueFigures:
    """Return the figures of a plaque without any cut, less what is given."""
    plain = {
        "size_mm": (120.0, 100.0),
        "shape": "rectangle",
        "thickness_mm": 18.0,
        "picture_box_mm": (8.0, 8.0, 112.0, 92.0),
        "pixel_mm": 0.1,
        "dark_share": 0.42,
        "shadows": 0,
        "specks_removed": 0,
        "pinholes_filled": 0,
        "slivers_dropped": 0,
        "widths": WidthFigures(0.8, 0.0, 0, 0.0, (), 0.0),
        "pockets": (),
        "idle_cutters": (),
        "rest_share": 0.0,
        "uncut_share": 0.0,
        "uncut_mm2": 0.0,
        "dark_left_share": 0.99,
        "v_lines": UNCUT,
        "flow_lines": FlowLineFigures(0, 0.0, 0.0),
        "fragile_light": FragileFigures("along-width", 0, 0.0, ()),
        "outlines": OutlineFigures(0, 0, 0, 0.0, 0.0, 0.0),
        "register": None,
        "stencil": None,
        "template": None,
        "pattern": None,
        "amounts": AMOUNTS,
        "times": (),
        "hours": HoursFigures(0.0, None, "hand", "few", LeftOutFigures(0, 0.0, 0)),
        "files": (),
    }
    return PlaqueFigures(name=name, **{**plain, **given})


def job_figures(*plaques: PlaqueFigures, picture: str = "cat.jpg", stock: tuple[StockFigures, ...] = ()) -> JobFigures:
    return JobFigures("shadowrout", picture, (), "keep-lines", 0.8, 0.1, "mm", plaques, stock)
