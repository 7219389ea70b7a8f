"""The written files as others read them: GDAL, ezdxf, an SVG renderer, and a reader of raw tags."""

from __future__ import annotations

import hashlib
import io
import json
import logging
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path as FilePath

import ezdxf
import ezdxf.recover
import numpy as np
import pyogrio
import pytest
import resvg_py
import shapely
from PIL import Image
from readers import (
    SVG,
    dxf_header,
    dxf_records,
    dxf_section,
    dxf_tags,
    first,
    read_dxf_shapes,
    read_svg,
    record_marks,
)

from shadowrout.drawing.palette import COLOURS
from shadowrout.drawing.shapes import Circle, Drawing, Layer, Marks, Path, Role, Text
from shadowrout.errors import PromiseError
from shadowrout.files.backend import render_all
from shadowrout.files.dxf import dxf_backend, dxf_bytes, nearest_index
from shadowrout.files.svg import svg_backend, svg_bytes
from shadowrout.geometry.arcs import ArcPath
from shadowrout.words.units import Unit

VERSIONS = ("R2010", "R2000", "R12")
ENCODING = {"R2010": "utf-8", "R2000": "cp1252", "R12": "cp1252"}
ACADVER = {"R12": "AC1009", "R2000": "AC1015", "R2010": "AC1024"}
SIZE = 33.349


def square(x: float, y: float, size: float = SIZE) -> ArcPath:
    return ArcPath.polygon(np.array([[x, y], [x + size, y], [x + size, y + size], [x, y + size]]))


def plaque(unit: Unit = Unit.MM, *, centred: bool = False) -> Drawing:
    """Return a drawing with every kind of shape and mark."""
    left, low = (-20.0, -15.0) if centred else (0.0, 0.0)
    pocket = Marks(depth_mm=3.0, cutter_mm=3.175)
    layers = (
        Layer(Role.PLAQUE_EDGE, (Path(square(left, low)),)),
        Layer(
            Role.POCKET, (Path(square(left + 5, low + 5, 10)), Path(ArcPath.circle((left + 25, low + 15), 4))), pocket
        ),
        Layer(Role.V_LINE, (Path(vee(left, low), Marks(depth_mm=1.04, width_mm=1.2)),), Marks(cutter_mm=6.35)),
        Layer(Role.REGISTER, (Circle((left + 36, low + 4), 3.0, Marks(depth_mm=8.0)),)),
        Layer(
            Role.NOTE, (Text((left + 10, low + 25), "1: ½ × 3 ü", 3.0), Text((left, low), "left", 2.0, centred=False))
        ),
    )
    made = (("program", "shadowrout 0.1.0"), ("tolerance", "0.1 mm"))
    return Drawing("Fox & <hound>", "Two → one", (left, low, left + 40, low + SIZE), layers, unit, made)


def vee(left: float, low: float) -> ArcPath:
    return ArcPath(
        np.array([[2.0, 30.0], [12.0, 30.0], [20.0, 28.0]]) + [left, low], np.array([-1.0, 0.2]), closed=False
    )


def document(content: bytes, version: str):
    """Load by ezdxf, which must have nothing to warn about."""
    return ezdxf.read(io.StringIO(content.decode(ENCODING[version])))


