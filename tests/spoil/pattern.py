"""The paper pattern changed: sheets lost or exchanged, scaled, mirrored, painted over, and what it shows moved.

The file is changed with pypdf, its content streams as text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

from pypdf import PageObject, PdfReader, PdfWriter
from pypdf.annotations import Rectangle
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    RectangleObject,
)

from shadowrout.check.findings import Promise
from shadowrout.make.pipeline import make
from spoil.folders import FOLDERS, shapes
from spoil.handles import damage, figures

POINTS_A_MM = 72 / 25.4
NUMBER = rb"-?[\d.]+"
WINDOW = re.compile(rb"n (NUM) (NUM) (NUM) (NUM) re W\* n\n(NUM) 0 0 (NUM) (NUM) (NUM) cm\n".replace(b"NUM", NUMBER))
"""The frame of a window, then the way from the pattern to the page."""

_FOUR_SHEETS = """
[picture]
file = "shapes.png"
[[plaque]]
name = "sheets"
size = "250x250mm"
[[cutter]]
diameter = 6
[pattern]
printer_margin = 20
[output]
files = ["carve", "pattern"]
"""


def sheets(out: Path) -> Path:
    """Make a plaque whose pattern takes four sheets, in two rows, and return its folder."""
    from shadowrout.job.options import Job

    out.mkdir(parents=True)
    shapes(out.parent / "shapes.png")
    (out.parent / "sheets.toml").write_text(_FOUR_SHEETS, encoding="utf-8")
    make(Job.from_file(out.parent / "sheets.toml"), out)
    return out / "sheets"


FOLDERS["sheets"] = sheets


@contextmanager
def pattern(place: Path) -> Iterator[PdfWriter]:
    """Give the pattern to be changed; it is written back."""
    writer = PdfWriter(clone_from=place / "pattern.pdf")
    yield writer
    writer.write(place / "pattern.pdf")


@contextmanager
def pages_of(place: Path) -> Iterator[list[PageObject]]:
    """Give the pattern's pages as a list, which is written in place of them."""
    pages = list(PdfReader(place / "pattern.pdf").pages)
    yield pages
    writer = PdfWriter()
    for page in pages:
        writer.add_page(page)
    writer.write(place / "pattern.pdf")


def rewrite(page: PageObject, change: Callable[[bytes], bytes]) -> None:
    """Change a page's content."""
    before = page["/Contents"].get_object().get_data()
    _replace(page["/Contents"].get_object(), before, change(before))


def rewrite_form(writer: PdfWriter, name: str, change: Callable[[bytes], bytes]) -> None:
    """Change what all pages show of the pattern, its ``lines`` or its ``words``."""
    stream = writer.pages[1]["/Resources"]["/XObject"][f"/FormXob.{name}"].get_object()
    before = stream.get_data()
    _replace(stream, before, change(before))


def _replace(stream, before: bytes, after: bytes) -> None:
    assert after != before, "nothing was changed"
    stream.set_data(after)


def replaced(content: bytes, old: bytes | re.Pattern[bytes], new: bytes | Callable) -> bytes:
    """Return the content with the first match replaced."""
    if isinstance(old, bytes):
        assert old in content, f"no {old!r} to spoil"
        return content.replace(old, new, 1)
    changed, found = old.subn(new, content, count=1)
    assert found, f"no {old.pattern!r} to spoil"
    return changed


def window(content: bytes, change: Callable[[list[float]], list[float]]) -> bytes:
    """Return a page's content with other numbers for its window: x, y, width, height, then a, d, e, f."""

    def written(found: re.Match[bytes]) -> bytes:
        x, y, w, h, a, d, e, f = change([float(number) for number in found.groups()])
        return b"n %.5f %.5f %.5f %.5f re W* n\n%.6f 0 0 %.6f %.5f %.5f cm\n" % (x, y, w, h, a, d, e, f)

    return replaced(content, WINDOW, written)


def fill(content: bytes) -> tuple[bytes, list[bytes], bytes]:
    """Return what stands before the shadow, its rings, and what follows; a ring is from its ``m`` to its ``h``."""
    start = content.index(b".82 g\nn ") + len(b".82 g\nn ")
    end = content.index(b"\nf\n", start)
    return content[:start], re.findall(rb"%s %s m .*? h" % (NUMBER, NUMBER), content[start:end]), content[end:]


