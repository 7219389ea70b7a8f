"""The check on whole folders: readers against published examples, verdicts, unusable folders, noise, sheets."""

from __future__ import annotations

import itertools
import json
import math
import random
import re
import shutil
from types import SimpleNamespace

import ezdxf
import numpy as np
import pytest
import shapely
from check_plaque import NAME, circle, design, sheet_drawing, write_folder
from ezdxf.enums import TextEntityAlignment
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import distance_transform_edt
from scipy.spatial import cKDTree

from shadowrout.check import one_piece, soundness, true_size
from shadowrout.check.checking import check_folder
from shadowrout.check.curve_samples import Curve, middles, sampled
from shadowrout.check.distances import Enclosed, Nearest, Neighbours
from shadowrout.check.drawing_file import DrawingFile, Shape
from shadowrout.check.dxf_reader import read_dxf
from shadowrout.check.findings import Promise
from shadowrout.check.folder import PlaqueFiles
from shadowrout.check.raster import Raster, distance_px, within_px
from shadowrout.check.same_curves import drawn_alike
from shadowrout.check.svg_reader import read_svg
from shadowrout.errors import InputError
from shadowrout.files.dxf import dxf_bytes
from shadowrout.files.svg import svg_bytes
from shadowrout.geometry.arcs import ArcPath


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return write_folder(tmp_path_factory.mktemp("whole"))


# Readers and measures, against published examples


def curve_of(tmp_path, d: str) -> Curve:
    (tmp_path / "a.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
        f'<g id="shadow" data-role="shadow"><path d="{d}"/></g></svg>'
    )
    file = read_svg(tmp_path / "a.svg")
    assert file.faults == []
    (curve,) = file.curves("shadow")
    return curve


def test_svg_arcs_of_the_pie_chart_in_svg_2(tmp_path):
    """SVG 2, chapter 9: three quarters and one quarter of a disc of radius 150; y is mirrored, so bulges turn."""
    pie = curve_of(tmp_path, "M300,200 L150,200 A150,150 0 1,0 300,50 Z")
    assert pie.closed
    assert pie.bulges == pytest.approx([0, math.tan(3 * math.pi / 8), 0])
    assert pie.vertices[0] == pytest.approx([300, 100])
    assert pie.length_mm == pytest.approx(300 + 150 * 1.5 * math.pi)


def test_svg_arcs_too_small_for_their_chord_are_scaled_up(tmp_path):
    """SVG 2, 9.5.1: the radius is raised until the arc is half a turn; an arc with equal ends is left out."""
    assert curve_of(tmp_path, "M 0 0 A 1 1 0 0 1 10 0").bulges == pytest.approx([-1])
    assert len(curve_of(tmp_path, "M 0 0 A 5 5 0 1 1 0 0 L 5 5").bulges) == 1


def test_bulges_of_the_ezdxf_manual(tmp_path):
    """The bulge tutorial of ezdxf: (0, 0) to (10, 0) with bulge 1 is half a turn that passes (5, -5)."""
    half = Curve(np.array([[0.0, 0], [10, 0]]), np.array([1.0]), closed=False)
    assert middles([half]) == pytest.approx(np.array([[5.0, -5.0], [10.0, 0.0]]))
    points = sampled([half], sagitta_mm=0.001).points
    assert np.hypot(*(points - [5, 0]).T) == pytest.approx(5)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010"])
