"""Files made to harm whoever reads them: the answer is a finding in plain words, and soon.

Layouts of well-known binary are from OGC 06-103r4, 8.2; gzip members from RFC 1952; JSON from RFC 8259.
"""

from __future__ import annotations

import copy
import gzip
import json
import os
import shutil
import struct

import pytest
import shapely
from check_plaque import NAME, write_folder

from shadowrout.check import dxf_records
from shadowrout.check.checking import check_folder
from shadowrout.check.design_file import read_design
from shadowrout.check.figure_kinds import FIGURES, FigureKind
from shadowrout.check.figures_file import read_figures
from shadowrout.check.findings import Promise
from shadowrout.check.svg_reader import read_svg
from shadowrout.check.untrusted import UnusableFileError, bytes_of


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return write_folder(tmp_path_factory.mktemp("whole") / "out")


@pytest.fixture
def place(whole, tmp_path):
    shutil.copytree(whole.parent, tmp_path / "out")
    return tmp_path / "out" / NAME


def found(place, promise: Promise) -> list[str]:
    return [str(finding.what) for finding in check_folder(place.parent).plaques[0].result(promise).findings]


# The sized design

RING = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 0.0)]


def ring(points, order: str = "<") -> bytes:
    return struct.pack(f"{order}I", len(points)) + b"".join(struct.pack(f"{order}2d", *point) for point in points)


def multipolygon(*rings: bytes, polygons: int = 1, count: int | None = None, kind: int = 3) -> bytes:
    """Return one polygon of these rings within a multipolygon that says it has so many."""
    head = struct.pack("<BII", 1, 6, polygons) + struct.pack("<BII", 1, kind, len(rings) if count is None else count)
    return head + b"".join(rings)


HOSTILE_DESIGNS = {
    "nested headers": struct.pack("<BII", 1, 7, 1) * 200_000,
    "nested multipolygons": struct.pack("<BII", 1, 6, 1) * 200_000,
    "too many polygons": multipolygon(ring(RING), polygons=2**32 - 1),
    "too many rings": multipolygon(ring(RING), count=2**32 - 1),
    "too many points": multipolygon(struct.pack("<I", 2**32 - 1)),
    "no polygon": struct.pack("<BII", 1, 6, 0),
    "no ring": multipolygon(),
    "no points": multipolygon(ring([])),
    "two points": multipolygon(ring([(0.0, 0.0), (0.0, 0.0)])),
    "inf": multipolygon(ring([(0.0, 0.0), (float("inf"), 0.0), (9.0, 9.0), (0.0, 0.0)])),
    "nan": multipolygon(ring([(float("nan"), 0.0), (9.0, 0.0), (9.0, 9.0), (float("nan"), 0.0)])),
    "far off": multipolygon(ring([(0.0, 0.0), (1e300, 0.0), (9.0, 9.0), (0.0, 0.0)])),
    "open": multipolygon(ring([*RING[:-1], (0.0, 1.0)])),
    "crossing": multipolygon(ring([(0.0, 0.0), (9.0, 0.0), (0.0, 9.0), (9.0, 9.0), (0.0, 0.0)])),
    "endless": multipolygon(ring([(0.0, 0.0), *[(5000.0, 0.0), (0.0, 0.5)] * 50, (0.0, 0.0)])),
    "more at its end": multipolygon(ring(RING)) + b"\0",
    "heights": multipolygon(ring(RING), kind=0x80000003),
    "a byte order of its own": b"\2" + multipolygon(ring(RING))[1:],
    "a point": shapely.to_wkb(shapely.Point(1, 2)),
    "nothing": b"",
}


@pytest.mark.parametrize("content", HOSTILE_DESIGNS.values(), ids=HOSTILE_DESIGNS)
def test_a_hostile_design_is_a_finding(content, place):
    (place / "design.wkb.gz").write_bytes(gzip.compress(content))
    assert any("design.wkb.gz: the sized design can't be read (it " in what for what in found(place, Promise.FAITHFUL))


