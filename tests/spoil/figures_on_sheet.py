"""Damages to the job sheet: figures altered by hand in its text, lines dropped, the sheet gone."""

from __future__ import annotations

import re

from shadowrout.check.findings import Promise
from spoil.handles import damage

SHEET = "jobsheet.html"


def altered(name: str, words: tuple[str, ...], pattern: str, new: str):
    """Register the damage of one place of the sheet of the folder that ``make`` wrote, found by a regular expression.

    A space in it stands for the spaces that don't break, too.
    """

    def spoil(place):
        path = place.parent / SHEET
        text, count = re.subn(pattern.replace(" ", "[ \u00a0]"), new, path.read_text(encoding="utf-8"), count=1)
        assert count, f"{SHEET} has no {pattern!r} to spoil"
        path.write_text(text, encoding="utf-8")

    spoil.__name__ = name
    damage(Promise.FIGURES, SHEET, *words, whole="made")(spoil)


altered("another_thickness_on_the_sheet", ("Thickness",), r"(<dt>Thickness</dt><dd>)18 mm", r"\g<1>28 mm")
altered("another_size_on_the_sheet", ("Size",), r"(<dt>Size</dt><dd>)150 x 117 mm", r"\g<1>150 x 127 mm")
altered("another_zero_on_the_sheet", ("Zero",), r"lower left corner of the board", "middle of the board")
altered(
    "another_pocket_depth_on_the_sheet", ("One by one, 2",), r"(row\">2</th><td>3.00 mm</td><td>)3.00", r"\g<1>5.00"
)
altered("another_cutter_on_the_sheet", ("One by one, 1",), r"(row\">1</th><td>)3.00 mm", r"\g<1>6.00 mm")
altered(
    "other_passes_on_the_sheet", ("One by one, 3",), r"(row\">3</th><td>3.00 mm</td><td>3.00 mm</td><td>)2", r"\g<1>1"
)
altered(
    "pockets_in_another_order_on_the_sheet",
    ("One by one",),
    r"(?s)(<tr><th scope=\"row\">1</th><td>3.00.*?</tr>)\n"
    r"(<tr><th scope=\"row\">2</th><td>3.00.*?</tr>)",
    r"\2\n\1",
)
altered("another_depth_by_cutter_on_the_sheet", ("By cutter",), r"(row\">3 mm</th><td>)3.00 mm", r"\g<1>3.50 mm")
altered(
    "another_sanding_limit", ("how much to sand at most",), r"Sand no more than 2.01 mm", "Sand no more than 2.41 mm"
)
altered("another_planned_sanding_on_the_sheet", ("Sand",), r"0.50 mm in all is planned", "0.80 mm in all is planned")
altered("another_bush_on_the_sheet", ("Bit and bush",), r"bush 10 mm: openings", "bush 12 mm: openings")
altered("another_offset_on_the_sheet", ("Bit and bush",), r"openings 2.00 mm larger", "openings 3.00 mm larger")
altered("another_bush_among_the_steps", ("Rout",), r"in a bush of 10 mm, in passes", "in a bush of 16 mm, in passes")
altered("a_bit_that_stands_out_further_on_the_sheet", ("Bit stands out",), r"9.00 mm below", "10.00 mm below")
altered("another_template_depth_on_the_sheet", ("Router template, Depth",), r"3.00 mm, the same", "4.00 mm, the same")
altered(
    "another_number_of_sheets_on_the_sheet",
    ("Router template, Sheets",),
    r"<dt>Sheets</dt><dd>3",
    "<dt>Sheets</dt><dd>2",
)
altered("another_kerf_on_the_sheet", ("Kerf",), r"0.20 mm, allowed for", "0.30 mm, allowed for")
altered("another_dowel_on_the_sheet", ("Dowel holes",), r"3 holes, 4 mm across", "3 holes, 6 mm across")
altered("a_dowel_hole_elsewhere_on_the_sheet", ("dowel holes are, B",), r"146.00 mm", "140.00 mm")
altered("another_distance_on_the_sheet", ("Distances",), r"179.01 mm", "178.01 mm")
altered("another_dowel_to_fetch", ("To fetch, Also",), r"dowels of 4 mm", "dowels of 6 mm")
altered("another_number_of_sheets_to_cut", ("Cut the template",), r"of 3 sheets 6 mm", "of 2 sheets 6 mm")
altered("another_v_tool", ("V tool",), r"V tool, 60°", "V tool, 90°")
altered(
    "another_allowance_on_the_sheet",
    ("Straight cutter",),
    r"leaves 0.20 mm at the wall",
    "leaves 0.40 mm at the wall",
)
altered(
    "another_pass_on_the_sheet",
    ("Straight cutter",),
    r"1.50 mm a pass at most</td><td>leaves",
    "3.00 mm a pass at most</td><td>leaves",
)
altered("another_depth_of_v_lines_on_the_sheet", ("V lines",), r"2.05 to 2.21 mm", "2.05 to 2.41 mm")
altered(
    "another_count_of_v_lines_on_the_sheet",
    ("To make",),
    r"<td>3</td><td>2</td><td>1 h",
    "<td>3</td><td>4</td><td>1 h",
)
altered("another_time_on_the_sheet", ("Estimated times",), r"(paint</th><td>)5 min", r"\g<1>50 min")
altered(
    "another_stroke_to_recut_on_the_sheet", ("strokes that go first",), r"75.10 mm / 29.60 mm", "75.10 mm / 39.60 mm"
)
altered("another_board_to_fetch", ("To fetch",), r"117 mm, 18 mm thick", "117 mm, 20 mm thick")
altered("another_width_to_cut", ("Carve",), r"0.58 mm wider", "0.85 mm wider")
altered("another_setting_on_the_sheet", ("sanding_loss",), r"sanding_loss = &#34;0.5mm", "sanding_loss = &#34;1.5mm")
altered("a_depth_dropped_from_the_sheet", ("Depth is missing",), r"<div><dt>Depth</dt>.*?</div>", "")
altered("the_plaque_of_the_sheet_renamed", ("tells nothing of the plaque",), r"Plaque: made", "Plaque: another")


@damage(Promise.COMPLETE, SHEET, "is missing")
def the_sheet_missing(place):
    (place.parent / SHEET).unlink()


@damage(Promise.COMPLETE, SHEET, "is empty")
def the_sheet_emptied(place):
    (place.parent / SHEET).write_bytes(b"")


@damage(Promise.COMPLETE, SHEET, "cut off")
def the_sheet_cut_off(place):
    content = (place.parent / SHEET).read_bytes()
    (place.parent / SHEET).write_bytes(content[: len(content) // 2])


@damage(Promise.COMPLETE, SHEET, "can't be read")
def the_sheet_replaced_by_noise(place):
    (place.parent / SHEET).write_bytes(bytes(range(256)) * 20)


@damage(Promise.FIGURES, SHEET, "tells nothing of the plaque", whole="made")
def the_sheet_of_another_job(place):
    path = place.parent / SHEET
    path.write_text("<!DOCTYPE html><html><body><h1>Job sheet: other</h1></body></html>", encoding="utf-8")
