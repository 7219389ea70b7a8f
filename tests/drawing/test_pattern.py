"""The paper pattern: sheets, tiles, runs of V lines, and the printed pages measured as pictures."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest
import shapely
from paper_pictures import (
    DPI,
    PX_A_MM,
    bar_length_mm,
    colour_places,
    cut_out,
    differing_share,
    joined,
    one_sheet,
    page_text,
    rendered,
)
from paper_plaque import BENCH, layout_of, plaque_pattern, pocket

from shadowrout.carving.carve_paths import CarvePaths, PocketPaths
from shadowrout.carving.flow_lines import FlowLine
from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.paper.cover import Bench, pattern_pages
from shadowrout.drawing.paper.pages import joins_of, window_frame
from shadowrout.drawing.paper.paper_sizes import PAPERS_MM, paper_mm, paper_name
from shadowrout.drawing.paper.pattern import pattern_drawing
from shadowrout.drawing.paper.stroke_runs import depth_step_mm, runs_of
from shadowrout.drawing.paper.tiles import BAR_STRIP_MM, LABEL_STRIP_MM, LEAST_PRINTED_MM, Tiling, tiled
from shadowrout.drawing.shapes import LETTER_SHARE, Drawing, Role, Text
from shadowrout.errors import SettingError
from shadowrout.files.pdf import PENS_MM, pdf_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.sheets.register import RegisterMark, distances
from shadowrout.words.lengths import nearest_64th, shown
from shadowrout.words.units import Unit

A4 = PAPERS_MM["A4"]
REGISTER = COLOURS[Role.REGISTER]


def tiling_of(box, *, paper="A4", overlap=10.0, printer_margin=8.0):
    return tiled(box, paper=paper_mm(paper), overlap=overlap, printer_margin=printer_margin)


class TestPaper:
    @pytest.mark.parametrize(
        ("name", "points"),
        [("letter", (612, 792)), ("legal", (612, 1008)), ("tabloid", (792, 1224))],
    )
    def test_american_sheets(self, name, points):
        """ANSI/ASME Y14.1: letter is size A, tabloid size B; in points of 1/72 in (PDF Reference)."""
        assert [side / 25.4 * 72 for side in paper_mm(name)] == pytest.approx(points, abs=1e-9)

    def test_iso_sheets(self):
        """ISO 216: A0 has 1 m2 and sides as 1 to the root of 2; each next is half, rounded down to a mm."""
        sides = {n: math.floor(1000 * 2 ** (0.25 - n / 2) + 0.2) for n in range(3, 6)}
        assert paper_mm("A3") == (sides[4], sides[3])
        assert paper_mm("A4") == (sides[5], sides[4])

    def test_names(self):
        assert paper_name(297, 210) == "A4"
        assert paper_name(100, 150) == "100 x 150 mm"
        with pytest.raises(SettingError, match="A4, A3, letter"):
            paper_mm("A5")


class TestTiles:
    BOXES = [(0, 0, 100, 100), (-3, -3, 203, 253), (0, 0, 606, 606), (5, 5, 1205, 45), (0, 0, 1206, 1206)]

    @pytest.mark.parametrize("box", BOXES)
    @pytest.mark.parametrize("paper", PAPERS_MM)
    @pytest.mark.parametrize("overlap", [0.0, 10.0, 25.0])
    def test_windows_cover_the_box_and_fit_the_sheet(self, box, paper, overlap):
        tiling = tiling_of(box, paper=paper, overlap=overlap)
        windows = np.array([tile.window_mm for tile in tiling.tiles])
        assert (windows[:, :2].min(axis=0), windows[:, 2:].max(axis=0)) == (
            pytest.approx(box[:2]),
            pytest.approx(box[2:]),
        )
        wide, high = tiling.window_mm
        assert wide <= tiling.sheet_mm[0] - 16 - BAR_STRIP_MM + 1e-9
        assert high <= tiling.sheet_mm[1] - 16 - LABEL_STRIP_MM + 1e-9
        for a, b in itertools.pairwise(tiling.tiles):
            if a.row == b.row:
                assert a.window_mm[2] - b.window_mm[0] == pytest.approx(overlap)
                assert a.window_mm[1::2] == b.window_mm[1::2]
        for a, b in zip(tiling.tiles, tiling.tiles[tiling.columns :], strict=False):
            assert b.window_mm[3] - a.window_mm[1] == pytest.approx(overlap)

    @pytest.mark.parametrize("box", BOXES)
    @pytest.mark.parametrize("paper", PAPERS_MM)
    def test_no_way_takes_fewer_sheets(self, box, paper):
        """Counted by laying window after window, upright and on the side."""
        width, height = paper_mm(paper)

        def laid(length, window):
            count, reach = 1, window
            while reach < length - 1e-9:
                count, reach = count + 1, reach + window - 10.0
            return count

        ways = [
            laid(box[2] - box[0], w - 16 - BAR_STRIP_MM) * laid(box[3] - box[1], h - 16 - LABEL_STRIP_MM)
            for w, h in ((width, height), (height, width))
        ]
        assert tiling_of(box, paper=paper).sheets == min(ways)

    def test_labels_count_from_the_upper_left(self):
        tiling = tiling_of((0, 0, 300, 400))
        assert [tile.label for tile in tiling.tiles] == ["1-1", "1-2", "2-1", "2-2"]
        assert tiling.tiles[0].window_mm[0] == 0
        assert tiling.tiles[0].window_mm[3] == 400

    @pytest.mark.parametrize(
        ("overlap", "margin", "key", "works"),
        [
            (10.0, 200.0, "pattern.printer_margin", "20mm"),
            (10.0, 21.0, "pattern.printer_margin", "20mm"),
            (10.0, -1.0, "pattern.printer_margin", "20mm"),
            (150.0, 8.0, "pattern.overlap", "92mm"),
            (-1.0, 8.0, "pattern.overlap", "92mm"),
        ],
    )
    def test_paper_smaller_than_its_margins_is_refused(self, overlap, margin, key, works):
        with pytest.raises(SettingError) as error:
            tiling_of((0, 0, 300, 300), overlap=overlap, printer_margin=margin)
        assert error.value.key == key
        assert works in error.value.problem

    def test_what_the_messages_offer_works(self):
        assert tiling_of((0, 0, 300, 300), printer_margin=20.0).sheets > 1
        assert tiling_of((0, 0, 300, 300), overlap=92.0).sheets > 1


class TestRuns:
    def runs(self, step=0.5, deepest=2.0, depths=(1.0, 1.0, 1.4, 1.4, 1.0, 1.0, 1.4)):
        points = np.array([(0, 0), (10, 0), (20, 0), (30, 0), (32, 0), (34, 0), (40, 0)], dtype=float)
        path = ArcPath(points, np.zeros(6), closed=False)
        return runs_of(path, depths, [2 * d for d in depths], step_mm=step, deepest_mm=deepest)

    def test_a_line_is_cut_where_its_depth_passes_a_class(self):
        first, second = self.runs()
        assert (first.class_mm, first.depth_mm, first.width_mm) == (1.0, 1.0, 2.0)
        assert first.path.vertices[[0, -1]].tolist() == [[0, 0], [10, 0]]
        assert (second.class_mm, second.depth_mm) == (1.5, 1.4)
        assert second.path.vertices[[0, -1]].tolist() == [[10, 0], [40, 0]]

    def test_a_long_shallow_run_is_one_of_its_own(self):
        assert [run.class_mm for run in self.runs(depths=(1.4, 1.0, 1.0, 1.4, 1.4, 1.4, 1.4))] == [1.5, 1.0, 1.5]

    def test_runs_make_up_the_line_and_none_is_drawn_too_shallow(self):
        runs = self.runs(step=0.1)
        assert sum(run.path.lengths.sum() for run in runs) == pytest.approx(40)
        for run in runs:
            assert run.depth_mm <= run.class_mm + 1e-9

    def test_no_class_is_deeper_than_the_deepest_line(self):
        assert max(run.class_mm for run in self.runs(deepest=1.4)) == 1.4

    @pytest.mark.parametrize("deepest", [0.3, 1.4, 2.4, 2.5, 2.6, 2.74, 2.76])
    def test_classes_are_half_a_step_apart_and_none_is_drawn_too_shallow(self, deepest):
        """At half a step, 0.25 mm or 1/64 in, no two of them read the same in hundredths or thousandths."""
        depths = np.linspace(0.1, deepest, 60)
        path = ArcPath(np.column_stack([7.0 * np.arange(60), np.zeros(60)]), np.zeros(59), closed=False)
        runs = runs_of(path, depths, 2 * depths, step_mm=0.5, deepest_mm=deepest)
        classes = [run.class_mm for run in runs]
        assert classes[-1] == deepest
        assert np.all(np.diff(classes) >= 0.25 - 1e-6)
        assert all(run.depth_mm <= run.class_mm + 1e-9 for run in runs)

    def test_classes_step_by_half_a_millimetre_or_a_thirty_second(self):
        assert depth_step_mm(inches=False) == 0.5
        assert depth_step_mm(inches=True) == pytest.approx(0.79375)

    def test_a_closed_line_of_one_class_stays_closed(self):
        circle = ArcPath.circle((0, 0), 5.0)
        (run,) = runs_of(circle, [1.2, 1.2], [1.0, 1.0], step_mm=0.5, deepest_mm=2.0)
        assert run.path is circle
        first, second = runs_of(ArcPath.polygon(np.array([[0, 0], [20, 0], [20, 20], [0, 20]])), [1, 1, 1, 2], [1] * 4,
                                step_mm=0.5, deepest_mm=2.0)  # fmt: skip
        assert (first.class_mm, second.class_mm) == (1.0, 2.0)
        assert second.path.vertices[-1].tolist() == [0, 0]


class TestLengths:
    def test_inches_have_decimals_and_the_nearest_64th(self):
        """1 in = 25.4 mm (NIST SP 811); 3 mm is 7.56 sixty-fourths."""
        assert shown(3.0, Unit.INCH) == "0.118 in (1/8)"
        assert shown(3.0, Unit.MM) == "3.0 mm"
        assert shown(241.3, Unit.INCH) == "9.500 in (9 1/2)"
        assert nearest_64th(25.4 * 0.999) == "1"

    @pytest.mark.parametrize("sixty_fourths", range(1, 200, 7))
    def test_no_fraction_is_further_than_half_a_64th(self, sixty_fourths):
        length = (sixty_fourths + 0.4) * 25.4 / 64
        whole, _, rest = nearest_64th(length).rpartition(" ")
        numerator, _, denominator = rest.partition("/")
        value = float(whole or 0) + float(numerator) / float(denominator or 1)
        assert abs(value * 25.4 - length) <= 25.4 / 128


class TestDrawing:
    def test_it_shows_what_the_carver_needs(self):
        drawing, _, marks = plaque_pattern()
        names = [layer.name(Unit.MM) for layer in drawing.layers]
        assert names == [
            *("shadow", "pocket-3_00mm", "pocket-4_00mm", "v-line-1_00mm", "v-line-1_90mm"),
            *("plaque-edge", "register", "note"),
        ]
        texts = [shape.text for layer in drawing.layers for shape in layer.shapes if isinstance(shape, Text)]
        assert texts == [*(mark.name for mark in marks), "1", "3 mm deep", "2", "4 mm deep"]

    @pytest.mark.parametrize("shape", ["rectangle", "rounded", "oval", "arch"])
    def test_a_bare_board_has_its_edge_and_nothing_else(self, shape):
        """Nothing to carve, register marks off: still a pattern that prints."""
        layout = layout_of(150.0, 200.0, shape=shape)
        nothing = CarvePaths(shadow=(), pockets=(), v_lines=())
        drawing = pattern_drawing(nothing, layout, (), unit=Unit.MM, title="bare", description="", thickness_mm=18.0)
        assert [layer.role for layer in drawing.layers if layer.shapes] == [Role.PLAQUE_EDGE]
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling_of(drawing.box_mm), BENCH))
        rows, columns = np.nonzero(cut_out(rendered(content, 1), (17, 30, 202, 289))[0].max(axis=2) < 128)
        assert (columns.max() - columns.min()) / PX_A_MM == pytest.approx(150 + PENS_MM[Role.PLAQUE_EDGE], abs=0.2)
        assert (rows.max() - rows.min()) / PX_A_MM == pytest.approx(200 + PENS_MM[Role.PLAQUE_EDGE], abs=0.2)

    def test_flow_lines_are_dotted_and_told_of(self):
        """On paper the dots of a flow line are shorter than the shortest dash of a V line, half a millimetre."""
        layout = layout_of(150.0, 100.0)
        line = FlowLine(np.array([[20.0, 50.0], [130.0, 50.0]]), 3.0, 0.5, 0.6)
        path = ArcPath(line.points, np.zeros(1), closed=False)
        paths = CarvePaths(shadow=(), pockets=(), v_lines=(), flow_lines=(path,))
        drawing = pattern_drawing(
            paths, layout, (), unit=Unit.MM, title="fur", description="", thickness_mm=18.0, flow_lines=(line,)
        )
        assert [layer.name(Unit.MM) for layer in drawing.layers if layer.shapes] == ["flow-line-3_50mm", "plaque-edge"]
        tiling = tiling_of(drawing.box_mm)
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH))
        assert "flow line, 0.5 mm into the floor" in page_text(content, 0)
        x0, y0, _, y1 = window_frame(tiling.tiles[0], tiling)
        picture = rendered(content, 1, dpi=1200)
        height = tiling.sheet_mm[1]
        row = round((height - (y0 + y1) / 2) / 25.4 * 1200)
        drawn = picture[row, round((x0 + 25) / 25.4 * 1200) : round((x0 + 125) / 25.4 * 1200)].min(axis=1) < 200
        changes = np.flatnonzero(np.diff(drawn.astype(int)))
        runs = np.diff(changes) / 1200 * 25.4
        assert len(runs) > 100
        assert min(runs[::2].max(), runs[1::2].max()) < 0.5

    @pytest.mark.parametrize(("size", "sheets"), [((150.0, 200.0), 1), ((250.0, 180.0), 2)])
    def test_one_sheet_alone_is_neither_joined_nor_counted_in_rows(self, size, sheets):
        drawing, _, marks = plaque_pattern(*size)
        tiling = tiling_of(drawing.box_mm)
        assert tiling.sheets == sheets
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH, distances=distances(marks)))
        first, second = (" ".join(page_text(content, number).split()) for number in (0, 1))
        assert ("Measure the joined pattern" in first) == (sheets > 1)
        assert ("those of each sheet" in first) == (sheets > 1)
        assert ("sheet 1 of 1" in second, "row 1 of" in second) == (sheets == 1, sheets > 1)

    def test_letters_have_heights_of_iso_3098(self):
        """ISO 3098-1: nominal heights 1,8 2,5 3,5 5 7 10 14 20 mm."""
        drawing, _, _ = plaque_pattern()
        tiling = tiling_of(drawing.box_mm)
        sheets = [page.sheet for page in pattern_pages(drawing, tiling, BENCH)]
        heights = {s.height_mm for d in (drawing, *sheets) for la in d.layers for s in la.shapes if isinstance(s, Text)}
        assert heights <= {1.8, 2.5, 3.5, 5.0, 7.0}


def over_seams() -> tuple[Drawing, Drawing, Tiling]:
    """Return a board of four sheets, drawn without and with regard to their seams, and its tiling.

    Three pockets and two register marks lie so that what is written to each would stand on a seam.
    """
    layout = layout_of(400.0, 300.0)
    marks = [RegisterMark("A", (200.0 - 6.5, 6.0), 6.0), RegisterMark("B", (394.0, 150.0 - 6.5), 6.0)]
    boxes = [(170, 40, 225, 60), (100, 140, 125, 160), (195, 200, 201, 206)]
    pockets = [pocket(number, box, 3.0) for number, box in enumerate(boxes, start=1)]
    walls = [PocketPaths(p, tuple(map(ArcPath.polygon, p.wall.rings())), ()) for p in pockets]
    paths = CarvePaths(shadow=(), pockets=tuple(walls), v_lines=())
    tiling = tiling_of((-3, -3, 403, 303))
    plain, kept = (
        pattern_drawing(
            paths, layout, marks, unit=Unit.MM, title="seams", description="", thickness_mm=18.0, joins=joins
        )
        for joins in ((), list(joins_of(tiling, mirrored=False)))
    )
    return plain, kept, tiling


def box_of(text: Text) -> shapely.Polygon:
    (x, y), high, wide = text.at, text.height_mm, LETTER_SHARE * text.height_mm * len(text.text)
    left, low = (x - wide / 2, y - high / 2) if text.centred else (x, y)
    return shapely.box(left, low, left + wide, low + high)


def texts_of(drawing: Drawing) -> list[Text]:
    return [shape for layer in drawing.layers for shape in layer.shapes if isinstance(shape, Text)]


class TestSeams:
    def struck(self, drawing: Drawing, tiling: Tiling) -> int:
        """Return how many texts a seam runs through, whose places the tiling gives."""
        upright, level = tiling.seams_mm
        seams = [*([(x, -9), (x, 999)] for x in upright), *([(-9, y), (999, y)] for y in level)]
        return sum(box_of(text).intersects(shapely.MultiLineString(seams)) for text in texts_of(drawing))

    def test_no_seam_strikes_through_a_word(self):
        plain, kept, tiling = over_seams()
        assert (tiling.rows, tiling.columns) == (2, 2)
        assert self.struck(plain, tiling) >= 3
        assert self.struck(kept, tiling) == 0
        assert len(texts_of(kept)) == len(texts_of(plain))

    @pytest.mark.parametrize("mirrored", [False, True])
    def test_the_neighbours_names_are_kept_free(self, mirrored):
        """Where they stand on the printed page, taken back to the pattern by the window's own matrix."""
        plain, _, tiling = over_seams()
        joins = [shapely.LineString(path.vertices) for path in joins_of(tiling, mirrored=mirrored)]
        first, *_ = pattern_pages(plain, tiling, BENCH, mirrored=mirrored)[1:]
        a, _, _, _, e, f = first.windows[0].matrix
        names = [text for text in texts_of(first.sheet) if text.text in ("1-2", "2-1")]
        assert len(names) == 2
        for name in names:
            middle = shapely.Point((name.at[0] - e) / a, name.at[1] - f)
            assert min(line.distance(middle) for line in joins) < 1e-6