# True size


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("version", VERSIONS)
def test_a_square_of_33_349_mm_read_by_gdal(unit, version, tmp_path):
    """GDAL's DXF driver (through pyogrio) sees the size in the file's unit, depth as height, and the layers."""
    (tmp_path / "a.dxf").write_bytes(dxf_bytes(plaque(unit), version=version))
    meta, _, shapes, columns = pyogrio.raw.read(tmp_path / "a.dxf")
    layers = columns[list(meta["fields"]).index("Layer")]
    seen = [(str(layer).lower(), shapely.from_wkb(shape)) for layer, shape in zip(layers, shapes, strict=True)]
    edge = next(shape for layer, shape in seen if layer == "plaque-edge")
    assert np.array(edge.bounds) * unit.mm == pytest.approx([0, 0, SIZE, SIZE], abs=0.001)
    assert edge.is_closed
    pockets = [shape for layer, shape in seen if layer.startswith("pocket-")]
    assert len(pockets) == 2
    assert all(
        shapely.get_coordinates(p, include_z=True)[:, 2] * unit.mm == pytest.approx(-3, abs=1e-4) for p in pockets
    )
    assert np.array(pockets[0].bounds) * unit.mm == pytest.approx([5, 5, 15, 15], abs=0.001)
    disc = shapely.get_coordinates(pockets[1]) * unit.mm - [25, 15]
    assert len(disc) > 16
    assert np.hypot(*disc.T) == pytest.approx(4, abs=0.0005)


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("centred", [False, True])
def test_a_square_of_33_349_mm_in_svg_by_numbers(unit, centred):
    file = read_svg(svg_bytes(plaque(unit, centred=centred)))
    assert (file.width_mm, file.height_mm) == pytest.approx((40, SIZE), abs=1e-4)
    assert file.unit_mm == pytest.approx(unit.mm, rel=1e-9)
    x0, y0, x1, y1 = plaque(unit, centred=centred).box_mm
    edge = file.shapes[0].polyline(1e-3)
    assert edge.min(axis=0) == pytest.approx([x0, y0], abs=0.001)
    assert edge.max(axis=0) == pytest.approx([x0 + SIZE, y0 + SIZE], abs=0.001)


def test_the_page_keeps_the_drawing_in_its_place():
    """A corner origin starts the view at 0 0; a centred origin stays in the middle with y mirrored about it."""
    assert read_svg(svg_bytes(plaque())).view == (0, 0, 40, SIZE)
    dot = Layer(Role.REGISTER, (Circle((3, 7), 1),))
    root = read_svg(svg_bytes(Drawing("", "", (-10, -20, 10, 20), (dot,)))).root
    assert root.get("viewBox") == "-10 -20 20 40"
    circle = root.find(f".//{SVG}circle")
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("3", "-7", "1")


DPI = 1016  # 40 pixels a millimetre


def rendered(content: bytes) -> np.ndarray:
    """Darkness of each pixel, 0 to 1, as an SVG renderer draws the file at its own size."""
    png = bytes(resvg_py.svg_to_bytes(svg_string=content.decode("utf-8"), background="#ffffff", dpi=DPI))
    return 1 - np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float) / 255


def ink_box_px(dark: np.ndarray) -> list[float]:
    """Left, top, right and bottom of the ink, where the darkest pixel of a row or column falls to half its most."""
    box = []
    for profile in (dark.max(axis=0), dark.max(axis=1)):
        inside = np.flatnonzero(profile > dark.max() / 2)
        box.append((inside[0], inside[-1] + 1))
    (left, right), (top, bottom) = box
    return [left, top, right, bottom]


@pytest.mark.parametrize("unit", Unit)
def test_a_square_of_33_349_mm_as_rendered(unit):
    """Page and square within half a pixel, 1/80 mm, the square's ink reaching half a line's width past it."""
    drawing = Drawing("", "", (-3, -2, 37, 38), (Layer(Role.PLAQUE_EDGE, (Path(square(0, 0)),)),), unit)
    dark = rendered(svg_bytes(drawing))
    scale = DPI / 25.4
    assert dark.shape == pytest.approx((40 * scale, 40 * scale), abs=0.5)
    expected = np.array([3 - 0.1, 38 - SIZE - 0.1, 3 + SIZE + 0.1, 38 + 0.1]) * scale
    assert ink_box_px(dark) == pytest.approx(expected, abs=1.0)


