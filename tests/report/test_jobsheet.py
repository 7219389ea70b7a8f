"""The job sheet: valid HTML by a strict parser, self-contained, readable aloud, escaped, and true to the figures."""

from __future__ import annotations

import base64
import contextlib
import json
import math
import re
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from html5lib.html5parser import ParseError
from page_reader import elements, faults, parsed, text_of
from sheet_figures import FLOW_LINES, PATTERN, STENCIL, TEMPLATE, UNCUT

from shadowrout.job import job_file
from shadowrout.job.options import Cutter, Finish, Job, Output, Picture, Plaque, ToneOptions
from shadowrout.job.sheet_options import PatternOptions
from shadowrout.make import pipeline
from shadowrout.report import closing
from shadowrout.report.figures.fragile_figures import FragileFigures, RidgeFigures
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures
from shadowrout.report.figures.stock_figures import LyingSheet, StockFigures
from shadowrout.report.figures.template_figures import SheetPlacing
from shadowrout.report.figures.times import Task
from shadowrout.report.jobsheet.embedded import LONG_SIDE_PX, embedded
from shadowrout.report.jobsheet.page import job_sheet
from shadowrout.words.cautions import CAUTIONS
from shadowrout.words.wording import minutes

HOSTILE = "<script>alert('&amp;')<b>\".png"


@dataclass(frozen=True)
class Sheet:
    page: bytes
    figures: JobFigures
    job: Job
    settings: str

    def again(self, *, job=None, settings=None, **changed) -> bytes:
        """Return the sheet once more, with figures of its first plaque changed."""
        first, *others = self.figures.plaques
        return self.of(replace(first, **changed), *others, job=job, settings=settings)

    def of(self, *plaques: PlaqueFigures, job=None, settings=None, stock=()) -> bytes:
        """Return the sheet of other plaques."""
        figures = replace(self.figures, plaques=plaques, stock=stock)
        files = {plaque.name: {} for plaque in plaques}
        return job_sheet(
            job or self.job, figures, files=files, settings=self.settings if settings is None else settings
        )


def picture_in(folder: Path) -> Path:
    """Draw strokes of several widths and two discs, black on white."""
    pixels = np.full((400, 500, 3), 255, np.uint8)
    for i, width in enumerate((6, 8, 10, 14, 18)):
        cv2.line(pixels, (30, 30 + 60 * i), (230, 60 + 60 * i), (0, 0, 0), width)
    cv2.circle(pixels, (370, 120), 80, (0, 0, 0), -1)
    cv2.circle(pixels, (370, 300), 60, (0, 0, 0), -1)
    place = folder / HOSTILE
    place.write_bytes(cv2.imencode(".png", pixels)[1].tobytes())
    return place


@pytest.fixture(scope="module")
def sheet(tmp_path_factory) -> Sheet:
    folder = tmp_path_factory.mktemp("job")
    job = Job(
        Picture(picture_in(folder)),
        tone=ToneOptions(method="two-tone"),
        plaques=(Plaque("large", (120.0, 100.0)), Plaque("small", (90.0, 75.0), shape="oval")),
        cutters=(Cutter(6.0), Cutter(3.0)),
        output=Output(files=("preview",)),
    )
    out = folder / "out"
    made = pipeline.make(job, out)
    by_name = replace(made.job, picture=replace(made.job.picture, file=Path(HOSTILE)))
    settings = job_file.written(by_name, folder=Path())
    return Sheet((out / "jobsheet.html").read_bytes(), made.figures, made.job, settings)


def tables(page: bytes) -> dict[str, list[list[str]]]:
    """Return the cells of every table by its caption; of tables of one caption the first plaque's."""
    found: dict[str, list[list[str]]] = {}
    for table in elements(parsed(page), "table"):
        caption = text_of(elements(table, "caption")[0])
        found.setdefault(caption, [[text_of(cell) for cell in row] for row in elements(table, "tr")])
    return found


