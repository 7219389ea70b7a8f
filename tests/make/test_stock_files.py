"""Sheets of several plaques on stock: the written files, judged by readers and by shapely, and the check of them."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path as FilePath

import ezdxf
import numpy as np
import pytest
import readers
import shapely
from sheet_figures import job_figures, plaque
from small_jobs import disc

from shadowrout.check.findings import Promise
from shadowrout.check.folder import read_folder
from shadowrout.check.stock import verdicts
from shadowrout.check.verdict import PlaqueVerdict
from shadowrout.cli import main
from shadowrout.design.board import lay_out
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Path, Role, Text
from shadowrout.errors import SettingError
from shadowrout.geometry.arcs import ArcPath
from shadowrout.job import job_file
from shadowrout.job.options import Job, Output, Picture, Plaque, ToneOptions
from shadowrout.job.sheet_options import StockOptions
from shadowrout.make.plaque_files import svg_and_dxf
from shadowrout.make.stock_files import notes_on_stock, stock_files, stocks_of
from shadowrout.report.figures.figures_json import as_json
from shadowrout.sheets.cutting_order import sheet_edge
from shadowrout.sheets.refusals import refuse
from shadowrout.words.units import Unit

GAP_MM = 6.0
SHEETS = {"large": (160.0, 90.0), "tall": (70.0, 150.0), "small": (60.0, 55.0), "flat": (150.0, 55.0)}
STOCK = (250.0, 230.0)


def opening(size: tuple[float, float]) -> ArcPath:
    """Return an opening without any symmetry, so that a sheet flipped over or turned too far is seen."""
    width, height = size
    points = np.array([(15.0, 20.0), (width - 20.0, 15.0), (width - 20.0, 25.0), (15.0, height - 10.0)])
    return ArcPath(points, np.array([0.0, 0.3, 0.0, 0.0]))


def sheet(name: str, *, ties: bool = False, unit: Unit = Unit.MM) -> Drawing:
    size = SHEETS[name]
    box = (-6.0, -6.0, size[0] - 6.0, size[1] - 6.0)
    shift = ArcPath(opening(size).vertices - 6.0, opening(size).bulges)
    layers = (
        Layer(Role.NOTE, (Text((size[0] / 2 - 6, 0.0), name, 3.5), Text((0.0, 5.0), "left", 1.8, centred=False))),
        Layer(Role.OPENING, (Path(shift),)),
        Layer(Role.REGISTER, (Circle((0.0, 0.0), 2.0),)),
        Layer(Role.SHEET_EDGE, tuple(map(Path, sheet_edge(box, ties=ties)))),
    )
    return Drawing(name, "for the test", box, layers, unit)


def job(*, stock: tuple[float, float] = STOCK, ties: bool = False, unit: str = "mm") -> Job:
    asked = Job(
        picture=Picture(FilePath("fair.png")),
        tone=ToneOptions(method="keep-lines", dark=0.4, detail=0.8),
        plaques=tuple(Plaque(name=name, size=(width - 12, height - 12)) for name, (width, height) in SHEETS.items()),
        stock=StockOptions(stencil=stock, gap=GAP_MM),
        output=Output(files=("stencil",), unit=unit),
    )
    return replace(asked, stencil=replace(asked.stencil, ties=ties))


def write_folder(out: FilePath, **asked: object) -> FilePath:
    """Write what ``make`` would of a job of four stencils, and return the folder."""
    made = job(**asked)
    drawings = {name: {"stencil": sheet(name, ties=made.stencil.ties, unit=Unit(made.output.unit))} for name in SHEETS}
    (laid,) = stocks_of(made, list(drawings.items()))
    for name, files in [(n, svg_and_dxf("stencil", d["stencil"], made)) for n, d in drawings.items()]:
        (out / name).mkdir()
        for file, content in files.items():
            (out / name / file).write_bytes(content)
    for file, content in stock_files(laid, made).items():
        (out / file).write_bytes(content)
    plaques = [plaque(name, files=("stencil.svg", "stencil.dxf")) for name in SHEETS]
    (out / "numbers.json").write_text(as_json(job_figures(*plaques, stock=(laid.figures(),))))
    (out / "job.toml").write_text(job_file.written(made, folder=out))
    return out


def verdict_of(out: FilePath) -> PlaqueVerdict:
    (verdict,) = verdicts(out, read_folder(out))
    return verdict


def outlines(path: FilePath, role: str) -> list[shapely.Polygon]:
    content = path.read_bytes()
    shapes = readers.read_svg(content).shapes if path.suffix == ".svg" else readers.read_dxf_shapes(content, unit_mm=1)
    return [shapely.Polygon(s.polyline(0.0005)) for s in shapes if s.layer == role]


@pytest.mark.parametrize("ending", ["svg", "dxf"])
def test_the_written_sheets_keep_their_shape_and_their_distance(tmp_path, ending):
    """Shapely judges what readers that share no code with the writers have read."""
    files = sorted(write_folder(tmp_path).glob(f"stencil-stock-*.{ending}"))
    areas, cut = [], []
    for path in files:
        edges = outlines(path, "sheet-edge")
        openings = outlines(path, "opening")
        rim = shapely.box(0, 0, *STOCK)
        assert all(rim.contains(edge) and edge.distance(rim.exterior) >= GAP_MM - 0.001 for edge in edges)
        assert all(a.distance(b) >= GAP_MM - 0.001 for a, b in combinations(edges, 2))
        assert all(sum(edge.contains(o) for edge in edges) == 1 for o in openings)
        areas += [edge.area for edge in edges]
        cut += [o.area for o in openings]
    assert sorted(areas) == pytest.approx(sorted(w * h for w, h in SHEETS.values()), abs=0.01)
    assert sorted(cut) == pytest.approx(sorted(opening(size).area for size in SHEETS.values()), abs=0.01)


def test_the_fewest_pieces_that_the_areas_allow(tmp_path):
    """Four sheets of 36,450 mm2 and the gaps around them: a piece of 57,500 mm2 holds them all."""
    assert len(list(write_folder(tmp_path).glob("stencil-stock-*.svg"))) == 1


def test_a_turned_sheet_is_congruent_and_its_texts_read_upwards(tmp_path):
    """A turn keeps the order of the vertices round, a flip would not: the signed area tells them apart."""
    out = write_folder(tmp_path, stock=(172.0, 400.0))
    told = json.loads((out / "numbers.json").read_text())["stock"][0]["sheets"]
    assert any(s["turned"] for s in told)
    shapes = [s for path in sorted(out.glob("stencil-stock-*.svg")) for s in readers.read_svg(path.read_bytes()).shapes]
    signed = sorted(s.area for s in shapes if s.layer == "opening")
    assert signed == pytest.approx(sorted(opening(size).area for size in SHEETS.values()), abs=0.01)
    texts = [e for path in out.glob("stencil-stock-*.dxf") for e in ezdxf.readfile(path).query("TEXT")]
    turned = {s["plaque"] for s in told if s["turned"]}
    assert {t.dxf.text for t in texts if t.dxf.rotation == 90} == turned | {"left"}
    svg = "".join(path.read_text() for path in out.glob("stencil-stock-*.svg"))
    assert len(re.findall(r'transform="rotate\(-90', svg)) == 2 * len(turned)


@pytest.mark.parametrize(
    "asked",
    [{}, {"ties": True}, {"unit": "in"}, {"stock": (180.0, 170.0)}, {"stock": (172.0, 400.0), "unit": "in"}],
    ids=["plain", "ties", "inches", "many-pieces", "turned-inches"],
)
def test_the_check_passes_what_was_made(tmp_path, asked):
    verdict = verdict_of(write_folder(tmp_path, **asked))
    assert verdict.holds, [(r.promise, f) for r in verdict.results for f in r.findings]
    assert {r.promise for r in verdict.results} >= {Promise.APART, Promise.ONE_PIECE, Promise.TRUE_SIZE, Promise.AGREE}
    assert verdict.result(Promise.APART).measured >= GAP_MM - 0.001


def rewritten(path: FilePath, pattern: str, change: Callable[[re.Match], str]) -> None:
    text, count = re.subn(pattern, change, path.read_text(), count=1)
    assert count == 1
    path.write_text(text)


def moved_sheet(out: FilePath) -> None:
    """Tell of the second sheet further left than it lies."""
    told = json.loads((out / "numbers.json").read_text())
    told["stock"][0]["sheets"][1]["place_mm"][0] -= 1.0
    (out / "numbers.json").write_text(json.dumps(told))


def nearer_gap(out: FilePath) -> None:
    rewritten(out / "job.toml", 'gap = "6mm"', lambda _: 'gap = "6.1mm"')


def other_size(out: FilePath) -> None:
    rewritten(out / "job.toml", r'stencil = "250x230mm"', lambda _: 'stencil = "251x230mm"')


def bent_opening(out: FilePath) -> None:
    path = out / "stencil-stock-1.dxf"
    document = ezdxf.readfile(path)
    line = next(e for e in document.query("LWPOLYLINE") if e.dxf.layer == "opening")
    points = line.get_points("xyb")
    line.set_points([(points[0][0] + 0.01, *points[0][1:]), *points[1:]], format="xyb")
    document.saveas(path)


def lost_sheet(out: FilePath) -> None:
    told = json.loads((out / "numbers.json").read_text())
    told["stock"][0]["sheets"].pop()
    (out / "numbers.json").write_text(json.dumps(told))


def missing_file(out: FilePath) -> None:
    (out / "stencil-stock-1.svg").unlink()


def unlisted_file(out: FilePath) -> None:
    """Take a file of the stock away, and out of the list of files too."""
    (out / "stencil-stock-1.dxf").unlink()
    told = json.loads((out / "numbers.json").read_text())
    told["stock"][0]["files"].remove("stencil-stock-1.dxf")
    (out / "numbers.json").write_text(json.dumps(told))


def exchanged_names(out: FilePath) -> None:
    """Say of two sheets that each is the other's plaque's."""
    told = json.loads((out / "numbers.json").read_text())
    one, other = told["stock"][0]["sheets"][:2]
    one["plaque"], other["plaque"] = other["plaque"], one["plaque"]
    (out / "numbers.json").write_text(json.dumps(told))


def turned_the_other_way(out: FilePath) -> None:
    """Say of a sheet that it lies as it doesn't; its box is as before."""
    told = json.loads((out / "numbers.json").read_text())
    lying = told["stock"][0]["sheets"][0]
    lying["turned"], lying["size_mm"] = not lying["turned"], lying["size_mm"][::-1]
    (out / "numbers.json").write_text(json.dumps(told))