@pytest.mark.parametrize("bulge", [0.3, -0.3, 0.9999, 1.0, -1.0, 1.0001, 2.4, -2.4, 6.0])
@pytest.mark.parametrize("unit", Unit)
def test_arcs_bend_the_right_way_as_rendered(bulge, unit):
    """One arc over a chord of 6 mm; its box follows from the sagitta b c / 2 and the radius c (1 + b^2) / (4 |b|)."""
    arc = ArcPath(np.array([[17.0, 20.0], [23.0, 20.0]]), np.array([bulge]), closed=False)
    dark = rendered(svg_bytes(Drawing("", "", (0, 0, 40, 40), (Layer(Role.V_LINE, (Path(arc),)),), unit)))
    radius, rise = 6 * (1 + bulge**2) / (4 * abs(bulge)), bulge * 6 / 2
    half = radius if abs(bulge) > 1 else 3.0
    left, top, right, bottom = np.array(ink_box_px(dark)) / (DPI / 25.4)
    apex = bottom - 0.1 if bulge > 0 else top + 0.1
    assert 40 - apex == pytest.approx(20 - rise, abs=0.03)
    assert (left, right) == pytest.approx((20 - half, 20 + half), abs=0.13)


# Structure of SVG


def test_svg_has_one_group_a_layer_with_role_and_marks():
    file = read_svg(svg_bytes(plaque()))
    assert [group.get("id") for group in file.groups] == [
        "plaque-edge",
        "pocket-3_00mm",
        "v-line",
        "register",
        "note",
    ]
    pocket, vline = file.groups[1], file.groups[2]
    assert pocket.get("data-role") == "pocket"
    assert (pocket.get("data-depth-mm"), pocket.get("data-cutter-mm")) == ("3", "3.175")
    assert pocket.get("data-width-mm") is None
    assert vline[0].attrib.items() >= {"data-depth-mm": "1.04", "data-width-mm": "1.2"}.items()
    assert vline.get("data-cutter-mm") == "6.35"


def test_marks_stay_in_mm_in_an_inch_file():
    file = read_svg(svg_bytes(plaque(Unit.INCH)))
    assert file.root.get("width") == "1.574803in"
    assert file.groups[1].get("id") == "pocket-0_118in"
    assert file.groups[1].get("data-depth-mm") == "3"


def test_svg_has_title_description_properties_and_no_style_sheet():
    root = read_svg(svg_bytes(plaque())).root
    assert root[0].tag == f"{SVG}title" and root[0].text == "Fox & <hound>"
    assert root[1].tag == f"{SVG}desc" and root[1].text == "Two → one"
    pairs = [(p.get("name"), p.get("value")) for p in root.iter("{urn:shadowrout}property")]
    assert pairs == [("unit", "mm"), ("program", "shadowrout 0.1.0"), ("tolerance", "0.1 mm")]
    assert not list(root.iter(f"{SVG}style"))
    assert all("style" not in element.attrib and "class" not in element.attrib for element in root.iter())


def test_svg_outlines_are_not_filled():
    for group in read_svg(svg_bytes(plaque())).groups:
        assert group.get("fill") == "none"
        assert group.get("stroke") == "#{:02x}{:02x}{:02x}".format(*COLOURS[Role(group.get("data-role"))])
        assert all(e.get("fill") is None for e in group if e.tag != f"{SVG}text")


def test_svg_text_is_centred_on_its_capitals():
    """Baseline half a capital height below the middle, in the file's axes; DejaVu Sans has capitals of 0.729."""
    centred, left = read_svg(svg_bytes(plaque())).groups[-1]
    assert centred.text == "1: ½ × 3 ü"
    assert (centred.get("x"), centred.get("y")) == ("10", "9.849")
    assert centred.get("text-anchor") == "middle"
    assert float(centred.get("font-size")) * 0.729 == pytest.approx(3.0, rel=0.02)
    assert (left.get("x"), left.get("y"), left.get("text-anchor")) == ("0", "33.349", None)


def test_svg_text_in_inches_stands_where_it_does_in_millimetres():
    """Letters of less than one user unit break in common viewers, so they are a millimetre high and more, scaled."""
    in_mm, in_inches = (read_svg(svg_bytes(plaque(unit))).groups[-1] for unit in (Unit.MM, Unit.INCH))
    for metric, imperial in zip(in_mm, in_inches, strict=True):
        scale = float(re.fullmatch(r"scale\((.+)\)", imperial.get("transform"))[1])
        for name in ("x", "y", "font-size"):
            assert float(imperial.get(name)) * scale * 25.4 == pytest.approx(float(metric.get(name)), abs=1e-4)
        assert float(imperial.get("font-size")) > 1


