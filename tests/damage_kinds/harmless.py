"""Edits that change nothing that matters: ``check`` must raise no alarm over them."""

from __future__ import annotations

import gzip
import json
import os
import random
import re
from pathlib import Path

from PIL import Image

from damage_kinds.dxf_sheet import DxfSheet
from damage_kinds.kinds import BOTH, DXF, SVG, drawn, placed
from damage_kinds.pdf_file import Pdf
from damage_kinds.svg_sheet import SvgSheet
from damage_kinds.things import NotHereError, Sheet

CARVED = ("photo", "r12", "inch", "oval", "tone")


def text_of(name: str, words: str, change, bases: tuple[str, ...] = CARVED) -> None:
    """Enter a change to a file's text; a name with a slash before it is of the job's own folder."""

    @placed(words, file=name.lstrip("/"), bases=bases, harmless=True)
    def _(folder: Path, plaque: Path) -> None:
        path = folder / name[1:] if name.startswith("/") else plaque / name
        data = path.read_bytes()
        changed = change(data.decode("utf-8")).encode("utf-8")
        if changed == data:
            raise NotHereError("nothing is changed")
        path.write_bytes(changed)


text_of("carve.svg", "a comment", lambda text: text.replace(" <g ", " <!-- for the hall, ask Anna -->\n <g ", 1))
text_of("carve.svg", "lines of another indent", lambda text: re.sub(r"\n\s*", "\n\t\t", text))
text_of("carve.svg", "no line ends", lambda text: re.sub(r">\n\s*<", "><", text))
text_of("carve.svg", "line ends of another system", lambda text: text.replace("\n", "\r\n"))
text_of("carve.svg", "no XML declaration", lambda text: text.split("?>\n", 1)[1])
text_of("carve.svg", "a byte order mark", lambda text: "\ufeff" + text)
text_of(
    "carve.svg",
    "commas between numbers",
    lambda text: re.sub(r' d="[^"]*"', lambda d: re.sub(r"(\d) (?=-?\d)", r"\1,", d[0]), text),
)  # noqa: E501
text_of(
    "carve.svg",
    "path data without needless spaces",
    lambda text: re.sub(r' d="[^"]*"', lambda d: re.sub(r" ?([MLAZ]) ?", r"\1", d[0][4:]).join((' d="', "")), text),
)  # noqa: E501
text_of(
    "carve.svg",
    "numbers with trailing noughts",
    lambda text: re.sub(r' d="[^"]*"', lambda d: re.sub(r"(\d+\.\d+)", r"\g<1>000", d[0]), text),
)  # noqa: E501
text_of(
    "carve.svg",
    "numbers with an exponent",
    lambda text: re.sub(r"M (\d+)\.(\d+) ", lambda at: f"M {float(f'{at[1]}.{at[2]}'):.8e} ", text),
)  # noqa: E501
text_of("carve.svg", "single quotes", lambda text: text.replace('"', "'"))
text_of("carve.svg", "another title", lambda text: re.sub(r"<title>.*?</title>", "<title>for Anna</title>", text))
text_of("carve.svg", "another colour of shadows", lambda text: text.replace("#56b4e9", "#808080"))
text_of("carve.svg", "a processing instruction", lambda text: text.replace("?>\n", "?>\n<?editor saved?>\n", 1))
text_of("carve.dxf", "a comment of code 999", lambda text: "999\nfor the hall, ask Anna\n" + text)
text_of("carve.dxf", "line ends of another system", lambda text: text.replace("\n", "\r\n"))
text_of("carve.dxf", "codes without spaces before them", lambda text: re.sub(r"(?m)^ +(?=\d+$)", "", text))
text_of(
    "carve.dxf",
    "another colour of the layers",
    lambda text: re.sub(r"(?m)^( *)62\n *(\d+)$", r"\g<1>62\n3", text, count=2),
)  # noqa: E501
text_of("/job.toml", "a comment", lambda text: "# for the hall, ask Anna\n" + text)
text_of(
    "/job.toml",
    "a length in another unit",
    lambda text: text.replace('"0.2mm"', '"0.02cm"', 1).replace('"3mm"', '"0.3cm"', 1),
)  # noqa: E501
text_of("/job.toml", "other line ends", lambda text: text.replace("\n", "\r\n"))
text_of("/job.toml", "comments taken out", lambda text: re.sub(r"(?m)^#.*\n", "", text))
text_of("/numbers.json", "another indent", lambda text: json.dumps(json.loads(text), indent=7))
text_of("/numbers.json", "keys in another order", lambda text: json.dumps(json.loads(text), sort_keys=True))
text_of("/jobsheet.html", "a comment", lambda text: text + "\n<!-- printed twice -->\n")
text_of("/jobsheet.html", "other line ends", lambda text: text.replace("\n", "\r\n"))


def sheet_edit(words: str, *, on: str = "carve", bases: tuple[str, ...] = CARVED, forms=(SVG, DXF, BOTH)):
    return drawn(words, on=on, bases=bases, forms=forms, unread=True, harmless=True)


@sheet_edit("saved by another program, nothing changed")
def _(sheet: Sheet) -> None:
    return