def headings(page: bytes) -> list[str]:
    return [text_of(heading) for heading in elements(parsed(page), "h3")]


def text(page: bytes) -> str:
    return text_of(elements(parsed(page), "main")[0])


def test_the_page_is_valid_self_contained_and_readable_aloud(sheet):
    assert faults(sheet.page) == []


SPOILED = [
    (b'<html lang="en">', b"<html>"),
    (b"<h2 id=", b"<h4 id="),
    (b' scope="row"', b""),
    (b' scope="col"', b' scope="columns"'),
    (b"<caption>", b"<caption hidden></caption><caption>"),
    (b' alt="', b' title="'),
    (b"</main>", b"</section>"),
    (b"</main>", b"<script></script></main>"),
    (b"</main>", b'<img src="other.png" alt="A picture of wood"></main>'),
    (b"</main>", b'<p onclick="x()">x</p></main>'),
    (b"</main>", b'<p id="batch">x</p></main>'),
    (b"body {", b"body { background: url(x.png);"),
    (b'aria-labelledby="order"', b'aria-labelledby="ordre"'),
    (b"<h1>", b"<h2>x</h2><h1>"),
    (b"<tr><th", b"<tr><td>1</td><th"),
]


@pytest.mark.parametrize(("whole", "spoiled"), SPOILED, ids=[str(i) for i in range(len(SPOILED))])
def test_the_reader_finds_a_spoiled_page(sheet, whole, spoiled):
    assert whole in sheet.page
    page = sheet.page.replace(whole, spoiled, 1)
    with contextlib.suppress(ParseError):
        assert faults(page) != []


def test_a_hostile_name_stays_text(sheet):
    title = elements(parsed(sheet.page), "h1")[0]
    assert text_of(title) == f"Job sheet: {HOSTILE}"
    assert list(title) == []
    assert b"<script" not in sheet.page


@pytest.mark.parametrize("field", ["name", "shape"])
def test_hostile_figures_and_settings_stay_text(sheet, field):
    page = sheet.again(settings="</pre><script>x</script>", **{field: "</h2><img src=x onerror=y>"})
    assert faults(page) == []
    assert text_of(elements(parsed(page), "pre")[0]) == "</pre><script>x</script>"


def test_the_same_input_gives_the_same_bytes_without_a_date(sheet):
    assert sheet.again() == sheet.again()
    assert not re.search(r"\b20\d\d[-/.]\d|\d:\d\d\b", text(sheet.page))


def test_it_does_not_tell_where_files_lie(sheet):
    assert str(sheet.job.picture.file.parent) not in text(sheet.page)
    assert f"file = {json.dumps(HOSTILE)}" in text(sheet.page)


def test_it_carries_every_caution_and_calls_nothing_safe(sheet):
    told = text(sheet.page)
    assert [caution for caution in CAUTIONS if caution not in told] == []
    assert "manual" in told
    assert not re.search(r"\bsafe(ly|ty)?\b", told, re.IGNORECASE)


def test_it_holds_the_settings_as_used(sheet):
    (settings,) = elements(parsed(sheet.page), "pre")
    assert "".join(settings.itertext()).strip("\n") == sheet.settings.strip("\n")


def test_tables_say_what_the_figures_say(sheet):
    plaque = sheet.figures.plaques[0]
    found = tables(sheet.page)
    pockets = tables(asked_for(sheet, "carve"))["One by one, as numbered in the drawing"][1:]
    assert [row[0] for row in pockets] == [str(pocket.number) for pocket in plaque.pockets]
    assert [row[2] for row in pockets] == [f"{pocket.depth_mm:.2f} mm" for pocket in plaque.pockets]
    classes = found["V lines by their greatest width"]
    assert classes[-1][1] == str(plaque.v_lines.count)
    assert sum(int(row[1]) for row in classes[1:-1]) == plaque.v_lines.count
    assert len(found["What is left of the V lines"]) == 1 + len(plaque.v_lines.sanding.loss_mm)
    assert [row[0] for row in found["Plaques of this job"]] == ["Plaque", "large", "small", "All"]
    times = found["Estimated times"]
    assert times[-1][1] == minutes(sum(task.minutes for task in plaque.times))
    assert len(found["Boards"]) == 4


