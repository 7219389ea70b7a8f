"""Paper patterns that are cut off, blank, scaled, mirrored, mixed up or drawn otherwise."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from damage_kinds.kinds import COMPLETE, FAITHFUL, FIGURES, MARKED, STAYS_DARK, TRUE_SIZE, placed
from damage_kinds.pdf_file import Pdf
from damage_kinds.things import NotHereError

BASES = ("wide", "tone", "inch")
GONE = (COMPLETE, FAITHFUL, MARKED, FIGURES)
SCALED = (TRUE_SIZE, FAITHFUL, MARKED)
LINES, WORDS = b"FormXob.lines", b"FormXob.words"
PLACED = rb"(?m)^(\S+) 0 0 \1 (\S+) (\S+) cm\n/FormXob"
"""How a sheet places the forms: scale, and where."""


def pages(name: str, *promises: str, bases: tuple[str, ...] = BASES):
    """Enter what is done to a pattern's objects, its first page and its sheets."""

    def enter(spoil):
        @placed(f"pattern: {name}", *promises, file="pattern.pdf", bases=bases)
        def _(folder: Path, plaque: Path) -> None:
            pdf = Pdf(plaque / "pattern.pdf")
            before = {number: list(own) for number, own in pdf.objects.items()}
            spoil(pdf, pdf.pages())
            if before == pdf.objects:
                raise NotHereError("nothing is changed")
            pdf.save()

        return spoil

    return enter


def rewritten(own: list[bytes | None], old: bytes, new: bytes, count: int = 0) -> None:
    """Replace a pattern in a content stream, which must be there."""
    own[1], done = re.subn(old, new, own[1], count=count)
    if not done:
        raise NotHereError(f"no {old!r}")


SEVERAL = ("wide",)