@pytest.mark.parametrize("order", ["<", ">"])
def test_a_design_in_either_byte_order_is_read(order, tmp_path):
    content = struct.pack(f"{order}BIIBII", order == "<", 6, 1, order == "<", 3, 1) + ring(RING, order)
    (tmp_path / "design.wkb.gz").write_bytes(gzip.compress(content))
    assert read_design(tmp_path / "design.wkb.gz").equals(shapely.MultiPolygon([shapely.Polygon(RING)]))


@pytest.mark.parametrize(
    "packed",
    [gzip.compress(bytes(70_000_000), 1), gzip.compress(b"x")[:-3], b"no gzip", b""],
    ids=str.split("bomb cut noise empty"),
)
def test_a_design_that_cannot_be_unpacked_is_a_finding(packed, place):
    (place / "design.wkb.gz").write_bytes(packed)
    assert any("the sized design can't be read" in what for what in found(place, Promise.FAITHFUL))


# The figures

WRONG = (None, True, -1.5, 10**400, float("nan"), "x" * 300, "\ud800", [], [[]], {"a": 1}, {})


def places(value, known, path=()):
    """Yield the path to each figure of a known kind, with the kind."""
    if isinstance(known, FigureKind):
        yield path, known
    elif isinstance(known, dict):
        for key in known.keys() & value.keys():
            yield from places(value[key], known[key], (*path, key))
    else:
        for index, entry in enumerate(value):
            yield from places(entry, known[0], (*path, index))


def at(figures, path):
    for step in path:
        figures = figures[step]
    return figures


def sample(known):
    """Return a value of a kind, with one entry in each list and all keys in each table."""
    if isinstance(known, dict):
        return {key: sample(kind) for key, kind in known.items()}
    if isinstance(known, list):
        return [sample(known[0])]
    return next(value for value in (0, "a", True, [0, 0], [0, 0, 0, 0]) if known.holds(value))


def test_a_figure_of_another_type_is_told_at_every_key(tmp_path):
    """What isn't of its key's kind is left out, whatever it is, so nobody meets it; all the others stay."""
    whole, path = sample(FIGURES), tmp_path / "numbers.json"
    every = list(places(whole, FIGURES))
    assert len(every) > 100
    for steps, kind in every:
        for value in WRONG:
            if kind.holds(value):
                continue
            figures = copy.deepcopy(whole)
            at(figures, steps[:-1])[steps[-1]] = value
            path.write_text(json.dumps(figures), encoding="utf-8")
            told = read_figures(path)
            (fault,) = [*told.faults, *(fault for faults in told.of_plaques.values() for fault in faults)]
            assert fault[0] is Promise.FIGURES
            named = [str(step + 1) if isinstance(step, int) else step for step in steps]
            assert f"numbers.json: {' '.join(named)} is " in str(fault[1].what)
            kept = list(places(told.figures, FIGURES))
            assert len(kept) == len(every) - 1
            assert all(kind.holds(at(told.figures, where)) for where, kind in kept)


def test_every_table_and_list_of_figures_may_be_anything(tmp_path):
    whole, path = sample(FIGURES), tmp_path / "numbers.json"
    holders = {steps[:length] for steps, _ in places(whole, FIGURES) for length in range(1, len(steps))}
    for steps in holders:
        for value in (None, 7, "x", [7], {"x": 7}, [[]]):
            figures = copy.deepcopy(whole)
            at(figures, steps[:-1])[steps[-1]] = value
            path.write_text(json.dumps(figures), encoding="utf-8")
            told = read_figures(path).figures
            assert all(kind.holds(at(told, where)) for where, kind in places(told, FIGURES))


@pytest.mark.parametrize(
    "value", [7, [7], {}, "x", [{"number": []}], [{"depth_mm": "deep"}], [{"depth_mm": 10**400}]], ids=repr
)
def test_pockets_of_another_type_are_findings(value, place):
    figures = json.loads((place.parent / "numbers.json").read_text())
    figures["plaques"][0]["pockets"] = value
    (place.parent / "numbers.json").write_text(json.dumps(figures))
    assert any("plaques 1 pockets" in what for what in found(place, Promise.FIGURES))


