"""numbers.json, job.toml and jobsheet.html that say what the drawings don't."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

from damage_kinds.kinds import COMPLETE, FAITHFUL, FIGURES, MARKED, NO_GOUGE, ONE_PIECE, STAYS_DARK, TRUE_SIZE, placed
from damage_kinds.things import NotHereError

SAID = (FIGURES, COMPLETE)
ANY = (FIGURES, COMPLETE, NO_GOUGE, STAYS_DARK, TRUE_SIZE, MARKED, FAITHFUL, ONE_PIECE)
"""What a setting of the job is judged by may be any promise: the drawings are right, and the job says otherwise."""


def told(name: str, where: str, change, bases: tuple[str, ...] = ("tone",), promises: tuple[str, ...] = SAID) -> None:
    """Enter a figure of numbers.json that is changed: ``where`` is its path of keys below the first plaque."""

    @placed(f"numbers.json: {name}", *promises, file="numbers.json", bases=bases)
    def _(folder: Path, plaque: Path) -> None:
        path = folder / "numbers.json"
        tree = json.loads(path.read_text(encoding="utf-8"))
        *keys, last = where.split(".")
        place: Any = tree if where.startswith("/") else tree["plaques"][0]
        for key in keys:
            place = place[int(key) if key.isdigit() else key.removeprefix("/")]
        last = last.removeprefix("/")
        key = int(last) if last.isdigit() else last
        old = json.dumps(place[key])
        new = change(place[key])
        if new is GONE:
            del place[key]
        else:
            place[key] = new
        if new is not GONE and json.dumps(new) == old:
            raise NotHereError("the same figure")
        path.write_text(json.dumps(tree, indent=2), encoding="utf-8")


GONE = object()


def times(by: float):
    return lambda value: round(value * by, 4)


def plus(by: float):
    return lambda value: value + by


BOTH_JOBS = ("tone", "photo")
JOB = (*SAID, TRUE_SIZE, STAYS_DARK, NO_GOUGE, FAITHFUL)
told("a pocket deeper than drawn", "pockets.0.depth_mm", plus(2), BOTH_JOBS, JOB)
told("a pocket's other cutter", "pockets.0.cutter_mm", times(2), BOTH_JOBS, JOB)
told("a pocket of half its area", "pockets.0.area_mm2", times(0.5), BOTH_JOBS)
told("a pocket of twice its volume", "pockets.0.volume_mm3", times(2))
told("a pocket of half its path", "pockets.0.cutter_path_mm", times(0.5))
told("a pocket cut in one pass", "pockets.0.passes", lambda value: 1)
told("a pocket left out", "pockets", lambda rows: rows[1:], BOTH_JOBS)
told("a pocket twice", "pockets", lambda rows: [*rows, rows[-1]])
told("no pockets", "pockets", lambda rows: [])
told("V lines fewer than drawn", "v_lines.count", plus(-3), BOTH_JOBS)
told("V lines shorter than drawn", "v_lines.length_mm", times(0.8), BOTH_JOBS)
told("V lines deeper than drawn", "v_lines.greatest_depth_mm", plus(1), BOTH_JOBS, JOB)
told("a class of V lines shorter", "v_lines.classes.0.length_mm", times(0.5))
told("a class of V lines of another depth", "v_lines.classes.0.depth_mm", lambda value: [0.3, 9.0])
told("sanding leaves more than it does", "v_lines.sanding.share_left", lambda row: [1.0 for _ in row])
told("sanding may take twice as much", "v_lines.sanding.too_much_mm", times(2))
told("the planned loss is another", "v_lines.sanding.loss_mm", lambda row: [value / 2 for value in row], promises=JOB)
told("the lines that go first are elsewhere", "v_lines.first_to_go.0.place_mm", lambda at: [at[0] + 9, at[1]])
told("flow lines fewer than drawn", "flow_lines.count", plus(-1), ("photo",))
told("flow lines deeper than drawn", "flow_lines.greatest_below_floor_mm", plus(1), ("photo",), JOB)
told("flow lines shorter than drawn", "flow_lines.length_mm", times(0.5), ("photo",))
told("fragile ridges fewer than drawn", "fragile_light.count", plus(-5), ("photo",))
told("the worst ridge elsewhere", "fragile_light.worst.0.place_mm", lambda at: [at[0] + 9, at[1]], ("photo",))
told("less rest than there is", "rest_share", times(0.3), BOTH_JOBS)
told("more left uncut than is", "uncut_share", plus(0.2), promises=(*SAID, STAYS_DARK))
told("another share of dark", "dark_share", times(0.7), BOTH_JOBS, (*SAID, FAITHFUL))
told("fewer shadows", "shadows", plus(-2), BOTH_JOBS, (*SAID, FAITHFUL))
told("another board size", "size_mm", lambda size: [size[0] + 10, size[1]], BOTH_JOBS, (*SAID, TRUE_SIZE))
told("another thickness", "thickness_mm", plus(-6), promises=JOB)
told("another shape", "shape", lambda shape: "oval", promises=JOB)
told("another picture box", "picture_box_mm", lambda box: [value + 5 for value in box], promises=JOB)
told("another plaque's name", "name", lambda name: "stranger")
told("another tolerance", "/tolerance_mm", lambda value: 1.0, promises=JOB)
told("another unit", "/unit", lambda unit: "in", promises=JOB)
told("another finest line", "/detail_mm", times(3))
told("another method", "/method", lambda method: "single-level")
told("another picture", "/picture", lambda name: "other.png")
told("a dowel of another size", "register.dowel_mm", plus(2), promises=(*SAID, MARKED))
told("a register mark elsewhere", "register.marks.0.x_mm", plus(3), promises=(*SAID, MARKED))
told("a register mark left out", "register.marks", lambda rows: rows[1:], promises=(*SAID, MARKED))
told("a distance of register marks", "register.distances.0.length_mm", plus(5), promises=(*SAID, MARKED))
told("more pieces of outline", "outlines.pieces", plus(20), BOTH_JOBS)
told("another deviation", "outlines.largest_deviation_mm", lambda value: 0.001, promises=(*SAID, FAITHFUL))
told("a sheet too many of pattern", "pattern.sheets", plus(1), ("wide",))
told("another paper", "pattern.paper", lambda paper: "A3", ("wide",))
told("fewer bridges", "stencil.bridges", plus(-1))
told("fewer openings of a stencil", "stencil.openings", plus(-1))
told(
    "another stencil sheet", "stencil.sheet_mm", lambda box: [value * 1.1 for value in box], promises=(*SAID, TRUE_SIZE)
)
told("another kerf", "stencil.kerf_mm", plus(0.5), promises=ANY)
told("other webs", "stencil.web_mm", plus(3), promises=ANY)
told("a template's other depth", "template.depth_mm", plus(2), promises=ANY)
told("a bit that stands out further", "template.bit_below_base_mm", plus(3))
told("another bush", "template.bush_mm", plus(4), promises=ANY)
told("another offset", "template.offset_mm", plus(1), promises=ANY)
told("fewer template sheets", "template.sheets", plus(-1))
told("another overhang", "template.overhang_mm", lambda row: [value + 9 for value in row])
told("more unreached wood", "template.unreached_mm2", plus(500))
told("a template placed by other dowels", "template.placing.0.dowels", lambda names: ["A"], promises=(*SAID, MARKED))
told("a file left out of the list", "files", lambda names: names[1:], promises=(*SAID, MARKED))
told("a file too many in the list", "files", lambda names: [*names, "other.svg"])
told("a file of another folder in the list", "files", lambda names: ["../job.toml", *names[1:]])
told("a list of no files", "files", lambda names: [])
told("the plaque twice", "/plaques", lambda rows: rows * 2)
told("no plaques", "/plaques", lambda rows: [])
told("the plaque left out of two", "/plaques", lambda rows: rows[:1], ("stock",))
told("the stock's sheet elsewhere", "/stock.0.sheets.0.place_mm", lambda at: [at[0] + 30, at[1]], ("stock",), ANY)
told("the stock's sheet turned", "/stock.0.sheets.0.turned", lambda turned: True, ("stock",), ANY)
told("another stock size", "/stock.0.size_mm", lambda size: [size[0] - 60, size[1]], ("stock",), ANY)
told("a piece of stock left out", "/stock.1.files", lambda names: names[:2], ("stock",), ANY)
told("no stock", "/stock", lambda rows: [], ("stock",), ANY)
told("pockets gone", "pockets", lambda rows: GONE)
told("a text for a number", "pockets.0.depth_mm", lambda value: "three", promises=JOB)
told("nothing for a list", "pockets", lambda value: None)
told("a number for a list", "pockets", lambda value: 5)
told("nan for a number", "v_lines.length_mm", lambda value: float("nan"))
told("a number below nought", "pockets.0.depth_mm", lambda value: -value, promises=JOB)
told("a number of 1e300", "pockets.0.area_mm2", lambda value: 1e300)
told("true for a number", "v_lines.count", lambda value: True)


def setting(name: str, old: str, new: str, bases: tuple[str, ...] = ("tone",)) -> None:
    """Enter a setting of job.toml that is changed after the files were made."""

    @placed(f"job.toml: {name}", *ANY, file="job.toml", bases=bases)
    def _(folder: Path, plaque: Path) -> None:
        path = folder / "job.toml"
        text = path.read_text(encoding="utf-8")
        changed = re.sub(old, new, text, count=1, flags=re.MULTILINE)
        if changed == text:
            raise NotHereError(f"no {old}")
        path.write_text(changed, encoding="utf-8")


def key(name: str, head: str, own: str, value: str, bases: tuple[str, ...] = ("tone",)) -> None:
    setting(
        name, rf"(^\[+{head}\]+\n(?:(?!\[).*\n)*?)(?:# )?{own}(?: = .*| is not set.*)", rf"\g<1>{own} = {value}", bases
    )


key("another board size", "plaque", "size", '"150x110mm"', ("tone", "photo"))
key("another thickness, less than its pockets' depth", "plaque", "thickness", '"3mm"')
key("another shape", "plaque", "shape", '"oval"')
key("another name", "plaque", "name", '"stranger"')
key("another cutter", "cutter", "diameter", '"6mm"', ("tone", "photo"))
key("another depth", "cutter", "depth", '"1mm"', ("tone", "photo"))
key("a greater depth", "cutter", "depth", '"9mm"')
key("no allowance", "cutter", "finishing_allowance", '"0.9mm"')
key("a greater sanding loss", "finish", "sanding_loss", '"2mm"', ("tone", "photo"))
key("more depth left after sanding", "finish", "least_depth_left", '"8mm"')
key("another V angle", "v_tool", "angle", "120", ("tone", "photo"))
key("a lesser greatest depth of V lines", "v_tool", "greatest_depth", '"1mm"', ("tone", "photo"))
key("a finer tolerance", "output", "tolerance", '"0.01mm"')
key("inches", "output", "unit", '"in"')
key("zero at the centre", "output", "origin", '"centre"')
key("R12", "output", "dxf", '"R12"')
key("another kerf", "stencil", "kerf", '"1mm"')
key("wider webs", "stencil", "web", '"6mm"')
key("a larger stencil sheet", "stencil", "sheet", '"200x200mm"')
key("another bush", "template", "bush", '"12mm"')
key("another bit", "template", "bit", '"2mm"')
key("a thicker template", "template", "thickness", '"12mm"')
key("wider webs of the template", "template", "web", '"30mm"')
key("another dowel", "register", "dowel", '"8mm"')
key("no dowels", "register", "dowel", "0")
key("another inset", "register", "inset", '"12mm"')
key("mirrored patterns", "pattern", "mirrored", "true", ("wide",))
key("another paper", "pattern", "paper", '"A3"', ("wide",))
key("another stock", "stock", "stencil", '"200x900mm"', ("stock",))
key("another gap", "stock", "gap", '"40mm"', ("stock",))
key("fewer files", "output", "files", '["carve"]')
setting("a plaque more", r"\[finish\]", '[[plaque]]\nname = "more"\nsize = "90x90mm"\n\n[finish]')
setting("a cutter more", r"\[v_tool\]", '[[cutter]]\ndiameter = "1mm"\n\n[v_tool]')
setting("no plaque's line", r"\[\[plaque\]\]\nname = .*\n", "[[plaque]]\n")
setting("broken in the middle", r"(?s)\[cutter\].*", "[cutter")
setting("a key that nobody knows", r"\[finish\]", "[finish]\nvarnish = 3")


def page(name: str, old: str, new: str, bases: tuple[str, ...] = ("tone",), count: int = 0) -> None:
    """Enter words of the job sheet that are changed."""

    @placed(f"jobsheet.html: {name}", *SAID, file="jobsheet.html", bases=bases)
    def _(folder: Path, plaque: Path) -> None:
        path = folder / "jobsheet.html"
        text = path.read_text(encoding="utf-8")
        changed = re.sub(old, new, text, count=count)
        if changed == text:
            raise NotHereError(f"no {old}")
        path.write_text(changed, encoding="utf-8")


page("another cutter", r"Straight cutter, \d", "Straight cutter, 9")
page("another depth of pockets", r"3\.00(?=\smm)", "8.00", ("tone", "photo"))
page("another board size", r"110 x (?:110|80)(?=\smm)", "160 x 110", ("tone", "photo"))
page("another thickness", r"\b18(?=\smm thick)", "12")
page("another plaque's name", r"rings", "wings")
page("another sanding loss", r"0\.50(?=\smm)", "0.05")
page("another V angle", r"\b60(°|&deg;| degrees)", r"90\1", ("tone", "photo"))
page("all of it gone but its head", r"(?s)<body>.*</body>", "<body></body>", ("tone", "photo"))
page("cut off", r"(?s)(<body>.{3000}).*", r"\1", ("tone", "photo"))
page("its tables gone", r"(?s)<table.*?</table>", "", ("tone", "photo"))
page("every figure one more", r"(?<=<td>)(\d+)(?=[. ])", lambda at: str(int(at[1]) + 1), ("tone", "photo"))


@placed("jobsheet.html: another order's", *SAID, file="jobsheet.html", bases=("tone", "photo", "inch"))
def _(folder: Path, plaque: Path) -> None:
    other = "oval" if folder.name != "oval" else "wide"
    shutil.copy(folder.parents[1] / "made" / other / "jobsheet.html", folder / "jobsheet.html")