def rings(change: Callable[[list[bytes]], list[bytes]]) -> Callable[[bytes], bytes]:
    """Return what changes the rings of the shadow."""

    def changed(content: bytes) -> bytes:
        before, found, after = fill(content)
        return before + b" ".join(change(found)) + after

    return changed


def shifted(path: bytes, x: float, y: float) -> bytes:
    """Return a path with all its points moved."""
    turn = count()
    return re.sub(NUMBER, lambda n: b"%.5f" % (float(n[0]) + (y if next(turn) % 2 else x)), path)


def backwards(ring: bytes) -> bytes:
    """Return a ring that runs the other way round."""
    points, kinds = [], []
    for numbers, kind in re.findall(rb"((?:%s )+)([mlc])" % NUMBER, ring):
        values = numbers.split()
        points.append([values[at : at + 2] for at in range(0, len(values), 2)])
        kinds.append(kind)
    words = [*points[-1][-1], b"m"]
    for at in range(len(points) - 1, 0, -1):
        turned = [*points[at][-2::-1], points[at - 1][-1]]
        words += [word for point in turned for word in point] + [kinds[at]]
    return b" ".join([*words, b"h"])


def stroke_of(content: bytes, colour: bytes) -> re.Match[bytes]:
    """Return the first path stroked after a colour was chosen."""
    found = re.compile(re.escape(colour) + rb" RG\n(?s:.*?)(n [^\n]*\nS\n)").search(content)
    assert found, f"nothing is stroked in {colour!r}"
    return found


POCKET, V_LINE, MARK = b"0 .447059 .698039", b"0 .619608 .45098", b".8 .47451 .654902"
"""The colours of pockets' walls, V lines and register marks on the pattern."""

# Size


@damage(Promise.TRUE_SIZE, "pattern.pdf: sheet 1-1", "scale bar is 99.000 mm", whole="made")
def every_page_scaled_to_99_percent(place):
    with pattern(place) as writer:
        for page in writer.pages:
            rewrite(page, lambda content: b"q .99 0 0 .99 0 0 cm\n" + content + b"\nQ\n")


@damage(Promise.TRUE_SIZE, "the board's edge is drawn 148.500", whole="made")
def the_pattern_scaled_to_99_percent_within_its_window(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda c: window(c, lambda n: [*n[:4], n[4] * 0.99, n[5] * 0.99, *n[6:]]))


@damage(Promise.TRUE_SIZE, "sheet 2-1", "its level scale bar is 99.000 mm", whole="sheets")
def a_bar_of_99_mm(place):
    def shorter(content: bytes) -> bytes:
        every = re.findall(rb"n (%s) (%s) m (%s) \2 l\nS\n" % ((NUMBER,) * 3), content)
        x, y, end = next(n for n in every if abs(float(n[2]) - float(n[0]) - 100) < 0.01)
        step = (float(end) - float(x)) / 10
        for at in range(11):
            old, new = (b"%g" % (float(x) + at * length) for length in (step, step * 0.99))
            content = content.replace(b"n %s %s m %s " % (old, y, old), b"n %s %s m %s " % (new, y, new))
        return replaced(content, b"m %s %s l" % (end, y), b"m %g %s l" % (float(x) + 99, y))

    with pattern(place) as writer:
        rewrite(writer.pages[3], shorter)


@damage(Promise.TRUE_SIZE, "its level scale bar", "10 ticks", whole="made")
def a_tick_of_a_bar_lost(place):
    def fewer(content: bytes) -> bytes:
        return replaced(content, re.compile(rb"n 151 9 m 151 10.2 l\nS\n"), b"")

    with pattern(place) as writer:
        rewrite(writer.pages[1], fewer)


@damage(Promise.TRUE_SIZE, "sheet 1-1: it has no level scale bar", whole="made")
def the_bars_of_a_sheet_lost(place):
    def none(content: bytes) -> bytes:
        return re.sub(rb"n %s %s m %s %s l\nS\n" % ((NUMBER,) * 4), b"", content)

    with pattern(place) as writer:
        rewrite(writer.pages[1], none)