def test_a_figure_given_twice_is_a_finding(place):
    text = (place.parent / "numbers.json").read_text()
    (place.parent / "numbers.json").write_text(text.replace('"shadows": 5', '"shadows": 9, "shadows": 5'))
    assert any("numbers.json: shadows stands there twice" in what for what in found(place, Promise.FIGURES))


def test_a_name_of_a_file_elsewhere_is_a_finding(place):
    figures = json.loads((place.parent / "numbers.json").read_text())
    figures["plaques"][0]["files"] += ["../numbers.json", "n" * 5000, "a\0b"]
    (place.parent / "numbers.json").write_text(json.dumps(figures))
    assert len([what for what in found(place, Promise.FIGURES) if "not a file's name" in what]) == 3


@pytest.mark.parametrize(
    "text", ["[" * 100_000, '{"a":' * 100_000, '"' + '\\"' * 1_000_000, "[7]", "7", "", '{"a": ' + "9" * 5000]
)
def test_figures_that_are_none_are_a_finding(text, place):
    (place.parent / "numbers.json").write_text(text)
    assert any(what.startswith("numbers.json: ") for what in found(place, Promise.COMPLETE))


# Sizes


def test_a_file_larger_than_any_is_not_read(place):
    for name in ("carve.svg", "carve.dxf", "design.wkb.gz", "../numbers.json"):
        os.truncate(place / name, 10**11)
    told = found(place, Promise.COMPLETE) + found(place, Promise.FAITHFUL)
    for name in ("carve.svg", "carve.dxf", "design.wkb.gz", "numbers.json"):
        assert any(name in what and "100000 MB, more than any plaque's" in what for what in told)


def test_a_file_that_grows_while_it_is_read_is_bounded(tmp_path):
    (tmp_path / "a").write_bytes(b"12345")
    assert bytes_of(tmp_path / "a", most=5) == b"12345"
    with pytest.raises(UnusableFileError, match="more than any plaque's"):
        bytes_of(tmp_path / "a", most=4)
    with pytest.raises(UnusableFileError, match="can't be opened"):
        bytes_of(tmp_path, most=4)


def test_a_pipe_in_place_of_a_drawing_is_missing(place):
    (place / "carve.svg").unlink()
    os.mkfifo(place / "carve.svg")
    assert any(what == "carve.svg: is missing" for what in found(place, Promise.COMPLETE))


def test_a_dxf_of_more_lines_than_any_is_not_read(place, monkeypatch):
    monkeypatch.setattr(dxf_records, "_MOST_LINES", 1000)
    assert any("carve.dxf: has more than 1000 lines" in what for what in found(place, Promise.COMPLETE))


@pytest.mark.parametrize("number", ["1e308", "-1e308", "1e309", "nan", "inf", "1_0", "1e-320", "9" * 400])
@pytest.mark.parametrize("old", ["22 22 0", "57 50", 'viewBox="0 0 120', 'data-cutter-mm="3', 'width="120mm', 'x="35'])
def test_a_number_without_sense_in_the_svg_is_a_finding(old, number, place):
    text = (place / "carve.svg").read_text()
    assert old in text
    digits = max(("22", "57", "120", "3", "35"), key=lambda part: (old.endswith(part) or f"{part} " in old, len(part)))
    spoiled = old[: old.rfind(digits)] + number + old[old.rfind(digits) + len(digits) :]
    (place / "carve.svg").write_text(text.replace(old, spoiled, 1))
    assert read_svg(place / "carve.svg").faults or number == "1e-320"
    assert not check_folder(place.parent).holds


@pytest.mark.parametrize("number", ["1e308", "-1e308", "1e309", "nan", "inf", "1_0", "9" * 400])
@pytest.mark.parametrize("code", [10, 20, 30, 38, 42, 70, 90])
def test_a_number_without_sense_in_the_dxf_is_a_finding(code, number, place):
    head, entities = (place / "carve.dxf").read_text().split("\nENTITIES\n")
    line = f"\n{code:3}\n"
    assert line in entities
    before, _, rest = entities.partition(line)
    (place / "carve.dxf").write_text(f"{head}\nENTITIES\n{before}{line}{number}\n{rest.partition(chr(10))[2]}")
    assert not check_folder(place.parent).holds
