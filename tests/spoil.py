"""Ways to damage a plaque's written files, each with the promise it breaks and words that must name it.

Every damage is a function of the plaque's folder. SVG is changed as XML, DXF with ezdxf, the rest as bytes.
Most work on any plaque that has pockets, V lines and a shadow with a hole.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

import ezdxf

from shadowrout.check.findings import Promise

SVG = "{http://www.w3.org/2000/svg}"
APPLICATION = "SHADOWROUT"


@dataclass(frozen=True)
class Damage:
    """One way to spoil a folder; ``words`` must all stand in one finding against ``promise``."""

    name: str
    spoil: Callable[[Path], None]
    promise: Promise
    words: tuple[str, ...]


DAMAGES: list[Damage] = []


def damage(promise: Promise, *words: str):
    def register(spoil):
        DAMAGES.append(Damage(spoil.__name__, spoil, promise, words))
        return spoil

    return register


# Handles on the files


@contextmanager
def svg(place: Path, name: str = "carve.svg") -> Iterator[ElementTree.Element]:
    """Give the root of an SVG file, which is written back."""
    ElementTree.register_namespace("", SVG[1:-1])
    root = ElementTree.fromstring((place / name).read_bytes())
    yield root
    (place / name).write_bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


@contextmanager
def dxf(place: Path, name: str = "carve.dxf") -> Iterator[ezdxf.document.Drawing]:
    """Give the document of a DXF file, which is written back."""
    document = ezdxf.readfile(place / name)
    yield document
    document.saveas(place / name)


@contextmanager
def figures(place: Path) -> Iterator[dict]:
    """Give what numbers.json holds, which is written back."""
    path = place.parent / "numbers.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    yield told
    path.write_text(json.dumps(told), encoding="utf-8")


def group(root: ElementTree.Element, role: str) -> ElementTree.Element:
    return next(g for g in root.iter(f"{SVG}g") if g.get("data-role") == role)


def entities(document, role: str) -> list:
    wanted = f"role={role}"
    return [e for e in document.modelspace() if any(tag.value == wanted for tag in strings(e))]


def strings(entity) -> list:
    return [tag for tag in entity.get_xdata(APPLICATION) if tag.code == 1000]


def mark(entity, **values: float) -> None:
    """Change numbers in an entity's extended data."""
    kept = [tag.value for tag in strings(entity) if tag.value.split("=")[0] not in values]
    entity.set_xdata(APPLICATION, [(1000, text) for text in [*kept, *(f"{k}={v:g}" for k, v in values.items())]])


def replace_text(place: Path, name: str, old: str, new: str, *, count: int = -1) -> None:
    text = (place / name).read_text(encoding="utf-8")
    assert old in text, f"{name} has no {old!r} to spoil"
    (place / name).write_text(text.replace(old, new, count), encoding="utf-8")


# One path's data as (command, radius, large, sweep, end) after its start; closing lines made explicit.


def pieces(d: str) -> tuple[complex, list[tuple], bool]:
    words = d.split()
    start = end = complex(float(words[1]), float(words[2]))
    parts, at = [], 3
    while at < len(words) and words[at] != "Z":
        if words[at] == "L":
            end = complex(float(words[at + 1]), float(words[at + 2]))
            parts.append(("L", "", "", "", end))
            at += 3
        else:
            end = complex(float(words[at + 6]), float(words[at + 7]))
            parts.append(("A", words[at + 1], words[at + 4], words[at + 5], end))
            at += 8
    closed = words[-1] == "Z"
    if closed and end != start:
        parts.append(("L", "", "", "", start))
    return start, parts, closed


def data(start: complex, parts: list[tuple], closed: bool) -> str:
    words = [f"M {start.real:.6g} {start.imag:.6g}"]
    for command, radius, large, sweep, end in parts:
        arc = f" {radius} {radius} 0 {large} {sweep}" if command == "A" else ""
        words.append(f"{command}{arc} {end.real:.6g} {end.imag:.6g}")
    return " ".join([*words, *(["Z"] if closed else [])])


def turned(d: str) -> str:
    start, parts, closed = pieces(d)
    starts = [start, *(part[4] for part in parts)][:-1]
    back = [(c, r, large, "01"[s == "0"], a) for a, (c, r, large, s, _) in zip(starts, parts, strict=True)]
    return data(parts[-1][4], back[::-1], closed)


