"""What the check reads of a PDF is what pdfium reads; files saved by others hold, hostile ones are found out."""

from __future__ import annotations

import ctypes
import io
import zlib

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import pytest
from pypdf import PdfWriter
from reportlab.pdfgen.canvas import Canvas
from spoil.folders import FOLDERS

from shadowrout.check.checking import check_folder
from shadowrout.check.pdf_content import read_content
from shadowrout.check.pdf_reader import UnreadablePdfError, read_pdf
from shadowrout.check.pdf_tokens import ContentError
from shadowrout.check.printed_page import moved, sampled_contours
from shadowrout.check.printed_sheets import SheetRead

MM_A_POINT = 25.4 / 72


@pytest.fixture(scope="module", params=["made", "sheets"])
def folder(request, tmp_path_factory):
    return FOLDERS[request.param](tmp_path_factory.mktemp(request.param) / "out")


@pytest.fixture
def pattern(folder):
    """Give the pattern's path; what a test writes there is put back."""
    path = folder / "pattern.pdf"
    content = path.read_bytes()
    yield path
    path.write_bytes(content)


def test_every_word_is_read_that_pdfium_reads(pattern):
    with pypdfium2.PdfDocument(pattern) as document:
        texts = ["".join(page.get_textpage().get_text_range().split()) for page in document]
    pages = read_pdf(pattern, most_pages=9)
    assert len(pages) == len(texts)
    for page, text in zip(pages, texts, strict=True):
        words = {"".join(lettering.words.split()) for lettering in SheetRead(page).letterings}
        assert words and all(word in text for word in words)


def test_paths_lie_where_pdfium_has_them(tmp_path):
    """Turned and scaled rectangles with triangles: the boxes around their corners on the page."""
    canvas = Canvas(str(tmp_path / "paths.pdf"), pagesize=(300, 200))
    rng = np.random.default_rng(1)
    for _ in range(30):
        canvas.saveState()
        canvas.translate(*rng.uniform(50, 150, 2))
        canvas.rotate(rng.uniform(0, 360))
        canvas.scale(*rng.uniform(0.5, 2, 2))
        x, y, w, h = rng.uniform(5, 30, 4)
        path = canvas.beginPath()
        path.rect(x, y, w, h)
        path.moveTo(x, y)
        path.lineTo(x + w, y + 2 * h)
        path.lineTo(x, y + h)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
        canvas.restoreState()
    canvas.save()
    with pypdfium2.PdfDocument(tmp_path / "paths.pdf") as document:
        wanted = np.array([_box_by_pdfium(found) for found in document[0].get_objects()])
    (page,) = read_pdf(tmp_path / "paths.pdf", most_pages=1)
    boxes = np.array([placed.box for placed in SheetRead(page).placed])
    assert boxes.shape == wanted.shape == (30, 4)
    assert np.abs(boxes - wanted * MM_A_POINT).max() < 1e-3


def _box_by_pdfium(found: pypdfium2.PdfObject) -> list[float]:
    x, y, places = ctypes.c_float(), ctypes.c_float(), []
    for number in range(raw.FPDFPath_CountSegments(found)):
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(found, number), x, y)
        places.append(found.get_matrix().on_point(x.value, y.value))
    return [*np.min(places, axis=0), *np.max(places, axis=0)]


def test_curves_are_sampled_to_the_sagitta():
    """A quarter of a circle of 100 as the usual cubic: chords within 0.001, and 2.7e-4 of the radius off at most."""
    k = 0.5522847498  # 4/3 tan(90°/4), as in Goldapp 1991
    content = b"100 0 m 100 %f %f 100 0 100 c S" % (100 * k, 100 * k)
    (imprint,) = read_content(content).items
    samples = sampled_contours(
        [(imprint.contours[0], (1, 0, 0, 1, 0, 0))], sagitta_mm=0.001, step_mm=np.inf, close=False
    )
    middles = (samples.points[1:] + samples.points[:-1]) / 2
    assert np.hypot(*samples.points.T).max() < 100 * (1 + 2.8e-4)
    assert np.hypot(*middles.T).min() > 100 - 0.001 - 1e-6
    assert 70 < len(samples.points) < 200


def test_operators_that_say_the_same_paint_the_same():
    """ISO 32000-1, table 59 and 60: ``re``, ``v``, ``y`` and ``s`` by what they stand for."""
    for short, long in (
        (b"1 2 30 40 re f", b"1 2 m 31 2 l 31 42 l 1 42 l h f"),
        (b"0 0 m 3 4 5 6 v S", b"0 0 m 0 0 3 4 5 6 c S"),
        (b"0 0 m 3 4 5 6 y S", b"0 0 m 3 4 5 6 5 6 c S"),
        (b"0 0 m 9 0 l 9 9 l s", b"0 0 m 9 0 l 9 9 l h S"),
        (b"2 0 0 2 5 7 cm 0 0 m 1 1 l S", b"q 2 0 0 2 5 7 cm 0 0 m 1 1 l S Q"),
    ):
        (one,), (other,) = read_content(short).items, read_content(long).items
        for a, b in zip(one.contours, other.contours, strict=True):
            assert np.allclose(moved(a.pieces.reshape(-1, 2), one.matrix), moved(b.pieces.reshape(-1, 2), other.matrix))
            assert a.closed is b.closed


