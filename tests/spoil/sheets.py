"""Damages to what is cut beside the plaque: the openings of stencils and templates, and the kerf test.

Each is done to the SVG, to the DXF, and to both alike, as one who edits a drawing would save it twice.
"""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from shadowrout.check.findings import Promise
from spoil.handles import DAMAGES, SVG, Damage, damage, data, dxf, entities, figures, group, pieces, replace_text, svg

WAYS = {"svg": ("svg",), "dxf": ("dxf",), "both": ("svg", "dxf")}


@dataclass(frozen=True)
class Rings:
    """Handles on the paths of one role in one file, whatever its format: read, changed and taken out, y up."""

    points: Callable[[int], list[complex]]
    change: Callable[[int, Callable[[complex], complex]], None]
    drop: Callable[[int], None]
    count: int

    def box(self, number: int) -> tuple[complex, complex]:
        points = self.points(number)
        x, y = [z.real for z in points], [z.imag for z in points]
        return complex(min(x), min(y)), complex(max(x), max(y))

    def size(self, number: int) -> float:
        low, high = self.box(number)
        return abs(high - low)

    def largest(self) -> int:
        return max(range(self.count), key=self.size)


def in_each_way(promise: Promise, *words: str, names: Sequence[str], role: str = "opening"):
    """Register a damage to the rings of a role, three times: to the SVG, to the DXF and to both, of all ``names``."""

    def register(spoil: Callable[[Rings], None]):
        for way, endings in WAYS.items():

            def run(place: Path, endings: tuple[str, ...] = endings) -> None:
                for name in names:
                    for ending in endings:
                        _on_rings(place / f"{name}.{ending}", role, spoil)

            DAMAGES.append(Damage(f"{spoil.__name__}_in_the_{way}", run, promise, words, "made"))
        return spoil

    return register


def _on_rings(path: Path, role: str, spoil: Callable[[Rings], None]) -> None:
    if path.suffix == ".svg":
        with svg(path.parent, path.name) as root:
            spoil(_svg_rings(root, role))
    else:
        with dxf(path.parent, path.name) as document:
            spoil(_dxf_rings(document, role))


def _svg_rings(root: ElementTree.Element, role: str) -> Rings:
    holder = group(root, role)
    paths = [path for path in holder if path.tag == f"{SVG}path"]
    _, top, _, height = map(float, root.get("viewBox").split())

    def up(z: complex) -> complex:
        return complex(z.real, 2 * top + height - z.imag)

    def points(number: int) -> list[complex]:
        start, parts, _ = pieces(paths[number].get("d"))
        return [up(z) for z in (start, *(part[4] for part in parts))]

    def change(number: int, move: Callable[[complex], complex]) -> None:
        start, parts, closed = pieces(paths[number].get("d"))
        scale, flips = abs(move(1) - move(0)), _flips(move)
        changed = [
            (c, str(float(r) * scale) if r else r, large, "01"[s == "0"] if flips and s else s, up(move(up(end))))
            for c, r, large, s, end in parts
        ]
        paths[number].set("d", data(up(move(up(start))), changed, closed))

    return Rings(points, change, lambda number: holder.remove(paths[number]), len(paths))


def _dxf_rings(document, role: str) -> Rings:
    lines = entities(document, role)

    def points(number: int) -> list[complex]:
        return [complex(x, y) for x, y in lines[number].get_points("xy")]

    def change(number: int, move: Callable[[complex], complex]) -> None:
        sign = -1 if _flips(move) else 1
        rows = [(move(complex(x, y)), sign * b) for x, y, b in lines[number].get_points("xyb")]
        lines[number].set_points([(z.real, z.imag, b) for z, b in rows], format="xyb")

    return Rings(points, change, lambda number: document.modelspace().delete_entity(lines[number]), len(lines))


def _flips(move: Callable[[complex], complex]) -> bool:
    return ((move(1) - move(0)).conjugate() * (move(1j) - move(0))).imag < 0


def _all(rings: Rings, move: Callable[[complex], complex]) -> None:
    for number in range(rings.count):
        rings.change(number, move)


def _scaled_about(rings: Rings, number: int, factor: float) -> None:
    low, high = rings.box(number)
    middle = (low + high) / 2
    rings.change(number, lambda z: middle + factor * (z - middle))


# Stencils, on a board of 150 x 117 mm


@in_each_way(Promise.FAITHFUL, "stencil", "beside the design", names=["stencil"])
def all_openings_of_a_stencil_moved_by_0_3_mm(rings):
    _all(rings, lambda z: z + 0.3)


@in_each_way(Promise.FAITHFUL, "stencil", "light are cut open", names=["stencil"])
def all_openings_of_a_stencil_moved_by_3_mm(rings):
    _all(rings, lambda z: z + 3j)