def test_a_file_that_ezdxf_wrote_by_itself_is_read_as_it_was_meant(tmp_path, version):
    """All kinds of entities that are promised, in another library's words; what lies on a sheet of paper is told of."""
    document = ezdxf.document.Drawing.new(version)
    document.header["$INSUNITS"], document.header["$MEASUREMENT"] = 1, 0
    document.appids.new("SHADOWROUT")
    document.layers.get("0").set_xdata("SHADOWROUT", [(1000, "title=a cat"), (1000, "unit=in")])
    for name in ("V-LINE", "V-LINE-3D", "NOTE"):
        document.layers.add(name)
    document.layers.get("NOTE").off()
    space, on = document.modelspace(), {"layer": "V-LINE"}
    space.reset_extents((0, 0, -1), (4, 3, 0))
    rows = [(0.0, 0.0, 0.5), (1.0, 0.0, 0.0), (1.0, 2.0, -1.0)]
    line = space.add_polyline2d(rows, format="xyb", close=True, dxfattribs=on)
    line.dxf.elevation = (0, 0, -0.25)
    line.set_xdata("SHADOWROUT", [(1000, "role=v-line"), (1000, "depth_mm=6.35")])
    space.add_polyline3d([(0, 0, -0.1), (1, 1, -0.2), (2, 1, 0.0)], dxfattribs={"layer": "V-LINE-3D"})
    space.add_circle((2, 1, -0.125), 0.5, dxfattribs=on)
    space.add_text("Žofie Łukasz", dxfattribs={"layer": "NOTE"}).set_placement((1, 2), align=TextEntityAlignment.CENTER)
    document.paperspace().add_line((0, 0), (1, 1))
    document.paperspace().add_circle((0, 0), 1, dxfattribs=on)
    document.saveas(tmp_path / "b.dxf")
    told = [str(finding.what) for _, finding in read_dxf(tmp_path / "b.dxf").faults]
    assert any("on a sheet of paper" in what for what in told) and any("LINE" in what for what in told)
    document.paperspace().delete_all_entities()
    document.saveas(tmp_path / "a.dxf")
    file = read_dxf(tmp_path / "a.dxf")
    assert file.faults == []
    assert (file.unit, file.version, file.titles["title"], file.hidden) == ("in", version, "a cat", {"NOTE"})
    assert file.page_mm == pytest.approx((0, 0, 101.6, 76.2))
    flat, solid, circle, text = file.shapes
    assert flat.curve.vertices == pytest.approx(25.4 * np.array([row[:2] for row in rows]))
    assert (flat.curve.bulges.tolist(), flat.curve.closed, flat.z_mm) == ([0.5, 0, -1], True, pytest.approx(-6.35))
    assert (flat.role, flat.marks) == ("v-line", {"depth_mm": 6.35})
    assert (solid.curve.closed, solid.heights_mm) == (False, pytest.approx((-2.54, -5.08, 0)))
    assert (circle.curve.length_mm, circle.z_mm) == (pytest.approx(25.4 * math.pi), pytest.approx(-3.175))
    assert (text.text, text.at) == ("Žofie Łukasz", pytest.approx((25.4, 50.8)))


def test_length_of_a_segments_arc():
    """Machinery's Handbook, 31st ed., p. 50: radius 12 and height 2 give a chord of 13.2665 and an arc of 14.0565."""
    chord = 13.2665
    arc = Curve(np.array([[0.0, 0], [chord, 0]]), np.array([2 * 2 / chord]), closed=False)
    assert arc.length_mm == pytest.approx(14.0565, abs=1e-3)


def test_hausdorff_distance_of_a_circle_and_its_octagon():
    """The circle's arcs stand r (1 - cos(pi / 8)), so 0.761205 for r 10, off the octagon's sides."""
    angles = np.arange(8) * np.pi / 4
    octagon = Curve(10 * np.column_stack([np.cos(angles), np.sin(angles)]), np.zeros(8), closed=True)
    round_ = Curve(np.array([[10.0, 0], [-10, 0]]), np.ones(2), closed=True)
    points = sampled([round_], sagitta_mm=1e-5, step_mm=0.01).points
    near = Nearest(sampled([octagon], sagitta_mm=1.0, step_mm=0.1))
    assert near.distances(points).max() == pytest.approx(0.761205, abs=1e-5)
    assert near.distances(points, exact_above_mm=0.7).max() == pytest.approx(0.761205, abs=1e-5)