@pages("the last sheet dropped", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages(own[:-1])


@pages("the first page dropped", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages(own[1:])


@pages("two sheets exchanged", *GONE, bases=SEVERAL)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages([own[0], own[2], own[1]])


@pages("one sheet twice, the other lost", *GONE, bases=SEVERAL)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages([own[0], own[1], own[1]])


@pages("a sheet too many", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages([*own, own[-1]])


@pages("no pages", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.set_pages([])


@pages("a blank sheet", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.content(own[-1])[1] = b" "


@pages("a sheet of which the second half of the drawing is lost", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    content = pdf.content(own[-1])
    content[1] = content[1][: len(content[1]) // 2]


@pages("the lines of the pattern gone", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.form(LINES)[1] = b" "


@pages("the words of the pattern gone", *GONE, bases=("wide", "inch"))
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.form(WORDS)[1] = b" "


@pages("half of its lines gone", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    rows = form[1].split(b"\n")
    form[1] = b"\n".join(rows[: 3 * len(rows) // 4])


@pages("the largest outline gone", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    rows = form[1].split(b"\n")
    rows.remove(max(rows, key=len))
    form[1] = b"\n".join(rows)


@pages("the order of its lines and forms never placed", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"/FormXob.lines Do\n", b"")


for _share, _text in ((b"0.99", "99 %"), (b"0.97", "97 %"), (b"1.02", "102 %")):

    @pages(f"a sheet scaled to {_text}", *SCALED)
    def _(pdf: Pdf, own: list[int], share: bytes = _share) -> None:
        content = pdf.content(own[-1])
        content[1] = share + b" 0 0 " + share + b" 0 0 cm\n" + content[1]


@pages("all sheets scaled, the paper too", *SCALED)
def _(pdf: Pdf, own: list[int]) -> None:
    for page in own:
        content = pdf.content(page)
        content[1] = b"0.9 0 0 0.9 0 0 cm\n" + content[1]
        pdf.objects[page][0] = re.sub(
            rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]",
            lambda at: b"/MediaBox [ 0 0 %.3f %.3f ]" % (0.9 * float(at[1]), 0.9 * float(at[2])),
            pdf.objects[page][0],
        )


@pages("the drawing on a sheet scaled, its bars not", *SCALED)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"(?m)^(\S+) 0 0 \1 (\S+ \S+ cm\n/FormXob)", rb"2.80 0 0 2.80 \2")


@pages("the bars on a sheet longer than they say", TRUE_SIZE, MARKED, FIGURES)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"n ([\d.]+) ([\d.]+) m ([\d.]+) \2 l(?=\nS\nn \1 \2 m \1 )",
              lambda at: b"n %s %s m %.4f %s l" % (at[1], at[2], float(at[3]) + 2, at[2]))  # fmt: skip


@pages("the drawing on a sheet moved 5 mm", *SCALED)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), PLACED,
              lambda at: b"%s 0 0 %s %.4f %s cm\n/FormXob" % (at[1], at[1], float(at[2]) + 14.17, at[3]))  # fmt: skip


@pages("the drawing on a sheet mirrored", FAITHFUL, MARKED, TRUE_SIZE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), PLACED,
              lambda at: b"-%s 0 0 %s %.4f %s cm\n/FormXob" % (at[1], at[1], float(at[2]) + 907, at[3]))  # fmt: skip


@pages("a sheet mirrored", FAITHFUL, MARKED, TRUE_SIZE)
def _(pdf: Pdf, own: list[int]) -> None:
    content = pdf.content(own[-1])
    content[1] = b"-1 0 0 1 595.2756 0 cm\n" + content[1]


@pages("a sheet turned by a quarter on its paper", FAITHFUL, MARKED, TRUE_SIZE)
def _(pdf: Pdf, own: list[int]) -> None:
    content = pdf.content(own[-1])
    content[1] = b"0 1 -1 0 595.2756 0 cm\n" + content[1]


@pages("the drawing clipped to a third", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"n (\S+) (\S+) (\S+) (\S+) re W\* n",
              lambda at: b"n %s %s %.3f %s re W* n" % (at[1], at[2], float(at[3]) / 3, at[4]), 1)  # fmt: skip


@pages("the form of lines scaled by its own matrix", *SCALED)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    form[0] = form[0].replace(b"/Matrix [ 1 0 0 1 0 0 ]", b"/Matrix [ 0.99 0 0 0.99 0 0 ]")


@pages("the form of lines clipped by its own box", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    form[0] = re.sub(rb"/BBox \[ .*? \]", b"/BBox [ -3 -3 50 50 ]", form[0])


@pages("one outline moved by 2 mm", FAITHFUL)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    rows = form[1].split(b"\n")
    at = max(range(len(rows)), key=lambda number: len(rows[number]))
    rows[at] = re.sub(
        rb"(?<=[ mlcn])(-?[\d.]+) (-?[\d.]+)(?= )", lambda own: b"%.4f %s" % (float(own[1]) + 2, own[2]), rows[at]
    )
    form[1] = b"\n".join(rows)


@pages("lines drawn in white", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.form(LINES), rb"(?m)^\S+ \S+ \S+ RG$", b"1 1 1 RG")
    rewritten(pdf.form(LINES), rb"(?m)^\S+ g$", b"1 g")


@pages("the lines are covered by a white sheet", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    pdf.content(own[-1])[1] += b"\nq 1 g 0 0 9000 9000 re f Q\n"


@pages("lines as wide as a pencil", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.form(LINES), rb"(?m)^[.\d]+ w$", b"7 w")


@pages("the outline of the board gone", *GONE, TRUE_SIZE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.form(LINES), rb"\.35 w\n\[\] 0 d\n(n .*\nS\n)", b".35 w\n")


@pages("dowel holes gone", *GONE)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(LINES)
    at = form[1].find(b".8 .47451 .654902 RG")
    if at < 0:
        raise NotHereError("no dowel holes")
    form[1] = form[1][:at]


@pages("names of two dowel holes exchanged", MARKED, FIGURES)
def _(pdf: Pdf, own: list[int]) -> None:
    form = pdf.form(WORDS)
    if b"(A) Tj" not in form[1] or b"(B) Tj" not in form[1]:
        raise NotHereError("no names")
    form[1] = form[1].replace(b"(A) Tj", b"(\0) Tj").replace(b"(B) Tj", b"(A) Tj").replace(b"(\0) Tj", b"(B) Tj")


@pages("it says another sheet", MARKED, FIGURES)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"\(sheet \d", b"(sheet 7")


@pages("it says another scale", MARKED, FIGURES, TRUE_SIZE)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[-1]), rb"\(scale 1:1\)", b"(scale 1:2)")


@pages("the neighbours' names exchanged", MARKED, FIGURES, bases=SEVERAL)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[1]), rb"\(1-2\)", b"(1-3)")


@pages("the register crosses where sheets overlap gone", MARKED, FIGURES, TRUE_SIZE, bases=SEVERAL)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[1]), rb"n 18[05]\.\d+ \S+ m 19[05]\.\d+ \S+ l\nS\n", b"")


@pages("the cut line of the overlap moved", MARKED, FIGURES, TRUE_SIZE, FAITHFUL, bases=SEVERAL)
def _(pdf: Pdf, own: list[int]) -> None:
    rewritten(pdf.content(own[1]), rb"188\.0247", b"183.0247")


def page_key(name: str, key: bytes, *promises: str) -> None:
    @pages(name, *promises)
    def _(pdf: Pdf, own: list[int]) -> None:
        head = pdf.objects[own[-1]][0]
        kind = key.split(b" ")[0]
        if kind + b" " in head:
            head = re.sub(re.escape(kind) + rb" (\[.*?\]|\d+)", key, head)
        else:
            head = head.replace(b"/Type /Page", key + b" /Type /Page")
        pdf.objects[own[-1]][0] = head


page_key("the paper of a sheet smaller", b"/MediaBox [ 0 0 560 800 ]", TRUE_SIZE, MARKED, FIGURES, COMPLETE)
page_key("the paper of a sheet larger", b"/MediaBox [ 0 0 842 1190 ]", TRUE_SIZE, MARKED, FIGURES)
page_key("a sheet cropped", b"/CropBox [ 0 0 300 400 ]", *GONE, TRUE_SIZE)
page_key("a sheet's unit is twice a point", b"/UserUnit 2", *SCALED)
page_key("a sheet is turned for show", b"/Rotate 90", MARKED, TRUE_SIZE, FAITHFUL)


@placed("pattern: only its head and its tail", *GONE, file="pattern.pdf", bases=("wide", "tone"))
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "pattern.pdf"
    whole = path.read_bytes()
    path.write_bytes(whole[:1024] + whole[-1024:])


@placed("pattern: the middle of it nought bytes", *GONE, file="pattern.pdf", bases=("wide", "tone"))
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "pattern.pdf"
    whole = path.read_bytes()
    third = len(whole) // 3
    path.write_bytes(whole[:third] + b"\0" * third + whole[2 * third :])


@placed("pattern: a stretch of the packed lines flipped", *GONE, file="pattern.pdf", bases=("wide", "tone"))
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "pattern.pdf"
    whole = bytearray(path.read_bytes())
    at = whole.index(b"stream") + 900
    whole[at : at + 40] = bytes(value ^ 0x55 for value in whole[at : at + 40])
    path.write_bytes(bytes(whole))


@placed("pattern: another file with its name", *GONE, file="pattern.pdf", bases=("wide",))
def _(folder: Path, plaque: Path) -> None:
    shutil.copy(folder / "jobsheet.html", plaque / "pattern.pdf")


@placed("pattern: another order's", *GONE, TRUE_SIZE, STAYS_DARK, file="pattern.pdf", bases=("wide", "tone"))
def _(folder: Path, plaque: Path) -> None:
    other = "tone" if folder.name != "tone" else "wide"
    found = next((folder.parents[1] / "made" / other).glob("*/pattern.pdf"))
    shutil.copy(found, plaque / "pattern.pdf")