@in_each_way(Promise.FAITHFUL, "stencil", "an opening lies", "beside the design", names=["stencil"])
def one_opening_of_a_stencil_moved_by_half_a_millimetre(rings):
    rings.change(rings.largest(), lambda z: z + 0.5j)


@in_each_way(Promise.FAITHFUL, "stencil", "light are cut open", names=["stencil"])
def an_opening_of_a_stencil_made_larger(rings):
    _scaled_about(rings, rings.largest(), 1.04)


@in_each_way(Promise.FAITHFUL, "stencil", "of the dark stay closed", names=["stencil"])
def an_opening_of_a_stencil_made_smaller(rings):
    _scaled_about(rings, rings.largest(), 0.8)


@in_each_way(Promise.FAITHFUL, "stencil", "an opening is missing", names=["stencil"])
def the_largest_opening_of_a_stencil_dropped(rings):
    rings.drop(max(range(rings.count), key=lambda n: abs(_area(rings.points(n)))))


@in_each_way(Promise.FIGURES, "stencil", "openings, numbers.json tells of 6", names=["stencil"])
def the_smallest_opening_of_a_stencil_dropped(rings):
    rings.drop(min(range(rings.count), key=lambda n: abs(_area(rings.points(n)))))


@in_each_way(Promise.FAITHFUL, "stencil", "light are cut open", names=["stencil"])
def the_openings_of_a_stencil_mirrored(rings):
    _all(rings, lambda z: 150 - z.conjugate())


@in_each_way(Promise.FAITHFUL, "stencil", "moved, turned or scaled", names=["stencil"])
def the_openings_of_a_stencil_scaled_by_half_a_percent(rings):
    _all(rings, lambda z: 1.005 * z)


@in_each_way(Promise.FAITHFUL, "stencil", "moved, turned or scaled", names=["stencil"])
def the_openings_of_a_stencil_turned_by_a_quarter_of_a_degree(rings):
    turn = complex(math.cos(math.radians(0.25)), math.sin(math.radians(0.25)))
    _all(rings, lambda z: 75 + 58.5j + turn * (z - 75 - 58.5j))


@damage(Promise.FAITHFUL, "stencil.svg and stencil.dxf", "larger all round", whole="made")
def a_stencil_whose_kerf_is_not_allowed_for(place):
    """Have the job ask for another kerf than the lines were drawn for."""
    job = place.parent / "job.toml"
    assert 'kerf = "0.2mm"' in job.read_text(encoding="utf-8")
    job.write_text(job.read_text(encoding="utf-8").replace('kerf = "0.2mm"', 'kerf = "0.4mm"'), encoding="utf-8")


@in_each_way(Promise.FIGURES, "stencil", "bridges", names=["stencil"], role="bridge")
def a_bridge_line_of_a_stencil_dropped(rings):
    rings.drop(0)