def test_strings_are_read_with_brackets_and_escapes():
    r"""ISO 32000-1, 7.3.4.2: balanced brackets, ``\ddd``, a line break behind a backslash."""
    content = rb"BT /F 9 Tf (a(b)\)\101\
c) Tj <414> Tj ET"
    assert [item.code for item in read_content(content).items] == [b"a(b))Ac", b"A@"]


@pytest.mark.parametrize("content", [
    b"0 0 m 1 1", b"q", b"Q", b"1 1 l S", b"0 0 m 1 l S", b"(a", b"/F gs) Tj", b"1 2 3 zz", b"0 0 m 1e9 1 l S",
    b"9" * 400 + b" 0 m", b"1-2 0 m", b"BT", b"0 0 m 1 1 l", b"q " * 300, b"1 " * 2000, b"ID abc", b"Tf", b"\xff\xfe",
])  # fmt: skip
def test_damaged_content_is_told(content):
    with pytest.raises(ContentError):
        read_content(content)


def by_pypdf(path):
    writer = PdfWriter(clone_from=path)
    for page in writer.pages:
        page.compress_content_streams()
    writer.compress_identical_objects()
    writer.write(path)


def by_pdfium(path):
    with pypdfium2.PdfDocument(path.read_bytes()) as document:
        out = io.BytesIO()
        document.save(out)
    path.write_bytes(out.getvalue())


@pytest.mark.parametrize("save", [by_pypdf, by_pdfium])
def test_a_pattern_saved_by_another_program_holds(folder, pattern, save):
    before = pattern.read_bytes()
    save(pattern)
    assert pattern.read_bytes() != before
    verdict = check_folder(folder.parent)
    assert verdict.holds, verdict.as_text()


def test_without_the_carve_drawing_the_shadow_is_measured_on_the_paper(folder):
    job, numbers = folder.parent / "job.toml", (folder.parent / "numbers.json").read_bytes()
    text = job.read_text(encoding="utf-8")
    files = next(line for line in text.splitlines() if line.startswith("files = "))
    job.write_text(text.replace(files, 'files = ["pattern"]'), encoding="utf-8")
    try:
        result = check_folder(folder.parent).plaques[0].result("faithful")
    finally:
        job.write_text(text, encoding="utf-8")
        (folder.parent / "numbers.json").write_bytes(numbers)
    assert result.holds and 0.03 < result.measured < 0.1


# Hostile files, each by a head of objects; the rest is added


def pdf(*objects: bytes) -> bytes:
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(objects) + 1, table)
    return out + head + b"trailer\n<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, len(out))


def stream(content: bytes, entries: bytes = b"") -> bytes:
    return b"<<%s/Length %d>>\nstream\n%s\nendstream" % (entries, len(content), content)


CATALOG, PAGES = b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>"
FORM = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</X %d 0 R>>>>"


def page(extra: bytes = b"/Contents 4 0 R/Resources<</XObject<</X 5 0 R>>>>") -> bytes:
    return b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]" + extra + b">>"


def forms(uses: bytes, count: int) -> list[bytes]:
    return [stream(uses, FORM % (6 + at)) for at in range(count)]


def bomb() -> bytes:
    packer = zlib.compressobj(9)
    packed = b"".join(packer.compress(b"0 0 m 1 1 l S\n" * 100_000) for _ in range(300)) + packer.flush()
    return stream(packed, b"/Filter/FlateDecode")


HOSTILE = {
    "pages in a circle": pdf(CATALOG, b"<</Type/Pages/Kids[2 0 R]/Count 1>>"),
    "a million pages told": pdf(CATALOG, b"<</Type/Pages/Kids[3 0 R]/Count 1000000>>", page(b"")),
    "a form in itself": pdf(CATALOG, PAGES, page(), stream(b"/X Do"), stream(b"/X Do", FORM % 5)),
    "forms that double": pdf(CATALOG, PAGES, page(), stream(b"/X Do"), *forms(b"/X Do 0 0 1 1 re f " * 90, 6), b"<<>>"),
    "a stream of gigabytes": pdf(CATALOG, PAGES, page(b"/Contents 4 0 R"), bomb()),
    "arrays in arrays": pdf(CATALOG, PAGES, page(b"/Contents " + b"[" * 100_000)),
    "tables in tables": pdf(CATALOG, PAGES, page(b"/A " + b"<</A " * 50_000)),
    "a box of no numbers": pdf(CATALOG, PAGES, page().replace(b"0 0 595 842", b"/A /B (c) null")),
    "a box beyond all sheets": pdf(CATALOG, PAGES, page(b"").replace(b"842", b"1" + b"0" * 300)),
    "content of another kind": pdf(CATALOG, PAGES, page(b"/Contents 7")),
    "no pages": pdf(CATALOG, b"<</Type/Pages/Kids[]/Count 0>>"),
    "no catalog": pdf(b"null", PAGES),
    "a place far behind the end": pdf(CATALOG).replace(b"startxref\n", b"startxref\n9999999"),
    "nothing but its head": b"%PDF-1.7\n",
    "no PDF": bytes(range(256)) * 40,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_a_finding(name, folder, pattern):
    pattern.write_bytes(HOSTILE[name])
    result = check_folder(folder.parent).plaques[0].result("files complete")
    assert any("pattern.pdf" in str(finding.what) for finding in result.findings), result


def test_a_file_larger_than_any_pattern_isnt_read(tmp_path):
    with (tmp_path / "pattern.pdf").open("wb") as file:
        file.truncate(10**9)
    with pytest.raises(UnreadablePdfError, match="is larger than any pattern"):
        read_pdf(tmp_path / "pattern.pdf", most_pages=2)