@pytest.fixture(scope="module")
def printed():
    drawing, _, marks = plaque_pattern(250.0, 180.0)
    tiling = tiling_of(drawing.box_mm)
    content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH, distances=distances(marks)))
    return drawing, tiling, marks, content


@pytest.fixture(scope="module")
def laid(printed):
    """Return the sheets joined, and the same pattern as one sheet shows it."""
    drawing, tiling, _, content = printed
    whole, one = one_sheet(drawing, tiling)
    picture, _, _ = cut_out(rendered(whole, 1), window_frame(one.tiles[0], one))
    return joined(content, tiling), picture


class TestPrinted:
    """Measured at 300 dot per inch: what a rule measures on paper."""

    @pytest.mark.parametrize("unit", list(Unit))
    def test_bars_have_their_length_level_and_upright(self, unit):
        """100 mm, or 4 in of 25.4 mm (NIST SP 811)."""
        drawing, _, _ = plaque_pattern(250.0, 180.0, unit=unit)
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling_of(drawing.box_mm), BENCH))
        length = 100.0 if unit is Unit.MM else 4 * 25.4
        for page in range(3):
            picture = rendered(content, page)
            level, upright = self.bars(page, length)
            assert bar_length_mm(picture, level, upright=False) == pytest.approx(length, abs=0.1)
            assert bar_length_mm(picture, upright, upright=True) == pytest.approx(length, abs=0.1)

    @staticmethod
    def bars(page, length):
        """Where the bars lie on an A4 sheet with a margin of 8 mm: on the first page in its lower left corner."""
        if page == 0:
            return (12.0, 9.5, 14 + length, 12.8), (10.0, 9.0, 13.2, 11 + length)
        return (201 - length - 1.5, 8.5, 201.5, 11.9), (8.0, 18.5, 11.2, 20 + length)

    def test_a_print_of_97_percent_is_seen(self, printed):
        """What "fit to page" does to a sheet: the bar comes out short."""
        content = printed[3]
        picture = rendered(content, 1, dpi=0.97 * DPI)
        rim = 297 * 0.97 - 297
        box = (99 * 0.97, 8.5 * 0.97, 202 * 0.97, 11.9 * 0.97 + rim * 0)
        assert bar_length_mm(picture, box, upright=False) == pytest.approx(97.0, abs=0.1)

    def test_register_marks_have_their_distances_on_the_joined_sheets(self, printed, laid):
        _, _, marks, _ = printed
        together, _ = laid
        places = [(x / PX_A_MM, -y / PX_A_MM) for x, y in colour_places(together.picture, REGISTER, 150)]
        found = sorted(math.dist(a, b) for a, b in itertools.combinations(places, 2))
        assert found == pytest.approx(sorted(d.length_mm for d in distances(marks)), abs=0.1)
        assert max(together.seam_errors_px) < 0.2

    def test_joined_sheets_are_the_whole(self, printed, laid):
        assert printed[1].sheets == 2
        together, whole = laid
        assert differing_share(together.picture, whole, REGISTER) < 0.001

    def test_sheets_joined_a_millimetre_off_are_seen(self, laid):
        """The comparison on spoiled input: the right half moved up by a millimetre."""
        _, whole = laid
        half = whole.shape[1] // 2
        spoiled = whole.copy()
        spoiled[:, half:] = np.roll(whole[:, half:], -12, axis=0)
        assert differing_share(spoiled, whole, REGISTER) > 0.001

    def test_nothing_is_printed_where_the_printer_cannot_reach(self, printed):
        _, _, _, content = printed
        for page in range(3):
            rows, columns = np.nonzero(rendered(content, page).min(axis=2) < 250)
            height, width = 297 * PX_A_MM, 210 * PX_A_MM
            assert min(rows.min(), height - rows.max() - 1) / PX_A_MM > 7.9
            assert min(columns.min(), width - columns.max() - 1) / PX_A_MM > 7.9

    def test_a_mirrored_pattern_is_the_pattern_seen_in_a_mirror(self):
        drawing, _, _ = plaque_pattern(150.0, 120.0)
        tiling = tiling_of(drawing.box_mm)
        plain, mirrored = (
            rendered(pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH, mirrored=m)), 1) for m in (False, True)
        )
        frame = window_frame(tiling.tiles[0], tiling)
        a, b = (_coarse(cut_out(picture, frame)[0]) for picture in (plain, mirrored))
        assert np.abs(a[:, ::-1] - b).max() < 60
        assert np.abs(a - b).max() > 120

    def test_the_first_page_says_how(self, printed):
        _, _, marks, content = printed
        text = page_text(content, 0)
        for words in ("cup, kitchen", "100 %", "250.0 mm wide", "2 of A4", "1:1", "left side", "confirm them on scrap"):
            assert words in text
        for distance in distances(marks):
            assert f"{distance.length_mm:.2f} mm" in text

    def test_every_sheet_says_which_it_is(self, printed):
        _, tiling, _, content = printed
        for number, tile in enumerate(tiling.tiles, start=1):
            text = page_text(content, number)
            assert tile.label in text
            assert "cup, kitchen" in text
            assert f"sheet {number} of {tiling.sheets}" in text

    def test_a_sheets_label_touches_nothing_whatever_its_title(self):
        drawing, _, _ = plaque_pattern(600.0, 400.0)
        drawing = dataclasses.replace(drawing, title="a picture with a long name " * 4)
        for page in pattern_pages(drawing, tiling_of(drawing.box_mm), BENCH, mirrored=True)[1:]:
            boxes = [box_of(text) for text in texts_of(page.sheet)]
            notes = [s for layer in page.sheet.layers if layer.role is Role.NOTE for s in layer.shapes]
            bars = [shape.path.bounds for shape in notes if not isinstance(shape, Text)]
            strip = [shapely.box(*bounds) for bounds in bars if bounds[3] < 8.0 + LABEL_STRIP_MM]
            assert len(strip) > 10
            assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))
            assert not any(box.intersects(bar) for box in boxes for bar in strip)

    def test_the_map_leaves_out_words_too_small_to_read(self, printed):
        """Of each depth the first page says it once, in the legend; the notes themselves are on the sheets."""
        content = printed[3]
        assert page_text(content, 0).count("3 mm deep") == 1
        assert page_text(content, 1).count("3 mm deep") == 1

    def test_the_first_page_says_what_the_board_and_the_tool_are(self, printed):
        text = page_text(printed[3], 0)
        assert "18.0 mm" in text
        assert "60°" in text

    @pytest.mark.parametrize(
        ("machine", "template", "legend", "order"),
        [
            (True, False, "roughed by the machine, 3 mm deep", "the machine roughs them before"),
            (False, True, "roughed by the router, 3 mm deep", "the router roughs them before"),
            (True, True, "roughed by the machine or the router, 3 mm deep", "the machine or the router roughs them"),
            (False, False, "pocket, to clear by hand, 3 mm deep", "take each down to the depth noted"),
        ],
    )
    def test_it_says_who_roughs_the_pockets_and_what_comes_when(self, machine, template, legend, order):
        drawing, _, _ = plaque_pattern(250.0, 180.0)
        bench = Bench(v_angle_deg=90.0, machine=machine, template=template, pared=True)
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling_of(drawing.box_mm), bench))
        text = " ".join(page_text(content, 0).split())
        assert legend in text
        places = [text.index(words) for words in (order, "with the gouge", "V lines: with the V tool of 90°")]
        assert places == sorted(places)

    @pytest.mark.parametrize("paper", PAPERS_MM)
    def test_the_first_page_has_room_for_all_it_says(self, paper):
        """Even with the widest margin that is allowed nothing of it lies outside what the printer reaches."""
        drawing, _, marks = plaque_pattern(600.0, 400.0, unit=Unit.INCH)
        margin = (paper_mm(paper)[0] - LEAST_PRINTED_MM) // 2
        tiling = tiling_of(drawing.box_mm, paper=paper, printer_margin=margin)
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH, distances=distances(marks), mirrored=True))
        rows, columns = np.nonzero(rendered(content, 0, dpi=100).min(axis=2) < 250)
        height, width = (side / 25.4 * 100 for side in sorted(tiling.sheet_mm, reverse=True))
        assert min(rows.min(), height - rows.max() - 1) > (margin - 0.6) / 0.254
        assert min(columns.min(), width - columns.max() - 1) > (margin - 0.6) / 0.254


def _coarse(picture: np.ndarray) -> np.ndarray:
    """Return the green channel in squares of about a millimetre, so that a fraction of a pixel doesn't count."""
    rows, columns = (12 * (side // 12) for side in picture.shape[:2])
    left = (picture.shape[1] - columns) // 2
    part = picture[:rows, left : left + columns, 1].astype(float)
    return part.reshape(rows // 12, 12, columns // 12, 12).mean(axis=(1, 3))
