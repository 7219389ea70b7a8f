"""PDF files, read back by PDFium: sizes, curves, fills, texts, bytes."""

from __future__ import annotations

import ctypes
import re
import subprocess
import sys
from pathlib import Path as FilePath

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import pytest
import reportlab
from paper_pictures import PX_A_MM, page_sizes, page_text, rendered
from paper_plaque import BENCH, plaque_pattern
from PIL import ImageFont
from readers import bulge_piece
from zoo import clockwise_circle

from shadowrout.drawing.paper.cover import pattern_pages
from shadowrout.drawing.paper.pages import Page, Window
from shadowrout.drawing.paper.paper_sizes import paper_mm
from shadowrout.drawing.paper.tiles import tiled
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Role, Text
from shadowrout.errors import PromiseError
from shadowrout.files.bezier import bezier_pieces
from shadowrout.files.pdf import pdf_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.words.units import Unit

POINTS_A_MM = 72 / 25.4
IDENTITY = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
BOX = (0.0, 0.0, 200.0, 150.0)


def drawing_of(*layers: Layer, unit: Unit = Unit.MM, title: str = "a title") -> Drawing:
    return Drawing(title, "how it is meant", BOX, layers, unit)


def bare_page(drawing: Drawing) -> Page:
    """Return a page as large as the drawing that shows all of it and nothing else."""
    return Page(Drawing("", "", BOX, (), drawing.unit), (Window(BOX, IDENTITY),))


def content_of(*layers: Layer, unit: Unit = Unit.MM) -> bytes:
    drawing = drawing_of(*layers, unit=unit)
    return pdf_bytes(drawing, [bare_page(drawing)])


def curves_mm(content: bytes) -> list[list[list[complex]]]:
    """Every path in the file as a list of pieces, each its 2 or 4 points, in mm, as PDFium reads them.

    Objects are inside the form that the page shows, whose matrix takes their unit to points. PDFium gives a curve
    as three segments that hold its control points and its end.
    """
    document = pypdfium2.PdfDocument(content)
    page = document[0]
    paths = []
    for number in range(raw.FPDFPage_CountObjects(page)):
        form = raw.FPDFPage_GetObject(page, number)
        if raw.FPDFPageObj_GetType(form) != raw.FPDF_PAGEOBJ_FORM:
            continue
        matrix = raw.FS_MATRIX()
        raw.FPDFPageObj_GetMatrix(form, matrix)
        for inner in range(raw.FPDFFormObj_CountObjects(form)):
            shape = raw.FPDFFormObj_GetObject(form, inner)
            if raw.FPDFPageObj_GetType(shape) == raw.FPDF_PAGEOBJ_PATH:
                paths.append(_pieces(shape, matrix))
    document.close()
    return paths


def _pieces(shape, matrix) -> list[list[complex]]:
    x, y = ctypes.c_float(), ctypes.c_float()
    pieces: list[list[complex]] = []
    at, curve = 0j, []
    for number in range(raw.FPDFPath_CountSegments(shape)):
        segment = raw.FPDFPath_GetPathSegment(shape, number)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        place = complex(x.value * matrix.a + matrix.e, y.value * matrix.d + matrix.f) / POINTS_A_MM
        kind = raw.FPDFPathSegment_GetType(segment)
        if kind == raw.FPDF_SEGMENT_BEZIERTO:
            curve.append(place)
            if len(curve) == 3:
                pieces.append([at, *curve])
                at, curve = place, []
        else:
            if kind == raw.FPDF_SEGMENT_LINETO:
                pieces.append([at, place])
            at = place
    return pieces


def along(piece: list[complex], count: int = 33) -> np.ndarray:
    """Points on a line or a Bezier curve, by de Casteljau's construction."""
    shares = np.linspace(0, 1, count)
    rows = [np.full(count, p) for p in piece]
    while len(rows) > 1:
        rows = [a + shares * (b - a) for a, b in zip(rows, rows[1:], strict=False)]
    return rows[0]