@pytest.mark.parametrize("dimensions", [2, 3])
@pytest.mark.parametrize("count", [1, 2, 11, 3000])
def test_neighbours_agree_with_scipy(count, dimensions):
    """Far from the origin, too, where single precision would tell points apart by no less than 0.001 mm."""
    rng = np.random.default_rng(count)
    points = 10_000 + 200 * rng.random((count, dimensions))
    wanted = 10_000 + 200 * rng.random((500, dimensions))
    found = Neighbours(points).indices(wanted, count=4)
    _, expected = cKDTree(points).query(wanted, k=np.arange(1, min(4, count) + 1))
    away = [np.linalg.norm(wanted[:, None] - points[indices], axis=2) for indices in (found, expected)]
    assert away[0] == pytest.approx(away[1], abs=1e-4)
    assert len(Neighbours(points).indices(np.empty((0, dimensions)))) == 0


def test_neighbours_among_points_in_one_place():
    points = np.full((500, 2), 7.0)
    assert len(set(Neighbours(points).indices(points[:1], count=16)[0].tolist())) == 16


def test_pixels_of_a_disc_are_counted_as_in_the_circle_problem():
    """OEIS A000328: 317 whole points lie within a distance of 10; the raster's middles are put on whole points."""
    ring = Curve(np.array([[10.0001, 0], [-10.0001, 0]]), np.ones(2), closed=True)
    raster = Raster(-12.5, -12.5, 1.0, 25, 25)
    assert raster.enclosed(sampled([ring], sagitta_mm=1e-6)).sum() == 317


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_distances_and_insides_agree_with_shapely(seed):
    rng = np.random.default_rng(seed)
    blobs = shapely.union_all(
        [shapely.Point(*p).buffer(r) for p, r in zip(rng.random((6, 2)) * 20, rng.random(6) * 5, strict=True)]
    )
    rings = [r for part in getattr(blobs, "geoms", [blobs]) for r in (part.exterior, *part.interiors)]
    samples = sampled(
        [Curve(np.array(r.coords)[:-1], np.zeros(len(r.coords) - 1), True) for r in rings],
        sagitta_mm=1.0,
        step_mm=0.1,
    )
    points = rng.random((300, 2)) * 24 - 2
    expected = shapely.distance(shapely.boundary(blobs), shapely.points(points))
    assert Nearest(samples).distances(points) == pytest.approx(expected, abs=1e-9)
    inside = shapely.contains_xy(blobs, *points.T)
    assert (Enclosed(samples).holds(points) == inside).all()
    raster = Raster.over((0, 0, 20, 20), pixel_mm=0.25, most_pixels=10**6)
    rows, columns = np.indices((raster.rows, raster.columns)).reshape(2, -1)
    mask = raster.enclosed(samples)
    assert (mask.ravel() == shapely.contains_xy(blobs, *raster.centres(rows, columns).T)).all()
    assert (distance_px(mask) == 0).sum() == mask.sum()


@pytest.mark.parametrize("reach_px", [-0.5, 0.0, 0.999, 1.0, 1.5, 5.0, 13.5, 19.99, 20.0, 20.5, 45.0])
def test_pixels_within_reach_agree_with_scipy(reach_px):
    """scipy.ndimage's exact Euclidean distances; 5 is also 3 along and 4 across."""
    mask = np.random.default_rng(3).random((90, 130)) < 0.0008
    mask[0, 0] = True
    assert (within_px(mask, reach_px) == (distance_transform_edt(~mask) <= reach_px)).all()
    assert not within_px(np.zeros_like(mask), reach_px).any()


# Verdicts