@sheet_edit("coordinates a ten-thousandth of a millimetre off")
def _(sheet: Sheet) -> None:
    dice = random.Random(1)
    things = [
        thing for thing in sheet.paths("shadow", "pocket") if max(map(abs, thing.bulges)) < 0.6
    ]  # SVG's arcs that
    # turn by half hang on their ends and radius so closely that a move of both by so little bends them by far more
    sheet.each(things, lambda point: point + complex(dice.uniform(-1e-4, 1e-4), dice.uniform(-1e-4, 1e-4)))


@sheet_edit("rings of shadows begin elsewhere", forms=(BOTH,))
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("shadow"):
        thing.points = thing.points[1:] + thing.points[:1]
        thing.bulges = thing.bulges[1:] + thing.bulges[:1]
        sheet.redraw(thing)


@sheet_edit("a note moved by half a millimetre", bases=("tone", "photo"), forms=(BOTH,))
def _(sheet: Sheet) -> None:
    sheet.shift(sheet.texts("wall", "note")[:1], 0.3 + 0.4j)


@sheet_edit("openings begin elsewhere", on="stencil", bases=("tone", "r12"), forms=(BOTH,))
def _(sheet: Sheet) -> None:
    for thing in sheet.paths("opening"):
        thing.points = thing.points[1:] + thing.points[:1]
        thing.bulges = thing.bulges[1:] + thing.bulges[:1]
        sheet.redraw(thing)


for _on in ("stencil", "template", "kerf-test"):

    @sheet_edit("saved by another program", on=_on, bases=("tone",))
    def _(sheet: Sheet) -> None:
        return


@sheet_edit("attributes in another order", forms=(SVG,))
def _(sheet: Sheet) -> None:
    if not isinstance(sheet, SvgSheet):
        raise NotHereError("SVG only")
    for element in sheet.root.iter():
        items = sorted(element.attrib.items(), reverse=True)
        element.attrib.clear()
        element.attrib.update(items)


@sheet_edit("an attribute of an editor's own namespace", forms=(SVG,))
def _(sheet: Sheet) -> None:
    if not isinstance(sheet, SvgSheet):
        raise NotHereError("SVG only")
    sheet.root.set("{http://example.org/editor}window", "800")


@sheet_edit("extended data of another program", forms=(DXF,))
def _(sheet: Sheet) -> None:
    if not isinstance(sheet, DxfSheet):
        raise NotHereError("DXF only")
    for entity in sheet.entities[:10]:
        entity[0] += [(1001, "ACAD"), (1000, "seen")]


@sheet_edit("saved anew by a library", forms=(DXF,))
def _(sheet: Sheet) -> None:
    import ezdxf

    document = ezdxf.readfile(sheet.path)
    document.saveas(sheet.path)
    sheet.__init__(sheet.path)  # type: ignore[misc]


def beside(words: str, name: str, content: bytes | None, *, in_job: bool = False) -> None:
    @placed(words, file="(folder)", bases=("tone", "photo"), harmless=True)
    def _(folder: Path, plaque: Path) -> None:
        path = (folder if in_job else plaque) / name
        path.mkdir() if content is None else path.write_bytes(content)


beside("a picture of the person's own", "finished.jpg", b"\xff\xd8\xff")
beside("a spare copy of a drawing", "carve.svg.bak", b"<svg/>")
beside("a drawing of the person's own", "jig.svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>')
beside("a folder of the person's own", "photos", None, in_job=True)
beside("a text of the person's own", "read me.txt", b"cut on Monday\n", in_job=True)
beside("what a file manager leaves", ".DS_Store", b"\0\0\0\1Bud1", in_job=True)
beside("what a file manager leaves in the plaque's folder", "Thumbs.db", b"\xd0\xcf\x11\xe0")


@placed("all files of another day", file="(folder)", bases=("tone",), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    for path in folder.rglob("*"):
        os.utime(path, (1e9, 1e9))


@placed("all files write-protected", file="(folder)", bases=("tone",), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            path.chmod(0o444)


@placed("a drawing that is a link to itself elsewhere", file="carve.svg", bases=("tone",), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    (plaque / "carve.svg").rename(folder / "elsewhere.svg")
    (plaque / "carve.svg").symlink_to(folder / "elsewhere.svg")


@placed("packed anew", file="design.wkb.gz", bases=("tone", "photo"), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "design.wkb.gz"
    path.write_bytes(gzip.compress(gzip.decompress(path.read_bytes()), compresslevel=1, mtime=77))


@placed("saved anew without loss", file="preview.png", bases=("tone",), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    with Image.open(plaque / "preview.png") as image:
        image.load()
    image.save(plaque / "preview.png", optimize=True)


@placed("streams packed anew", file="pattern.pdf", bases=("tone", "wide", "inch"), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    Pdf(plaque / "pattern.pdf").save()


@placed("another author", file="pattern.pdf", bases=("tone", "wide"), harmless=True)
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "pattern.pdf"
    path.write_bytes(path.read_bytes().replace(b"(anonymous)", b"(Anna Wood)"))