def moved(d: str, shift: complex, *, only: int | None = None) -> str:
    """Return the path with all its points moved, or the end of one piece."""
    start, parts, closed = pieces(d)
    if only is None:
        return data(start + shift, [(*p[:4], p[4] + shift) for p in parts], closed)
    parts[only] = (*parts[only][:4], parts[only][4] + shift)
    return data(start, parts, closed)


def largest(elements, *, least_pieces: int = 1) -> ElementTree.Element:
    """Return the path with the widest spread in x, of those with so many pieces."""

    def spread(element) -> float:
        start, parts, _ = pieces(element.get("d"))
        xs = [start.real, *(p[4].real for p in parts)]
        return max(xs) - min(xs)

    return max((e for e in elements if len(pieces(e.get("d"))[1]) >= least_pieces), key=spread)


def a_hole(root: ElementTree.Element, role: str) -> ElementTree.Element:
    """Return a path that runs clockwise with y up, so counter-clockwise as the file's numbers have it."""
    return next(p for p in group(root, role) if p.tag == f"{SVG}path" and _area_down(p.get("d")) > 0)


def _area_down(d: str) -> float:
    """Twice the area with y down, mirrored in sign: positive for a hole; arcs count by a point on them."""
    start, parts, _ = pieces(d)
    points, last = [start], start
    for command, radius, large, sweep, end in parts:
        if command == "A":
            points.append(_on_arc(last, end, float(radius), large == "1", sweep == "1"))
        points.append(end)
        last = end
    rolled = points[1:] + points[:1]
    return sum((a.conjugate() * b).imag for a, b in zip(points, rolled, strict=True))


def _on_arc(a: complex, b: complex, radius: float, large: bool, sweep: bool) -> complex:
    """Return the middle of an arc: off the chord's middle by r minus or plus the centre's distance from the chord."""
    half = abs(b - a) / 2
    off = max(0.0, radius**2 - half**2) ** 0.5
    rise = radius + off if large else radius - off
    return (a + b) / 2 + (-1j if sweep else 1j) * (b - a) / abs(b - a) * rise


# Outlines