def opening_moved_in_both(out: FilePath) -> None:
    """Move one opening by 0.2 mm in both files of the stock."""
    start = r'(id="opening".*?d="M )([\d.]+)( [\d.]+.*?Z)'
    path = out / "stencil-stock-1.svg"
    found = re.search(start, path.read_text(), re.S)
    x = float(found[2])
    rewritten(path, re.escape(f"M {found[2]} "), lambda _: f"M {x + 0.2:.4f} ")
    document = ezdxf.readfile(out / "stencil-stock-1.dxf")
    line = next(e for e in document.query("LWPOLYLINE") if e.dxf.layer == "opening" and abs(e[0][0] - x) < 0.001)
    line[0] = (line[0][0] + 0.2, *line[0][1:])
    document.saveas(out / "stencil-stock-1.dxf")


def changed_text(out: FilePath) -> None:
    rewritten(out / "stencil-stock-1.svg", ">small<", lambda _: ">tall<")


def island(out: FilePath) -> None:
    """Cut a ring into the plaque's own files and the stock's: the sheet then falls in two."""
    for path in (out / "stencil-stock-1.svg", *out.glob("*/stencil.svg")):
        ring = "M {0} {1} A 4 4 0 1 0 {2} {1} A 4 4 0 1 0 {0} {1} Z"
        x, y = (
            float(v) for v in re.search(r'id="opening".*?d="M ?([\d.]+)[ ,]([\d.]+)', path.read_text(), re.S).groups()
        )
        twice = "".join(f'<path d="{ring.format(x + a, y, x + 12 - a)}" fill="none"/>' for a in (2, 3))
        rewritten(path, r'(<g[^>]*id="opening"[^>]*>)', lambda m, twice=twice: m[1] + twice)