def _area(points: Sequence[complex]) -> float:
    return sum((a.conjugate() * b).imag for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


# Templates: three sheets

SHEETS = ["template", "template-2", "template-3"]


@in_each_way(Promise.FAITHFUL, "template", "isn't where or as large as one was planned", names=SHEETS)
def all_openings_of_a_template_moved_by_0_3_mm(rings):
    _all(rings, lambda z: z + 0.3)


@in_each_way(Promise.FAITHFUL, "template", "isn't where or as large as one was planned", names=["template"])
def an_opening_of_a_template_made_larger(rings):
    _scaled_about(rings, rings.largest(), 1.02)


@in_each_way(Promise.FAITHFUL, "template", "isn't where or as large as one was planned", names=["template"])
def an_opening_of_a_template_made_smaller(rings):
    _scaled_about(rings, rings.largest(), 0.98)


@in_each_way(Promise.FAITHFUL, "template-3", "that was planned here is missing", names=["template-3"])
def an_opening_of_a_template_dropped(rings):
    rings.drop(0)


@in_each_way(Promise.FAITHFUL, "template", "isn't where or as large as one was planned", names=SHEETS)
def the_openings_of_a_template_mirrored(rings):
    _all(rings, lambda z: 150 - z.conjugate())


@in_each_way(Promise.FAITHFUL, "template", "isn't where or as large as one was planned", names=SHEETS)
def the_openings_of_a_template_scaled_by_half_a_percent(rings):
    _all(rings, lambda z: 75 + 58.5j + 1.005 * (z - 75 - 58.5j))


def _for_each_ending(words: tuple[str, ...], promise: Promise):
    """Register a damage to whole files, of one ending or of both."""

    def register(spoil: Callable[[Path, str], None]):
        for way, endings in WAYS.items():

            def run(place: Path, endings: tuple[str, ...] = endings) -> None:
                for ending in endings:
                    spoil(place, ending)

            DAMAGES.append(Damage(f"{spoil.__name__}_in_the_{way}", run, promise, words, "made"))
        return spoil

    return register


@_for_each_ending(("template-2", "isn't where or as large as one was planned"), Promise.FAITHFUL)
def the_second_sheet_of_a_template_replaced_by_the_first(place, ending):
    shutil.copy(place / f"template.{ending}", place / f"template-2.{ending}")


@_for_each_ending(("template", "text doesn't say 'template 1 of 3'"), Promise.FIGURES)
def two_sheets_of_a_template_exchanged(place, ending):
    one, other = place / f"template.{ending}", place / f"template-2.{ending}"
    one.rename(place / "between")
    other.rename(one)
    (place / "between").rename(other)


@_for_each_ending(("template", "the bit clears", "numbers.json tells of"), Promise.FIGURES)
def every_sheet_of_a_template_the_first(place, ending):
    for name in SHEETS[1:]:
        shutil.copy(place / f"template.{ending}", place / f"{name}.{ending}")


# What is told


@damage(Promise.FIGURES, "the bit clears", "numbers.json tells of", whole="made")
def another_area_told_that_a_template_clears(place):
    with figures(place) as told:
        told["plaques"][0]["template"]["cleared_mm2"] += 150


@damage(Promise.FIGURES, "template's bush is 12", whole="made")
def another_bush_told(place):
    with figures(place) as told:
        told["plaques"][0]["template"]["bush_mm"] = 12.0


@damage(Promise.FIGURES, "bit's reach is 12", whole="made")
def another_reach_of_the_bit_told(place):
    with figures(place) as told:
        told["plaques"][0]["template"]["bit_below_base_mm"] = 12.0


@damage(Promise.FIGURES, "the template is for a depth of 5", whole="made")
def another_depth_told_of_a_template(place):
    with figures(place) as told:
        told["plaques"][0]["template"] |= {"depth_mm": 5.0, "bit_below_base_mm": 11.0}


@damage(Promise.FIGURES, "template-2.svg", "text doesn't say 'bush 10.0 mm'", whole="made")
def another_bush_on_a_sheet(place):
    replace_text(place, "template-2.svg", "bush 10.0 mm, bit", "bush 16.0 mm, bit")


@damage(Promise.FIGURES, "stencil.svg", "text doesn't say 'board 6.0 mm inside this edge'", whole="made")
def another_overhang_on_a_stencil(place):
    replace_text(place, "stencil.svg", "board 6.0 mm inside", "board 9.0 mm inside")


@damage(Promise.FIGURES, "off the board's middle", whole="made")
def a_stencils_sheet_moved_over_the_board(place):
    with figures(place) as told:
        box = told["plaques"][0]["stencil"]["sheet_mm"]
        told["plaques"][0]["stencil"]["sheet_mm"] = [box[0] + 3, box[1], box[2] + 3, box[3]]


@damage(Promise.FIGURES, "kerf is 0.5 in numbers.json", whole="made")
def another_kerf_told(place):
    with figures(place) as told:
        told["plaques"][0]["stencil"]["kerf_mm"] = 0.5


# The kerf test


@in_each_way(Promise.TRUE_SIZE, "kerf-test", "isn't straight across the strip", names=["kerf-test"])
def a_cut_of_the_kerf_test_moved(rings):
    rings.change(3, lambda z: z + 0.2)


@in_each_way(Promise.TRUE_SIZE, "kerf-test", "don't make the 10 bars", names=["kerf-test"])
def a_cut_of_the_kerf_test_dropped(rings):
    rings.drop(4)


@in_each_way(Promise.TRUE_SIZE, "kerf-test", "isn't 100 mm long", names=["kerf-test"], role="sheet-edge")
def the_strip_of_the_kerf_test_made_longer(rings):
    number = min(range(rings.count), key=lambda n: len(rings.points(n)))
    low, _ = rings.box(number)
    rings.change(number, lambda z: complex(low.real + (z.real - low.real) * 1.01, z.imag))


@in_each_way(
    Promise.TRUE_SIZE, "kerf-test", "teeth and gaps aren't all of one width", names=["kerf-test"], role="sheet-edge"
)
def a_tooth_of_the_kerf_test_widened(rings):
    number = max(range(rings.count), key=lambda n: len(rings.points(n)))
    rings.change(number, lambda z: z + 0.3 * (abs(z.real - 15) < 0.01))


@in_each_way(Promise.TRUE_SIZE, "kerf-test", "isn't 100 mm long", names=["kerf-test"], role="sheet-edge")
def the_kerf_test_scaled_by_half_a_percent(rings):
    _all(rings, lambda z: 1.005 * z)


@damage(Promise.MARKED, "kerf-test.svg", "doesn't say how the kerf follows", whole="made")
def another_formula_on_the_kerf_test(place):
    replace_text(place, "kerf-test.svg", "kerf = (100 - L) / 10", "kerf = (100 - L) / 9")
