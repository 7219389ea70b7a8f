"""What the keys of numbers.json hold: numbers, texts, and lists and tables of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_MOST = 1e12
"""No length in mm, no area, no volume and no count comes near it: a cubic metre is 1e9 mm3."""
_LONGEST_NAME = 255
"""Bytes of a file's name on common file systems (common practice, no source)."""


@dataclass(frozen=True)
class FigureKind:
    """What one key holds: in words, and how to tell whether a value is that."""

    words: str
    holds: Callable[[Any], bool]


Known = FigureKind | list[Any] | dict[str, Any]
"""A kind, a list whose every entry is of the one kind in it, or a table of such by their keys."""


def is_number(value: Any) -> bool:
    """Return whether a value is a finite number of a size that figures have."""
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= _MOST


def is_text(value: Any) -> bool:
    """Return whether a value is a text that can be written out: none with half a character of UTF-16."""
    return isinstance(value, str) and not any("\ud800" <= character <= "\udfff" for character in value)


def _is_count(value: Any) -> bool:
    return isinstance(value, int) and is_number(value) and value >= 0


def _is_name(value: Any) -> bool:
    """Return whether a value can be the name of a file in its folder."""
    if not is_text(value) or not 0 < len(value.encode()) <= _LONGEST_NAME or value in (".", ".."):
        return False
    return not any(character in "/\\" or character < " " for character in value)


def _numbers(count: int) -> FigureKind:
    def holds(value: Any) -> bool:
        return isinstance(value, list) and len(value) == count and all(map(is_number, value))

    return FigureKind(f"{count} numbers", holds)


NUMBER = FigureKind("a number", is_number)
MAYBE = FigureKind("a number or null", lambda value: value is None or is_number(value))
COUNT = FigureKind("a whole number of 0 or more", _is_count)
TEXT = FigureKind("a text", is_text)
NAME = FigureKind("a file's name", _is_name)
FLAG = FigureKind("true or false", lambda value: isinstance(value, bool))
PAIR, BOX = _numbers(2), _numbers(4)


def _all(kind: FigureKind, *keys: str) -> dict[str, FigureKind]:
    return dict.fromkeys(keys, kind)


