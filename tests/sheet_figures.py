"""Figures of a stencil and of a router template as numbers.json holds them."""

from __future__ import annotations

STENCIL = {
    "carved_dark_closed_share": 0.29,
    "carved_islands_open": {"count": 2, "largest_mm2": 5.2},
    "carved_shadows_closed": {"count": 1, "largest_mm2": 3.1},
    "sheet_mm": [-6.0, -6.0, 126.0, 106.0],
    "web_mm": 3.0,
    "kerf_mm": 0.2,
    "openings": 13,
    "bridges": 2,
    "bridge_length_mm": 6.8,
    "dark_lost_share": 0.021,
    "light_lost_share": 0.01,
    "islands_dropped": [{"place_mm": [12.5, 34.0], "area_mm2": 7.5}],
    "notices": [{"place_mm": [60.0, 50.0], "sentence": "dark stays closed"}],
}
TEMPLATE = {
    "placing": [{"sheet": 1, "dowels": ["A", "B", "C"]}, {"sheet": 2, "dowels": ["A"]}],
    "overhang_mm": [16.0, 16.0],
    "sheets": 2,
    "sheet_mm": [0.0, 0.0, 140.0, 100.0],
    "bush_mm": 16.0,
    "bit_mm": 8.0,
    "offset_mm": 4.0,
    "thickness_mm": 6.0,
    "depth_mm": 3.0,
    "bit_below_base_mm": 9.0,
    "unreached_mm2": 120.0,
    "under_bridges_mm2": 0.0,
    "rounded_off_mm2": 2.0,
}