# Structure of DXF


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("unit", Unit)
def test_ezdxf_audits_it_without_a_finding(version, unit, caplog):
    with caplog.at_level(logging.INFO, logger="ezdxf"):
        content = dxf_bytes(plaque(unit, centred=True), version=version)
        auditor = document(content, version).audit()
    assert not auditor.errors and not auditor.fixes
    assert [r.getMessage() for r in caplog.records if r.levelno >= logging.WARNING] == []


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize(("unit", "insunits", "measurement"), [(Unit.MM, "4", "1"), (Unit.INCH, "1", "0")])
def test_dxf_says_its_version_and_unit(version, unit, insunits, measurement):
    """DXF Reference: $ACADVER; $INSUNITS 1 inch, 4 mm; $MEASUREMENT 0 English, 1 metric. R12 knows neither unit."""
    tags = dxf_tags(dxf_bytes(plaque(unit), version=version), ENCODING[version])
    header = dxf_header(tags)
    assert header["$ACADVER"] == ACADVER[version]
    if version == "R12":
        assert "$INSUNITS" not in header and "$MEASUREMENT" not in header
    else:
        assert (header["$INSUNITS"].strip(), header["$MEASUREMENT"].strip()) == (insunits, measurement)
    tables = dxf_records(dxf_section(tags, "TABLES"))
    layer0 = next(r for r in tables if r[0][1] == "LAYER" and first(r, 2) == "0")
    assert record_marks(layer0) == {
        "title": "Fox & <hound>",
        "description": "Two → one" if version == "R2010" else r"Two \U+2192 one",
        "unit": str(unit),
        "program": "shadowrout 0.1.0",
        "tolerance": "0.1 mm",
    }


@pytest.mark.parametrize("version", VERSIONS)
def test_both_files_at_once_are_the_same(version):
    both = render_all(plaque(), [svg_backend(), dxf_backend(version)])
    assert both == [svg_bytes(plaque()), dxf_bytes(plaque(), version=version)]


@pytest.mark.parametrize("version", VERSIONS)
def test_dxf_layers_by_name_and_colour(version):
    tags = dxf_tags(dxf_bytes(plaque(), version=version), ENCODING[version])
    layers = [r for r in dxf_records(dxf_section(tags, "TABLES")) if r[0][1] == "LAYER"]
    own = {first(r, 2): r for r in layers if first(r, 2) not in ("0", "Defpoints")}
    expected = ["plaque-edge", "pocket-3_00mm", "v-line", "register", "note"]
    assert list(own) == ([name.upper() for name in expected] if version == "R12" else expected)
    true_colour = first(own[list(own)[1]], 420, "none")
    assert true_colour == ("none" if version != "R2010" else str(0x0072B2))


def test_the_nearest_index_is_near():
    """Corners of the fixed palette (DXF Reference: 1 red, 3 green, 5 blue), and its own colours by ezdxf's table."""
    assert [nearest_index(c) for c in ((255, 0, 0), (0, 255, 0), (0, 0, 255))] == [1, 3, 5]
    colours = set(COLOURS.values()) - {(0, 0, 0)}
    for colour in colours:
        near = ezdxf.colors.aci2rgb(nearest_index(colour))
        assert max(abs(a - b) for a, b in zip(near, colour, strict=True)) <= 255 / 5
    assert len({nearest_index(colour) for colour in colours}) == len(colours)


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("unit", Unit)
def test_dxf_and_svg_carry_the_same_marks_and_heights(version, unit):
    drawing = plaque(unit)
    ours = read_dxf_shapes(dxf_bytes(drawing, version=version), unit_mm=unit.mm, encoding=ENCODING[version])
    theirs = read_svg(svg_bytes(drawing)).shapes
    for dxf, svg in zip(ours, theirs, strict=True):
        assert dxf.marks == svg.marks
        assert dxf.layer.lower() == svg.layer
        assert dxf.z == pytest.approx(-float(svg.marks.get("depth_mm", 0)), abs=2e-5)
        assert dxf.area == pytest.approx(svg.area, abs=1e-3)
    assert ours[1].marks == {"role": "pocket", "depth_mm": "3", "cutter_mm": "3.175"}
    assert ours[3].marks == {"role": "v-line", "depth_mm": "1.04", "width_mm": "1.2", "cutter_mm": "6.35"}