def test_the_closing_words_tell_the_time_that_the_sheet_tells(sheet):
    rows = {row[0]: row[-1] for row in tables(sheet.page)["Plaques of this job"][1:]}
    told = next(line for line in closing.summary(sheet.figures).splitlines() if line.startswith("work, about: "))
    assert told.startswith(f"work, about: large {rows['large']}, small {rows['small']} (")
    timeless = tuple(replace(plaque, times=()) for plaque in sheet.figures.plaques)
    assert "work, about" not in closing.summary(replace(sheet.figures, plaques=timeless))


def test_the_sanding_limit_is_told(sheet):
    for plaque in sheet.figures.plaques:
        limit = plaque.v_lines.sanding.too_much_mm
        assert f"Sand no more than {math.floor(limit * 100) / 100:.2f} mm" in text(sheet.page)


def test_more_sanding_planned_than_the_lines_bear_is_told(sheet):
    eager = replace(sheet.job, finish=Finish(sanding_loss=4.0))
    assert "plan less sanding" not in text(sheet.page)
    assert "plan less sanding" in text(sheet.again(job=eager))


def test_pictures_are_embedded_with_words(sheet):
    pictures = elements(parsed(sheet.page), "img")
    assert len(pictures) == 4
    for picture in pictures:
        kind, _, data = (picture.get("src") or "").partition(",")
        assert kind == "data:image/jpeg;base64"
        pixels = cv2.imdecode(np.frombuffer(base64.b64decode(data, validate=True), np.uint8), cv2.IMREAD_COLOR)
        assert pixels.shape[:2] == (int(picture.get("height")), int(picture.get("width")))
        assert max(pixels.shape) <= LONG_SIDE_PX


def test_a_sheet_without_pictures_has_none(sheet):
    assert elements(parsed(sheet.again()), "img") == []


def test_inches_stand_beside_millimetres_where_the_job_is_in_inches(sheet):
    """3 mm = 3 / 25.4 in = 0.118 in, nearest 64th 8/64 (25.4 mm an inch: NIST SP 811)."""
    inches = replace(sheet.job, output=replace(sheet.job.output, unit="in"))
    page = sheet.again(job=inches)
    assert "3.00 mm (0.118 in, nearest 1/8 in)" in text(page)
    assert "board feet" in text(page)
    assert " in," not in tables(sheet.page)["Tools and depths, from the face before sanding"][1][1]


def facts(page: bytes) -> list[list[str]]:
    return [[text_of(entry) for entry in pair] for pair in elements(parsed(page), "div")]


def test_parts_have_a_section_only_where_they_were_made(sheet):
    parts = {"Stencil", "Router template", "Paper pattern", "Flow lines"}
    assert parts.isdisjoint(headings(sheet.page))
    assert headings(sheet.page).count("Register marks") == 2  # one for each plaque
    assert headings(sheet.again(register=None)).count("Register marks") == 1
    page = sheet.again(stencil=STENCIL, template=TEMPLATE, pattern=PATTERN, flow_lines=FLOW_LINES)
    assert faults(page) == []
    assert parts <= set(headings(page))