@pytest.mark.parametrize(("unit", "dxf"), [("mm", "R2010"), ("in", "R2000"), ("in", "R12"), ("mm", "R12")])
def test_a_true_plaque_keeps_every_promise(unit, dxf, tmp_path):
    write_folder(tmp_path / "out", unit=unit, dxf=dxf)
    verdict = check_folder(tmp_path / "out")
    assert verdict.holds, verdict.as_text()
    assert {r.promise for r in verdict.plaques[0].results} == {str(p) for p in Promise if p is not Promise.APART}


def test_measured_figures_of_exact_shapes(whole):
    plaque = check_folder(whole.parent).plaques[0]
    assert plaque.result(Promise.NO_GOUGE).measured == pytest.approx(0, abs=0.001)
    assert plaque.result(Promise.FAITHFUL).measured == pytest.approx(0.001, abs=0.0005)
    assert plaque.result(Promise.TRUE_SIZE).measured == 0
    left = 0.6 / math.tan(math.radians(30))
    assert str(plaque.result(Promise.STAYS_DARK).measured) == f"{left:.4g} mm left, 0.00 % uncut"


@pytest.mark.parametrize("beyond", [0.05, 0.15, 0.4])
def test_a_gouge_is_measured_where_it_is(beyond, whole, tmp_path):
    """A cutter path of a circle too wide by a known length gouges by that length less the allowance, all around."""
    shutil.copytree(whole.parent, tmp_path / "out")
    text = (tmp_path / "out" / NAME / "carve.svg").read_text()
    wide = svg_of_circle((35.0, 50.0), 20.3 + 0.2 + beyond)
    assert (old := svg_of_circle((35.0, 50.0), 20.3)) in text
    (tmp_path / "out" / NAME / "carve.svg").write_text(text.replace(old, wide))
    result = check_folder(tmp_path / "out").plaques[0].result(Promise.NO_GOUGE)
    assert result.measured == pytest.approx(beyond, abs=0.002)
    gouges = [f for f in result.findings if "cutter takes" in str(f.what)]
    assert bool(gouges) == (beyond > 0.1)
    for finding in gouges:
        assert math.dist(finding.place_mm, (35, 50)) == pytest.approx(22 + beyond, abs=0.01)


def svg_of_circle(centre, radius) -> str:
    text = svg_bytes(sheet_drawing([circle((centre[0], 60 - (100 - centre[1])), radius)])).decode()
    return next(line.split('"')[1] for line in text.splitlines() if "<path" in line and " A " in line)


def drawn(name: str, *, off: float = 0.0, bulge: float = 1.0, cutter: float = 6.0) -> DrawingFile:
    """Return a file with one cutter path, a circle of radius 10 whose one vertex or arc may be off."""
    curve = Curve(np.array([[10.0, 0], [-10 - off, 0]]), np.array([1.0, bulge]), closed=True)
    return DrawingFile(name, shapes=[Shape("cutter-path-3_00mm", "cutter-path", {"cutter_mm": cutter}, curve)])


@pytest.mark.parametrize(
    ("other", "alike"),
    [({}, True), ({"off": 5e-5}, True), ({"off": 5e-4}, False), ({"bulge": 1.0001}, False), ({"cutter": 6.5}, False)],
)
def test_what_is_measured_once_is_the_same_in_both_files(other, alike):
    """An arc's middle is half the chord times the change of its bulge off: 10 x 0.0001 = 0.001 mm."""
    found = drawn_alike([drawn("a.svg"), drawn("a.dxf", **other)], "cutter-path", "shadow")
    assert [names for names, _ in found] == (["a.svg and a.dxf"] if alike else ["a.svg", "a.dxf"])
    assert drawn_alike([drawn("a.svg"), drawn("a.dxf", **other)], "shadow")[0][0] == "a.svg and a.dxf"