@damage(Promise.TRUE_SIZE, "sheet 1-2 is 215.90 x 279.40 mm, its paper is 210 x 297 mm", whole="sheets")
def a_sheet_of_other_paper(place):
    with pattern(place) as writer:
        writer.pages[2].mediabox = RectangleObject((0, 0, 8.5 * 72, 11 * 72))


@damage(Promise.TRUE_SIZE, "its first page is 297.00 x 420.00 mm", whole="made")
def all_pages_on_larger_paper(place):
    with pattern(place) as writer:
        for page in writer.pages:
            page.mediabox = RectangleObject((0, 0, 297 * POINTS_A_MM, 420 * POINTS_A_MM))


@damage(Promise.TRUE_SIZE, "sheet 1-1: it is turned by 90°", whole="made")
def a_page_rotated(place):
    with pattern(place) as writer:
        writer.pages[1].rotate(90)


@damage(Promise.TRUE_SIZE, "sheet 1-1: its unit is 2 times as large", whole="made")
def a_page_with_a_unit_of_its_own(place):
    with pattern(place) as writer:
        writer.pages[1][NameObject("/UserUnit")] = NumberObject(2)


@damage(Promise.TRUE_SIZE, "sheet 1-1: it is cropped", whole="made")
def a_page_cropped(place):
    with pattern(place) as writer:
        writer.pages[1].cropbox = RectangleObject((50, 50, 500, 800))


@damage(Promise.TRUE_SIZE, "sheet 2-2: its window is", whole="sheets")
def the_overlap_of_a_sheet_lost(place):
    with pattern(place) as writer:
        rewrite(writer.pages[4], lambda c: window(c, lambda n: [n[0], n[1], n[2] - 10 * POINTS_A_MM, *n[3:]]))


@damage(Promise.TRUE_SIZE, "don't make up the board with an even rim", whole="sheets")
def every_overlap_narrower(place):
    with pattern(place) as writer:
        for page in writer.pages[1:]:
            rewrite(page, lambda c: window(c, lambda n: [n[0], n[1], n[2] - 5 * POINTS_A_MM, *n[3:]]))


# Pages


@damage(Promise.COMPLETE, "sheet 2-1 is missing", whole="sheets")
def a_sheet_dropped(place):
    with pages_of(place) as pages:
        del pages[3]


@damage(Promise.COMPLETE, "its first page, that says how to use it, is missing", whole="made")
def the_first_page_lost(place):
    with pages_of(place) as pages:
        del pages[0]


@damage(Promise.COMPLETE, "sheet 1-2 is there 2 times", whole="sheets")
def a_sheet_doubled(place):
    with pages_of(place) as pages:
        pages.insert(2, pages[2])


@damage(Promise.COMPLETE, "sheet 2-2 is missing", whole="sheets")
def a_sheet_in_place_of_another(place):
    with pages_of(place) as pages:
        pages[4] = pages[1]


@damage(Promise.COMPLETE, "page 2 is blank", whole="made")
def a_sheet_blank(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda _: b"q Q\n")


@damage(Promise.FAITHFUL, "its pages are out of order", whole="sheets")
def two_sheets_exchanged(place):
    with pages_of(place) as pages:
        pages[1], pages[4] = pages[4], pages[1]


@damage(Promise.MARKED, "page 3 doesn't say that it is sheet 1-2, 2 of 4", whole="sheets")
def a_sheet_with_anothers_name(place):
    with pattern(place) as writer:
        rewrite(writer.pages[2], lambda content: content.replace(b"(1-2) Tj", b"(2-2) Tj"))


@damage(Promise.COMPLETE, "pattern.pdf: is missing", whole="made")
def the_pattern_missing(place):
    (place / "pattern.pdf").unlink()


@damage(Promise.COMPLETE, "pattern.pdf: is damaged", whole="made")
def only_the_patterns_head_and_tail(place):
    content = (place / "pattern.pdf").read_bytes()
    (place / "pattern.pdf").write_bytes(content[:1500] + content[-700:])