def test_parts_are_told_of_in_a_shops_words(sheet):
    """Sheets are told by their size and where they lie; a sheet from -6 to 126 is 132 wide."""
    told = facts(sheet.again(stencil=STENCIL, template=TEMPLATE, pattern=PATTERN))
    for fact in (
        ["Sheet", "132 x 112 mm"],
        ["Lies", "its lower left corner at x -6.00 mm, y -6.00 mm from zero"],
        ["Bridges", "2, together 6.80 mm long"],
        ["Kept closed", "2 % of the stencil's dark, by bridges and webs"],
        ["Size of each", "140 x 100 mm, 6 mm thick"],
        ["Bit stands out", "9.00 mm below the router's base"],
        [
            "Left for the gouge",
            "120 mm² that the bit can't reach; 4 mm² that keys of the template keep the bit from, beside narrow light",
        ],
        ["Paper", "A4, 6 sheets, in 2 rows of 3"],
    ):
        assert fact in told
    found = tables(sheet.again(stencil=STENCIL))
    assert found["Islands left out, since they can't be held"][1] == ["1", "12.50 mm / 34.00 mm", "8 mm²"]
    marks = sheet.figures.plaques[0].register.marks
    assert [row[0] for row in found["Where the dowel holes are"][1:]] == [mark.mark for mark in marks]


def asking(job: Job, *files: str) -> Job:
    """Return the job with other files asked for."""
    return replace(job, output=replace(job.output, files=files))


def asked_for(sheet, *files, **changed) -> bytes:
    """Return the sheet of a job that asks for other files, each plaque with the parts that these make."""
    one_sheet = replace(PATTERN, sheets=1, rows=1, columns=1)
    parts = {"stencil": STENCIL, "template": TEMPLATE, "pattern": one_sheet}
    changed = {key: value for key, value in changed.items() if key not in parts or key in files}
    made = {name: (part if name in files else None) for name, part in parts.items()}
    plaques = [replace(plaque, **{**made, **changed}) for plaque in sheet.figures.plaques]
    return sheet.of(*plaques, job=asking(sheet.job, *files), settings="")


def steps(page: bytes) -> dict[str, str]:
    """Return the order of work: what each step says by its name."""
    told = [text_of(step) for step in elements(elements(parsed(page), "ol")[0], "li")]
    return {step.partition(".")[0]: step.partition(".")[2].strip() for step in told}


def test_a_stencil_alone_tells_nothing_of_roughing_carving_or_paint(sheet):
    page = asked_for(sheet, "stencil", times=(Task("cut the stencil", 12.0, "3.6 m of cut"),))
    assert faults(page) == []
    assert {"Pockets", "V lines", "Sanding", "Amounts"}.isdisjoint(headings(page))
    assert list(steps(page)) == ["Cut the stencil", "Mark"]
    found = tables(page)
    assert [row[0] for row in found["Tools and depths, from the face before sanding"]] == [
        "Tool",
        "Laser, knife or saw",
        *(f"Drill, {size:g} mm" for size in {plaque.register.dowel_mm for plaque in sheet.figures.plaques}),
    ]
    assert found["Plaques of this job"][0] == ["Plaque", "Size", "Stencil openings", "Time, about"]
    assert found["Estimated times"][-1] == ["All", "15 min", "breaks not counted"]
    assert found["Sheets for stencils and templates"][1] == ["1 sheet of hardboard", "132 x 112 mm", "stencil, large"]
    assert "Boards" not in found
    assert not any(fact[0] == "Paint" for fact in facts(page))


FIRST = ["Try", "Drill"]
ROUTED = ["Cut the template", "Rout"]
HAND = ["Pare", "Carve", "Cut out", "Plug", "Paint", "Sand", "Stop", "Re-cut"]
ORDERS = {
    "carve": [*FIRST, "Rough", "Glue the drawing", *HAND],
    "pattern": [*FIRST, "Glue the pattern", "Rough", *HAND],
    "preview": ["Make the drawings"],
    "stencil": ["Cut the stencil", "Mark"],
    "template": [*FIRST, *ROUTED, "Glue a pattern", *HAND],
    "carve pattern": [*FIRST, "Rough", "Glue the pattern", *HAND],
    "carve preview": [*FIRST, "Rough", "Glue the drawing", *HAND],
    "carve stencil": ["Try", "Cut the stencil", "Drill", "Rough", "Mark", "Glue the drawing", *HAND],
    "carve template": [*FIRST, *ROUTED, "Rough", "Glue the drawing", *HAND],
    "pattern preview": [*FIRST, "Glue the pattern", "Rough", *HAND],
    "pattern stencil": ["Try", "Cut the stencil", "Drill", "Mark", "Glue the pattern", "Rough", *HAND],
    "pattern template": [*FIRST, *ROUTED, "Glue the pattern", *HAND],
    "preview stencil": ["Cut the stencil", "Mark", "Make the drawings"],
    "preview template": [*FIRST, *ROUTED, "Glue a pattern", *HAND],
    "stencil template": ["Try", "Cut the stencil", "Drill", *ROUTED, "Mark", "Glue a pattern", *HAND],
}