def test_the_table_and_the_json_tell_the_same(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    (tmp_path / "out" / NAME / "carve.svg").unlink()
    verdict = check_folder(tmp_path / "out")
    told = json.loads(verdict.as_json())
    assert told["holds"] is False
    text = verdict.as_text()
    assert "files complete" in text
    assert "carve.svg: is missing" in text
    failed = [p["promise"] for p in told["plaques"][0]["promises"] if p["holds"] is False]
    assert failed == ["files complete"]
    assert text.splitlines()[-1] == f"Not kept: {NAME}: files complete."
    assert "All promises hold" in check_folder(whole.parent).as_text()


def test_what_is_not_there_to_be_tested_is_told_and_not_called_kept(whole, tmp_path):
    """Without carve drawing nothing is known of gouges; a sheet is not one piece where there is none."""
    shutil.copytree(whole.parent, tmp_path / "out")
    job = tmp_path / "out" / "job.toml"
    job.write_text(re.sub(r"files = \[.*?\]", 'files = ["stencil"]', job.read_text()))
    drawing = sheet_drawing([rectangle(20, 20, 40, 40)])
    for path in (tmp_path / "out" / NAME).iterdir():
        path.unlink()
    (tmp_path / "out" / NAME / "stencil.svg").write_bytes(svg_bytes(drawing))
    (plaque,) = check_folder(tmp_path / "out").plaques
    lacking = {r.promise: r.measured for r in plaque.results if r.holds is None}
    carved = dict.fromkeys([Promise.NO_GOUGE, Promise.STAYS_DARK], "no carve drawing")
    assert lacking == {**carved, Promise.AGREE: "no two files of one drawing"}
    assert plaque.result(Promise.ONE_PIECE).measured == "1 piece"
    text = check_folder(whole.parent).as_text()
    assert text.endswith("Not tested for want of files: one piece.")
    row = next(line for line in text.splitlines() if line.startswith("one piece"))
    assert re.fullmatch(r"one piece +no stencil, no template +1 piece, whole and worn +-", row)
    assert json.loads(check_folder(whole.parent).as_json())["plaques"][0]["promises"][4]["holds"] is None


def _cut_off(path):
    path.write_bytes(path.read_bytes()[:-300])


@pytest.mark.parametrize("name", ["carve.svg", "carve.dxf"])
def test_what_follows_from_a_damaged_file_is_told_once(name, whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    _cut_off(tmp_path / "out" / NAME / name)
    verdict = check_folder(tmp_path / "out")
    lines = verdict.as_text().splitlines()
    assert next(line for line in lines if line.startswith("files complete ")).split()[2:5] == ["2", "of", "3"]
    assert all(name in line for line in lines if line.startswith("- "))
    assert f"All of it is in {name}; the plaque's other files keep their promises." in lines
    assert sum(line.startswith("- ") for line in lines) <= 2


def test_one_cause_makes_few_lines_that_count_what_it_spoiled(whole, tmp_path):
    """A drawing stretched to twice its width breaks nearly every promise in many places."""
    shutil.copytree(whole.parent, tmp_path / "out")
    svg = tmp_path / "out" / NAME / "carve.svg"
    svg.write_text(re.sub(r"([ML]) ([\d.]+)", lambda m: f"{m[1]} {2 * float(m[2]):.4f}", svg.read_text()))
    verdict = check_folder(tmp_path / "out")
    lines = verdict.as_text().splitlines()
    found = [r for p in verdict.plaques for r in p.results if r.findings]
    assert len(found) >= 3
    for result in found:
        start = lines.index(f"{result.promise}:")
        told = list(itertools.takewhile(str.strip, lines[start + 1 :]))
        assert len(told) <= 4
        counted = sum(line.startswith("- ") and not line.startswith("- and ") for line in told)
        counted += sum(int(n) for line in told for n in re.findall(r"and (\d+) (?:more such|of other kinds)", line))
        assert counted == len(result.findings)
    assert any(line.startswith("All of it is in carve.svg") for line in lines)


@pytest.mark.parametrize("name", ["carve.svg", "carve.dxf", "design.wkb.gz", "../numbers.json"])
def test_a_damaged_file_is_told_of_in_plain_words(name, whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    path = tmp_path / "out" / NAME / name
    path.write_bytes(path.read_bytes()[:100] + bytes(range(256)))
    told = [told for _, _, f in check_folder(tmp_path / "out").findings if path.name in (told := str(f.what))]
    assert any("damaged" in what for what in told)
    assert not [what for what in told if re.search(r"Error|Exception|Errno|codec|b'|0x", what)]


@pytest.mark.parametrize("missing", ["job.toml", "numbers.json"])
def test_a_folder_that_make_did_not_write_is_refused(missing, whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    (tmp_path / "out" / missing).unlink()
    with pytest.raises(InputError, match=rf"has no {missing}, .*make .*--out "):
        check_folder(tmp_path / "out")
    with pytest.raises(InputError, match="no folder"):
        check_folder(tmp_path / "nowhere")


def test_a_folder_inside_or_around_is_told_which_to_check(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    for folder in (tmp_path, tmp_path / "out" / NAME):
        with pytest.raises(InputError, match=rf"has no job.toml; .*: shadowrout check {tmp_path / 'out'}$"):
            check_folder(folder)


def test_a_damaged_job_file_is_refused(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    (tmp_path / "out" / "job.toml").write_bytes(b"[picture\n")
    with pytest.raises(InputError, match=r"job\.toml"):
        check_folder(tmp_path / "out")


def test_a_missing_plaque_is_a_finding(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    shutil.rmtree(tmp_path / "out" / NAME)
    (finding, *_) = check_folder(tmp_path / "out").plaques[0].result(Promise.COMPLETE).findings
    assert "folder is missing" in str(finding.what)


@pytest.mark.parametrize("seed", range(24))
def test_noise_in_a_file_is_never_a_crash(seed, whole, tmp_path):
    """Whatever a few wrong bytes do to a file, the answer is a verdict."""
    shutil.copytree(whole.parent, tmp_path / "out")
    rng = random.Random(seed)
    path = tmp_path / "out" / NAME / rng.choice(["carve.svg", "carve.dxf", "design.wkb.gz", "../numbers.json"])
    content = bytearray(path.read_bytes())
    for _ in range(rng.choice([1, 3, 20])):
        at = rng.randrange(len(content))
        length = rng.randrange(1, 60)
        content[at : at + rng.choice([1, length])] = rng.choice([b"", b"9", b"-", b"\xff", content[:length]])
    path.write_bytes(content)
    assert check_folder(tmp_path / "out").plaques


# One piece


def sheet(tmp_path, openings, *, web: float = 3.0, kerf: float = 0.0):
    """Return the result of a stencil with these openings, written as SVG and DXF."""
    drawn = sheet_drawing(openings)
    (tmp_path / "stencil.svg").write_bytes(svg_bytes(drawn))
    (tmp_path / "stencil.dxf").write_bytes(dxf_bytes(drawn, version="R2010"))
    files = {"stencil.svg": read_svg(tmp_path / "stencil.svg"), "stencil.dxf": read_dxf(tmp_path / "stencil.dxf")}
    job = SimpleNamespace(stencil=SimpleNamespace(web=web, kerf=kerf))
    return one_piece.check(PlaqueFiles(tmp_path, job, SimpleNamespace(), {}, files, None))


@pytest.mark.parametrize(("width", "holds"), [(100.0, True), (100.01, False)])
def test_a_sheet_has_the_size_that_its_figures_tell(tmp_path, width, holds):
    drawn = sheet_drawing([rectangle(20, 20, 40, 40)])
    (tmp_path / "stencil.svg").write_bytes(svg_bytes(drawn))
    files = {"stencil.svg": read_svg(tmp_path / "stencil.svg")}
    job = SimpleNamespace(output=SimpleNamespace(unit="mm", dxf="R2010", origin="corner", tolerance=0.1))
    figures = {"stencil": {"sheet_mm": [0.0, 0.0, width, 60.0]}}
    result = true_size.check(PlaqueFiles(tmp_path, job, SimpleNamespace(size=(90.0, 50.0)), figures, files, None))
    assert result.holds is holds, result.findings
    assert {str(f.what).split(" is ")[0] for f in result.findings} == (
        set() if holds else {"stencil.svg: the page", "stencil.svg: the sheet's edge"}
    )


def rectangle(x0, y0, x1, y1) -> ArcPath:
    return ArcPath.polygon(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], dtype=float))


def u_shape(neck: float) -> ArcPath:
    """Return a slot around a block of 30 x 30 mm that hangs on a neck of a given width."""
    half = neck / 2
    points = [(50 - half, 10), (35, 10), (35, 45), (65, 45), (65, 10), (50 + half, 10)]
    points += [(50 + half, 15), (60, 15), (60, 40), (40, 40), (40, 15), (50 - half, 15)]
    return ArcPath.polygon(np.array(points, dtype=float)[::-1])


def test_a_sheet_that_holds(tmp_path):
    result = sheet(tmp_path, [rectangle(20, 20, 40, 40), rectangle(43.1, 20, 60, 40)])
    assert result.holds, result.findings
    assert sheet(tmp_path, [u_shape(3.2)]).holds


def test_an_island_falls_out(tmp_path):
    """A ring cut all round: what it encloses has no bridge."""
    ring = [circle((50, 30), 15), circle((50, 30), 10, hole=True)]
    result = sheet(tmp_path, ring)
    assert not result.holds
    assert any("falls out" in str(f.what) and math.dist(f.place_mm, (50, 30)) < 0.5 for f in result.findings)
    assert {str(f.what).split(":")[0] for f in result.findings} == {"stencil.svg and stencil.dxf"}


def test_a_bridge_cut(tmp_path):
    assert sheet(tmp_path, [u_shape(3.2)]).holds
    result = sheet(tmp_path, [u_shape(3.2), rectangle(48, 11, 52, 14)])
    assert any("falls out" in str(f.what) for f in result.findings)


@pytest.mark.parametrize(("neck", "holds"), [(2.0, False), (2.5, False), (3.05, True), (4.0, True)])
def test_a_thin_web(neck, holds, tmp_path):
    result = sheet(tmp_path, [u_shape(neck)], web=3.0)
    assert result.holds == holds
    if not holds:
        assert any("thinner than 3 mm" in str(f.what) for f in result.findings)


def test_the_kerf_widens_what_is_cut(tmp_path):
    """A web of 3 mm between drawn openings is 2.4 mm once a kerf of 0.6 mm has been cut, half on each side."""
    assert sheet(tmp_path, [u_shape(3.05)], kerf=0.0).holds
    assert not sheet(tmp_path, [u_shape(3.05)], kerf=0.6).holds


def test_a_corner_is_no_bridge(tmp_path):
    """Two openings that leave a piece hanging by one point: four-connected pixels see that it falls."""
    openings = [
        rectangle(30, 10, 60, 20),
        rectangle(30, 20, 40, 40),
        rectangle(40, 40, 70, 50),
        rectangle(60, 20, 70, 40),
    ]
    result = sheet(tmp_path, openings)
    assert not result.holds


def wedge_between(x, y, turn_deg, *, opening_deg=50.0) -> ArcPath:
    """Return an opening 20 mm across into whose side a wedge of the sheet points, its tip at (x, y)."""
    half, turn = math.radians(opening_deg / 2), math.radians(turn_deg)
    angles = np.linspace(half, 2 * math.pi - half, 60)
    outline = np.vstack([[(0.0, 0.0)], 10 * np.column_stack([np.cos(angles), np.sin(angles)])])
    c, s = math.cos(turn), math.sin(turn)
    return ArcPath.polygon(outline @ np.array([[c, s], [-s, c]]) + [x, y])


def test_the_tip_of_a_wedge_is_part_of_it(tmp_path):
    """Shapely (GEOS) finds each sheet in one piece; tips at 100 places among the pixels, turned by all angles."""
    rng = np.random.default_rng(5)
    for number in range(100):
        x, y = rng.uniform((40, 25), (60, 35))
        opening = wedge_between(x, y, rng.uniform(0, 360))
        left = shapely.box(0, 0, 100, 60).difference(shapely.Polygon(opening.vertices))
        assert left.geom_type == "Polygon"
        result = sheet(tmp_path, [opening], web=0.0)
        assert result.holds, (number, x, y, result.findings)


def test_a_loose_hair_is_no_tip(tmp_path):
    """A hair 0.12 mm wide and 12 mm long within an opening: loose at every angle, whatever pixels it is made of."""
    for turn_deg in (0, 20, 45, 70, 90, 135):
        along = np.array([math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))])
        aside = np.array([-along[1], along[0]])
        hair = np.array([a * 6 * along + b * 0.06 * aside for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]) + [50, 30]
        result = sheet(tmp_path, [circle((50, 30), 15), ArcPath.polygon(hair[::-1])], web=0.0)
        assert any("falls out" in str(f.what) for f in result.findings), turn_deg


@pytest.mark.parametrize(("cut", "places"), [([9], 1), ([4, 5, 6], 2)])
def test_places_that_one_pixel_sets_apart_are_one(cut, places):
    piece, solid = np.zeros((8, 12), dtype=bool), np.zeros((8, 12), dtype=bool)
    piece[1:5, 1:10] = solid[5:, 1:11] = True
    solid[5:, cut] = False
    assert one_piece._touches(piece, solid) == places


def test_dowel_holes_are_cut_too(tmp_path):
    """The sheet's dowel hole, 3 mm across at (5, 5), leaves 2 mm to an opening whose wall is at x = 8.5."""
    assert sheet(tmp_path, [rectangle(10, 3, 30, 7)], web=3.0).holds
    assert not sheet(tmp_path, [rectangle(8.5, 2, 30, 58)], web=3.0).holds


def test_an_edge_in_pieces_is_whole_where_ties_hold_it(tmp_path):
    drawn = sheet_drawing([rectangle(20, 20, 40, 40)])
    text = svg_bytes(drawn).decode().replace("L 0 0 Z", "L 0 0")
    (tmp_path / "stencil.svg").write_text(text)
    files = {"stencil.svg": read_svg(tmp_path / "stencil.svg")}
    for ties in (True, False):
        job = SimpleNamespace(stencil=SimpleNamespace(web=3.0, kerf=0.2, ties=ties))
        plaque = PlaqueFiles(tmp_path, job, SimpleNamespace(), {}, files, None)
        assert one_piece.check(plaque).holds
        assert soundness.check(plaque).holds == ties


def test_a_sheet_without_an_edge(tmp_path):
    sheet(tmp_path, [rectangle(20, 20, 40, 40)])
    text = (tmp_path / "stencil.svg").read_text().replace('id="sheet-edge"', 'id="shadow"')
    (tmp_path / "stencil.svg").write_text(text)
    files = {"stencil.svg": read_svg(tmp_path / "stencil.svg")}
    result = one_piece.check(PlaqueFiles(tmp_path, SimpleNamespace(), SimpleNamespace(), {}, files, None))
    assert "no edge" in str(result.findings[0].what)


def test_the_hand_drawn_design_is_what_its_circles_say():
    """Areas of discs, rounded corners and bars from their formulas; the fixture's own geometry is held to them."""
    expected = math.pi * (22**2 - 8**2 + 3**2) + 36 * 30 - (4 - math.pi) * 36 + 2 * math.pi * 0.36
    expected += 1.2 * (40 + math.hypot(40, 15))
    assert design().area == pytest.approx(expected, abs=0.2)
