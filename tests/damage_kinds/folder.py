"""Files missing, empty, cut off, exchanged or of other orders: what a half-synced folder or a full disk leaves."""

from __future__ import annotations

import gzip
import json
import random
import re
import shutil
import struct
from pathlib import Path

from PIL import Image, ImageOps

from damage_kinds.kinds import (
    AGREE,
    COMPLETE,
    DXF,
    FAITHFUL,
    FIGURES,
    MARKED,
    NO_GOUGE,
    ONE_PIECE,
    SOUND,
    STAYS_DARK,
    SVG,
    TRUE_SIZE,
    drawn,
    placed,
)
from damage_kinds.things import NotHereError, Sheet

TONE_FILES = ("carve.svg", "carve.dxf", "pattern.pdf", "preview.png", "preview-sanding.png", "stencil.svg",
              "stencil.dxf", "stencil.png", "kerf-test.svg", "kerf-test.dxf", "template.svg", "template.dxf",
              "template-2.svg", "template-3.dxf", "size.png", "design.wkb.gz")  # fmt: skip
JOB_FILES = ("numbers.json", "jobsheet.html", "job.toml")
STOCK_FILES = ("stencil-stock-1.svg", "template-stock-1.dxf", "template-stock-2.svg")
OTHER_ORDER = (COMPLETE, FIGURES, FAITHFUL, TRUE_SIZE, MARKED, NO_GOUGE, STAYS_DARK, ONE_PIECE)


def lost(name: str, bases: tuple[str, ...], *, in_job: bool = False) -> None:
    """Enter the ways in which any file is lost."""
    promises = (COMPLETE, FIGURES) if in_job else (COMPLETE,)

    def enter(words: str, spoil, *more: str) -> None:
        @placed(words, *promises, *more, file=name, bases=bases)
        def _(folder: Path, plaque: Path) -> None:
            spoil((folder if in_job else plaque) / name)

    enter("missing", Path.unlink)
    enter("empty", lambda path: path.write_bytes(b""))
    enter(
        "cut off at half", lambda path: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]), MARKED, SOUND
    )
    enter("nought bytes of its size", lambda path: path.write_bytes(bytes(path.stat().st_size)))
    enter("random bytes", lambda path: path.write_bytes(random.Random(0).randbytes(4000)))


for _name in TONE_FILES:
    lost(_name, ("tone",))
for _name in JOB_FILES:
    lost(_name, ("tone",), in_job=True)
for _name in STOCK_FILES:
    lost(_name, ("stock",), in_job=True)


def held(words: str, name: str, spoil) -> None:
    @placed(words, COMPLETE, file=name)
    def _(folder: Path, plaque: Path) -> None:
        path = plaque / name
        path.unlink()
        spoil(path)


for _name in ("carve.svg", "stencil.dxf", "pattern.pdf", "preview.png", "design.wkb.gz"):
    held("a folder in its place", _name, Path.mkdir)
    held("a link that leads nowhere", _name, lambda path: path.symlink_to("gone"))
held("a link that leads to itself", "carve.svg", lambda path: path.symlink_to(path.name))


@placed("the plaque's folder gone", COMPLETE, file="(folder)", bases=("tone", "stock"))
def _(folder: Path, plaque: Path) -> None:
    shutil.rmtree(plaque)


@placed("the plaque's folder renamed", COMPLETE, file="(folder)", bases=("tone", "stock"))
def _(folder: Path, plaque: Path) -> None:
    plaque.rename(plaque.with_name("renamed"))


@placed("folders of two plaques exchanged", *OTHER_ORDER, file="(folder)", bases=("stock",))
def _(folder: Path, plaque: Path) -> None:
    (folder / "large").rename(folder / "between")
    (folder / "small").rename(folder / "large")
    (folder / "between").rename(folder / "small")


@placed("all files in the plaque's folder gone", COMPLETE, file="(folder)")
def _(folder: Path, plaque: Path) -> None:
    for path in plaque.iterdir():
        path.unlink()


def of_other(words: str, names: tuple[str, ...], base: str, other: str, *promises: str) -> None:
    """Enter files of another order in place of this one's."""

    @placed(words, *(promises or OTHER_ORDER), file=names[0], bases=(base,))
    def _(folder: Path, plaque: Path) -> None:
        source = folder.parents[1] / "made" / other
        for name in names:
            found = next(iter([*source.glob(f"*/{name}"), *source.glob(name)]))
            target = plaque / name if (plaque / name).exists() else folder / name
            shutil.copy(found, target)