@pytest.mark.parametrize("files", ORDERS)
def test_the_work_is_that_of_the_files_in_its_order(sheet, files):
    """Each file alone and each pair: nobody is sent to a drawing that wasn't made."""
    made = files.split()
    page = asked_for(sheet, *made)
    assert faults(page) == []
    assert list(steps(page)) == ORDERS[files]
    told, captions = text(page), tables(page)
    assert ("the drawing has the wall" in told) is ("carve" in made)
    assert ("as numbered in the drawing" in told) is ("carve" in made)
    assert ("as numbered in the pattern" in told) is ("pattern" in made and "carve" not in made)
    assert ("By cutter and depth" in captions) is ("carve" in made or files in ("preview", "preview stencil"))
    assert ("Straight cutter" in told) is ("By cutter and depth" in captions)
    assert ("Router bit" in told) is ("template" in made)
    assert ("kerf" in told) is ("stencil" in made)
    assert ("Boards" in captions) is (made != ["stencil"])
    assert ("what is hatched" in told) is (files in ("pattern", "pattern preview", "pattern stencil"))


def test_a_template_alone_says_how_deep_and_that_a_pattern_is_wanting(sheet):
    page = asked_for(sheet, "template")
    told = steps(page)
    assert "in turn" in told["Rout"]
    assert "with the same settings and pattern among the files under [output]" in told["Glue a pattern"]
    assert "clear it by hand to the same depth" in told["Pare"]
    router = tables(page)["Tools and depths, from the face before sanding"][3]
    assert router[:3] == ["Router bit, 8 mm", "3.00 mm", "3.00 mm a pass at most"]
    assert ["Depth", "3.00 mm, the same in all openings"] in facts(page)
    deeper = asked_for(sheet, "template", template=replace(TEMPLATE, depth_mm=5.0))
    count = len(sheet.figures.plaques[0].pockets)
    less = f"{count} pocket{'s' * (count > 1)} of the plan would need less"
    assert ["Depth", f"5.00 mm, the same in all openings; {less}"] in facts(deeper)


def test_a_pattern_alone_leaves_the_roughing_to_the_hand(sheet):
    page = asked_for(sheet, "pattern")
    assert "hatched" in steps(page)["Rough"]
    assert tables(page)["One by one, as numbered in the pattern"][0] == ["Pocket", "Depth", "Area"]
    tools = {row[0]: row for row in tables(page)["Tools and depths, from the face before sanding"]}
    assert tools["Gouge"][-1] == "clears the pockets, to the line"


def test_a_pattern_of_one_sheet_is_not_joined(sheet):
    patterns = [replace(PATTERN, sheets=n, rows=1, columns=n) for n in (1, 2)]
    pages = [asked_for(sheet, "pattern", pattern=pattern) for pattern in patterns]
    assert ["join" in text(page) for page in pages] == [False, True]


def test_ridges_are_numbered_as_drawn_only_where_they_are_drawn(sheet):
    ridge = RidgeFigures((1.0, 2.0), 0.5, 3.0, 2.0, across_grain=1.0, free_end=True, rank_by=12.0)
    fragile = FragileFigures("along-width", 1, 3.0, (ridge,))
    drawn, planned = (asked_for(sheet, *files, fragile_light=fragile) for files in (("carve",), ("pattern",)))
    assert "layer fragile-light" in text(drawn)
    assert "Fragile light" in headings(planned)
    assert "layer fragile-light" not in text(planned)