SPOILED = [
    (moved_sheet, Promise.FAITHFUL, "lies on no sheet"),
    (nearer_gap, Promise.APART, "6.1 mm are asked for"),
    (other_size, Promise.TRUE_SIZE, "251"),
    (bent_opening, Promise.FAITHFUL, "isn't as"),
    (bent_opening, Promise.AGREE, "apart in SVG and DXF"),
    (lost_sheet, Promise.FIGURES, "the stock holds"),
    (missing_file, Promise.COMPLETE, "is missing"),
    (unlisted_file, Promise.COMPLETE, "is missing"),
    (exchanged_names, Promise.FAITHFUL, "don't have the same shapes"),
    (turned_the_other_way, Promise.FAITHFUL, "don't have the same shapes"),
    (opening_moved_in_both, Promise.FAITHFUL, "isn't as"),
    (changed_text, Promise.FAITHFUL, "isn't as"),
    (island, Promise.ONE_PIECE, "falls out"),
]


@pytest.mark.parametrize(("spoil", "promise", "words"), SPOILED, ids=[f"{s.__name__}-{p.name}" for s, p, _ in SPOILED])
def test_the_check_finds_spoiled_stock(tmp_path, spoil, promise, words):
    out = write_folder(tmp_path)
    spoil(out)
    result = verdict_of(out).result(promise)
    assert not result.holds
    assert any(words in str(finding.what) for finding in result.findings), result.findings