of_other("another order's, SVG and DXF", ("carve.svg", "carve.dxf"), "tone", "r12")
of_other("another order's", ("carve.svg",), "tone", "r12", *OTHER_ORDER, AGREE)
of_other("another order's", ("carve.dxf",), "photo", "oval", *OTHER_ORDER, AGREE)
of_other("another order's, SVG and DXF", ("stencil.svg", "stencil.dxf"), "tone", "r12")
of_other("another order's design", ("design.wkb.gz",), "tone", "r12", COMPLETE, FAITHFUL)
of_other("another order's drawings and design", ("carve.svg", "carve.dxf", "design.wkb.gz"), "tone", "r12")
of_other("another order's figures", ("numbers.json",), "tone", "r12")
of_other("another order's settings", ("job.toml",), "tone", "r12")
of_other("another order's figures and settings", ("numbers.json", "job.toml"), "tone", "r12")
of_other("another order's stencil and its picture", ("stencil.svg", "stencil.dxf", "stencil.png"), "tone", "stock")


@placed("another plaque's preview", COMPLETE, FAITHFUL, FIGURES, file="preview.png")
def _(folder: Path, plaque: Path) -> None:
    shutil.copy(plaque / "preview-sanding.png", plaque / "preview.png")


def picture(name: str, words: str, change) -> None:
    @placed(words, COMPLETE, FAITHFUL, FIGURES, file=name)
    def _(folder: Path, plaque: Path) -> None:
        with Image.open(plaque / name) as image:
            changed = change(image.convert("RGB"))
        changed.save(plaque / name)


for _name in ("preview.png", "preview-sanding.png", "stencil.png"):
    picture(_name, "blank", lambda image: Image.new("RGB", image.size, "white"))
    picture(_name, "mirrored", ImageOps.mirror)
    picture(_name, "one pixel", lambda image: Image.new("RGB", (1, 1), "white"))
picture("preview.png", "its colours turned", ImageOps.invert)


def design(words: str, change) -> None:
    """Enter what is done to the sized design, as well-known binary (OGC 06-103r4)."""

    @placed(words, FAITHFUL, COMPLETE, STAYS_DARK, NO_GOUGE, FIGURES, file="design.wkb.gz")
    def _(folder: Path, plaque: Path) -> None:
        path = plaque / "design.wkb.gz"
        path.write_bytes(gzip.compress(change(gzip.decompress(path.read_bytes())), mtime=0))


def _moved(data: bytes, x: float, y: float, scale: float = 1.0, mirror: float | None = None) -> bytes:
    from shapely import from_wkb, transform

    def place(at):
        at = at * scale + (x, y)
        if mirror is not None:
            at[:, 0] = mirror - at[:, 0]
        return at

    return transform(from_wkb(data), place).wkb


design("moved by a millimetre", lambda data: _moved(data, 0.8, 0.6))
design("scaled by a per cent", lambda data: _moved(data, 0, 0, 1.01))
design("a mirror image", lambda data: _moved(data, 0, 0, 1.0, 110.0))
design("no polygon in it", lambda data: struct.pack("<BII", 1, 6, 0))
design("cut off within its packing", lambda data: data[: len(data) // 2])
design("a number of nan in it", lambda data: data[:-8] + struct.pack("<d", float("nan")))
design("a number of inf in it", lambda data: data[:-8] + struct.pack("<d", float("inf")))
design("a number of 1e308 in it", lambda data: data[:-16] + struct.pack("<dd", 1e308, 1e308))
design("another kind of geometry", lambda data: struct.pack("<BIdd", 1, 1, 5.0, 5.0))
design("two geometries", lambda data: data + data)
design("a count of rings beyond its end", lambda data: data[:14] + struct.pack("<I", 2**31) + data[18:])
design("collections nested a thousand deep", lambda data: struct.pack("<BII", 1, 7, 1) * 1000 + data)
design("a hundred thousand headers", lambda data: struct.pack("<BII", 1, 7, 1) * 100000)


@placed("packed zeros of 300 MB", COMPLETE, FAITHFUL, file="design.wkb.gz")
def _(folder: Path, plaque: Path) -> None:
    packer, block = gzip.GzipFile(plaque / "design.wkb.gz", "wb", compresslevel=9, mtime=0), bytes(1 << 20)
    with packer:
        for _ in range(300):
            packer.write(block)


@placed("not packed", COMPLETE, FAITHFUL, file="design.wkb.gz")
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "design.wkb.gz"
    path.write_bytes(b"\0" + gzip.decompress(path.read_bytes()))


@placed("a promise of a thousand entities in its head", COMPLETE, MARKED, file="carve.svg")
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "carve.svg"
    lines = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    text = path.read_text(encoding="utf-8").split("?>", 1)[1].replace("<title>", "<title>&a11;", 1)
    path.write_text(f'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a0 "x">{lines}]>{text}', encoding="utf-8")


@placed("groups nested twenty thousand deep", COMPLETE, MARKED, file="carve.svg")
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "carve.svg"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("</svg>", "<g>" * 20000 + "</g>" * 20000 + "</svg>"), encoding="utf-8")


@placed("brackets nested a hundred thousand deep", COMPLETE, FIGURES, file="numbers.json")
def _(folder: Path, plaque: Path) -> None:
    (folder / "numbers.json").write_text("[" * 100000 + "]" * 100000, encoding="utf-8")


@placed("an integer of 5000 digits", COMPLETE, FIGURES, file="numbers.json")
def _(folder: Path, plaque: Path) -> None:
    path = folder / "numbers.json"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'"shadows": \d+', '"shadows": ' + "9" * 5000, text), encoding="utf-8")