@pytest.mark.parametrize(
    ("loss_mm", "says"),
    [(0.5, "cut until it is 0.58 mm wider than on the pattern"), (0.0, "cut until it is as wide as on the pattern.")],
)
def test_a_stroke_is_cut_wider_by_what_sanding_takes(sheet, loss_mm, says):
    """A groove of 60 degrees loses 2 tan(30) = 1.155 mm of width for each mm sanded (plane geometry)."""
    job = replace(sheet.job, finish=Finish(sanding_loss=loss_mm))
    assert says in text(sheet.again(job=asking(job, "carve", "pattern")))


def test_a_single_shadow_is_one(sheet):
    assert "1 separate shadow" in text(sheet.again(shadows=1))
    assert "1 separate shadows" not in text(sheet.again(shadows=1))


def test_a_mirrored_pattern_is_transferred_and_not_glued(sheet):
    job = replace(sheet.job, pattern=PatternOptions(mirrored=True))
    page = asked_for(replace(sheet, job=job), "carve", "pattern")
    assert "face down" in steps(page)["Transfer the pattern"]
    assert steps(page)["Paint"].startswith("Paint the whole face")
    assert "glue" not in dict(facts(page))["Also"]


def test_without_an_allowance_there_is_nothing_to_pare(sheet):
    job = replace(sheet.job, cutters=(Cutter(6.0, finishing_allowance=0.0, depth_per_pass=3.0),))
    page = asked_for(replace(sheet, job=job), "carve")
    assert "Pare" not in steps(page)
    assert "Pare" in steps(asked_for(sheet, "carve"))


def test_one_cutter_is_not_told_to_come_first(sheet):
    assert "larger cutter first" in steps(asked_for(sheet, "carve"))["Rough"]
    single = tuple(replace(pocket, cutter_mm=6.0) for pocket in sheet.figures.plaques[0].pockets)
    assert "first" not in steps(asked_for(sheet, "carve", pockets=single))["Rough"]


def test_a_cutter_without_a_pocket_is_not_needed(sheet):
    single = tuple(replace(pocket, cutter_mm=6.0) for pocket in sheet.figures.plaques[0].pockets)
    tools = tables(asked_for(sheet, "carve", pockets=single))["Tools and depths, from the face before sanding"]
    assert ["Straight cutter, 3 mm", "not needed: it has no pocket", "", ""] in tools
    assert next(row for row in tools if row[0] == "Straight cutter, 6 mm")[1] == "3.00 mm"


def test_dowel_holes_are_drilled_before_all_else_and_plugged_before_painting(sheet):
    told = steps(sheet.again(job=asking(sheet.job, "carve")))
    assert list(told).index("Drill") < list(told).index("Rough") < list(told).index("Plug") < list(told).index("Paint")
    assert "dowel = 0 under [register] (or --dowel 0)" in told["Drill"]
    templated = steps(asked_for(sheet, "template", "stencil"))["Drill"]
    assert "a template by its centre lines" in templated
    assert "the stencil by its edges" in templated
    assert "board's own wood" in told["Plug"]
    assert "dowels of 4 mm" in dict(facts(sheet.page))["Also"]
    assert "plugs of the boards' own wood" in dict(facts(sheet.page))["Also"]
    assert "the plugs in the dowel holes" in text(sheet.page)


def test_what_is_lined_up_without_dowel_holes_is_told_as_a_list(sheet):
    told = steps(asked_for(sheet, "stencil", "template"))["Drill"]
    assert (
        "a template by its centre lines, the paper by the pockets' walls or the board's edge, and the stencil" in told
    )