@damage(Promise.COMPLETE, "pattern.pdf: is damaged", whole="made")
def a_stream_of_the_pattern_truncated(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda content: content[: len(content) // 3])


@damage(Promise.COMPLETE, "pattern.pdf: is damaged", whole="made")
def a_stream_of_the_pattern_with_other_bytes(place):
    content = bytearray((place / "pattern.pdf").read_bytes())
    start = content.index(b"stream") + 400
    content[start : start + 40] = bytes(40)
    (place / "pattern.pdf").write_bytes(content)


@damage(Promise.COMPLETE, "pattern.pdf: is damaged", "is no operator", whole="made")
def a_word_in_the_patterns_content_garbled(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda content: replaced(content, b"\nf\n", b"\nfx\n"))


@damage(Promise.COMPLETE, "pattern.pdf: is locked by a password", whole="made")
def the_pattern_locked(place):
    with pattern(place) as writer:
        writer.encrypt("wood", algorithm="RC4-128")


# What the sheets show


@damage(Promise.FAITHFUL, "off the design", whole="made")
def the_pattern_mirrored(place):
    def turned(n: list[float]) -> list[float]:
        return [*n[:4], -n[4], n[5], 2 * n[0] + n[2] - n[6], n[7]]

    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: window(content, turned))


@damage(Promise.FAITHFUL, "off the design", whole="made")
def the_pattern_moved_in_its_window(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda c: window(c, lambda n: [*n[:6], n[6] + 0.5 * POINTS_A_MM, n[7]]))


@damage(Promise.FAITHFUL, "sheet 1-1", "off the design", whole="sheets")
def the_windows_of_two_sheets_exchanged(place):
    with pattern(place) as writer:
        contents = [writer.pages[at]["/Contents"].get_object() for at in (1, 2)]
        one, other = (WINDOW.search(content.get_data())[0] for content in contents)
        rewrite(writer.pages[1], lambda content: replaced(content, one, other))
        rewrite(writer.pages[2], lambda content: replaced(content, other, one))


@damage(Promise.TRUE_SIZE, "the board's edge is drawn 150.000 x 100.000 mm", whole="made")
def the_pattern_of_another_plaque(place):
    from paper_plaque import BENCH, plaque_pattern

    from shadowrout.drawing.paper.cover import pattern_pages
    from shadowrout.drawing.paper.pattern import pattern_box
    from shadowrout.drawing.paper.tiles import tiled
    from shadowrout.files.pdf import pdf_bytes

    drawing, layout, _ = plaque_pattern(150.0, 100.0)
    tiling = tiled(pattern_box(layout.board_mm), paper=(210.0, 297.0), overlap=10.0, printer_margin=8.0)
    (place / "pattern.pdf").write_bytes(pdf_bytes(drawing, pattern_pages(drawing, tiling, BENCH)))


@damage(Promise.FAITHFUL, "an edge of the design is", whole="made")
def a_shadow_of_the_pattern_dropped(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", rings(lambda every: every[1:]))


@damage(Promise.FAITHFUL, "off the design", whole="made")
def a_shadow_of_the_pattern_moved(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", rings(lambda every: [shifted(every[0], 0.5, 0.0), *every[1:]]))


@damage(Promise.FAITHFUL, "an edge of the design is", whole="made")
def a_hole_of_the_patterns_shadow_dropped(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", rings(lambda every: [*every[:2], *every[3:]]))


@damage(Promise.FAITHFUL, "a hole of the shadow is filled", whole="made")
def a_hole_of_the_patterns_shadow_turned(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", rings(lambda every: [*every[:2], backwards(every[2]), *every[3:]]))


@damage(Promise.FAITHFUL, "outlines, the design's has", whole="made")
def a_hole_of_the_patterns_shadow_filled_again(place):
    def filled(content: bytes) -> bytes:
        _, every, _ = fill(content)
        return replaced(content, b"\nf\n", b"\nf\nn " + every[2] + b"\nf\n")

    with pattern(place) as writer:
        rewrite_form(writer, "lines", filled)


@damage(Promise.FAITHFUL, "off the design", whole="made")
def a_shadow_added_to_the_pattern(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda c: replaced(c, b"\nf\n", b"\nf\n100 10 5 5 re f\n"))


@damage(Promise.FAITHFUL, "shows no shadow", whole="made")
def the_patterns_shadow_in_white(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda content: replaced(content, b".82 g", b"1 g"))


@damage(Promise.FAITHFUL, "something is painted over the pattern", whole="made")
def white_painted_over_the_pattern(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: content + b"\nq 1 g 200 400 60 40 re f Q\n")


@damage(Promise.FAITHFUL, "something is painted over the pattern", whole="made")
def a_broad_line_over_the_pattern(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: content + b"\nq 1 G 60 w 200 400 m 300 400 l S Q\n")


@damage(Promise.FAITHFUL, "something is painted over the pattern", whole="made")
def a_picture_over_the_pattern(place):
    picture = b"\nq 90 0 0 90 200 400 cm BI /W 1 /H 1 /BPC 8 /CS /G ID \xff EI Q\n"
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: content + picture)


@damage(Promise.TRUE_SIZE, "don't make up the board with an even rim", whole="made")
def the_pattern_seen_through_a_smaller_window(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: replaced(content, b"q\nn ", b"q\n200 300 100 200 re W n\nn "))


@damage(Promise.FAITHFUL, "a part of the shadow is cut off", whole="made")
def the_patterns_shadow_clipped_askew(place):
    with pattern(place) as writer:
        clip = b"-3 -3 m 153 -3 l 153 120 l h W n\n.82 g"
        rewrite_form(writer, "lines", lambda content: replaced(content, b".82 g", clip))


@damage(Promise.FAITHFUL, "register mark A isn't where it belongs", whole="made")
def a_register_mark_of_the_pattern_moved(place):
    def moved(content: bytes) -> bytes:
        found = stroke_of(content, MARK)
        return content.replace(found[1], shifted(found[1], 0.5, 0.0))

    with pattern(place) as writer:
        rewrite_form(writer, "lines", moved)


@damage(Promise.FAITHFUL, "register mark B isn't where it belongs", whole="made")
def a_register_mark_of_the_pattern_dropped(place):
    def dropped(content: bytes) -> bytes:
        return re.sub(rb"n 14[3-9][^\n]* m [^\n]*\nS\n", b"", content)

    with pattern(place) as writer:
        rewrite_form(writer, "lines", dropped)


@damage(Promise.FAITHFUL, "a dowel hole is drawn where there is no register mark", whole="made")
def a_register_mark_added_to_the_pattern(place):
    def doubled(content: bytes) -> bytes:
        at = stroke_of(content, MARK).start(1)
        three = b"".join(re.findall(rb"n [^\n]*\nS\n", content[at:])[:3])
        return content[:at] + shifted(three, 30.0, 0.0) + content[at:]

    with pattern(place) as writer:
        rewrite_form(writer, "lines", doubled)


@damage(Promise.FAITHFUL, "a V line of the carve drawing is", whole="made")
def a_v_line_of_the_pattern_dropped(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda content: content.replace(stroke_of(content, V_LINE)[1], b""))


@damage(Promise.FAITHFUL, "a line like those to cut lies", whole="made")
def a_v_line_of_the_pattern_moved(place):
    def moved(content: bytes) -> bytes:
        found = stroke_of(content, V_LINE)
        return content.replace(found[1], shifted(found[1], 0.0, 0.5))

    with pattern(place) as writer:
        rewrite_form(writer, "lines", moved)


@damage(Promise.FAITHFUL, "a V line of the carve drawing is", whole="made")
def the_v_lines_of_the_pattern_in_white(place):
    with pattern(place) as writer:
        rewrite_form(writer, "lines", lambda content: content.replace(V_LINE + b" RG", b"1 1 1 RG"))


@damage(Promise.FAITHFUL, "a pocket's wall of the carve drawing is", whole="sheets")
def a_pockets_wall_of_the_pattern_dropped(place):
    def dropped(content: bytes) -> bytes:
        """Drop the largest ring of the path that is stroked after the hatching."""
        found = re.compile(rb"Q\n(n [^\n]* h\nS\n)").search(content)
        ring = max(re.findall(rb"%s %s m .*? h" % (NUMBER, NUMBER), found[1]), key=len)
        return content.replace(found[1], found[1].replace(ring, b"0 0 m"))

    with pattern(place) as writer:
        rewrite_form(writer, "lines", dropped)


@damage(Promise.FAITHFUL, "the crosses on their seam don't lie on each other", whole="sheets")
def the_crosses_of_a_seam_moved(place):
    def moved(content: bytes) -> bytes:
        """Move every short line that is as long as a cross's arms."""

        def line(found: re.Match[bytes]) -> bytes:
            x0, y0, x1, y1 = (float(number) for number in found.groups())
            return shifted(found[0], 1.0, 1.0) if abs(abs(x1 - x0) + abs(y1 - y0) - 5.0) < 0.01 else found[0]

        return re.sub(rb"n (%s) (%s) m (%s) (%s) l" % ((NUMBER,) * 4), line, content)

    with pattern(place) as writer:
        rewrite(writer.pages[1], moved)


# What may be seen otherwise than it is drawn, and words


def _resource(page: PageObject, kind: str, name: str, **entries) -> None:
    page["/Resources"][NameObject(kind)] = DictionaryObject(
        {NameObject(name): DictionaryObject({NameObject(f"/{key}"): value for key, value in entries.items()})}
    )


@damage(Promise.MARKED, "sheet 1-1: a part of it is transparent", whole="made")
def the_pattern_made_transparent(place):
    with pattern(place) as writer:
        _resource(writer.pages[1], "/ExtGState", "/Faint", ca=FloatObject(0.1))
        rewrite(writer.pages[1], lambda content: b"/Faint gs\n" + content)


@damage(Promise.MARKED, "sheet 1-1: it has layers that can be switched off", whole="made")
def the_pattern_on_a_layer_of_its_own(place):
    with pattern(place) as writer:
        rewrite(writer.pages[1], lambda content: b"/OC /Hidden BDC\n" + content + b"\nEMC\n")


@damage(Promise.MARKED, "sheet 1-1: a note is printed over it", whole="made")
def a_note_printed_over_the_pattern(place):
    with pattern(place) as writer:
        note = Rectangle(rect=(200, 300, 300, 400), interior_color="ffffff")
        picture = DecodedStreamObject()
        picture.set_data(b"1 g 0 0 100 100 re f")
        picture.update(
            {
                NameObject("/Subtype"): NameObject("/Form"),
                NameObject("/BBox"): ArrayObject([NumberObject(side) for side in (0, 0, 100, 100)]),
            }
        )
        note[NameObject("/F")] = NumberObject(4)
        note[NameObject("/AP")] = DictionaryObject({NameObject("/N"): picture})
        writer.add_annotation(1, note)


@damage(Promise.MARKED, "no sheet names pocket 3", whole="made")
def a_pockets_number_of_the_pattern_lost(place):
    with pattern(place) as writer:
        rewrite_form(writer, "words", lambda content: content.replace(b"(3) Tj", b"() Tj"))


@damage(Promise.FIGURES, "pocket 2 is noted 5 mm deep, 3 mm in numbers.json", whole="made")
def a_pockets_depth_of_the_pattern_changed(place):
    def deeper(content: bytes) -> bytes:
        before, after = content.split(b"(2) Tj", 1)
        return before + b"(2) Tj" + after.replace(b"(3 mm deep) Tj", b"(5 mm deep) Tj", 2)

    with pattern(place) as writer:
        rewrite_form(writer, "words", deeper)


@damage(Promise.FAITHFUL, "a V line of the carve drawing is", whole="made")
def the_patterns_lines_under_its_shadow(place):
    def under(content: bytes) -> bytes:
        found = re.search(rb"\.82 g\nn [^\n]*\nf\n", content)
        return content.replace(found[0], b"") + b"\n" + found[0]

    with pattern(place) as writer:
        rewrite_form(writer, "lines", under)


@damage(Promise.FIGURES, "its paper is letter in numbers.json, A4 in job.toml", whole="made")
def the_patterns_paper_told_wrongly(place):
    with figures(place) as told:
        told["plaques"][0]["pattern"]["paper"] = "letter"


@damage(Promise.COMPLETE, "sheet 1-2 is missing", whole="made")
def more_sheets_told_than_there_are(place):
    with figures(place) as told:
        told["plaques"][0]["pattern"] |= {"sheets": 2, "columns": 2}
