"""Damages to figures of numbers.json that the drawings, the settings or other figures contradict."""

from __future__ import annotations

from shadowrout.check.findings import Promise
from spoil.handles import damage, figures


def altered(name: str, words: tuple[str, ...], *path: str | int, whole: str = "drawn", to=lambda value: value * 2 + 1):
    """Register the damage of one figure of the first plaque, found under its path."""

    def spoil(place):
        with figures(place) as told:
            part = told["plaques"][0]
            for key in path[:-1]:
                part = part[key]
            part[path[-1]] = to(part[path[-1]])

    spoil.__name__ = name
    damage(Promise.FIGURES, *words, whole=whole)(spoil)


for _key in ("pieces", "lines", "arcs"):
    altered(f"another_number_of_{_key}", ("carve", f"number of {_key} of the outlines"), "outlines", _key)
altered("another_longest_piece", ("outlines' longest piece",), "outlines", "longest_mm")
altered("a_deviation_beyond_the_tolerance", ("largest_deviation_mm",), "outlines", "largest_deviation_mm")
altered("another_share_of_dark", ("shadow's share",), "dark_share", to=lambda share: share + 0.1)
altered("another_rest", ("rest_share",), "rest_share", to=lambda share: share + 0.3)
altered("another_pocket_area", ("area of a pocket",), "pockets", 0, "area_mm2", whole="made")
altered("another_pocket_volume", ("the volume of pocket 1",), "pockets", 0, "volume_mm3")
altered("another_number_of_passes", ("number of passes of pocket 2",), "pockets", 1, "passes")
altered("another_pocket_number", ("the pockets' order",), "pockets", 0, "number")
altered("another_length_of_v_lines", ("the length of all V lines",), "v_lines", "length_mm")
altered("another_depth_of_v_lines", ("V lines' greatest depth",), "v_lines", "greatest_depth_mm")
altered("another_count_in_a_class", ("V lines are", "wide"), "v_lines", "classes", 0, "count", whole="made")
altered("a_stroke_to_recut_elsewhere", ("no V line at",), "v_lines", "first_to_go", 0, "place_mm", 0)
altered("another_loss_of_a_stroke", ("no V line at",), "v_lines", "first_to_go", 0, "gone_at_mm", whole="made")
altered("more_sanding_allowed", ("share of V lines left",), "v_lines", "sanding", "too_much_mm", whole="made")
altered(
    "less_left_after_sanding",
    ("left after",),
    "v_lines",
    "sanding",
    "share_left",
    1,
    whole="made",
    to=lambda s: s - 0.2,
)
altered("another_planned_sanding", ("the sanding loss",), "v_lines", "sanding", "loss_mm", 0)
altered("flow_lines_that_are_not_there", ("number of flow lines",), "flow_lines", "count")
altered("flow_lines_below_the_floor", ("below the floor",), "flow_lines", "greatest_below_floor_mm")
altered("another_length_of_fragile_light", ("fragile light",), "fragile_light", "length_mm")
altered("a_ridge_elsewhere", ("no ridge of light",), "fragile_light", "worst", 0, "place_mm", 1)
altered("the_grain_turned", ("grain runs",), "fragile_light", "grain", to=lambda way: "along-height")
altered("another_dowel", ("dowel hole's diameter",), "register", "dowel_mm", whole="made")
altered("a_dowel_hole_elsewhere", ("no dowel hole is at",), "register", "marks", 1, "x_mm", whole="made")
altered("another_distance_of_marks", ("distance of",), "register", "distances", 0, "length_mm", whole="made")
altered("another_number_of_template_sheets", ("number of",), "template", "sheets", whole="made")
altered("another_bush", ("the guide bush",), "template", "bush_mm", whole="made")
altered("another_bit", ("the router bit",), "template", "bit_mm", whole="made")
altered("another_template_depth", ("depth of the deepest pocket",), "template", "depth_mm", whole="made")
altered("a_bit_that_stands_out_further", ("together",), "template", "bit_below_base_mm", whole="made")
altered(
    "a_template_placed_by_another_dowel",
    ("no dowel hole is where",),
    "template",
    "placing",
    1,
    "dowels",
    0,
    whole="made",
    to=lambda name: "Q",
)
altered("another_number_of_openings", ("number of openings",), "stencil", "openings", whole="made")
altered("another_number_of_bridges", ("number of bridges",), "stencil", "bridges", whole="made")
altered("another_web", ("least web",), "stencil", "web_mm", whole="made")
altered("another_kerf", ("kerf",), "stencil", "kerf_mm", whole="made")
altered("another_face", ("board's face",), "amounts", "face_mm2")
altered("another_board", ("board's volume",), "amounts", "blank_mm3")
altered("another_weight", ("plaque's weight",), "amounts", "plaque_kg")
altered("more_wood_cut_away_than_there_is", ("removed_mm3",), "amounts", "removed_mm3", to=lambda v: v * 20)
altered("another_amount_of_paint", ("the paint is",), "amounts", "paint_litres")
altered("another_time_to_sand", ("time to sand",), "times", -1, "minutes", whole="made")
altered("another_picture_box", ("picture_box_mm",), "picture_box_mm", 2)
altered("a_picture_past_the_board", ("board's middle",), "picture_box_mm", 0, to=lambda x: x - 30)
altered(
    "a_figure_that_is_a_text",
    ('outlines pieces is "many", not a whole number',),
    "outlines",
    "pieces",
    to=lambda count: "many",
)
altered("a_figure_that_is_nothing", ("fragile_light is null, not a table",), "fragile_light", to=lambda told: None)


@damage(Promise.FIGURES, "don't stand in their order", whole="made")
def the_areas_of_two_pockets_swapped(place):
    with figures(place) as told:
        first, _, last = told["plaques"][0]["pockets"]
        first["area_mm2"], last["area_mm2"] = last["area_mm2"], first["area_mm2"]
        first["volume_mm3"], last["volume_mm3"] = last["volume_mm3"], first["volume_mm3"]


@damage(Promise.FIGURES, "digests of by hand/carve.dxf under written, not one")
def a_file_without_a_digest(place):
    with figures(place) as told:
        told["written"] = [entry for entry in told["written"] if not entry["file"].endswith(".dxf")]


@damage(Promise.FIGURES, "written", "is no file's place and digest")
def a_digest_of_a_file_outside_the_folder(place):
    with figures(place) as told:
        told["written"].append({"file": "../other", "bytes": 1, "sha256": "0" * 64})


@damage(Promise.FIGURES, "written is a table, not a list")
def digests_that_are_no_list(place):
    with figures(place) as told:
        told["written"] = {}