@pytest.mark.parametrize("version", VERSIONS)
def test_every_entity_has_its_role(version):
    tags = dxf_tags(dxf_bytes(plaque(), version=version), ENCODING[version])
    records = dxf_records(dxf_section(tags, "ENTITIES"))
    drawn = [r for r in records if r[0][1] not in ("VERTEX", "SEQEND")]
    assert {r[0][1] for r in drawn} == {"LWPOLYLINE" if version != "R12" else "POLYLINE", "CIRCLE", "TEXT"}
    assert [record_marks(r)["role"] for r in drawn] == [
        *["plaque-edge", "pocket", "pocket", "v-line", "register"],
        *["note", "note"],
    ]


@pytest.mark.parametrize("version", VERSIONS)
def test_text_comes_back_as_it_was(version):
    """What a code page holds, what it lacks (an arrow), and the caret that DXF uses for control characters."""
    words = ("½ ü × 10°", "1 → 2", "a^b", "50%", "Größe €")
    layer = Layer(Role.NOTE, tuple(Text((10, 10), word, 3.0) for word in words))
    content = dxf_bytes(Drawing("", "", (0, 0, 40, 40), (layer,)), version=version)
    read = ezdxf.recover.read(io.BytesIO(content))[0].modelspace()
    assert [entity.plain_text() for entity in read] == list(words)
    assert all(entity.dxf.height == 3.0 for entity in read)
    assert read[0].get_placement()[0].name == "CENTER"
    assert tuple(read[0].get_placement()[1]) == (10, 8.5, 0)


def test_text_that_is_not_centred_begins_at_its_place():
    layer = Layer(Role.NOTE, (Text((4, 5), "left", 2.0, centred=False),))
    content = dxf_bytes(Drawing("", "", (0, 0, 40, 40), (layer,)), version="R12")
    (text,) = document(content, "R12").modelspace()
    assert text.get_placement()[0].name == "LEFT"
    assert tuple(text.get_placement()[1]) == (4, 5, 0)


def test_text_beyond_the_code_page_is_written_as_utf_16_units():
    """DXF Reference: backslash, U+ and four hexadecimal digits. The pair of U+1F600 is D83D DE00 (Unicode, 3.9)."""
    layer = Layer(Role.NOTE, (Text((1, 1), "→ 😀", 3.0),))
    content = dxf_bytes(Drawing("", "", (0, 0, 40, 40), (layer,)), version="R12")
    assert rb"\U+2192 \U+D83D\U+DE00" in content
    content.decode("ascii")


def test_two_percent_signs_make_no_symbol():
    layer = Layer(Role.NOTE, (Text((1, 1), "50%%c %%%d", 3.0),))
    content = dxf_bytes(Drawing("", "", (0, 0, 40, 40), (layer,)), version="R2010")
    (text,) = document(content, "R2010").modelspace()
    assert text.plain_text() == "50% %c % % %d"


@pytest.mark.parametrize("version", VERSIONS)
def test_a_long_description_is_cut_into_strings_that_the_format_allows(version):
    """DXF Reference: a string of extended data has at most 255 bytes."""
    long = "Ünnötig lange → Beschreibung. " * 40
    content = dxf_bytes(Drawing("t", long, (0, 0, 40, 40), ()), version=version)
    tags = dxf_tags(content, ENCODING[version])
    strings = [value for code, value in tags if code == 1000]
    assert max(len(s.encode(ENCODING[version])) for s in strings) <= 255
    layer0 = next(r for r in dxf_records(dxf_section(tags, "TABLES")) if r[0][1] == "LAYER" and first(r, 2) == "0")
    told = record_marks(layer0)["description"]
    assert told == (long if version == "R2010" else long.replace("→", r"\U+2192"))


def test_custom_properties_of_r2010():
    read = document(dxf_bytes(plaque(), version="R2010"), "R2010").header.custom_vars
    assert read.get("title") == "Fox & <hound>"
    assert read.get("tolerance") == "0.1 mm"