def test_without_dowel_holes_none_are_told_of(sheet):
    template = replace(TEMPLATE, placing=(SheetPlacing(1, ()),))
    for files in ("carve", "pattern", "template", "stencil"):
        page = asked_for(sheet, files, register=None, template=template)
        assert "dowel" not in text(page).replace("dowel_mm", "")
        assert {"Drill", "Plug"}.isdisjoint(steps(page))
    assert "by the board's edge" in steps(asked_for(sheet, "pattern", register=None))["Glue the pattern"]
    assert "by the pockets' walls" in steps(asked_for(sheet, "carve", register=None))["Glue the drawing"]


def test_both_files_of_a_drawing_stand_together(sheet):
    drawings = ("carve", "template", "template-2")
    files = ("preview.png", *(f"{name}.{kind}" for name in drawings for kind in ("svg", "dxf")))
    told = facts(sheet.again(files=files))
    assert ["carve.svg, carve.dxf", "drawing for the machine and the bench"] in told
    assert ["preview.png", "the finished look"] in told
    assert ["template-2.svg, template-2.dxf", "router template, sheet 2"] in told


def test_flow_lines_and_shapes_have_their_step(sheet):
    told = steps(asked_for(sheet, "carve", flow_lines=FLOW_LINES, shape="oval"))
    assert "0.50 mm deep at most" in told["Flow lines"]
    assert list(told).index("Cut out") < list(told).index("Paint")
    assert "Cut out" not in steps(asked_for(sheet, "carve", shape="rectangle"))


def test_a_batch_of_several_woods_adds_up(sheet):
    """Two boards of 120 x 100 x 18 mm: 0.216 dm3 each, of 414.4 and 705.6 kg/m3 (Wood Handbook, table 5-3a)."""
    first, plaques = sheet.figures.plaques[0], []
    for name, wood, density in (("a", "basswood", 414.4), ("b", "sugar maple", 705.6), ("c", "basswood", 414.4)):
        amounts = replace(
            first.amounts,
            wood=wood,
            coats=3.0 if name == "a" else 2.0,
            blank_mm3=120 * 100 * 18.0,
            blank_kg=120 * 100 * 18e-9 * density,
            paint_litres=0.021,
        )
        plaques.append(replace(first, name=name, size_mm=(120.0, 100.0), amounts=amounts))
    page = sheet.of(*plaques, job=asking(sheet.job, "carve"), settings="")
    assert tables(page)["Boards"][1:-1] == [
        ["2 x basswood", "120 x 100 mm, 18 mm thick", "0.43 dm³", "0.18 kg"],
        ["1 x sugar maple", "120 x 100 mm, 18 mm thick", "0.22 dm³", "0.15 kg"],
    ]
    assert tables(page)["Boards"][-1] == ["All", "", "0.65 dm³", "0.33 kg"]
    assert tables(page)["Boards by wood"][1:] == [
        ["basswood", "2", "0.43 dm³", "0.18 kg"],
        ["sugar maple", "1", "0.22 dm³", "0.15 kg"],
    ]
    assert "Boards by wood" not in tables(sheet.page)
    assert ["Paint", "65 ml, 2 or 3 coats, a litre for 10 m²"] in facts(page)
    told = steps(page)
    assert "2 or 3 coats, as its sheet says" in told["Paint"]
    assert "scrap of each wood" in told["Try"]
    assert "scrap of each wood to try on" in dict(facts(page))["Also"]
    assert [fact[1] for fact in facts(page) if fact[0] == "Paint"][1:] == [
        "25 ml, 3 coats",
        "25 ml, 2 coats",
        "25 ml, 2 coats",
    ]


def sheet_with_stencils(sheet, *, stock) -> bytes:
    plaques = [replace(plaque, stencil=STENCIL) for plaque in sheet.figures.plaques]
    return sheet.of(*plaques, job=asking(sheet.job, "stencil"), settings="", stock=stock)