ARCS = [
    ArcPath.circle((100.0, 75.0), 0.4),
    ArcPath.circle((100.0, 75.0), 70.0),
    ArcPath(np.array([[10.0, 10.0], [190.0, 10.0]]), np.array([0.0]), closed=False),
    ArcPath(np.array([[10.0, 10.0], [190.0, 20.0], [150.0, 140.0]]), np.array([0.01, -0.3]), closed=False),
    ArcPath(np.array([[20.0, 20.0], [60.0, 20.0], [60.0, 70.0]]), np.array([2.5, -1.0, 0.2])),
    ArcPath(np.array([[50.0, 50.0], [50.2, 50.1]]), np.array([1.3]), closed=False),
]


class TestCurves:
    @pytest.mark.parametrize("number", range(len(ARCS)))
    @pytest.mark.parametrize("unit", list(Unit))
    def test_arcs_are_drawn_within_a_thousandth_of_a_millimetre(self, number, unit):
        """Every drawn point lies on its arc: as far from the centre, found with complex numbers, as the radius."""
        path = ARCS[number]
        (drawn,) = curves_mm(content_of(Layer(Role.NOTE, (Path(path),)), unit=unit))
        starts = [complex(*p) for p in path.starts]
        ends = [complex(*p) for p in path.ends]
        true = [bulge_piece(a, b, bulge) for a, b, bulge in zip(starts, ends, path.bulges, strict=True)]
        todo = list(drawn)
        for piece in true:
            mine = [todo.pop(0)]
            while abs(mine[-1][-1] - piece.end) > 0.002:
                mine.append(todo.pop(0))
            points = np.concatenate([along(p) for p in mine])
            assert abs(points[0] - piece.start) < 0.001
            if piece.centre is None:
                assert len(mine) == 1
                continue
            assert np.abs(np.abs(points - piece.centre) - piece.radius).max() < 0.001
            turned = np.unwrap(np.angle((points - piece.centre) / (piece.start - piece.centre)))
            assert turned[-1] == pytest.approx(piece.turn_rad, abs=0.02)
        assert all(len(p) == 2 and abs(p[0] - p[1]) < 0.001 for p in todo)

    def test_the_error_is_a_ten_thousandth(self):
        """Before the file's own rounding: the curve for an arc, sampled, against its circle."""
        for radius in (0.3, 3.0, 100.0, 5000.0):
            path = ArcPath(np.array([[radius, 0.0], [0.0, radius]]), np.array([np.tan(np.pi / 8)]), closed=False)
            at, worst = complex(radius, 0), 0.0
            for numbers in bezier_pieces(path, unit_mm=1.0):
                piece = [at, *(complex(*numbers[i : i + 2]) for i in (0, 2, 4))]
                worst = max(worst, float(np.abs(np.abs(along(piece)) - radius).max()))
                at = piece[-1]
            assert worst <= 0.000101
            assert at == pytest.approx(1j * radius)

    def test_a_quarter_of_the_unit_circle(self):
        """Control points at 0.5522847 for a quarter turn: 4/3 (sqrt 2 - 1), a known constant."""
        path = ArcPath(np.array([[0.1, 0.0], [0.0, 0.1]]), np.array([np.tan(np.pi / 8)]), closed=False)
        (numbers,) = bezier_pieces(path, unit_mm=1.0)
        assert numbers == pytest.approx((0.1, 0.05522847, 0.05522847, 0.1, 0.0, 0.1), abs=1e-8)

    def test_the_reader_sees_a_wrong_curve(self):
        spoiled = [10 + 0j, 10 + 4.6j, 4.6 + 10j, 10j]
        assert abs(np.abs(along(spoiled)) - 10).max() > 0.1