def test_shapes_too_small_to_write_raise():
    for shape in (Circle((1, 1), 0.00001), Text((1, 1), "a", 0.00001)):
        drawing = Drawing("", "", (0, 0, 40, 40), (Layer(Role.REGISTER, (shape,)),))
        for write in (svg_bytes, lambda d: dxf_bytes(d, version="R12")):
            with pytest.raises(PromiseError, match="too small"):
                write(drawing)


def test_a_drawing_without_shapes_is_a_page():
    drawing = Drawing("", "", (0, 0, 40, 40), (Layer(Role.V_LINE, ()),))
    assert read_svg(svg_bytes(drawing)).groups[0].get("id") == "v-line"
    for version in VERSIONS:
        assert len(document(dxf_bytes(drawing, version=version), version).modelspace()) == 0


# Same in, same out

PROGRAM = """
import hashlib, json, locale, sys
sys.path[:0] = sys.argv[1:]
from test_drawings_as_files import Unit, dxf_bytes, plaque, svg_bytes
try:
    locale.setlocale(locale.LC_ALL, "")
except locale.Error:
    pass
def digest(content):
    return hashlib.sha256(content).hexdigest()
for unit in Unit:
    drawing = plaque(unit)
    found = [digest(svg_bytes(drawing))] + [digest(dxf_bytes(drawing, version=v)) for v in ("R2010", "R2000", "R12")]
    print(json.dumps(found))
"""


def digests(drawing: Drawing) -> list[str]:
    files = [svg_bytes(drawing), *(dxf_bytes(drawing, version=version) for version in VERSIONS)]
    return [hashlib.sha256(content).hexdigest() for content in files]


@pytest.mark.parametrize(
    ("hash_seed", "zone", "language"),
    [("0", "UTC", "C"), ("12345", "Asia/Tokyo", "de_DE.UTF-8"), ("7", "US/Hawaii", "tr_TR.UTF-8")],
)
def test_the_same_bytes_in_another_process(hash_seed, zone, language, tmp_path):
    """Another hash seed, time zone, locale, working folder and moment; also after other files in this process."""
    here = [digests(plaque(unit)) for unit in Unit]
    surroundings = {"PYTHONHASHSEED": hash_seed, "TZ": zone, "LC_ALL": language, "HOME": str(tmp_path)}
    told = subprocess.run(
        [sys.executable, "-c", PROGRAM, *map(str, FilePath(__file__).parents[:2])],
        env={**os.environ, **surroundings},
        cwd=tmp_path,
        capture_output=True,
        check=True,
        text=True,
    )
    assert [json.loads(line) for line in told.stdout.splitlines()] == here
    assert told.stderr == ""


def test_no_file_names_the_present():
    """By itself ezdxf would write the moment of writing (Julian date) and random ids; here they are constants."""
    for version in VERSIONS:
        header = dxf_header(dxf_tags(dxf_bytes(plaque(), version=version), ENCODING[version]))
        dates = {
            value for name, value in header.items() if name.startswith("$TD") and "DATE" in name or "CREATE" in name
        }
        assert dates == {"2451545.0"}
        assert header.get("$FINGERPRINTGUID", "{0}").strip("{}0-") == ""
        assert header.get("$VERSIONGUID", "{0}").strip("{}0-") == ""


def test_ezdxf_is_left_as_it_was():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_bytes(plaque(), version="R12")
    assert ezdxf.options.write_fixed_meta_data_for_testing is before


def test_threads_do_not_disturb_each_other():
    alone = dxf_bytes(plaque(), version="R2010")
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda _: dxf_bytes(plaque(), version="R2010"), range(8)))
    assert set(together) == {alone}


@pytest.mark.parametrize(("module", "absent"), [("svg", "ezdxf"), ("dxf", "svgwrite"), ("save", "ezdxf")])
def test_each_writer_loads_its_own_library_only(module, absent):
    code = f"import sys, shadowrout.files.{module}; print({absent!r} in sys.modules)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert told.stdout == "False\n"