_PLACE = {"place_mm": PAIR}
_LOST = {"count": COUNT, "largest_mm2": NUMBER}
_WIDTHS = {
    **_all(NUMBER, "finest_mm", "kept_mm", "widened_mm", "dropped_mm"),
    "widened": COUNT,
    "dropped": [{**_PLACE, **_all(NUMBER, "width_mm", "length_mm")}],
}
_POCKET = {
    **_all(COUNT, "number", "passes"),
    **_PLACE,
    **_all(NUMBER, "depth_mm", "cutter_mm", "area_mm2", "volume_mm3", "cutter_path_mm"),
}
_V_LINES = {
    "count": COUNT,
    **_all(NUMBER, "length_mm", "greatest_depth_mm"),
    "classes": [{**_all(NUMBER, "from_mm", "length_mm"), "to_mm": MAYBE, "count": COUNT, "depth_mm": PAIR}],
    "first_to_go": [{**_PLACE, **_all(NUMBER, "length_mm", "width_mm", "gone_at_mm")}],
    "sanding": {
        "too_much_mm": MAYBE,
        **dict.fromkeys(("loss_mm", "share_left"), [NUMBER]),
        **dict.fromkeys(("lengths_left_mm", "widths_left_mm"), [[NUMBER]]),
    },
}
_FRAGILE = {
    "grain": TEXT,
    "count": COUNT,
    "length_mm": NUMBER,
    "worst": [
        {**_PLACE, **_all(NUMBER, "width_mm", "length_mm", "depth_mm", "across_grain", "rank_by"), "free_end": FLAG}
    ],
}
_REGISTER = {
    "dowel_mm": NUMBER,
    "marks": [{"mark": TEXT, **_all(NUMBER, "x_mm", "y_mm")}],
    "distances": [{"between": TEXT, "length_mm": NUMBER}],
}
_STENCIL = {
    **_all(NUMBER, "carved_dark_closed_share", "web_mm", "kerf_mm", "bridge_length_mm"),
    **_all(NUMBER, "dark_lost_share", "light_lost_share"),
    "carved_islands_open": _LOST,
    "carved_shadows_closed": _LOST,
    "sheet_mm": BOX,
    **_all(COUNT, "openings", "bridges", "webs_widened", "openings_merged"),
    "islands_dropped": [{**_PLACE, "area_mm2": NUMBER}],
    "notices": [{**_PLACE, "sentence": TEXT}],
}
_TEMPLATE = {
    "sheets": COUNT,
    "placing": [{"sheet": COUNT, "dowels": [TEXT]}],
    "overhang_mm": PAIR,
    "sheet_mm": BOX,
    **_all(NUMBER, "bush_mm", "bit_mm", "offset_mm", "thickness_mm", "depth_mm", "bit_below_base_mm"),
    **_all(NUMBER, "unreached_mm2", "under_keys_mm2", "under_bridges_mm2", "rounded_off_mm2", "cleared_mm2"),
    "openings": [{"sheet": COUNT, "box_mm": BOX, "area_mm2": NUMBER}],
}
_PLAQUE = {
    "name": NAME,
    "size_mm": PAIR,
    "shape": TEXT,
    **_all(NUMBER, "thickness_mm", "pixel_mm", "dark_share", "rest_share", "uncut_share"),
    **_all(NUMBER, "uncut_mm2", "dark_left_share"),
    "picture_box_mm": BOX,
    **_all(COUNT, "shadows", "specks_removed", "pinholes_filled", "slivers_dropped"),
    "widths": _WIDTHS,
    "pockets": [_POCKET],
    "idle_cutters": [_all(NUMBER, "cutter_mm", "needs_mm", "widest_shadow_mm", "least_pocket_mm2")],
    "v_lines": _V_LINES,
    "flow_lines": {"count": COUNT, **_all(NUMBER, "length_mm", "greatest_below_floor_mm")},
    "fragile_light": _FRAGILE,
    "outlines": {
        **_all(COUNT, "pieces", "lines", "arcs"),
        **_all(NUMBER, "longest_mm", "shortest_mm", "largest_deviation_mm"),
    },
    "register": _REGISTER,
    "stencil": _STENCIL,
    "template": _TEMPLATE,
    "pattern": {"paper": TEXT, **_all(COUNT, "sheets", "rows", "columns")},
    "amounts": {
        "wood": TEXT,
        **_all(NUMBER, "coats", "blank_mm3", "blank_kg", "plaque_kg", "face_mm2", "painted_mm2", "removed_mm3"),
        "paint_litres": NUMBER,
    },
    "times": [{"name": TEXT, "minutes": NUMBER, "by": TEXT}],
    "hours": {
        "by_hand": NUMBER,
        "asked": MAYBE,
        **_all(TEXT, "asked_of", "lines"),
        "left_out": {**_all(COUNT, "lines", "specks"), "mm2": NUMBER},
    },
    "files": [NAME],
}
_STOCK = {
    "of": TEXT,
    "size_mm": PAIR,
    **_all(NUMBER, "gap_mm", "used_share"),
    "pieces": COUNT,
    "files": [NAME],
    "sheets": [{"plaque": NAME, "drawing": NAME, "piece": COUNT, **_PLACE, "turned": FLAG, "size_mm": PAIR}],
}
FIGURES: dict[str, Known] = {
    **_all(TEXT, "program", "picture", "method", "unit"),
    "notes": [TEXT],
    **_all(NUMBER, "detail_mm", "tolerance_mm"),
    "plaques": [_PLAQUE],
    "stock": [_STOCK],
    **dict.fromkeys(("written", "made_of"), [{**_all(TEXT, "file", "sha256"), "bytes": COUNT}]),
}
"""The known keys of the whole file, as docs/files.md tells of them; others may stand beside them."""