class TestPages:
    @pytest.mark.parametrize(
        ("paper", "points"),
        [
            ("A4", (595.2756, 841.8898)), ("A3", (841.8898, 1190.5512)), ("letter", (612, 792)), ("legal", (612, 1008)),
            ("tabloid", (792, 1224)),
        ],
    )  # fmt: skip
    def test_sheets_have_their_size_in_points(self, paper, points):
        """ISO 216 and ANSI/ASME Y14.1 sheets; a PDF's unit is 1/72 in (PDF Reference)."""
        drawing, _, _ = plaque_pattern(500.0, 300.0)
        tiling = tiled(drawing.box_mm, paper=paper_mm(paper), overlap=10.0, printer_margin=8.0)
        first, *others = page_sizes(pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH)))
        assert first == pytest.approx(points, abs=1e-3)
        assert len(others) == tiling.sheets
        held = points if tiling.sheet_mm[0] < tiling.sheet_mm[1] else points[::-1]
        assert all(size == pytest.approx(held, abs=1e-3) for size in others)

    def test_a_window_shows_its_part_and_no_more(self):
        ring = ArcPath.polygon(np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 150.0], [0.0, 150.0]]))
        drawing = drawing_of(Layer(Role.SHADOW, (Path(ring),)))
        page = Page(Drawing("", "", BOX, ()), (Window((20.0, 30.0, 60.0, 90.0), IDENTITY),))
        grey = np.argwhere(rendered(pdf_bytes(drawing, [page]), 0)[:, :, 0] < 230)
        height = 150 * PX_A_MM
        assert grey.min(axis=0) / PX_A_MM == pytest.approx((150 - 90, 20), abs=0.1)
        assert (grey.max(axis=0) + 1) / PX_A_MM == pytest.approx((150 - 30, 60), abs=0.1)
        assert height > 0

    def test_curves_are_in_the_file_once(self):
        """Twelve sheets of a rich pattern take hardly more room than one."""
        rng = np.random.default_rng(5)
        circles = tuple(Circle((float(x), float(y)), 1.0) for x, y in rng.uniform(5, 140, (500, 2)))
        drawing = drawing_of(Layer(Role.NOTE, circles))
        one, twelve = (len(pdf_bytes(drawing, [bare_page(drawing)] * count)) for count in (1, 12))
        assert twelve < one + 12 * 1000 < 2 * one


class TestLook:
    def test_shadows_are_grey_and_their_holes_white(self):
        shadow = (Path(ArcPath.circle((100, 75), 30)), Path(clockwise_circle((100, 75), 15)))
        picture = rendered(content_of(Layer(Role.SHADOW, shadow)), 0)

        def at(x, y):
            return picture[round((150 - y) * PX_A_MM), round(x * PX_A_MM)].tolist()

        assert at(100, 75) == at(10, 10) == [255, 255, 255]
        assert at(100, 97) == at(122, 75) == [209, 209, 209]

    def test_pockets_are_hatched_inside_and_only_there(self):
        box = ArcPath.polygon(np.array([[50.0, 50.0], [100.0, 50.0], [100.0, 100.0], [50.0, 100.0]]))
        picture = rendered(content_of(Layer(Role.POCKET, (Path(box),), Marks(depth_mm=3.0))), 0)
        marked = picture.min(axis=2) < 200
        inside = marked[round(52 * PX_A_MM) : round(98 * PX_A_MM), round(52 * PX_A_MM) : round(98 * PX_A_MM)]
        assert 0.03 < inside.mean() < 0.2
        marked[round(49.5 * PX_A_MM) : round(100.5 * PX_A_MM), round(49.5 * PX_A_MM) : round(100.5 * PX_A_MM)] = False
        assert not marked.any()

    def test_pockets_that_overlap_are_hatched_there_too(self):
        boxes = [ArcPath.polygon(np.array([[x, 50.0], [x + 40, 50.0], [x + 40, 100.0], [x, 100.0]])) for x in (50, 70)]
        picture = rendered(content_of(Layer(Role.POCKET, tuple(map(Path, boxes)), Marks(depth_mm=3.0))), 0)
        shared = picture[round(52 * PX_A_MM) : round(98 * PX_A_MM), round(72 * PX_A_MM) : round(88 * PX_A_MM)]
        assert (shared.min(axis=2) < 200).mean() > 0.03

    @pytest.mark.parametrize("depth", [1.0, 2.5])
    def test_a_v_lines_dash_is_as_long_as_the_cut_is_deep(self, depth):
        line = ArcPath(np.array([[10.0, 75.0], [190.0, 75.0]]), np.zeros(1), closed=False)
        picture = rendered(content_of(Layer(Role.V_LINE, (Path(line),), Marks(depth_mm=depth))), 0, dpi=1200)
        row = picture[round(75 * 1200 / 25.4), :, 0] < 128
        changes = np.flatnonzero(np.diff(row.astype(int)))
        dashes = (changes[1::2] - changes[0::2])[1:-1] * 25.4 / 1200
        assert dashes == pytest.approx(np.full(len(dashes), depth), abs=0.05)

    def test_capitals_have_the_height_asked_for(self):
        """A letter's height over the type's size, as FreeType measures the embedded typeface."""
        picture = rendered(content_of(Layer(Role.NOTE, (Text((20, 20), "H", 7.0, centred=False),))), 0, dpi=600)
        rows = np.flatnonzero((picture.max(axis=2) < 128).any(axis=1))
        assert (rows[-1] + 1 - rows[0]) / 600 * 25.4 == pytest.approx(7.0, abs=0.05)
        assert (150 - (rows[-1] + 1) / 600 * 25.4) == pytest.approx(20.0, abs=0.05)
        face = ImageFont.truetype(FilePath(reportlab.__file__).parent / "fonts" / "Vera.ttf", 2048)
        assert face.getbbox("H")[3] - face.getbbox("H")[1] == pytest.approx(1493, abs=2)

    def test_a_centred_text_is_centred(self):
        picture = rendered(content_of(Layer(Role.NOTE, (Text((100, 75), "HHH", 5.0),))), 0)
        rows, columns = np.nonzero(picture.max(axis=2) < 128)
        assert (columns.min() + columns.max() + 1) / 2 / PX_A_MM == pytest.approx(100, abs=0.1)
        assert 150 - (rows.min() + rows.max() + 1) / 2 / PX_A_MM == pytest.approx(75, abs=0.1)