def test_stock_is_told_over_all_plaques(sheet):
    lying = LyingSheet("large", "stencil", 1, (5.0, 5.0), False, (212.0, 152.0))
    turned = replace(lying, plaque="small", piece=2, place_mm=(5.0, 110.5), turned=True)
    laid = StockFigures("stencil", (400.0, 200.0), 5.0, 2, 0.403, (), (turned, lying))
    page = sheet.of(*sheet.figures.plaques, settings="", stock=(laid,))
    assert faults(page) == []
    assert headings(page).count("Stock") == 1
    assert "Stock" not in headings(sheet.page)
    fetched = tables(sheet_with_stencils(sheet, stock=(laid,)))["Sheets for stencils and templates"][1:]
    assert fetched == [["2 pieces of hardboard", "400 x 200 mm", "stencils, as laid out under Stock"]]
    assert len(tables(sheet_with_stencils(sheet, stock=()))["Sheets for stencils and templates"][1:]) == 2
    assert tables(page)["Stock for stencils: 2 of 400 x 200 mm, 40 % of it used"][1:] == [
        ["stencil-stock-1", "large, stencil", "212 x 152 mm", "5.00 mm / 5.00 mm", "no"],
        ["stencil-stock-2", "small, stencil", "212 x 152 mm", "5.00 mm / 110.50 mm", "yes"],
    ]


@pytest.mark.parametrize(
    ("dowels", "lines", "fact"),
    [
        (("A", "B"), False, "dowels A, B"),
        (("A",), True, "sheet 1: dowel A and its centre lines; sheet 2: dowels A, C"),
        ((), True, "sheet 1: its centre lines; sheet 2: dowels A, C"),
    ],
)
def test_the_sheet_says_how_a_template_is_placed(sheet, dowels, lines, fact):
    second = ("A", "C") if lines else dowels
    placing = (SheetPlacing(1, dowels), SheetPlacing(2, second))
    page = asked_for(sheet, "template", template=replace(TEMPLATE, placing=placing))
    assert faults(page) == []
    rout = steps(page)["Rout"]
    assert "by dowels through the holes that it shares with the board" in rout
    assert ("centre lines" in rout) is lines
    assert ["Placed by", fact] in facts(page)


def test_a_plaque_without_cuts_has_neither_pockets_nor_lines(sheet):
    uncut = replace(sheet.figures.plaques[0], pockets=(), v_lines=UNCUT)
    page = sheet.of(uncut, job=asking(sheet.job, "carve"), settings="")
    assert faults(page) == []
    assert {"Pockets", "V lines", "Sanding"}.isdisjoint(headings(page))
    assert list(steps(page)) == ["Try", "Drill", "Glue the drawing", "Plug", "Paint", "Sand", "Stop"]


def test_a_large_picture_is_made_smaller_and_a_small_one_is_left():
    def png(width, height):
        return cv2.imencode(".png", np.full((height, width, 3), 128, np.uint8))[1].tobytes()

    small, large = embedded(png(30, 20)), embedded(png(4000, 1000))
    assert (small.width_px, small.height_px) == (30, 20)
    assert (large.width_px, large.height_px) == (LONG_SIDE_PX, LONG_SIDE_PX // 4)


@pytest.mark.parametrize("spoiled", [b"", b"not a picture"])
def test_bytes_that_are_no_picture_are_refused(spoiled):
    with pytest.raises(ValueError, match="no picture"):
        embedded(spoiled)


def test_the_closing_table_speaks_the_shops_unit(sheet):
    """An inch is exactly 25.4 mm (NIST SP 811)."""
    plaque = replace(sheet.figures.plaques[0], name="p", size_mm=(254.0, 127.0))
    told = closing.summary(replace(sheet.figures, unit="in", plaques=(plaque,)))
    assert "10 x 5 in" in told
    assert f"finest line {sheet.figures.detail_mm / 25.4:.3f} in" in told
    assert f"  {plaque.outlines.largest_deviation_mm / 25.4:.4f} in" in told
    for pocket in plaque.pockets:
        assert f"  {pocket.depth_mm / 25.4:.3f} in  " in told
    assert "254" not in told
    limit_in = math.floor(plaque.v_lines.sanding.too_much_mm / 25.4 * 1000) / 1000
    assert f"{limit_in:.3f} in" in told