@damage(Promise.FAITHFUL, "carve.svg", "off the design")
def a_vertex_of_the_svg_moved_by_0_3_mm(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", moved(path.get("d"), 0.3, only=0))


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def a_vertex_of_the_dxf_moved_by_0_3_mm(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        line[1] = (line[1][0] + 0.21, line[1][1] + 0.21, *line[1][2:])


@damage(Promise.AGREE, "apart in SVG and DXF", "layer shadow")
def a_vertex_of_the_dxf_moved_by_0_005_mm(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        line[1] = (line[1][0], line[1][1] + 0.005, *line[1][2:])


@damage(Promise.SOUND, "carve.svg", "clockwise")
def a_ring_of_the_svg_reversed(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", turned(path.get("d")))


@damage(Promise.SOUND, "carve.dxf", "clockwise")
def a_ring_of_the_dxf_reversed(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        rows = line.get_points("xyb")
        bulges = [-row[2] for row in rows]
        line.set_points(
            [(x, y, b) for (x, y, _), b in zip(rows[::-1], bulges[-2::-1] + bulges[-1:], strict=True)],
            format="xyb",
        )


@damage(Promise.SOUND, "carve.svg", "hole turned round")
def a_hole_of_the_svg_reversed(place):
    with svg(place) as root:
        path = a_hole(root, "shadow")
        path.set("d", turned(path.get("d")))


@damage(Promise.FAITHFUL, "carve.svg", "from the nearest written outline")
def a_hole_of_the_svg_dropped(place):
    with svg(place) as root:
        group(root, "shadow").remove(a_hole(root, "shadow"))


@damage(Promise.FIGURES, "carve.dxf", "shadows")
def a_shadow_of_the_dxf_dropped(place):
    with dxf(place) as document:
        document.modelspace().delete_entity(entities(document, "shadow")[-1])


@damage(Promise.FAITHFUL, "carve.svg", "off the design")
def a_sweep_flag_flipped(place):
    with svg(place) as root:
        path = largest((p for p in group(root, "shadow") if " A " in p.get("d")), least_pieces=4)
        start, parts, closed = pieces(path.get("d"))
        chords = [
            abs(end - begin)
            for begin, end in zip([start, *(p[4] for p in parts[:-1])], [p[4] for p in parts], strict=True)
        ]
        arc = max((i for i, p in enumerate(parts) if p[0] == "A"), key=lambda i: chords[i])
        command, radius, large, sweep, end = parts[arc]
        parts[arc] = (command, radius, large, "01"[sweep == "0"], end)
        path.set("d", data(start, parts, closed))


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def a_bulge_sign_flipped(place):
    with dxf(place) as document:
        lines = entities(document, "shadow")
        places = ((e, i) for e in lines if len(e) > 3 for i in range(len(e)))
        line, index = max(places, key=lambda place: abs(place[0][place[1]][4]))
        row = line[index]
        line[index] = (*row[:4], -row[4])


@damage(Promise.FAITHFUL, "carve.dxf", "off the design")
def all_bulges_lost(place):
    with dxf(place) as document:
        for line in entities(document, "shadow"):
            line.set_points([(x, y) for x, y, *_ in line.get_points()], format="xy")


@damage(Promise.SOUND, "carve.svg", "is open")
def a_ring_of_the_svg_opened(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        start, parts, _ = pieces(path.get("d"))
        path.set("d", data(start, parts[:-1], closed=False))


@damage(Promise.SOUND, "carve.dxf", "is open")
def a_ring_of_the_dxf_not_marked_closed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].closed = False


@damage(Promise.SOUND, "carve.dxf", "is open")
def no_ring_of_the_dxf_marked_closed(place):
    with dxf(place) as document:
        for line in entities(document, "shadow"):
            line.closed = False


@damage(Promise.SOUND, "carve.svg", "crosses or touches itself")
def a_ring_tied_into_a_loop(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"), least_pieces=4)
        start, parts, closed = pieces(path.get("d"))
        far = parts[len(parts) // 2][4]
        lines = [("L", "", "", "", z) for z in (far, start + (far - start) * 1j / 4, far + (start - far) * 1j / 4)]
        path.set("d", data(start, lines, closed))


@damage(Promise.SOUND, "carve.svg", "two rings cross")
def a_pocket_pushed_over_another_ring(place):
    with svg(place) as root:
        holder = group(root, "pocket")
        path = largest(holder)
        holder.append(ElementTree.fromstring(ElementTree.tostring(path)))
        holder[-1].set("d", moved(path.get("d"), 1.0))


@damage(Promise.SOUND, "carve.svg", "appears twice")
def a_path_of_the_svg_doubled(place):
    with svg(place) as root:
        holder = group(root, "cutter-path")
        holder.append(ElementTree.fromstring(ElementTree.tostring(holder[0])))


@damage(Promise.SOUND, "carve.dxf", "appears twice")
def a_v_line_of_the_dxf_doubled(place):
    with dxf(place) as document:
        document.modelspace().add_entity(entities(document, "v-line")[0].copy())


@damage(Promise.SOUND, "carve.dxf", "no length")
def a_vertex_doubled(place):
    with dxf(place) as document:
        line = max(entities(document, "shadow"), key=len)
        x, y, _ = line.get_points("xyb")[1]
        line.insert(1, (x, y, 0, 0, 0))


@damage(Promise.SOUND, "carve.svg", "elliptical")
def an_arc_made_elliptical(place):
    with svg(place) as root:
        path = largest(p for p in group(root, "shadow") if " A " in p.get("d"))
        found = re.search(r"A (\S+) (\S+)", path.get("d"))
        path.set("d", path.get("d").replace(found[0], f"A {found[1]} {float(found[2]) * 1.5}", 1))


@damage(Promise.COMPLETE, "command C", "only M, L, A and Z")
def a_curve_of_another_kind(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", "M 10 10 C 20 10 20 20 10 20 Z")


# Cutters and depths


def _shift_cutter_paths(place: Path, shift: float) -> None:
    with svg(place) as root:
        for path in group(root, "cutter-path"):
            path.set("d", moved(path.get("d"), shift))
    with dxf(place) as document:
        for line in entities(document, "cutter-path"):
            line.set_points([(x + shift, y, b) for x, y, b in line.get_points("xyb")], format="xyb")


@damage(Promise.NO_GOUGE, "cutter takes", "outside the shadow")
def the_cutter_paths_of_both_files_moved_by_half_a_millimetre(place):
    _shift_cutter_paths(place, 0.5)


@damage(Promise.NO_GOUGE, "carve.svg", "cutter takes")
def a_vertex_of_a_cutter_path_moved(place):
    with svg(place) as root:
        path = largest(group(root, "cutter-path"))
        start, parts, _ = pieces(path.get("d"))
        furthest = max(range(len(parts) - 1), key=lambda i: abs(parts[i][4] - start))
        away = parts[furthest][4] - start
        path.set("d", moved(path.get("d"), away / abs(away) * 1.5, only=furthest))


@damage(Promise.NO_GOUGE, "5 mm cutter takes")
def a_larger_cutter_in_the_marks(place):
    with svg(place) as root:
        for element in [*group(root, "cutter-path"), *group(root, "pocket")]:
            element.set("data-cutter-mm", "5")
    with dxf(place) as document:
        for entity in [*entities(document, "cutter-path"), *entities(document, "pocket")]:
            mark(entity, cutter_mm=5)


@damage(Promise.NO_GOUGE, "carve.svg", "cutter takes", "outside the shadow")
def a_hole_of_the_cutter_paths_dropped(place):
    with svg(place) as root:
        group(root, "cutter-path").remove(a_hole(root, "cutter-path"))


@damage(Promise.NO_GOUGE, "wall is", "off where the 3 mm cutter's edge ends")
def the_walls_moved(place):
    with svg(place) as root:
        for path in group(root, "pocket"):
            path.set("d", moved(path.get("d"), 0.25j))


@damage(Promise.NO_GOUGE, "a V line lies")
def a_v_line_moved_into_the_light(place):
    with svg(place) as root:
        path = group(root, "v-line")[0]
        path.set("d", moved(path.get("d"), 2.5j))


@damage(Promise.NO_GOUGE, "no cutter path of that diameter")
def a_cutter_path_for_another_cutter(place):
    with svg(place) as root:
        for element in group(root, "cutter-path"):
            element.set("data-cutter-mm", "2")


@damage(Promise.STAYS_DARK, "carve.svg", "must be left")
def a_depth_of_the_svg_halved(place):
    with svg(place) as root:
        layer = group(root, "pocket")
        depth = layer[0].get("data-depth-mm") or layer.get("data-depth-mm")
        layer[0].set("data-depth-mm", str(float(depth) / 2))


@damage(Promise.STAYS_DARK, "name says", "mark")
def a_depth_in_a_layer_name_changed(place):
    with dxf(place) as document:
        layer = next(x for x in document.layers if x.dxf.name.lower().startswith("pocket-"))
        layer.rename(re.sub(r"\d+_\d+", "9_00", layer.dxf.name))


@damage(Promise.STAYS_DARK, "carve.dxf", "elevation")
def an_elevation_changed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].dxf.elevation = -1.0


@damage(Promise.STAYS_DARK, "carve.dxf", "elevation is 3 mm")
def an_elevation_above_the_face(place):
    with dxf(place) as document:
        line = entities(document, "cutter-path")[0]
        line.dxf.elevation = -line.dxf.elevation


@damage(Promise.STAYS_DARK, "carve.dxf", "depth mark says 1 mm")
def a_depth_in_the_extended_data_changed(place):
    with dxf(place) as document:
        mark(entities(document, "pocket")[0], depth_mm=1.0)


@damage(Promise.STAYS_DARK, "gone after")
def a_v_line_shallower_than_the_sanding(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "0.4")
    with dxf(place) as document:
        line = entities(document, "v-line")[0]
        mark(line, depth_mm=0.4)
        line.dxf.elevation = -0.4


@damage(Promise.STAYS_DARK, "width is given as")
def a_width_of_a_v_line_doubled(place):
    with svg(place) as root:
        element = group(root, "v-line")[0]
        element.set("data-width-mm", " ".join(str(2 * float(x)) for x in element.get("data-width-mm").split()))


@damage(Promise.STAYS_DARK, "V tool's greatest depth")
def a_v_line_deeper_than_its_tool(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "6")


@damage(Promise.STAYS_DARK, "goes through the board")
def a_pocket_through_the_board(place):
    with svg(place) as root:
        group(root, "cutter-path")[0].set("data-depth-mm", "18.5")


def _with_profile(root: ElementTree.Element) -> ElementTree.Element:
    return next(line for line in group(root, "v-line") if " " in line.get("data-depth-mm"))


@damage(Promise.STAYS_DARK, "gone after")
def one_vertex_of_a_v_line_too_shallow(place):
    with svg(place) as root:
        line = _with_profile(root)
        line.set("data-depth-mm", " ".join([*line.get("data-depth-mm").split()[:-1], "0.3"]))


@damage(Promise.MARKED, "numbers of depth_mm for")
def a_depth_of_a_profile_dropped(place):
    with svg(place) as root:
        line = _with_profile(root)
        line.set("data-depth-mm", line.get("data-depth-mm") + " 1.5")


@damage(Promise.AGREE, "misses a vertex")
def a_line_in_space_lifted(place):
    with dxf(place) as document:
        for vertex in entities(document, "v-line-3d")[0].vertices:
            vertex.dxf.location += (0, 0, 0.1)


@damage(Promise.AGREE, "lines in space in the DXF")
def a_line_in_space_dropped(place):
    with dxf(place) as document:
        document.modelspace().delete_entity(entities(document, "v-line-3d")[0])


@damage(Promise.STAYS_DARK, "layer's name says", "across")
def another_cutter_in_a_layer_name(place):
    with svg(place) as root:
        holder = group(root, "pocket")
        holder.set("id", re.match(r"pocket-\d+_\d+mm", holder.get("id"))[0] + "-9_00mm")


@damage(Promise.NO_GOUGE, "carve.svg", "no closed shadow")
def all_shadows_of_the_svg_removed(place):
    with svg(place) as root:
        root.remove(group(root, "shadow"))


# Sizes and units


@damage(Promise.TRUE_SIZE, "unit is in", "job asks for mm")
def the_dxf_said_to_be_in_inches(place):
    with dxf(place) as document:
        document.header["$INSUNITS"] = 1
        document.header["$MEASUREMENT"] = 0


@damage(Promise.TRUE_SIZE, "carve.dxf", "unit is not said")
def the_unit_of_the_dxf_lost(place):
    with dxf(place) as document:
        document.header["$INSUNITS"] = 0


@damage(Promise.TRUE_SIZE, "$MEASUREMENT")
def the_measurement_switched(place):
    with dxf(place) as document:
        document.header["$MEASUREMENT"] = 0


@damage(Promise.TRUE_SIZE, "carve.svg", "px")
def the_unit_of_the_svg_lost(place):
    with svg(place) as root:
        root.set("width", root.get("width").removesuffix("mm"))


@damage(Promise.TRUE_SIZE, "carve.svg", "unit is in")
def the_svg_said_to_be_in_inches(place):
    with svg(place) as root:
        for side in ("width", "height"):
            root.set(side, root.get(side).replace("mm", "in"))


@damage(Promise.TRUE_SIZE, "carve.svg", "scaled by 1.01")
def the_svg_scaled_by_one_percent(place):
    with svg(place) as root:
        for side in ("width", "height"):
            root.set(side, f"{float(root.get(side).removesuffix('mm')) * 1.01:.6g}mm")


@damage(Promise.TRUE_SIZE, "carve.svg", "no viewBox")
def the_view_box_lost(place):
    with svg(place) as root:
        del root.attrib["viewBox"]


@damage(Promise.TRUE_SIZE, "transform (scale(1.02))")
def a_transform_added(place):
    with svg(place) as root:
        group(root, "shadow").set("transform", "scale(1.02)")


@damage(Promise.TRUE_SIZE, "transform (scale(0.039370078740)")
def a_note_scaled_to_inches_in_a_file_in_millimetres(place):
    with svg(place) as root:
        group(root, "note")[0].set("transform", "scale(0.039370078740)")


@damage(Promise.TRUE_SIZE, "carve.dxf", "plaque's edge", "was asked for")
def the_board_of_the_dxf_widened(place):
    with dxf(place) as document:
        (line,) = entities(document, "plaque-edge")
        widest = max(row[0] for row in line)
        line.set_points([(x + 0.01 * (x == widest), y, b) for x, y, b in line.get_points("xyb")], format="xyb")


@damage(Promise.TRUE_SIZE, "carve.dxf", "the page")
def the_extents_of_the_dxf_changed(place):
    with dxf(place) as document:
        x, y, z = document.modelspace().dxf.extmax
        document.modelspace().reset_extents(document.modelspace().dxf.extmin, (x + 1, y, z))


@damage(Promise.TRUE_SIZE, "carve.dxf", "$EXTMIN", "not set")
def the_extents_of_the_dxf_lost(place):
    with dxf(place) as document:
        document.modelspace().reset_extents()


@damage(Promise.TRUE_SIZE, "past the page")
def a_shape_off_the_page(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", moved(path.get("d"), 500))


@damage(Promise.TRUE_SIZE, "DXF R2000", "asks for R2010")
def another_dxf_version(place):
    with dxf(place) as document:
        document.dxfversion = "R2000"


@damage(Promise.TRUE_SIZE, "note says the unit is nothing")
def the_note_of_the_unit_removed(place):
    replace_text(place, "carve.svg", '<property name="unit"', '<property name="tinu"')


# Layers, marks and notes


@damage(Promise.MARKED, "carve.svg", "layer walls has no role's name")
def a_layer_of_the_svg_renamed(place):
    with svg(place) as root:
        group(root, "shadow").set("id", "walls")


@damage(Promise.MARKED, "carve.dxf", "layer walls has no role's name")
def a_layer_of_the_dxf_renamed(place):
    with dxf(place) as document:
        document.layers.get("shadow").rename("walls")


@damage(Promise.AGREE, "stands in the SVG only")
def a_layer_of_the_dxf_named_after_another_role(place):
    with dxf(place) as document:
        document.layers.get("v-line").rename("flow-line")


@damage(Promise.MARKED, "carve.dxf", "no mark cutter_mm")
def the_extended_data_of_a_pocket_removed(place):
    with dxf(place) as document:
        entities(document, "pocket")[0].discard_xdata(APPLICATION)


@damage(Promise.MARKED, "application id SHADOWROUT is not registered")
def the_application_id_renamed(place):
    replace_text(place, "carve.dxf", "\nSHADOWROUT\n", "\nSOMEBODY\n")


@damage(Promise.MARKED, "no mark width_mm")
def a_width_mark_removed(place):
    with svg(place) as root:
        del group(root, "v-line")[0].attrib["data-width-mm"]


@damage(Promise.MARKED, "no number")
def a_mark_that_is_no_number(place):
    with svg(place) as root:
        group(root, "v-line")[0].set("data-depth-mm", "deep")


@damage(Promise.MARKED, "says its role is pocket")
def a_role_mark_swapped(place):
    with svg(place) as root:
        group(root, "cutter-path").set("data-role", "pocket")


@damage(Promise.MARKED, "carve.svg", "layer fragile-light is switched on")
def the_reference_lines_of_the_svg_switched_on(place):
    with svg(place) as root:
        del group(root, "fragile-light").attrib["display"]


@damage(Promise.MARKED, "carve.dxf", "layer fragile-light is switched on")
def the_reference_lines_of_the_dxf_switched_on(place):
    with dxf(place) as document:
        document.layers.get("fragile-light").on()


@damage(Promise.MARKED, "carve.svg", "layer v-line is switched off")
def a_layer_of_the_svg_switched_off(place):
    with svg(place) as root:
        group(root, "v-line").set("style", "display: none")


@damage(Promise.MARKED, "carve.dxf", "layer v-line is switched off")
def a_layer_of_the_dxf_frozen(place):
    with dxf(place) as document:
        document.layers.get("v-line").freeze()


@damage(Promise.MARKED, "layer shadow", "a path is switched off")
def a_shadow_of_the_svg_switched_off(place):
    with svg(place) as root:
        group(root, "shadow")[0].set("visibility", "hidden")


@damage(Promise.MARKED, "layer shadow", "LWPOLYLINE is switched off")
def a_shadow_of_the_dxf_switched_off(place):
    with dxf(place) as document:
        entities(document, "shadow")[0].dxf.invisible = 1


@damage(Promise.FIGURES, "holds 0 ridges of fragile light")
def the_reference_lines_removed(place):
    with dxf(place) as document:
        for entity in entities(document, "fragile-light"):
            document.modelspace().delete_entity(entity)


@damage(Promise.MARKED, "the layer v-line is missing")
def the_v_lines_of_the_svg_removed(place):
    with svg(place) as root:
        root.remove(group(root, "v-line"))


@damage(Promise.MARKED, "pocket 1 has no note")
def the_notes_of_a_pocket_removed(place):
    with svg(place) as root:
        holder = group(root, "note")
        for note in [note for note in holder if (note.text or "").startswith("1:")]:
            holder.remove(note)


def note_with(root, words: str):
    """Return the first note that holds the words."""
    return next(note for note in group(root, "note") if words in (note.text or ""))


@damage(Promise.MARKED, "contradicts numbers.json")
def a_note_with_another_depth(place):
    with svg(place) as root:
        note = note_with(root, " wall, depth")
        note.text = re.sub(r"[\d.]+ mm", "7 mm", note.text)


@damage(Promise.MARKED, "the note '2: wall, depth 7 mm' contradicts numbers.json")
def a_note_of_four_lines_with_another_depth(place):
    with svg(place) as root:
        note = next(note for note in group(root, "note") if note.text == "depth 3 mm")
        note.text = "depth 7 mm"


@damage(Promise.MARKED, "contradicts numbers.json, which gives 3")
def a_note_with_another_cutter(place):
    with svg(place) as root:
        note = note_with(root, " centre, cutter")
        note.text = re.sub(r"[\d.]+ mm", "1 1/4 in", note.text)


@damage(Promise.MARKED, "says nothing of a pocket")
def a_note_that_confuses_the_lines(place):
    with svg(place) as root:
        note = note_with(root, " wall, depth")
        note.text = note.text.replace("wall", "centre")


@damage(Promise.MARKED, "no note says which line of pocket 2 is its wall")
def a_note_cut_down_to_its_depth(place):
    with svg(place) as root:
        notes = group(root, "note")
        for note in [note for note in notes if (note.text or "").startswith("2: centre") or note.text == "cutter 3 mm"]:
            notes.remove(note)


@damage(Promise.MARKED, "'cutter 7 mm', contradicts numbers.json, which gives 3 mm")
def a_note_for_all_with_another_cutter(place):
    with svg(place) as root:
        note_with(root, "1: wall").text = "pocket lines: wall, cutter-path lines: centre, cutter 7 mm"


@damage(Promise.MARKED, "'cutter 3 mm in 1', contradicts numbers.json")
def a_note_for_all_that_leaves_a_pocket_out(place):
    with svg(place) as root:
        note_with(root, "1: wall").text = "pocket lines: wall, cutter-path lines: centre, cutter 3 mm in 1"


@damage(Promise.MARKED, "'cutter 3 mm in 1 to 2; 6 mm in 2', contradicts numbers.json")
def a_note_for_all_that_gives_a_pocket_two_cutters(place):
    with svg(place) as root:
        note_with(
            root, "1: wall"
        ).text = "pocket lines: wall, cutter-path lines: centre, cutter 3 mm in 1 to 2; 6 mm in 2"


@damage(Promise.AGREE, "a note reads")
def a_note_of_the_dxf_changed(place):
    with dxf(place) as document:
        text = entities(document, "note")[0]
        text.dxf.text = text.dxf.text.replace("wall", "hall").replace("centre", "center")


@damage(Promise.MARKED, "has no description")
def the_description_removed(place):
    with svg(place) as root:
        root.remove(root.find(f"{SVG}desc"))


@damage(Promise.MARKED, "holds a LINE")
def a_loose_line_in_the_dxf(place):
    with dxf(place) as document:
        document.modelspace().add_line((0, 0), (10, 10), dxfattribs={"layer": "shadow"})


# Whole files


@damage(Promise.COMPLETE, "carve.svg", "cut off or damaged")
def the_svg_truncated(place):
    content = (place / "carve.svg").read_bytes()
    (place / "carve.svg").write_bytes(content[: len(content) * 2 // 3])


@damage(Promise.COMPLETE, "carve.dxf", "cut off")
def the_dxf_truncated(place):
    content = (place / "carve.dxf").read_bytes()
    (place / "carve.dxf").write_bytes(content[: len(content) * 2 // 3])


@damage(Promise.COMPLETE, "carve.dxf", "cut off")
def the_last_line_of_the_dxf_lost(place):
    content = (place / "carve.dxf").read_bytes().rstrip().removesuffix(b"EOF")
    (place / "carve.dxf").write_bytes(content)


@damage(Promise.COMPLETE, "path data ends within")
def a_path_cut_off(place):
    with svg(place) as root:
        path = largest(group(root, "shadow"))
        path.set("d", " ".join(path.get("d").split()[:-2]))


@damage(Promise.COMPLETE, "carve.svg", "is missing")
def the_svg_missing(place):
    (place / "carve.svg").unlink()


@damage(Promise.COMPLETE, "carve.dxf", "is empty")
def the_dxf_emptied(place):
    (place / "carve.dxf").write_bytes(b"")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_dxf_replaced_by_noise(place):
    (place / "carve.dxf").write_bytes(bytes(range(256)) * 20)


def _replace_once(place: Path, pattern: str, new: str) -> None:
    """Put ``new`` in place of the first match in carve.dxf, read as text."""
    text = (place / "carve.dxf").read_text(encoding="utf-8")
    changed, count = re.subn(pattern, new, text, count=1)
    assert count, f"carve.dxf has no {pattern!r} to spoil"
    (place / "carve.dxf").write_text(changed, encoding="utf-8")


@damage(Promise.COMPLETE, "carve.dxf", "two of its records have one handle")
def a_handle_of_the_dxf_given_twice(place):
    _replace_once(place, r"(LWPOLYLINE\n +5\n)(\w+)\n((?s:.*?)LWPOLYLINE\n +5\n)\w+\n", r"\1\2\n\3\2\n")


@damage(Promise.COMPLETE, "carve.dxf", "belong to a record that is not there (handle FFFF)")
def the_owner_of_an_entity_of_the_dxf_lost(place):
    _replace_once(place, r"(LWPOLYLINE\n +5\n\w+\n330\n)\w+", r"\1FFFF")


@damage(Promise.COMPLETE, "layer plaque-edge: a LWPOLYLINE has 4 vertices and says 5")
def the_count_of_vertices_changed(place):
    _replace_once(place, r"(AcDbPolyline\n +90\n)4\n", r"\g<1>5\n")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_end_of_a_line_in_space_lost(place):
    _replace_once(place, r"  0\nSEQEND\n[^L]*?(?=  0\n)", "")


@damage(Promise.COMPLETE, "carve.dxf", "can't be read as DXF")
def the_end_of_a_section_lost(place):
    _replace_once(place, r"  0\nENDSEC\n(?=  0\nEOF)", "")


@damage(Promise.COMPLETE, "isn't finite")
def a_coordinate_that_is_no_number(place):
    with dxf(place) as document:
        line = entities(document, "shadow")[0]
        line[0] = (float("nan"), *line[0][1:])


@damage(Promise.COMPLETE, "left over from an interrupted run")
def a_half_written_file_left(place):
    (place / ".shadowrout-0123abcd.part").write_bytes(b"half")


@damage(Promise.COMPLETE, "preview.png", "no whole PNG")
def a_picture_cut_off(place):
    (place / "preview.png").write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    with figures(place) as told:
        told["plaques"][0]["files"].append("preview.png")


@damage(Promise.COMPLETE, "pattern.pdf", "no whole PDF")
def a_pattern_cut_off(place):
    (place / "pattern.pdf").write_bytes(b"%PDF-1.7\n1 0 obj")
    with figures(place) as told:
        told["plaques"][0]["files"].append("pattern.pdf")


@damage(Promise.FAITHFUL, "design.wkb.gz", "missing")
def the_design_missing(place):
    (place / "design.wkb.gz").unlink()


@damage(Promise.FAITHFUL, "design.wkb.gz", "can't be read")
def the_design_truncated(place):
    content = (place / "design.wkb.gz").read_bytes()
    (place / "design.wkb.gz").write_bytes(content[: len(content) // 2])


# Figures


@damage(Promise.FIGURES, "V lines", "numbers.json tells of 99")
def another_count_of_v_lines(place):
    with figures(place) as told:
        told["plaques"][0]["v_lines"]["count"] = 99


@damage(Promise.FIGURES, "the size is")
def another_size_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["size_mm"][0] += 10


@damage(Promise.FIGURES, "the tolerance is 0.5")
def another_tolerance_in_the_figures(place):
    with figures(place) as told:
        told["tolerance_mm"] = 0.5


@damage(Promise.FIGURES, "mm deep by a")
def another_pocket_depth_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["pockets"][0]["depth_mm"] = 4.5


@damage(Promise.FIGURES, "cutter paths are")
def another_length_in_the_figures(place):
    with figures(place) as told:
        told["plaques"][0]["pockets"][0]["cutter_path_mm"] *= 1.5


@damage(Promise.FIGURES, "the thickness is 18.0 in numbers.json, 25.0 in job.toml")
def another_thickness_in_the_job(place):
    replace_text(place.parent, "job.toml", 'thickness = "18mm"', 'thickness = "25mm"')


@damage(Promise.FIGURES, "tells nothing of the plaque")
def the_plaque_missing_from_the_figures(place):
    with figures(place) as told:
        told["plaques"] = []


@damage(Promise.COMPLETE, "numbers.json", "can't be read")
def the_figures_truncated(place):
    path = place.parent / "numbers.json"
    path.write_bytes(path.read_bytes()[:50])