class TestFile:
    def test_it_is_vector_and_brings_its_typeface(self):
        drawing, _, _ = plaque_pattern()
        tiling = tiled(drawing.box_mm, paper=paper_mm("A4"), overlap=10.0, printer_margin=8.0)
        content = pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH))
        assert b"/FontFile2" in content
        with pypdfium2.PdfDocument(content) as document:
            kinds = {thing.type for page in document for thing in page.get_objects(max_depth=5)}
            assert raw.FPDF_PAGEOBJ_PATH in kinds
            assert raw.FPDF_PAGEOBJ_IMAGE not in kinds
            assert document.get_metadata_dict()["Title"] == "cup, kitchen"

    def test_texts_can_be_searched_and_lost_letters_are_named(self):
        text = page_text(content_of(Layer(Role.NOTE, (Text((100, 75), "Größe 猫", 3.5),))), 0)
        assert "Größe (U+732B)" in text

    def test_the_same_bytes_in_every_process(self, tmp_path):
        """Two processes with other hash seeds, and a day apart by their clocks as reportlab's dates see them."""
        program = (
            "import sys, time, hashlib; sys.path.insert(0, sys.argv[1]); shift = float(sys.argv[2]); now = time.time;"
            "time.time = lambda: now() + shift\n"
            "from paper_plaque import BENCH, plaque_pattern\n"
            "from shadowrout.drawing.paper.cover import pattern_pages\n"
            "from shadowrout.drawing.paper.tiles import tiled\n"
            "from shadowrout.files.pdf import pdf_bytes\n"
            "drawing, _, _ = plaque_pattern()\n"
            "tiling = tiled(drawing.box_mm, paper=(210.0, 297.0), overlap=10.0, printer_margin=8.0)\n"
            "contents = [pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH)) for _ in range(2)]\n"
            "print(*(hashlib.sha256(content).hexdigest() for content in contents))"
        )
        found = set()
        for seed, shift in (("0", "0"), ("77", "86400")):
            command = [sys.executable, "-c", program, str(FilePath(__file__).parents[1]), shift]
            environment = {"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path)}
            done = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
            found |= set(done.stdout.split())
        assert len(found) == 1

    def test_dates_are_constants(self):
        content = content_of(Layer(Role.NOTE, (Text((100, 75), "x", 3.5),)))
        assert set(re.findall(rb"D:(\d{4})", content)) <= {b"2000"}

    def test_a_shape_that_rounding_leaves_nothing_of_is_refused(self):
        speck = ArcPath.polygon(np.array([[1, 1], [1.00001, 1], [1, 1.00001]]))
        with pytest.raises(PromiseError):
            content_of(Layer(Role.SHADOW, (Path(speck),)))