def test_figures_that_hold_no_stock_are_found(tmp_path):
    out = write_folder(tmp_path)
    (out / "numbers.json").write_text("{}")
    assert not verdict_of(out).holds


def test_a_sheet_larger_than_the_stock_is_named_before_and_after_the_work():
    told = r"stock.stencil: large/stencil is a sheet of 160x90mm .* give 172x102mm or more"
    with pytest.raises(SettingError, match=told):
        too_large = job(stock=(171.0, 101.0))
        refuse(too_large, lay_out(too_large.plaques[0], aspect=1.0, origin="corner"))
    with pytest.raises(SettingError, match=told):
        stocks_of(job(stock=(171.0, 101.0)), [("large", {"stencil": sheet("large")})])


def test_stencils_and_templates_lie_on_stock_of_their_own():
    drawn = [("large", {"stencil": sheet("large"), "template": sheet("flat"), "template-2": sheet("small")})]
    both = replace(job(), stock=StockOptions(stencil=(300.0, 300.0), template=(250.0, 150.0)))
    stencil, template = stocks_of(both, drawn)
    assert [s.name for s in stencil.sheets] == ["stencil"]
    assert [s.name for s in template.sheets] == ["template", "template-2"]
    assert template.names == ("template-stock-1",)
    assert math.isclose(template.figures().used_share, (150 * 55 + 60 * 55) / (250 * 150), abs_tol=1e-4)


def test_the_command_line_lays_out_makes_and_checks(tmp_path, capsys):
    """Two plaques of a disc, their stencils on one piece, their templates on one; a larger stock leaves none over."""
    picture = disc(tmp_path / "disc.png")
    asked = ["--size", "60x60mm", "--size", "50x50mm", "--only", "stencil,template", "--bush", "10mm"]
    command = ["make", str(picture), *asked, "--out", str(tmp_path / "out")]
    assert main([*command, "--stencil-stock", "84x160mm", "--template-stock", "250x130mm"]) == 0
    assert "stock: 2 stencil sheets on 1 piece of 84 x 160 mm: stencil-stock-1.svg" in capsys.readouterr().out
    told = json.loads((tmp_path / "out" / "numbers.json").read_text())
    assert [(laid["of"], len(laid["sheets"])) for laid in told["stock"]] == [("stencil", 2), ("template", 2)]
    places = [place["dowels"] for plaque in told["plaques"] for place in plaque["template"]["placing"]]
    assert places == [["A", "B", "C"]] * 2
    for name in ("stencil", "template"):
        content = (tmp_path / "out" / "60x60mm" / f"{name}.svg").read_bytes()
        holes = [s for s in readers.read_svg(content).shapes if s.layer == "register"]
        middles = sorted((p.centre.real, p.centre.imag) for s in holes for p in s.pieces[:1])
        marks = sorted((m["x_mm"], m["y_mm"]) for m in told["plaques"][0]["register"]["marks"])
        assert np.allclose(middles, marks, atol=0.001)
    assert main(["check", str(tmp_path / "out")]) == 0
    assert "sheets apart" in capsys.readouterr().out
    assert main([*command, "--template-stock", "250x130mm"]) == 0
    assert "stencil-stock-1.dxf, stencil-stock-1.svg" in capsys.readouterr().err


def test_stock_for_sheets_that_nobody_asked_for_is_told():
    job = Job(Picture(FilePath("cat.jpg")), output=Output(files=("carve", "template")))
    job = replace(job, stock=StockOptions(stencil=(600, 400), template=(600, 400)))
    assert list(notes_on_stock(job)) == [
        "stock.stencil is set but no stencil is made; add stencil to output.files, or --only stencil"
    ]