for _word in ("null", "[]", "5", '"text"', "{}"):

    @placed(f"nothing but {_word}", COMPLETE, FIGURES, file="numbers.json")
    def _(folder: Path, plaque: Path, word: str = _word) -> None:
        (folder / "numbers.json").write_text(word, encoding="utf-8")


@placed("a name that leads out of the folder", COMPLETE, FIGURES, file="numbers.json")
def _(folder: Path, plaque: Path) -> None:
    path = folder / "numbers.json"
    tree = json.loads(path.read_text(encoding="utf-8"))
    tree["plaques"][0]["name"] = "../../made/tone/rings"
    path.write_text(json.dumps(tree), encoding="utf-8")


FLIPPED = (AGREE, SOUND, FAITHFUL, NO_GOUGE, STAYS_DARK, MARKED, FIGURES)


def flipped(number: int) -> None:
    """Enter one digit of a drawing's geometry that is another, as a flipped bit makes it."""
    role = ("shadow", "pocket", "cutter-path", "v-line", "register")[number % 5]

    @drawn(f"a flipped digit in {role} ({number})", *FLIPPED,
           forms=(SVG,), unread=True, bases=("photo",))  # fmt: skip
    def _(sheet: Sheet) -> None:
        random_digit(sheet, role, number)


def random_digit(sheet: Sheet, role: str, seed: int) -> None:
    """Change a digit before the point, or the first behind it, of a path's coordinate."""
    dice, path = random.Random(seed), dice_path(sheet, role, seed)
    data = path.get("d")
    numbers = list(re.finditer(r"(?<=[ML] )\d+\.\d", data))
    if not numbers:
        raise NotHereError("no whole coordinate")
    at = dice.choice([place for place in range(*dice.choice(numbers).span()) if data[place].isdigit()])
    path.set("d", data[:at] + str((int(data[at]) + dice.choice((2, 4, 5, 7))) % 10) + data[at + 1 :])


def dice_path(sheet: Sheet, role: str, seed: int):
    paths = [thing.source[1] for thing in sheet.paths(role) if re.search(r"[ML] \d+\.\d", thing.source[1].get("d"))]
    return random.Random(seed).choice(paths)


for _number in range(15):
    flipped(_number)


def flipped_tag(number: int) -> None:
    @drawn(f"a flipped digit of DXF ({number})", *FLIPPED, COMPLETE,
           forms=(DXF,), unread=True, bases=("photo",))  # fmt: skip
    def _(sheet: Sheet) -> None:
        dice = random.Random(number)
        role = ("shadow", "pocket", "cutter-path", "v-line", "plaque-edge")[number % 5]
        tags = dice.choice(sheet.paths(role)).source[0]
        at = dice.choice([at for at, (code, _) in enumerate(tags) if code in (10, 20)])
        tags[at] = (tags[at][0], f"{float(tags[at][1]) + dice.choice((-20, -1, -0.5, 0.5, 2, 40)):.4f}")


for _number in range(15):
    flipped_tag(_number)


@drawn("a half-synced drawing: one format of an earlier, larger design", AGREE, FAITHFUL, SOUND, FIGURES, NO_GOUGE,
       forms=(SVG, DXF))  # fmt: skip
def _(sheet: Sheet) -> None:
    sheet.grow(sheet.paths("shadow", "pocket", "cutter-path"), 0.25)


@placed("SVG renamed to DXF", COMPLETE, AGREE, MARKED, file="carve.dxf")
def _(folder: Path, plaque: Path) -> None:
    shutil.copy(plaque / "carve.svg", plaque / "carve.dxf")


@placed("DXF renamed to SVG", COMPLETE, AGREE, MARKED, file="carve.svg")
def _(folder: Path, plaque: Path) -> None:
    shutil.copy(plaque / "carve.dxf", plaque / "carve.svg")


@placed("a web page saved as the drawing", COMPLETE, MARKED, file="carve.svg")
def _(folder: Path, plaque: Path) -> None:
    (plaque / "carve.svg").write_text("<!DOCTYPE html><html><body>404</body></html>", encoding="utf-8")


@placed("merge marks left in the drawing", COMPLETE, MARKED, file="carve.svg")
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "carve.svg"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(" <g ", "<<<<<<< mine\n <g ", 1), encoding="utf-8")


@placed("a tenth of the file twice", COMPLETE, MARKED, SOUND, AGREE, FAITHFUL, FIGURES, file="carve.dxf")
def _(folder: Path, plaque: Path) -> None:
    path = plaque / "carve.dxf"
    whole = path.read_bytes()
    start = whole.index(b"ENTITIES") + 500
    path.write_bytes(whole[: start + len(whole) // 10] + whole[start:])
